//! Two ends of links with the same numbers beside a link that is none of a car: a row that was copied.
//!
//! Sound links share a hole, two of a wishbone on one ball: only where something is odd of one of them is it told.

use super::doubt::Kind;
use super::guesses::SAME_HOLE_MM;
use super::written::{Writing, end_pairs, place_of, placed};
use super::{Doubt, Suspect};
use crate::geometry::{Corner, CornerPoint, End, Geometry, Pickup, Side};

/// Adds to what was told of a link, or of the whole corner, that its numbers are those of another one.
pub(super) fn tell(geometry: &Geometry, side: Side, found: &mut [Doubt]) {
    let (corner, writing) = (geometry.corner(side), Writing::of(geometry));
    let point = |link: usize, end: End| CornerPoint::Pickup(Pickup { link, end });
    let is_one = |corner: &Corner, [a, b]: [usize; 2], end: End| {
        (place_of(corner, point(a, end)) - place_of(corner, point(b, end))).norm() < SAME_HOLE_MM
    };
    // What both sides share was drawn so.
    let is_drawn = |pair, end| !geometry.mirrored && is_one(geometry.corner(side.other()), pair, end);
    let shared: Vec<([usize; 2], End)> = end_pairs(placed(geometry, side))
        .filter(|&(pair, end)| is_one(corner, pair, end) && !is_drawn(pair, end))
        .collect();
    for ([a, b], end) in shared {
        let is_of = |about: &str, link: usize| {
            about == format!("link {:?}", corner.links[link].name)
                || End::BOTH.iter().any(|&end| about == corner.name_of(point(link, end)))
        };
        // A bracket beside its tube says nothing of the other end of its link.
        let may_tell =
            |doubt: &&mut Doubt| doubt.side == Some(side) && (end == End::Chassis || doubt.kind != Kind::Tube);
        let told = found.iter_mut().filter(may_tell).find(|doubt| {
            let is_plain = doubt.suspects.iter().all(|suspect| suspect.probably.is_none());
            let about = |link: usize| doubt.suspects.iter().any(|suspect| is_of(&suspect.about, link));
            let is_whole = doubt.suspects.iter().any(|suspect| suspect.about == WHOLE);
            (is_plain && (is_whole || about(a) || about(b))) || (end == End::Chassis && about(b))
        });
        let Some(doubt) = told else { continue };
        let [first, second] = [b, a].map(|link| corner.name_of(point(link, end)));
        let numbers = writing.numbers(corner, point(b, end));
        doubt.go_on(&format!("; {first} and {second} both have {numbers:?}: was one row copied?"), [a, b]);
        let suspects = [first, second].map(|about| Suspect { about, probably: None });
        doubt.suspects.retain(|suspect| suspect.about != WHOLE);
        doubt.suspects.extend(suspects);
    }
}

/// What a doubt of the whole corner is about.
pub(super) const WHOLE: &str = "the whole corner";
