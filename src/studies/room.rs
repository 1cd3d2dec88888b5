//! How far a point has moved inside the room that its file gives it.

use super::design_variables::{Bracket, TubeWay};
use crate::geometry::{
    Adjustments, Axis, Corner, CornerPoint, End, Geometry, Interval, Pickup, PointAdjustment, Side, TubeAdjustment,
};

/// A point that is no further out than this stands at the end of its room, mm or deg: the rounding of a difference of two places.
const AT_THE_END: f64 = 1e-6;

/// A way in which a point may be moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RoomWay {
    /// A coordinate, side axes.
    Axis(Axis),
    /// Of a bracket on a frame tube.
    Tube(TubeWay),
}

/// One way of a point, counted from the place where the file has it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoomUse {
    /// Which way.
    pub way: RoomWay,
    /// How far the frame lets it move, mm; deg of a turn.
    pub room: Interval,
    /// How far it has moved, mm; deg of a turn.
    pub moved: f64,
}

impl RoomUse {
    /// Of the ways of a point that have a room; `drawn` is the car of the file.
    pub fn of(drawn: &Geometry, moved: &Corner, side: Side, point: CornerPoint) -> Vec<Self> {
        let (Some(from), Some(to)) = (place(drawn.corner(side), point), place(moved, point)) else { return Vec::new() };
        let may = &drawn.adjustments[side];
        let of_axis = |axis: Axis| {
            let at = axis.index();
            let room = room_of(may, point)?[at]?.interval();
            Some(Self { way: RoomWay::Axis(axis), room, moved: to[at] - from[at] })
        };
        let on_tube = ride_of(may, point).zip(moves_on_tube(drawn, side, point, &to));
        let of_tube = on_tube.into_iter().flat_map(|(ride, moves)| {
            let of_way = move |(way, moved): (TubeWay, f64)| {
                Some(Self { way: RoomWay::Tube(way), room: (*way.range(ride))?.interval(), moved })
            };
            TubeWay::ALL.into_iter().zip(moves).filter_map(of_way)
        });
        Axis::ALL.into_iter().filter_map(of_axis).chain(of_tube).collect()
    }

    /// How far it is outside, mm or deg; 0 inside and at the ends.
    ///
    /// Tested by `a_point_is_outside_its_room_by_what_it_went_too_far`.
    pub fn beyond(&self) -> f64 {
        let beyond = (self.moved - self.room.high).max(self.room.low - self.moved);
        if beyond > AT_THE_END { beyond } else { 0.0 }
    }
}

/// Where a bracket is that its tube cannot carry there.
#[derive(Debug, Clone, PartialEq)]
pub struct OffTube {
    /// Name of the tube.
    pub tube: String,
    /// How far it stands past an end, mm, and whether that is the end `to`.
    pub past_end: Option<(f64, bool)>,
    /// How far it went in the ways that the file gives no room, mm; deg of a turn.
    pub without_room: Vec<(TubeWay, f64)>,
}

impl OffTube {
    /// Of a point on a tube; `drawn` is the car of the file.
    ///
    /// Tested by `tests/live/walk.rs`.
    pub fn of(drawn: &Geometry, moved: &Corner, side: Side, point: CornerPoint) -> Option<Self> {
        let (ride, to) = (ride_of(&drawn.adjustments[side], point)?, place(moved, point)?);
        let tube = drawn.tubes.get(ride.tube)?;
        let (at_mm, length_mm) = (tube.along_mm(&to), tube.length_mm());
        let past_end = match (at_mm > length_mm + AT_THE_END, at_mm < -AT_THE_END) {
            (true, _) => Some((at_mm - length_mm, true)),
            (_, true) => Some((-at_mm, false)),
            _ => None,
        };
        let moves = TubeWay::ALL.into_iter().zip(moves_on_tube(drawn, side, point, &to)?);
        // Room along and round a tube says nothing of how near to it: what is 0 there holds all the same.
        let without_room = moves.filter(|(way, _)| way.range(ride).is_none()).collect();
        Some(Self { tube: tube.name.clone(), past_end, without_room })
    }
}

/// What is left of the room of one point once it stands where `moved` has it, written into the car.
pub fn keep_room_of_point(drawn: &Geometry, moved: &mut Geometry, side: Side, point: CornerPoint) {
    let (Some(from), Some(to)) = (place(drawn.corner(side), point), place(moved.corner(side), point)) else { return };
    let (may, left) = (&drawn.adjustments[side], &mut moved.adjustments[side]);
    if let (Some(room), Some(left)) = (room_of(may, point), room_of_mut(left, point)) {
        *left = [0, 1, 2].map(|k| room[k].map(|range| range.after(to[k] - from[k])));
    }
    let moves = moves_on_tube(drawn, side, point, &to);
    if let (Some(ride), Some(left), Some(moves)) = (ride_of(may, point), ride_of_mut(left, point), moves) {
        for (way, by) in TubeWay::ALL.into_iter().zip(moves) {
            *way.range_mut(left) = way.range(ride).map(|range| range.after(by));
        }
    }
}

/// How far a bracket on a tube went in each way of [`TubeWay::ALL`].
fn moves_on_tube(drawn: &Geometry, side: Side, point: CornerPoint, to: &nalgebra::Point3<f64>) -> Option<[f64; 3]> {
    let ride = ride_of(&drawn.adjustments[side], point)?;
    Some(Bracket::on(drawn.tubes.get(ride.tube)?, &place(drawn.corner(side), point)?).moved_to(to))
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

fn ride_of(adjustments: &Adjustments, point: CornerPoint) -> Option<&TubeAdjustment> {
    let CornerPoint::Pickup(Pickup { link, end: End::Chassis }) = point else { return None };
    adjustments.links[link].tube.as_ref()
}

fn ride_of_mut(adjustments: &mut Adjustments, point: CornerPoint) -> Option<&mut TubeAdjustment> {
    let CornerPoint::Pickup(Pickup { link, end: End::Chassis }) = point else { return None };
    adjustments.links[link].tube.as_mut()
}

#[cfg(test)]
mod tests {
    use super::{RoomUse, RoomWay};
    use crate::geometry::{Axis, Interval};

    #[test]
    fn a_point_is_outside_its_room_by_what_it_went_too_far() {
        let used = |moved| RoomUse { way: RoomWay::Axis(Axis::Z), room: Interval { low: -5.0, high: 8.0 }, moved };
        assert_eq!([-7.0, -5.0, 0.0, 8.000_000_1, 9.5].map(|moved| used(moved).beyond()), [2.0, 0.0, 0.0, 0.0, 1.5]);
    }
}
