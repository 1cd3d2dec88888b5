//! What is told of a mistake, and what one check asks of what another one told.

use std::ops::Range;

use serde::Serialize;

use crate::geometry::{CornerPoint, Side};

/// Something that a builder should look at again. As JSON it is its sentence.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(into = "String")]
pub struct Doubt {
    /// The wheel it is about; `None` for what the whole car has.
    pub side: Option<Side>,
    /// What is probably wrong, the likeliest first; more than one where each explains as much as the others.
    pub suspects: Vec<Suspect>,
    /// All of it, for people.
    pub sentence: String,
    /// What is odd of the car as it stands: `toe changes by 6.0 deg over the travel`; `None` where the sentence is all there is.
    pub why: Option<String>,
    pub(super) kind: Kind,
    /// The links that it names, by their places in the corner.
    links: Vec<usize>,
    /// Where in the sentence the side stands.
    side_at: Option<Range<usize>>,
}

/// A point or a key that is probably wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Suspect {
    /// The point, as [`Corner::name_of`](crate::geometry::Corner::name_of) has it, or the key.
    pub about: String,
    /// What was probably meant, as the file would write it; `None` where no single slip explains it.
    pub probably: Option<String>,
}

/// What a doubt is of, as far as another check asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Points and keys, which its suspects name.
    Other,
    /// A link as a whole, the first of those that it names.
    Link,
    /// A bracket and the frame tube that carries it.
    Tube,
    /// The room of a link that would cross another one, where no slip explains it.
    Crossing,
    /// What the two sides say of each other's point; `None` for their angles.
    Sides(Option<CornerPoint>),
}

/// The words of a doubt.
pub(crate) struct Sentence {
    text: String,
    side_at: Option<Range<usize>>,
}

impl Sentence {
    /// With the side behind what it is about.
    pub(super) fn of_side(about: &str, side: Side, rest: &str) -> Self {
        let head = format!("{about}, {}", side.name());
        Self { side_at: Some(about.len()..head.len()), text: head + rest }
    }

    pub(super) fn followed_by(self, rest: &str) -> Self {
        Self { text: self.text + rest, ..self }
    }
}

impl From<String> for Sentence {
    fn from(text: String) -> Self {
        Self { text, side_at: None }
    }
}

impl Doubt {
    pub(super) fn new(
        side: Option<Side>,
        about: impl Into<String>,
        probably: Option<String>,
        sentence: impl Into<Sentence>,
    ) -> Self {
        Self::of(side, vec![Suspect { about: about.into(), probably }], sentence)
    }

    pub(crate) fn of(side: Option<Side>, suspects: Vec<Suspect>, sentence: impl Into<Sentence>) -> Self {
        let Sentence { text: sentence, side_at } = sentence.into();
        Self { side, suspects, sentence, why: None, kind: Kind::Other, links: Vec::new(), side_at }
    }

    pub(super) fn of_kind(self, kind: Kind) -> Self {
        Self { kind, ..self }
    }

    /// With what is odd.
    pub(super) fn because(self, why: Option<String>) -> Self {
        Self { why, ..self }
    }

    /// With links that it names.
    pub(super) fn naming(mut self, links: impl IntoIterator<Item = usize>) -> Self {
        self.links.extend(links);
        self
    }

    /// A link of which a point, a tube or a bolt is told, or that is a part of what is told.
    pub(super) fn names(&self, link: usize) -> bool {
        self.links.contains(&link)
    }

    pub(super) fn links(&self) -> &[usize] {
        &self.links
    }

    /// True when it is about a link as a whole, and the other one about what the sides say of a point of that link.
    pub(super) fn is_of_link_of(&self, other: &Doubt) -> bool {
        match (self.kind, other.kind) {
            (Kind::Link, Kind::Sides(Some(point))) => self.links.first().copied() == point.link(),
            _ => false,
        }
    }

    pub(super) fn is_about(&self, side: Side, about: &str) -> bool {
        self.side == Some(side) && self.suspects.iter().any(|suspect| suspect.about == about)
    }

    /// True when both tell the same, each of its own side.
    pub(super) fn is_same_but_for_side(&self, other: &Doubt) -> bool {
        self.around_side() == other.around_side()
    }

    /// What stands before its side and behind it.
    pub(super) fn around_side(&self) -> (&str, &str) {
        let side_at = self.side_at.clone().unwrap_or_default();
        (&self.sentence[..side_at.start], &self.sentence[side_at.end..])
    }

    /// Other words behind its side.
    pub(super) fn retold(&self, rest: &str) -> Sentence {
        let end = self.side_at.as_ref().map_or(0, |side_at| side_at.end);
        Sentence { text: self.sentence[..end].to_owned() + rest, side_at: self.side_at.clone() }
    }

    /// Goes on in place of its full stop, with points of these links.
    pub(super) fn go_on(&mut self, rest: &str, links: [usize; 2]) {
        self.sentence = self.sentence.trim_end_matches('.').to_owned() + rest;
        self.kind = Kind::Other;
        self.links.extend(links);
    }
}

impl From<Doubt> for String {
    fn from(doubt: Doubt) -> Self {
        doubt.sentence
    }
}
