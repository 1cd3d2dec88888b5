//! The one slip of the pen that explains why a corner is odd.

use std::cell::LazyCell;

use nalgebra::Vector3;

use super::alone::trails;
use super::facts::{DRAWN_LINKS, DRAWN_SQUARE_DEG, bolts_deg};
use super::guesses::{Guess, guesses, shares_hole};
use super::inner_joint::{MUCH_DEG, bent_deg};
use super::likeliest::{Beside, Judged, likeliest};
use super::moved_side::Moved;
use super::odd_corner::{doubt, same_part, unexplained};
use super::oddities::{Around, oddities};
use super::oddity::{About, Oddity, What};
use super::shaft::{denied, is_on_line};
use super::sides::WELDED_MM;
use super::written::{Writing, place_of, put};
use super::{Doubt, link_names};
use crate::geometry::slips::Slip;
use crate::geometry::{Corner, CornerPoint, Geometry, Pickup, Side};

/// Two sides of one drawing that were welded and measured agree to this, mm.
pub(super) const ALIKE_MM: f64 = 5.0;
/// More mistakes than this in one corner are another kind of file.
const MAX_SLIPS: usize = 8;
/// A slip explains an odd corner when no more than this share of its excess is left.
const EXPLAINS: f64 = 0.6;
/// A link that lies across and would lie along the car has no others to be compared with: what those would add, no unit.
const TURNED_ALONG: f64 = 2.0;
/// No single oddity counts for more than this: two mistakes stay two, however large one is.
const MAX_RATIO: f64 = 4.0;

/// Numbers that a slip explains, and points and links that are none of a car; the corner goes on without the slips.
///
/// `told` is what was told of the car so far: where one side is sound, a mistake of the other one is where it differs.
/// A number that is told is one of `written`, the car as the file has it: what is odd of the mended one alone is told of nothing.
pub(super) fn mend(geometry: &mut Geometry, written: &Geometry, side: Side, told: &[Doubt]) -> Vec<Doubt> {
    let writing = Writing::of(geometry);
    let as_written = LazyCell::new(|| oddities(written.corner(side), Around::of(written, side)));
    let stands = |oddity: &Oddity| oddity.ratio <= 1.0 || as_written.contains(oddity);
    let other = geometry.corner(side.other()).clone();
    let is_alike =
        |corner: &Corner, point: CornerPoint| (place_of(corner, point) - place_of(&other, point)).norm() <= ALIKE_MM;
    let mirrored = geometry.mirrored;
    let beside_sound = match side {
        Side::Left => {
            let left = geometry.corner(side);
            let differs = left.points().into_iter().any(|(point, _)| !is_alike(left, point));
            let is_odd = || oddities(&other, Around::of(geometry, Side::Right)).iter().any(Oddity::asks_for_a_slip);
            !mirrored && differs && !is_odd()
        }
        Side::Right => told.is_empty(),
    };
    // Tuning and welding by numbers of their own move either side by itself.
    let is_moved = geometry.tuned || geometry.was_tuned || geometry.built;
    let is_compared = !mirrored
        && !is_moved
        && Side::BOTH.into_iter().all(|side| geometry.is_placed(side))
        && Moved::of(geometry).is_none();
    // In axes of the hub a wheel that is wrong takes all of its upright along.
    let apart = |corner: &Corner, other: &Corner, point: CornerPoint| match writing.is_of_hub(corner, point) {
        true => {
            let [number, of_other] = [corner, other].map(|corner| Vector3::from(writing.numbers(corner, point)));
            writing.units.in_mm() * (number - of_other)
        }
        false => place_of(corner, point) - place_of(other, point),
    };
    // A final drive may stand beside the middle of the car.
    let is_off = |corner: &Corner| {
        let mut points = corner.points().into_iter().map(|(point, _)| point);
        is_compared
            && points
                .any(|point| point != CornerPoint::HalfshaftInner && apart(corner, &other, point).amax() > WELDED_MM)
    };
    let beside = |corner: &Corner, guess: &Guess| {
        let becomes_alike = |point| !is_alike(corner, point) && is_alike(&guess.corner, point);
        // No mistake is made on both sides alike where the one that was made shows elsewhere.
        let stands_on_both = |point| match guess.axis {
            Some(axis) => apart(corner, &other, point)[axis.index()].abs() <= ALIKE_MM,
            None => is_alike(corner, point),
        };
        let is_confirmed = || guess.points().any(stands_on_both) && is_off(corner);
        match guess.points().all(becomes_alike) {
            is_alike if mirrored || is_alike => Beside::Alike,
            _ if beside_sound || is_confirmed() => Beside::Denied,
            _ => Beside::Apart,
        }
    };
    let around = Around::of(geometry, side);
    let mut found = Vec::new();
    let mut odd = oddities(geometry.corner(side), around);
    while odd.iter().any(Oddity::asks_for_a_slip) && found.len() < MAX_SLIPS {
        let corner = geometry.corner(side);
        let standing: Vec<Oddity> = odd.iter().copied().filter(stands).collect();
        let best = best_guesses(corner, (around, &beside), &odd, &writing);
        let is_told = |guess: &Guess| {
            let about = Writing::name(corner, guess.point, guess.source);
            found.iter().any(|doubt: &Doubt| doubt.is_about(side, &about))
        };
        if !standing.iter().any(Oddity::asks_for_a_slip) || best.iter().any(is_told) {
            break;
        }
        found.extend((!best.is_empty()).then(|| doubt(&best, corner, &standing, &writing)));
        let Some(guess) = best.into_iter().next() else { break };
        put(geometry, guess.corner, guess.source);
        odd = oddities(geometry.corner(side), around);
    }
    // How one wheel alone moves oddly is told by where it differs.
    let is_told_by_sides = beside_sound || is_off(geometry.corner(side));
    odd.retain(|oddity| stands(oddity) && (!is_told_by_sides || oddity.about != About::Corner));
    found.extend(unexplained(geometry.corner(side), &odd, &writing));
    found
}

/// What the other side says of a guess about a corner.
type OtherSide<'f> = dyn Fn(&Corner, &Guess) -> Beside + 'f;

/// How far a corner is outside of what sound corners keep; 0 when it is inside, no unit.
fn excess(odd: &[Oddity]) -> f64 {
    // A rim may itself be wrong, and no slip of a point is the likelier for leaving it room.
    let counts = |oddity: &&Oddity| oddity.ratio > 1.0 && oddity.what != What::InRim;
    odd.iter().filter(counts).map(|oddity| oddity.ratio.min(MAX_RATIO)).sum()
}

/// How unusual a corner is, inside what sound corners keep as well, no unit.
pub(super) fn strain(odd: &[Oddity]) -> f64 {
    // In its rim an end is no more usual for being nearer to the spindle.
    let counts = |oddity: &&Oddity| oddity.what != What::InRim || oddity.ratio > 1.0;
    odd.iter().filter(counts).map(|oddity| oddity.ratio.min(MAX_RATIO).powi(2)).sum()
}

/// The slip that leaves the soundest corner, when it explains enough, and the best other one that leaves no more: of another
/// point, or of the same one in another unit or with its point elsewhere.
fn best_guesses(
    corner: &Corner,
    (around, beside): (Around, &OtherSide),
    odd: &[Oddity],
    writing: &Writing,
) -> Vec<Guess> {
    let (before, before_odd) = (excess(odd), odd);
    // A wheel that is off its road takes all of its upright along, and any part of that may look odd.
    let is_meant = |guess: &Guess| {
        beside(corner, guess) != Beside::Denied
            && (guess.slip == Slip::OffTheRoad || guess.points().any(|point| is_suspected(point, odd)))
    };
    let is_off_line = odd.iter().any(|oddity| oddity.what == What::OffSpindle && oddity.ratio > 1.0);
    let is_joint = is_off_line && denied(corner, writing) == Some(CornerPoint::HalfshaftOuter);
    let drawn_deg = bent_deg(corner);
    // A joint that is put back is where it runs, and so is one whose wheel is put back, which is right where the joint is not.
    let runs = |guess: &Guess| match guess.point {
        CornerPoint::HalfshaftOuter => is_on_line(&guess.corner),
        CornerPoint::WheelCentre => !is_off_line || (is_on_line(&guess.corner) && !is_joint),
        CornerPoint::HalfshaftInner => {
            bent_deg(&guess.corner).is_none_or(|deg| deg <= MUCH_DEG || Some(deg) <= drawn_deg)
        }
        _ => true,
    };
    let is_one = |guess: &Guess| guess.with.is_some() || !shares_hole(corner, guess.point);
    let suspected =
        guesses(corner, around.placed, writing).filter(|guess| is_one(guess) && is_meant(guess) && runs(guess));
    // Of slips that leave as much, those come first that are where it looks odd, and then those that leave it most usual.
    let is_odd = |point: CornerPoint| {
        odd.iter().any(|oddity| oddity.ratio > 1.0 && (oddity.touches(point) || is_across_wheel(oddity, point)))
    };
    let is_elsewhere = |guess: &Guess| !guess.points().any(is_odd);
    let judged =
        suspected.filter_map(|guess| {
            let odd = oddities(&guess.corner, around);
            let after = excess(&odd);
            let turned = |along: bool| {
                let is_turned = |link| trails(corner, link) != along && trails(&guess.corner, link) == along;
                let turned = guess.points().filter_map(CornerPoint::link).any(is_turned);
                if turned { TURNED_ALONG } else { 0.0 }
            };
            let strain = strain(&odd) + turned(true) - turned(false);
            let order = (is_elsewhere(&guess), beside(corner, &guess));
            (guess.points().all(|point| settles(&odd, before_odd, point)) && after <= EXPLAINS * before)
                .then_some(Judged { after, order, strain, guess })
        });
    let mut judged: Vec<Judged> = judged.collect();
    // What turns a link away from bolts that were drawn square to it, or puts its end where its name denies it, was not meant.
    let is_square = bolts_are_square(corner);
    let misnamed = link_names::count(corner, around.placed);
    let is_denied = |judged: &Judged| {
        let turns = |point| is_square && !bolts_allow(&judged.guess.corner, corner, point);
        judged.guess.points().any(turns) || link_names::count(&judged.guess.corner, around.placed) > misnamed
    };
    if !judged.iter().all(is_denied) {
        judged.retain(|judged| !is_denied(judged));
    }
    judged.sort_by(|a, b| {
        let usual = a.with_rarity().total_cmp(&b.with_rarity());
        a.after.total_cmp(&b.after).then(a.order.cmp(&b.order)).then(usual)
    });
    // A bracket that stands alone is not made right by another one that is moved there.
    let stands_alone = |judged: &Judged| {
        let is_alone = |oddity: &&Oddity| matches!(oddity.what, What::PlaceAcrossAlone | What::PlaceAlongAlone);
        let mut alone = odd.iter().filter(|oddity| oddity.ratio > 1.0).filter(is_alone);
        !judged.order.0 && alone.any(|oddity| oddity.touches(judged.guess.point))
    };
    if judged.first().is_some_and(stands_alone) {
        judged.retain(|judged| !judged.order.0);
    }
    likeliest(judged, (corner, odd), writing)
}

fn bolts_are_square(corner: &Corner) -> bool {
    let is_square =
        |link: &usize| bolts_deg(corner, *link).is_some_and(|deg| deg.iter().all(|deg| *deg <= DRAWN_SQUARE_DEG));
    (0..corner.links.len()).filter(is_square).count() >= DRAWN_LINKS
}

/// A link of that point stands square to its bolts, or no further out of square than it did before, or has none.
fn bolts_allow(corner: &Corner, before: &Corner, point: CornerPoint) -> bool {
    let CornerPoint::Pickup(Pickup { link, .. }) = point else { return true };
    let worst_deg = |corner: &Corner| bolts_deg(corner, link).map(|[chassis, upright]| chassis.max(upright));
    let before_deg = worst_deg(before).unwrap_or(0.0);
    worst_deg(corner).is_none_or(|deg| deg <= DRAWN_SQUARE_DEG.max(before_deg))
}

/// With a point as it was meant nothing of it is odd, and the wheel moves as wheels do unless something else is odd too.
fn settles(odd: &[Oddity], before: &[Oddity], point: CornerPoint) -> bool {
    // A rim that left no room before is no fault of the number.
    let is_of_rim = |oddity: &Oddity| {
        let is_same = |old: &Oddity| (old.what, old.about) == (oddity.what, oddity.about) && old.ratio > 1.0;
        oddity.what == What::InRim && before.iter().any(is_same)
    };
    let odd = || odd.iter().filter(|oddity| oddity.ratio > 1.0 && !is_of_rim(oddity));
    let moves_oddly = odd().any(|oddity| oddity.about == About::Corner);
    let is_odd_elsewhere = odd().any(|oddity| oddity.about != About::Corner);
    !odd().any(|oddity| oddity.touches(point)) && (!moves_oddly || is_odd_elsewhere)
}

/// A joint that is too far from the plane of its wheel is so by its own number or by that of the wheel.
fn is_across_wheel(oddity: &Oddity, point: CornerPoint) -> bool {
    point == CornerPoint::WheelCentre
        && (oddity.what, oddity.about) == (What::Outboard, About::Point(CornerPoint::HalfshaftOuter))
}

/// Where one or two parts by themselves are none of a car, the mistake is in one of their points; where more are, it may be
/// in what they have in common.
fn is_suspected(point: CornerPoint, odd: &[Oddity]) -> bool {
    // Beside links of which one was made long by its bracket, which is the odder, another one is short and right.
    let is_beside_longer = |oddity: &Oddity| {
        let is_odder = |other: &Oddity| {
            other.what == What::PlaceAcrossAlone
                && other.ratio > oddity.ratio
                && !oddity.about.links().eq(other.about.links())
        };
        oddity.what == What::TimesOthers && oddity.value < 0.0 && odd.iter().any(is_odder)
    };
    let shows = |oddity: &Oddity| oddity.is_beyond_any_car() && !is_beside_longer(oddity);
    let mut parts: Vec<&Oddity> = Vec::new();
    for oddity in odd.iter().filter(|oddity| shows(oddity) && oddity.about != About::Corner) {
        if !parts.iter().any(|part| same_part(part.about, oddity.about)) {
            parts.push(oddity);
        }
    }
    let touched =
        || odd.iter().any(|oddity| shows(oddity) && (oddity.touches(point) || is_across_wheel(oddity, point)));
    parts.is_empty() || parts.len() > 2 || touched()
}
