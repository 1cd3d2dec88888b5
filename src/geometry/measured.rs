//! How well a point is known that was measured.

use nalgebra::Point3;

use super::axis::End;

/// A point of the car that was measured, under the name that [`Corner::name_of`](super::Corner::name_of) gives it.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredPoint {
    /// What the builder calls it.
    pub name: String,
    /// Where it is, mm, axes of the car.
    pub at: Point3<f64>,
    /// One standard deviation of each coordinate, mm.
    pub sd_mm: [f64; 3],
}

/// How well the two points of a link are known: one standard deviation along x, y and z, mm; `None` for a point of which
/// nothing of its own is known.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct MeasuredSd {
    /// Of the inner point.
    pub chassis_mm: Option<[f64; 3]>,
    /// Of the outer point.
    pub upright_mm: Option<[f64; 3]>,
}

impl MeasuredSd {
    /// Of one end.
    pub fn at(&self, end: End) -> Option<[f64; 3]> {
        match end {
            End::Chassis => self.chassis_mm,
            End::Upright => self.upright_mm,
        }
    }

    /// The same, to be changed.
    pub fn at_mut(&mut self, end: End) -> &mut Option<[f64; 3]> {
        match end {
            End::Chassis => &mut self.chassis_mm,
            End::Upright => &mut self.upright_mm,
        }
    }
}
