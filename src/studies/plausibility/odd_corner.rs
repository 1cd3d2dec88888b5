//! What is told of an odd corner: the slips that explain it, and the parts that none explains.

use std::cmp::Ordering;

use super::doubt::{Kind, Sentence};
use super::guesses::Guess;
use super::oddity::{About, Oddity};
use super::written::{Source, Writing};
use super::{Doubt, Suspect};
use crate::geometry::{Corner, CornerPoint, End, Pickup};

/// Of guesses that explain as much as each other, the likeliest first.
pub(super) fn doubt(guesses: &[Guess], before: &Corner, odd: &[Oddity], writing: &Writing) -> Doubt {
    let mut suspects = Vec::new();
    let mut sentence: Option<Sentence> = None;
    for (nth, guess) in guesses.iter().enumerate() {
        let about = Writing::name(before, guess.point, guess.source);
        let (number, meant) = guess.numbers(before, writing);
        let words = guess.slip.words();
        let of_number = |guess: &Guess| (guess.point, guess.source, guess.axis);
        let is_number_alone = nth > 0 && of_number(guess) == of_number(&guesses[nth - 1]);
        let other = guess.with.map(|with| before.name_of(with));
        let points = other.as_ref().map_or(about.clone(), |other| format!("{about} and {other}"));
        let is = match other {
            Some(_) => format!(": {words}"),
            None if is_number_alone => format!("; or {meant}: {words}"),
            None => format!(": {number} is probably {meant}: {words}"),
        };
        sentence = Some(match (sentence, guess.source) {
            (Some(told), _) if is_number_alone => told.followed_by(&is),
            (Some(told), _) => told.followed_by(&format!("; or {points}{is}")),
            (None, Source::Own) => Sentence::of_side(&points, before.side, &is),
            (None, _) => format!("{points}{is}").into(),
        });
        match other {
            Some(other) => suspects.extend([about, other].map(|about| Suspect { about, probably: None })),
            None => suspects.push(Suspect { about, probably: Some(meant) }),
        }
    }
    let why = guesses.first().and_then(|guess| reason(odd, guess.point));
    let told = why.map(|oddity| oddity.words(before, writing.units));
    let as_written = told.as_ref().map_or(String::new(), |told| format!("; as written {told}"));
    let sentence = sentence.unwrap_or(String::new().into()).followed_by(&format!("{as_written}."));
    let points = guesses.iter().flat_map(Guess::points).filter_map(CornerPoint::link);
    let in_words = why.filter(|oddity| matches!(oddity.about, About::Pair(..))).map(|oddity| oddity.about.links());
    Doubt::of(Some(before.side), suspects, sentence).because(told).naming(points.chain(in_words.into_iter().flatten()))
}

/// The oddity that shows a mistake in a point best: one that by itself is none of a car before all others.
fn reason(odd: &[Oddity], point: CornerPoint) -> Option<&Oddity> {
    let worst = |touching: bool| {
        let asked = odd.iter().filter(move |oddity| oddity.ratio > 1.0 && oddity.touches(point) == touching);
        asked.max_by(|a, b| a.strength().partial_cmp(&b.strength()).unwrap_or(Ordering::Equal))
    };
    worst(true).or_else(|| worst(false))
}

/// What no slip explains and no car has: the worst of each link and part, or of the motion when nothing else is odd; of the
/// wheel centre where most of the upright misses it.
pub(super) fn unexplained(corner: &Corner, odd: &[Oddity], writing: &Writing) -> Vec<Doubt> {
    if let Some(missed) = misses_upright(corner, odd, writing) {
        return vec![missed];
    }
    let beyond = || odd.iter().filter(|oddity| oddity.is_beyond_any_car());
    let mut told: Vec<&Oddity> = Vec::new();
    for oddity in beyond().filter(|oddity| oddity.about != About::Corner) {
        match told.iter_mut().find(|told| same_part(told.about, oddity.about)) {
            // A joint or an end that is wrong by itself is what makes its shaft or spring odd.
            Some(told) if is_whole(told.about) && !is_whole(oddity.about) => *told = oddity,
            Some(told) if told.ratio < oddity.ratio && is_whole(told.about) == is_whole(oddity.about) => *told = oddity,
            Some(_) => {}
            None => told.push(oddity),
        }
    }
    if told.is_empty() {
        told.extend(beyond().max_by(|a, b| a.ratio.total_cmp(&b.ratio)));
    }
    told.into_iter().map(|oddity| plain_doubt(corner, oddity, writing)).collect()
}

/// One wheel centre in place of five good points.
fn misses_upright(corner: &Corner, odd: &[Oddity], writing: &Writing) -> Option<Doubt> {
    let misses = |link: &usize| {
        let point = CornerPoint::Pickup(Pickup { link: *link, end: End::Upright });
        odd.iter().any(|oddity| oddity.about == About::Point(point) && oddity.is_beyond_any_car())
    };
    let missing = (0..corner.links.len()).filter(misses).count();
    (missing > corner.links.len() / 2).then(|| {
        let (about, side) = (corner.name_of(CornerPoint::WheelCentre), corner.side);
        let written = writing.numbers(corner, CornerPoint::WheelCentre);
        let rest = format!(
            ": {missing} of the upright's {} link points are where no wheel at {written:?} has them; measure the wheel centre \
             again, or those points if they were counted from another datum.",
            corner.links.len()
        );
        let sentence = Sentence::of_side(&about, side, &rest);
        Doubt::new(Some(side), about, None, sentence)
    })
}

pub(super) fn same_part(a: About, b: About) -> bool {
    let link = |about: About| match about {
        About::Link(link) | About::Point(CornerPoint::Pickup(Pickup { link, .. })) => Some(link),
        _ => None,
    };
    let is_end = |part: About, of: About| match part {
        About::Halfshaft => matches!(of, About::Point(CornerPoint::HalfshaftInner | CornerPoint::HalfshaftOuter)),
        About::Spring => matches!(of, About::Point(CornerPoint::SpringChassis | CornerPoint::SpringMount)),
        _ => false,
    };
    a == b || (link(a).is_some() && link(a) == link(b)) || is_end(a, b) || is_end(b, a)
}

/// Of a shaft or spring, not of one end.
fn is_whole(about: About) -> bool {
    matches!(about, About::Halfshaft | About::Spring)
}

fn plain_doubt(corner: &Corner, oddity: &Oddity, writing: &Writing) -> Doubt {
    let (about, advice) = match oddity.about {
        About::Point(point) => {
            let written = writing.numbers(corner, point);
            let beside = match point {
                CornerPoint::HalfshaftInner if oddity.is_across() => {
                    "; a final drive beside the middle of the car needs a halfshaft of its own under [right]"
                }
                _ => "",
            };
            (corner.name_of(point), format!("measure {written:?} again{beside}"))
        }
        About::Link(link) | About::Pair(link, _) => {
            (format!("link {:?}", corner.links[link].name), "measure both its points again".to_owned())
        }
        About::Halfshaft => ("halfshaft".to_owned(), "measure both its joints again".to_owned()),
        About::Spring => ("spring".to_owned(), "measure both its ends again".to_owned()),
        About::Corner => {
            ("the whole corner".to_owned(), "no car is like that; measure every point of it again".to_owned())
        }
    };
    let why = oddity.words(corner, writing.units);
    let sentence = Sentence::of_side(&about, corner.side, &format!(": {why}; {advice}."));
    let kind = if matches!(oddity.about, About::Link(_) | About::Pair(..)) { Kind::Link } else { Kind::Other };
    Doubt::new(Some(corner.side), about, None, sentence).of_kind(kind).naming(oddity.about.links())
}
