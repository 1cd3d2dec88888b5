//! What looks wrong in a file that reads well: numbers of no car, slips of the pen, parts that do not fit each other.
//!
//! Nothing is corrected and nothing is refused here: each [`Doubt`] names the point or the key, the number as the file
//! writes it and, where one slip explains it, what was probably meant. A sound car has none.
//!
//! In reading order: `written` (the points of a corner as their file writes them),
//! `oddity` (one number of a corner that is none of a car), `oddities` (how far a corner is from those that are built) with
//! `alone` (its links beside each other), `guesses` (every slip that may have been made), `typing` (the one slip that explains an odd corner), `exchanged` (a bracket with
//! x and y in each other's place), `tubes` (the end of a
//! frame tube that its brackets deny), `facts` (the one number of a link that its tape, its bolts or its tube deny), `digits` (the
//! one number that is finer than all others), `upright_axes` (one question, not fifteen), `wheel`, `shaft`, `inner_joint`, `reach`, `parts`, `spring`,
//! `sides`, `car`, `figures`, `limits`, `threads`, `driveline`, `flanges` and `datums` (one class of mistakes each). A mistake that was found is mended for the checks after it, so that it is told once.
//!
//! Tested by `tests/plausibility/`.

mod alone;
mod car;
mod datums;
mod digits;
mod driveline;
mod exchanged;
mod facts;
mod figures;
mod flanges;
mod guesses;
mod inner_joint;
mod limits;
mod oddities;
mod oddity;
mod parts;
mod reach;
mod shaft;
mod sides;
mod spring;
mod threads;
mod tubes;
mod typing;
mod upright_axes;
mod wheel;
mod written;

use serde::Serialize;

use crate::geometry::{Geometry, Side};

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
}

/// A point or a key that is probably wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Suspect {
    /// The point, as [`Corner::name_of`](crate::geometry::Corner::name_of) has it, or the key.
    pub about: String,
    /// What was probably meant, as the file would write it; `None` where no single slip explains it.
    pub probably: Option<String>,
}

impl Doubt {
    fn new(side: Option<Side>, about: impl Into<String>, probably: Option<String>, sentence: String) -> Self {
        Self { side, suspects: vec![Suspect { about: about.into(), probably }], sentence }
    }

    /// True when it is about a link as a whole, and the other one about a point of that link.
    fn is_of_link_of(&self, other: &Doubt) -> bool {
        let points = || other.suspects.iter().filter_map(|suspect| suspect.about.rsplit_once(' '));
        self.suspects.iter().all(|suspect| points().any(|(link, _)| suspect.about == format!("link {link:?}")))
    }

    fn is_about(&self, side: Side, about: &str) -> bool {
        self.side == Some(side) && self.suspects.iter().any(|suspect| suspect.about == about)
    }
}

impl From<Doubt> for String {
    fn from(doubt: Doubt) -> Self {
        doubt.sentence
    }
}

fn is_in(number: f64, [least, most]: [f64; 2]) -> bool {
    (least..=most).contains(&number)
}

/// What a builder should look at again, the wheels first; empty when nothing stands out.
///
/// Limits of what is believed are common practice with room to spare; `docs/validation.md`, "Mistakes in a file", says how
/// many mistakes of which size are found and that 100,000 sound cars raise none.
pub fn doubts(geometry: &Geometry) -> Vec<Doubt> {
    let mut mended = geometry.clone();
    let mut found: Vec<Doubt> = sides::datum(&mut mended).into_iter().collect();
    for &side in geometry.own_sides() {
        let (of_wheel, spindle_is_known) = wheel::mend(&mut mended, side);
        found.extend(of_wheel);
        if let Some(question) = upright_axes::question(&mended, side) {
            found.push(question);
            continue;
        }
        found.extend(upright_axes::unused_offset(&mended, side));
        found.extend(parts::mend_tapes(&mut mended, side));
        found.extend(typing::mend(&mut mended, side, &found));
        found.extend(exchanged::mend(&mut mended, side));
        found.extend(tubes::mend(&mut mended, side));
        found.extend(facts::mend(&mut mended, side));
        found.extend(digits::mend(&mut mended, side));
        if spindle_is_known {
            if !is_told(&found, side, "wheel centre") && !is_told(&found, side, "halfshaft outer") {
                found.extend(shaft::mend(&mut mended, side));
            }
            let outer_was_off = is_told(&found, side, "halfshaft outer");
            found.extend(inner_joint::mend(&mut mended, side, outer_was_off));
        }
        let of_parts = parts::doubts(&mended, side);
        let is_new = |doubt: &Doubt| doubt.suspects.iter().all(|suspect| !is_told(&found, side, &suspect.about));
        let of_parts: Vec<Doubt> = of_parts.into_iter().filter(is_new).collect();
        found.extend(of_parts);
        if !is_told(&found, side, "wheel centre") && !is_told(&found, side, "tyre_radius") {
            found.extend(wheel::off_floor(&mended, side));
        }
        found.extend(reach::too_far(&mended, side));
        found.extend(spring::make(&mended, side));
        found.extend(spring::rate(&mended, side));
    }
    if !geometry.mirrored {
        let of_sides = sides::doubts(&mended, &found);
        // The tape says that a link is wrong, and the other side which number of it.
        found.retain(|doubt| !of_sides.iter().any(|of_side| doubt.is_of_link_of(of_side)));
        found.extend(of_sides);
    }
    found.extend(car::doubts(geometry));
    found.extend(threads::doubts(geometry));
    found.extend(driveline::doubts(&mended));
    let is_of_flange = |suspect: &Suspect| flanges::PLACED_BY.contains(&suspect.about.as_str());
    if !found.iter().flat_map(|doubt| &doubt.suspects).any(is_of_flange) {
        found.extend(flanges::doubt(&mended));
    }
    found.extend(datums::doubts(&mended));
    found
}

/// A number that is told as wrong is judged no further.
fn is_told(found: &[Doubt], side: Side, about: &str) -> bool {
    found.iter().any(|doubt| doubt.is_about(side, about))
}
