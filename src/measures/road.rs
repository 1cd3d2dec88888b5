//! The road plane under one wheel.

use nalgebra::{Point3, Vector3};

use crate::geometry::Side;

/// The road as one wheel sees it from the chassis, in that wheel's side axes.
///
/// The body is rolled by φ about the line y = 0 at road height, then lifted by the ride-height change h, so that a point
/// `p` of the chassis stands `p_y sin φ + (p_z − g) cos φ + h` above the road. ISO 8855: positive roll lifts the left side
/// of the body; in the side axes of a right wheel φ changes its sign.
///
/// Source: `docs/conventions.md`, "Posture". Tested by `tests/reference.rs` (roll rows) and `tests/cli/outside.rs`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Road {
    /// Roll seen in side axes, rad.
    roll_rad: f64,
    sin: f64,
    cos: f64,
    /// Ride-height change, mm, body up positive.
    pub ride_height_change_mm: f64,
    /// Height of the road under this wheel at design, mm.
    pub ground_mm: f64,
}

impl Road {
    /// Roll as in ISO 8855, deg; ride-height change, mm; height of the road at design, mm.
    pub fn new(side: Side, body_roll_deg: f64, ride_height_change_mm: f64, ground_mm: f64) -> Self {
        let roll_rad = side.sign() * body_roll_deg.to_radians();
        let (sin, cos) = roll_rad.sin_cos();
        Self { roll_rad, sin, cos, ride_height_change_mm, ground_mm }
    }

    /// Unit normal of the road, upward.
    pub fn normal(&self) -> Vector3<f64> {
        Vector3::new(0.0, self.sin, self.cos)
    }

    /// Height of a point above the road, mm.
    pub fn height_mm(&self, p: &Point3<f64>) -> f64 {
        p.y * self.sin + (p.z - self.ground_mm) * self.cos + self.ride_height_change_mm
    }

    /// Place of a point along the road, mm outboard: `p_y cos φ − (p_z − g) sin φ`.
    pub fn lateral_mm(&self, p: &Point3<f64>) -> f64 {
        p.y * self.cos - (p.z - self.ground_mm) * self.sin
    }

    /// A direction's parts along the road (outboard) and away from it.
    pub fn resolve(&self, v: &Vector3<f64>) -> (f64, f64) {
        (v.y * self.cos - v.z * self.sin, v.y * self.sin + v.z * self.cos)
    }

    /// Height of a tyre's lowest point above the road, mm, and its change per rad of roll.
    ///
    /// `n·W − R √(1 − (n·s)²)`: the lowest point of a disc needs no contact point to be found first.
    pub fn clearance_mm(&self, centre: &Point3<f64>, s: &Vector3<f64>, radius_mm: f64) -> (f64, f64) {
        let n = self.normal();
        let turned = Vector3::new(0.0, self.cos, -self.sin);
        let from_ground = centre - Point3::new(0.0, 0.0, self.ground_mm);
        let lean = n.dot(s);
        let upright = (1.0 - lean * lean).sqrt();
        let height = n.dot(&from_ground) + self.ride_height_change_mm - radius_mm * upright;
        (height, turned.dot(&from_ground) + radius_mm * lean * turned.dot(s) / upright)
    }

    /// Roll in side axes, rad.
    pub fn roll_rad(&self) -> f64 {
        self.roll_rad
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::Point3;

    use super::Road;
    use crate::geometry::Side;

    /// Rolled by the angle of a 3-4-5 triangle, which lifts the left side of the body and lowers the right one.
    #[test]
    fn a_point_of_the_body_stands_where_a_triangle_puts_it() {
        let roll_deg = f64::atan2(3.0, 4.0).to_degrees();
        let point = Point3::new(77.0, 500.0, 210.0);
        for (side, height_mm, lateral_mm) in [(Side::Left, 467.0, 280.0), (Side::Right, -133.0, 520.0)] {
            let road = Road::new(side, roll_deg, 7.0, 10.0);
            let at = (road.height_mm(&point), road.lateral_mm(&point));
            assert!((at.0 - height_mm).abs() < 1e-9 && (at.1 - lateral_mm).abs() < 1e-9, "{side:?}: {at:?}");
        }
    }
}
