//! Ends of links that are where the names of the links deny them: an upper one below a lower one, a front one behind a rear one.
//!
//! A name is the builder's own and proves nothing: only that name and place do not agree is told.

use super::written::{Writing, place_of};
use super::{Doubt, Sentence, Suspect};
use crate::geometry::slips::Slip;
use crate::geometry::{Axis, Corner, CornerPoint, End, Geometry, Pickup, Side};

/// In an upright an upper hole is above a lower one by more, mm; on the frame, where pivots slant, one that is lower by less is level.
const ABOVE_MM: f64 = 40.0;
const LEVEL_ON_FRAME_MM: f64 = 30.0;
/// A front link that is behind by less stands beside the rear one, mm.
const BESIDE_MM: f64 = 10.0;

/// An end of a link that is named to be above, or ahead of, that of another one and is not.
struct Denied {
    links: [usize; 2],
    end: End,
    axis: Axis,
    by_mm: f64,
}

impl Denied {
    fn all(corner: &Corner, placed: [bool; 5]) -> Vec<Self> {
        let words = corner.links.each_ref().map(|link| Words::of(&link.name));
        let pairs = (0..5).flat_map(|a| (0..5).map(move |b| [a, b]));
        let named = pairs.flat_map(|[a, b]| {
            let (first, second) = (words[a], words[b]);
            let is_above = first.upper == Some(true) && second.upper == Some(false);
            let is_ahead = first.front == Some(true) && second.front == Some(false) && first.upper == second.upper;
            let axes = [(is_above, Axis::Z, -ABOVE_MM), (is_ahead, Axis::X, BESIDE_MM)];
            axes.into_iter().filter(|(is_named, ..)| *is_named).map(move |(_, axis, room_mm)| ([a, b], axis, room_mm))
        });
        let at = |link: usize, end: End, axis: Axis| {
            place_of(corner, CornerPoint::Pickup(Pickup { link, end }))[axis.index()]
        };
        let ends = named.flat_map(|(links, axis, room_mm)| End::BOTH.map(|end| (links, end, axis, room_mm)));
        let is_there = |links: [usize; 2], end: End| end == End::Upright || links.iter().all(|&link| placed[link]);
        let there = ends.filter(|&(links, end, ..)| is_there(links, end));
        let all = there.map(|(links, end, axis, room_mm)| {
            let room_mm = if (end, axis) == (End::Chassis, Axis::Z) { LEVEL_ON_FRAME_MM } else { room_mm };
            let by_mm = at(links[1], end, axis) - at(links[0], end, axis);
            (Self { links, end, axis, by_mm }, room_mm)
        });
        all.filter(|(denied, room_mm)| denied.by_mm > *room_mm).map(|(denied, _)| denied).collect()
    }
}

/// What the name of a link says of its place.
#[derive(Debug, Clone, Copy)]
struct Words {
    upper: Option<bool>,
    front: Option<bool>,
}

impl Words {
    fn of(name: &str) -> Self {
        let name = name.to_lowercase();
        let has = |word: &str| name.split(|letter: char| !letter.is_alphabetic()).any(|part| part == word);
        let either = |yes: &[&str], no: &[&str]| {
            let [yes, no] = [yes, no].map(|words| words.iter().any(|word| has(word)));
            (yes != no).then_some(yes)
        };
        Self { upper: either(&["upper", "top"], &["lower", "bottom"]), front: either(&["front"], &["rear"]) }
    }
}

/// How many ends are where a name denies them.
pub(super) fn count(corner: &Corner, placed: [bool; 5]) -> usize {
    Denied::all(corner, placed).len()
}

/// One doubt for each end and way, of the link that most others deny.
pub(super) fn doubts(geometry: &Geometry, side: Side, placed: [bool; 5]) -> Vec<Doubt> {
    let (corner, writing) = (geometry.corner(side), Writing::of(geometry));
    let denied = Denied::all(corner, placed);
    let kinds = End::BOTH.into_iter().flat_map(|end| [Axis::Z, Axis::X].map(|axis| (end, axis)));
    let doubt = |(end, axis): (End, Axis)| {
        let of_kind: Vec<&Denied> = denied.iter().filter(|of| (of.end, of.axis) == (end, axis)).collect();
        let times = |link: usize| of_kind.iter().filter(|of| of.links.contains(&link)).count();
        let order = |of: &&&Denied| (of.links.iter().map(|&link| times(link)).max(), of.by_mm);
        let worst =
            of_kind.iter().max_by(|a, b| order(a).partial_cmp(&order(b)).unwrap_or(std::cmp::Ordering::Equal))?;
        let [first, second] = worst.links;
        let [about, other] = if times(second) > times(first) { [second, first] } else { [first, second] };
        let point = |link: usize| CornerPoint::Pickup(Pickup { link, end });
        let name = |link: usize| corner.name_of(point(link));
        let is_above = (about == first) != (worst.by_mm > 0.0);
        let way = match (axis, about == first) {
            (Axis::Z, _) if is_above => "above",
            (Axis::Z, _) => "below",
            (_, true) => "behind",
            (_, false) => "ahead of",
        };
        let (written, by) = (writing.numbers(corner, point(about)), geometry.units.show(worst.by_mm.abs()));
        let turned = if (end, axis) == (End::Upright, Axis::Z) {
            turned(corner, &writing, placed, [about, other])
        } else {
            None
        };
        let is_reversed = worst.by_mm > 0.0;
        let named =
            if is_reversed { "the links are named the other way round" } else { "one is named to be above the other" };
        let advice = match turned {
            Some((link, z)) => format!("{} probably has z = {z:?}: {}", name(link), Slip::SignTurned.words()),
            None if is_reversed => "measure both again, or name the links anew".to_owned(),
            None => "measure both again".to_owned(),
        };
        let suspect = |link: usize| Suspect { about: name(link), probably: None };
        let suspects = match turned {
            Some((link, z)) => vec![Suspect { probably: Some(format!("{z:?}")), ..suspect(link) }],
            None => [about, other].map(suspect).into(),
        };
        let rest = format!(": {written:?} is {by} {way} {}, and {named}: {advice}.", name(other));
        let sentence = Sentence::of_side(&name(about), side, &rest);
        Some(Doubt::of(Some(side), suspects, sentence).naming([about, other]))
    };
    kinds.filter_map(doubt).collect()
}

/// The hole of two in an upright that its name allows with the sign of its height turned: a file that counts from the hub has
/// both above 0 and below.
fn turned(corner: &Corner, writing: &Writing, placed: [bool; 5], links: [usize; 2]) -> Option<(usize, f64)> {
    let before = count(corner, placed);
    links.into_iter().find_map(|link| {
        let point = CornerPoint::Pickup(Pickup { link, end: End::Upright });
        let [x, y, z] = writing.numbers(corner, point);
        (count(&writing.reread(corner, point, [x, y, -z]), placed) < before).then_some((link, -z))
    })
}
