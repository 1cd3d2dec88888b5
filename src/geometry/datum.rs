//! Places of the real car that a tape starts from.

use nalgebra::Point3;

/// A place that a builder can find again on the bare frame: a centre punch, a foot of the hoop. On neither side.
#[derive(Debug, Clone, PartialEq)]
pub struct Datum {
    /// What the builder calls it.
    pub name: String,
    /// Where it is, mm, axes of the car (y left).
    pub at: Point3<f64>,
}
