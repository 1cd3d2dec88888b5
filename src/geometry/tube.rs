//! Tubes of the frame.

use nalgebra::Point3;

/// A member of the frame: its centre line, mm, in the left side's axes; the right side has its mirror image.
#[derive(Debug, Clone, PartialEq)]
pub struct Tube {
    /// What the builder calls it.
    pub name: String,
    /// One end of the centre line.
    pub from: Point3<f64>,
    /// The other end.
    pub to: Point3<f64>,
    /// Outside diameter, mm; without it the tube has no body.
    pub od_mm: Option<f64>,
    /// Wall, mm; without it its strength is not told.
    pub wall_mm: Option<f64>,
    /// As the builder names it.
    pub material: Option<String>,
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
