//! Two ends of links that agree in two coordinates and not in the third, where both were meant to share one hole.
//!
//! Links of an upright are drawn beside each other along one axis too: only a third number that a slip makes of the other one beside
//! links that share a hole exactly, or ends between which no two rod ends have room, tells it.

use super::alone::trails;
use super::guesses::SAME_HOLE_MM;
use super::oddities::{Around, ONE_HOLE_MM, oddities};
use super::oddity::Oddity;
use super::typing::strain;
use super::written::{Writing, end_pairs, place_of};
use super::{Doubt, Sentence, Suspect};
use crate::geometry::slips::{Slip, hundred_off, meant};
use crate::geometry::{Axis, Corner, CornerPoint, End, Geometry, Pickup, Side};
use crate::measures::segments_apart_mm;

/// Links whose middles are nearer than this go through each other, mm; ends further from each other than `NEAR_MM` are beside each
/// other on purpose.
const THROUGH_MM: f64 = 14.0;
const NEAR_MM: f64 = 35.0;
/// A slip that moves an end by less is told by the room between two rod ends alone, mm.
const GROSS_MM: f64 = 25.0;

/// Two ends, and the one number in which they differ.
struct Pair {
    links: [usize; 2],
    end: End,
    axis: Axis,
    /// Of either end, in the unit of the file.
    numbers: [f64; 2],
    slip: Option<Slip>,
}

/// One doubt for each such pair; the corner goes on with one hole.
pub(super) fn mend(geometry: &mut Geometry, side: Side) -> Vec<Doubt> {
    let (writing, around) = (Writing::of(geometry), Around::of(geometry, side));
    let corner = geometry.corner(side);
    let pairs: Vec<Pair> =
        end_pairs(around.placed).filter_map(|(links, end)| pair(corner, links, end, &writing)).collect();
    let mut found = Vec::new();
    for pair in pairs {
        let corner = geometry.corner(side);
        let reason = if through_mm(corner, &pair).is_some() {
            let apart_mm = through_mm(corner, &pair).unwrap_or(0.0);
            format!("as written the links pass each other at {}, middle to middle", writing.units.show(apart_mm))
        } else if pair.slip.is_some() && shares_elsewhere(corner, around.placed, &pair) {
            "other links of the corner share a hole exactly".to_owned()
        } else {
            continue;
        };
        let mut ways = [0, 1].map(|wrong| {
            let point = CornerPoint::Pickup(Pickup { link: pair.links[wrong], end: pair.end });
            let other = CornerPoint::Pickup(Pickup { link: pair.links[1 - wrong], end: pair.end });
            let mended = writing.reread(corner, point, writing.numbers(corner, other));
            (oddities(&mended, around), wrong, mended)
        });
        ways.sort_by(|(a, ..), (b, ..)| strain(a).total_cmp(&strain(b)));
        let [(odd, first, mended), (other_odd, ..)] = ways;
        let is_as_sound = count(&other_odd) <= count(&odd);
        found.push(pair.doubt(corner, first, is_as_sound, &reason));
        *geometry.corner_mut(side) = mended;
    }
    found
}

fn count(odd: &[Oddity]) -> usize {
    odd.iter().filter(|oddity| oddity.ratio > 1.0).count()
}

fn pair(corner: &Corner, links: [usize; 2], end: End, writing: &Writing) -> Option<Pair> {
    let numbers = links.map(|link| writing.numbers(corner, CornerPoint::Pickup(Pickup { link, end })));
    let apart_mm = |axis: Axis| writing.units.to_mm((numbers[0][axis.index()] - numbers[1][axis.index()]).abs());
    let mut differing = Axis::ALL.into_iter().filter(|&axis| apart_mm(axis) >= SAME_HOLE_MM);
    let (axis, None) = (differing.next()?, differing.next()) else { return None };
    let numbers = numbers.map(|numbers| numbers[axis.index()]);
    let slips = |from: f64, to: f64| {
        let all = meant(from, writing.units).into_iter().chain(hundred_off(from, writing.units));
        // Ends either side of the wheel's middle are turned images of each other by design.
        let is_it = |(slip, number): &(Slip, f64)| {
            *slip != Slip::SignTurned && writing.units.to_mm((number - to).abs()) < SAME_HOLE_MM
        };
        { all }.find(is_it).map(|(slip, _)| slip)
    };
    let slip = slips(numbers[0], numbers[1]).or_else(|| slips(numbers[1], numbers[0]));
    let is_apart = apart_mm(axis) >= ONE_HOLE_MM && !links.iter().any(|&link| trails(corner, link));
    is_apart.then(|| Pair { links, end, axis, numbers, slip: slip.filter(|_| apart_mm(axis) >= GROSS_MM) })
}

/// How near the middles of the two links pass each other, mm, where no two rod ends have room.
fn through_mm(corner: &Corner, pair: &Pair) -> Option<f64> {
    let [a, b] = pair.links.map(|link| [corner.links[link].chassis, corner.links[link].upright]);
    let at = |link: usize| place_of(corner, CornerPoint::Pickup(Pickup { link, end: pair.end }));
    let near = (at(pair.links[0]) - at(pair.links[1])).norm() < NEAR_MM;
    Some(segments_apart_mm(&a, &b)).filter(|mm| near && *mm < THROUGH_MM)
}

/// Two other links have one hole, at either end.
fn shares_elsewhere(corner: &Corner, placed: [bool; 5], pair: &Pair) -> bool {
    let place = |link: usize, end: End| place_of(corner, CornerPoint::Pickup(Pickup { link, end }));
    let is_other = |link: &usize| !pair.links.contains(link);
    end_pairs(placed)
        .filter(|(links, end)| *end == pair.end && links.iter().all(is_other))
        .any(|([a, b], end)| (place(a, end) - place(b, end)).norm() < SAME_HOLE_MM)
}

impl Pair {
    /// `first` of the two is the likelier one to be wrong.
    fn doubt(&self, corner: &Corner, first: usize, either: bool, reason: &str) -> Doubt {
        let about = |at: usize| corner.name_of(CornerPoint::Pickup(Pickup { link: self.links[at], end: self.end }));
        let alike: Vec<&str> = Axis::ALL.into_iter().filter(|axis| *axis != self.axis).map(Axis::name).collect();
        let one =
            |at: usize| format!("{} = {:?} is probably {:?}", self.axis.name(), self.numbers[at], self.numbers[1 - at]);
        let slip = self.slip.map_or(String::new(), |slip| format!(" ({})", slip.words()));
        let other = about(1 - first);
        let or = if either { format!("; or {other}: {}", one(1 - first)) } else { String::new() };
        let alike = alike.join(" and ");
        let rest = format!(
            ": {}{slip}{or}: in {alike} it agrees with {other}, as ends that share a hole do; {reason}.",
            one(first)
        );
        let sentence = Sentence::of_side(&about(first), corner.side, &rest);
        let suspect = |at: usize| Suspect { about: about(at), probably: Some(format!("{:?}", self.numbers[1 - at])) };
        let suspects = [first, 1 - first].into_iter().take(if either { 2 } else { 1 }).map(suspect).collect();
        Doubt::of(Some(corner.side), suspects, sentence).naming(self.links)
    }
}
