//! How well a point is known that was measured.

use nalgebra::Point3;

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
