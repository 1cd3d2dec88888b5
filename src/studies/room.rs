//! How far a point has moved inside the room that its file gives it.

use crate::geometry::{Adjustments, Axis, Corner, CornerPoint, End, Geometry, Interval, PointAdjustment, Side};

/// A point that is no further out than this stands at the end of its room, mm: the rounding of a difference of two places.
const AT_THE_END_MM: f64 = 1e-6;

/// One coordinate of a point, counted from the place where the file has it, side axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoomUse {
    /// Which coordinate.
    pub axis: Axis,
    /// How far the frame lets it move, mm.
    pub room_mm: Interval,
    /// How far it has moved, mm.
    pub moved_mm: f64,
}

impl RoomUse {
    /// Of the coordinates of a point that have a room; `drawn` is the car of the file.
    pub fn of(drawn: &Geometry, moved: &Corner, side: Side, point: CornerPoint) -> Vec<Self> {
        let (Some(from), Some(to)) = (place(drawn.corner(side), point), place(moved, point)) else { return Vec::new() };
        let Some(room) = room_of(&drawn.adjustments[side], point) else { return Vec::new() };
        let of_axis = |axis: Axis| {
            let at = axis.index();
            Some(Self { axis, room_mm: room[at]?.interval(), moved_mm: to[at] - from[at] })
        };
        Axis::ALL.into_iter().filter_map(of_axis).collect()
    }

    /// How far it is outside, mm; 0 inside and at the ends.
    ///
    /// Tested by `a_point_is_outside_its_room_by_what_it_went_too_far`.
    pub fn beyond_mm(&self) -> f64 {
        let beyond_mm = (self.moved_mm - self.room_mm.high).max(self.room_mm.low - self.moved_mm);
        if beyond_mm > AT_THE_END_MM { beyond_mm } else { 0.0 }
    }
}

/// What is left of the room of one point once it stands where `moved` has it, written into the car.
pub fn keep_room_of_point(drawn: &Geometry, moved: &mut Geometry, side: Side, point: CornerPoint) {
    let (Some(from), Some(to)) = (place(drawn.corner(side), point), place(moved.corner(side), point)) else { return };
    let Some(room) = room_of(&drawn.adjustments[side], point).copied() else { return };
    if let Some(left) = room_of_mut(&mut moved.adjustments[side], point) {
        *left = [0, 1, 2].map(|k| room[k].map(|range| range.after(to[k] - from[k])));
    }
}

/// Taped lengths of links whose points were moved: each stays off its drawing by what it was off in the file.
pub fn keep_taped_lengths(drawn: &Geometry, moved: &mut Geometry) {
    for side in Side::BOTH {
        let links = moved.corner_mut(side).links.iter_mut();
        for (link, drawn) in links.zip(&drawn.corner(side).links) {
            link.taped_mm = drawn.taped_mm.map(|taped_mm| taped_mm + (link.length_mm() - drawn.length_mm()));
        }
    }
}

fn place(corner: &Corner, point: CornerPoint) -> Option<nalgebra::Point3<f64>> {
    corner.points().into_iter().find(|(of, _)| *of == point).map(|(_, at)| at)
}

fn room_of(adjustments: &Adjustments, point: CornerPoint) -> Option<&PointAdjustment> {
    match point {
        CornerPoint::Pickup(pickup) => {
            let link = &adjustments.links[pickup.link];
            Some(if pickup.end == End::Chassis { &link.chassis } else { &link.upright })
        }
        CornerPoint::HalfshaftInner => Some(&adjustments.halfshaft_inner),
        CornerPoint::SpringChassis => Some(&adjustments.spring_chassis),
        CornerPoint::SpringMount => Some(&adjustments.spring_mount),
        CornerPoint::WheelCentre | CornerPoint::HalfshaftOuter => None,
    }
}

fn room_of_mut(adjustments: &mut Adjustments, point: CornerPoint) -> Option<&mut PointAdjustment> {
    match point {
        CornerPoint::Pickup(pickup) => {
            let link = &mut adjustments.links[pickup.link];
            Some(if pickup.end == End::Chassis { &mut link.chassis } else { &mut link.upright })
        }
        CornerPoint::HalfshaftInner => Some(&mut adjustments.halfshaft_inner),
        CornerPoint::SpringChassis => Some(&mut adjustments.spring_chassis),
        CornerPoint::SpringMount => Some(&mut adjustments.spring_mount),
        CornerPoint::WheelCentre | CornerPoint::HalfshaftOuter => None,
    }
}

#[cfg(test)]
mod tests {
    use super::RoomUse;
    use crate::geometry::{Axis, Interval};

    #[test]
    fn a_point_is_outside_its_room_by_what_it_went_too_far() {
        let used = |moved_mm| RoomUse { axis: Axis::Z, room_mm: Interval { low: -5.0, high: 8.0 }, moved_mm };
        assert_eq!([-7.0, -5.0, 0.0, 8.000_000_1, 9.5].map(|mm| used(mm).beyond_mm()), [2.0, 0.0, 0.0, 0.0, 1.5]);
    }
}
