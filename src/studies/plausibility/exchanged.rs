//! A bracket far from all others across the car, with x and y in each other's place.
//!
//! The brackets of a corner stand on few members of the frame, so that each has a neighbour at about its own y. One that has
//! none, and has one when its first two numbers change places, was typed in the wrong order.

use super::alone::{TRAILING, share_along};
use super::oddities::{Around, ONE_HOLE_MM, count_odd};
use super::written::Writing;
use super::{Doubt, Sentence};
use crate::geometry::slips::{Slip, hundred_off, meant};
use crate::geometry::{Axis, Corner, CornerPoint, End, Geometry, Pickup, Side};

/// So far from its nearest neighbour across the car a bracket is alone, mm.
const ALONE_MM: f64 = 80.0;
/// Three brackets stand on one member of the frame when the third is so near to the line of the others, mm.
const IN_LINE_MM: f64 = 10.0;
/// It was meant to be where no more than this share of that is left; no unit.
const LEFT: f64 = 0.25;

/// One doubt for each such bracket; the corner goes on with the numbers exchanged. What tuning has placed was typed by nobody.
pub(super) fn mend(geometry: &mut Geometry, side: Side) -> Vec<Doubt> {
    let (writing, around, units) = (Writing::of(geometry), Around::of(geometry, side), geometry.units);
    if geometry.tuned || around.placed != [true; 5] {
        return Vec::new();
    }
    let corner = geometry.corner_mut(side);
    let mut found = Vec::new();
    for link in 0..corner.links.len() {
        let point = CornerPoint::Pickup(Pickup { link, end: End::Chassis });
        let written = writing.numbers(corner, point);
        let meant = [written[1], written[0], written[2]];
        let mended = writing.reread(corner, point, meant);
        let [now_mm, then_mm] = [&*corner, &mended].map(|corner| from_nearest_mm(corner, link));
        let [trails_now, trails_then] = [&*corner, &mended].map(|corner| share_along(corner, link));
        let is_meant = now_mm > ALONE_MM
            && then_mm < LEFT * now_mm
            && trails_then < trails_now
            && trails_now <= TRAILING
            && mended.links[link].chassis.y < mended.links[link].upright.y
            && !shares_hole(corner, link)
            && !is_in_line(corner, link)
            && count_odd(&mended, around) <= count_odd(corner, around);
        if !is_meant {
            continue;
        }
        let about = corner.name_of(point);
        let of_y = of_y_alone(corner, (link, &writing, around), LEFT * now_mm);
        let rest = format!(
            ": {}{of_y}; as written it is {} from the nearest bracket across the car.",
            Slip::Exchanged([Axis::X, Axis::Y]).told_of_point(None, [written, meant]),
            units.show(now_mm)
        );
        let sentence = Sentence::of_side(&about, side, &rest);
        found.push(Doubt::new(Some(side), about, Some(format!("{meant:?}")), sentence).naming([link]));
        *corner = mended;
    }
    found
}

/// One slip in its y alone that puts the bracket beside another one, to stand behind the exchange; none that leaves its mark on the
/// corner.
fn of_y_alone(corner: &Corner, (link, writing, around): (usize, &Writing, Around), near_mm: f64) -> String {
    let point = CornerPoint::Pickup(Pickup { link, end: End::Chassis });
    let written = writing.numbers(corner, point);
    let y = written[1];
    let slips = hundred_off(y, writing.units).into_iter().chain(meant(y, writing.units));
    let fits = |(_, number): &(Slip, f64)| {
        let mended = writing.reread(corner, point, [written[0], *number, written[2]]);
        from_nearest_mm(&mended, link) < near_mm && count_odd(&mended, around) <= count_odd(corner, around)
    };
    let slip = { slips }.find(fits);
    slip.map_or(String::new(), |(slip, number)| format!("; or {}", slip.told_of(Axis::Y, [y, number])))
}

/// How far the bracket of a link is from the nearest other one across the car, mm.
fn from_nearest_mm(corner: &Corner, link: usize) -> f64 {
    let y_mm = |link: usize| corner.links[link].chassis.y;
    let others = (0..corner.links.len()).filter(|&other| other != link);
    others.map(|other| (y_mm(other) - y_mm(link)).abs()).fold(f64::INFINITY, f64::min)
}

/// It stands on one line with two other brackets that are apart: on a slanting member, or on the axis of a semi-trailing arm.
fn is_in_line(corner: &Corner, link: usize) -> bool {
    let at = |link: usize| corner.links[link].chassis;
    let others: Vec<usize> = (0..corner.links.len()).filter(|&other| other != link).collect();
    let off_mm = |a: usize, b: usize| {
        let along = (at(b) - at(a)).try_normalize(ALONE_MM)?;
        Some((at(link) - at(a)).cross(&along).norm())
    };
    let pairs = others.iter().flat_map(|&a| others.iter().filter(move |&&b| a < b).map(move |&b| (a, b)));
    pairs.filter_map(|(a, b)| off_mm(a, b)).any(|off_mm| off_mm < IN_LINE_MM)
}

/// A hole that two links share was typed twice, and no slip is made twice.
fn shares_hole(corner: &Corner, link: usize) -> bool {
    let apart_mm = |other: usize| (corner.links[other].chassis - corner.links[link].chassis).norm();
    (0..corner.links.len()).any(|other| other != link && apart_mm(other) < ONE_HOLE_MM)
}
