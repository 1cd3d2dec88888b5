//! The car of an answer, and coordinates of points that were not there.

use nalgebra::Point3;

use super::answer::Answer;
use crate::geometry::{
    AdjustmentRange, Adjustments, Axis, ChassisPlace, Corner, End, Geometry, Interval, LinkAdjustments, Side,
};
use crate::studies::design_variables::{DesignVariables, VariableKind};

/// The coordinate itself, car axes, mm, of an end of the box in which a point that was not there was looked for; `None` of what
/// is counted from a drawn place.
pub fn new_coordinate_mm(geometry: &Geometry, side: Side, kind: &VariableKind, at: f64) -> Option<(Axis, f64)> {
    let VariableKind::Pickup { link, end: End::Chassis, axis } = *kind else { return None };
    let is_new = !geometry.adjustments[side].links[link].is_placed();
    let sign = if axis == Axis::Y { side.sign() } else { 1.0 };
    is_new.then(|| (axis, sign * (geometry.corner(side).links[link].chassis[axis.index()] + at)))
}

/// The car with all that is free on these sides a little off its place, on the right by more than on the left: a file that has a
/// place for it has one for every answer.
pub fn all_free_moved(geometry: &Geometry, sides: &[Side]) -> Geometry {
    const OFF: [f64; 2] = [0.1, 0.2];
    let sides = if geometry.mirrored { &[Side::Left][..] } else { sides };
    let moved = |&side: &Side| {
        let variables = DesignVariables::of(geometry, side);
        let off = if side == Side::Left { OFF[0] } else { OFF[1] };
        let by = |range: Interval| if range.high > 0.0 { range.high.min(off) } else { range.low.max(-off) };
        let design_vector: Vec<f64> = variables.list.iter().map(|variable| by(variable.range.interval())).collect();
        Some((side, variables.apply(&design_vector).at_rest()?))
    };
    let corners: Vec<(Side, Corner)> = sides.iter().filter_map(moved).collect();
    with_corners(geometry, &corners.iter().map(|(side, corner)| (*side, corner)).collect::<Vec<_>>())
}

/// A geometry with some of its sides tuned. Its room is what was left of the first, so that tuning again stays inside.
pub fn tuned_geometry(geometry: &Geometry, answers: &[(Side, &Answer)]) -> Geometry {
    let corners: Vec<_> = answers.iter().map(|&(side, answer)| (side, &answer.corner)).collect();
    let mut tuned = with_corners(geometry, &corners);
    (tuned.tuned, tuned.was_tuned) = (true, true);
    // What is tuned of a built car is a plan for it.
    tuned.planned |= geometry.built;
    for &(side, answer) in answers {
        let places = answer.corner.links.each_ref().map(|link| link.chassis);
        let links = std::array::from_fn(|link| placed(answer.room_left.links[link], &places[link]));
        tuned.adjustments[side] = Adjustments { links, ..answer.room_left.clone() };
    }
    if tuned.mirrored {
        tuned.adjustments.right = tuned.adjustments.left.clone();
    }
    tuned
}

/// A link that had a box for its chassis point has the point, and the box as its room: a flat one leaves no room across itself.
fn placed(link: LinkAdjustments, chassis: &Point3<f64>) -> LinkAdjustments {
    let Some(within) = link.within() else { return link };
    let room = |axis: usize| {
        let Interval { low, high } = within[axis];
        let [low, high] = [(low - chassis[axis]).min(0.0), (high - chassis[axis]).max(0.0)];
        (within[axis].width() > 0.0).then_some(AdjustmentRange { low, high, step: None })
    };
    LinkAdjustments { place: ChassisPlace::Drawn, chassis: std::array::from_fn(room), ..link }
}

/// A geometry with the corners of some of its sides in place of its own. The length of a link by tape goes along with the
/// length between its points: it stays off by what the drawing was off.
pub(super) fn with_corners(geometry: &Geometry, corners: &[(Side, &Corner)]) -> Geometry {
    let mut tuned = geometry.clone();
    for &(side, corner) in corners {
        *tuned.corner_mut(side) = corner.clone();
        let drawn = geometry.corner(side).links.iter().zip(&geometry.adjustments[side].links);
        for (link, (drawn, may)) in tuned.corner_mut(side).links.iter_mut().zip(drawn) {
            let longer_mm = if may.is_placed() { link.length_mm() - drawn.length_mm() } else { 0.0 };
            link.taped_mm = link.taped_mm.map(|taped_mm| taped_mm + longer_mm);
        }
    }
    for (_, may) in tuned.adjustments.as_mut() {
        may.links.iter_mut().for_each(|link| link.place = ChassisPlace::Drawn);
    }
    if tuned.mirrored {
        tuned.mirror_left();
    }
    tuned
}
