//! What a builder can really move: coordinates, spacers along a bolt, brackets on a frame tube, link lengths.

use nalgebra::Point3;

/// How far something may move from where it stands, in mm or deg, and the step it can only move in, when it has one.
///
/// `low` is at most 0 and `high` at least 0. With a `step` only multiples of it, counted from where the thing stands,
/// can be made: holes of a bracket, shims, turns of a rod end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AdjustmentRange {
    pub low: f64,
    pub high: f64,
    pub step: Option<f64>,
}

/// What of one link may move, in mm along the side axes x, y (outboard) and z unless said otherwise; what is `None` stays.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Free {
    pub chassis: [Option<AdjustmentRange>; 3],
    pub upright: [Option<AdjustmentRange>; 3],
    /// Spacer along `Link::chassis_bolt`, mm, positive the way the bolt points; given only with the bolt.
    pub chassis_bolt: Option<AdjustmentRange>,
    /// Spacer along `Link::upright_bolt`, mm, positive the way the bolt points; given only with the bolt.
    pub upright_bolt: Option<AdjustmentRange>,
    /// The bracket rides on a frame tube. Never together with play in the coordinates of `chassis`, unless none of its
    /// own three has any.
    pub tube: Option<TubeAdjustment>,
    /// Length of the link, mm, its points staying where they are on frame and upright: a turnbuckle.
    pub length: Option<AdjustmentRange>,
}

/// How a bracket may be moved on the frame tube that carries it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TubeAdjustment {
    /// Index into `Geometry::tubes`.
    pub tube: usize,
    /// Along the tube, mm, positive from its `from` to its `to`.
    pub slide: Option<AdjustmentRange>,
    /// Distance from the tube's centre line, mm, positive away from it.
    pub stand_off: Option<AdjustmentRange>,
    /// About the tube's centre line, deg, right-hand about `from` → `to` in side axes: a right side turns as the mirror
    /// image of the left.
    pub turn: Option<AdjustmentRange>,
}

/// A member of the frame: its centre line, mm, in the left side's axes; the right side has its mirror image.
#[derive(Debug, Clone, PartialEq)]
pub struct Tube {
    pub name: String,
    pub from: Point3<f64>,
    pub to: Point3<f64>,
}

impl Tube {
    /// Length of the centre line, mm; never 0 in a geometry that was read.
    pub fn length_mm(&self) -> f64 {
        (self.to - self.from).norm()
    }

    /// How far along the tube a point in side axes stands, mm from `from`; beyond the ends below 0 or above the length.
    ///
    /// Tested by `a_point_stands_along_a_tube_and_off_it` in `tests/geometry_keys.rs`.
    pub fn along_mm(&self, point: &Point3<f64>) -> f64 {
        (point - self.from).dot(&(self.to - self.from)) / self.length_mm()
    }

    /// Distance of a point in side axes from the centre line, taken as endless, mm; never negative.
    ///
    /// Tested by `a_point_stands_along_a_tube_and_off_it` in `tests/geometry_keys.rs`.
    pub fn off_mm(&self, point: &Point3<f64>) -> f64 {
        (point - self.from).cross(&(self.to - self.from)).norm() / self.length_mm()
    }
}
