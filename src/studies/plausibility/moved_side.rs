//! A right side that stands elsewhere than the left one as a whole, as that of a car which only turns one way: one question, not one for
//! each point.

use nalgebra::Vector3;

use super::written::Writing;
use super::{Doubt, sides};
use crate::geometry::{Axis, CornerPoint, End, Geometry, Pickup, Side};

/// So many of the five ends that are off by one distance have no mistake each.
const MOST_ENDS: usize = 4;

/// What stands elsewhere as one piece.
pub(super) struct Moved {
    upright: Option<Vector3<f64>>,
    frame: Option<Vector3<f64>>,
    apart: Vec<(CornerPoint, Vector3<f64>)>,
}

impl Moved {
    /// `None` where the wheel stands with its upright where that of the left side does, or its points are counted from the hub.
    pub(super) fn of(geometry: &Geometry) -> Option<Self> {
        let writing = Writing::of(geometry);
        let is_of_hub = geometry.left.points().iter().any(|(point, _)| writing.is_of_hub(&geometry.left, *point));
        let is_placed = Side::BOTH.into_iter().all(|side| geometry.is_placed(side));
        if geometry.mirrored || is_of_hub || !is_placed {
            return None;
        }
        let right = geometry.right.points();
        let apart = geometry.left.points().into_iter().filter_map(|(point, left)| {
            let place = right.iter().find(|(of, _)| *of == point).map(|(_, place)| place)?;
            Some((point, place - left))
        });
        let mut moved = Self { upright: None, frame: None, apart: apart.collect() };
        moved.frame = moved.shift(End::Chassis);
        moved.upright = moved.shift(End::Upright).filter(|shift| moved.is_moved(CornerPoint::WheelCentre, shift));
        moved.upright.is_some().then_some(moved)
    }

    /// By how much most ends are off together.
    fn shift(&self, end: End) -> Option<Vector3<f64>> {
        let is_end = |point: &CornerPoint| matches!(point, CornerPoint::Pickup(pickup) if pickup.end == end);
        let ends = || self.apart.iter().filter(|(point, _)| is_end(point));
        let shift = Vector3::from_fn(|axis, _| sides::median(ends().map(|(_, apart)| apart[axis])));
        let count = ends().filter(|(_, apart)| (apart - shift).amax() <= sides::WELDED_MM).count();
        (shift.amax() > sides::WELDED_MM && count >= MOST_ENDS).then_some(shift)
    }

    fn is_moved(&self, point: CornerPoint, by: &Vector3<f64>) -> bool {
        let apart = self.apart.iter().find(|(of, _)| *of == point);
        apart.is_some_and(|(_, apart)| (apart - by).amax() <= sides::WELDED_MM)
    }

    /// The point stands where the rest of its side does.
    pub(super) fn explains(&self, point: CornerPoint) -> bool {
        let shift = match point {
            CornerPoint::Pickup(Pickup { end: End::Chassis, .. }) | CornerPoint::SpringChassis => &self.frame,
            CornerPoint::HalfshaftInner => &None,
            _ => &self.upright,
        };
        shift.as_ref().is_some_and(|shift| self.is_moved(point, shift))
    }

    pub(super) fn doubt(&self, geometry: &Geometry) -> Doubt {
        let by = |shift: &Vector3<f64>| {
            let axis = Axis::ALL.into_iter().max_by(|a, b| shift[a.index()].abs().total_cmp(&shift[b.index()].abs()));
            let axis = axis.unwrap_or(Axis::Y);
            let off_mm = shift[axis.index()];
            format!("{} {}", geometry.units.show(off_mm.abs()), sides::way(axis, off_mm))
        };
        let upright = self.upright.as_ref().map_or(String::new(), by);
        let frame = self.frame.as_ref().map_or(String::new(), |shift| format!(", its brackets {}", by(shift)));
        let sentence = format!(
            "The right side: its wheel and upright stand {upright}{frame}, as a whole, than those of the left side: right where \
             that is meant; else measure both wheel centres again from one datum."
        );
        Doubt::new(Some(Side::Right), "right", None, sentence)
    }
}
