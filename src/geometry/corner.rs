//! One wheel with its links, halfshaft and spring.
//!
//! Everything is kept in **side axes**: x forward, **y outboard from the centreline**, z up. For the left side these are the
//! car's own axes; the right side has its y mirrored as it is read, so that one set of formulas serves both.
//! [`Side::to_car`] turns a place or a direction back into the car's axes.

use nalgebra::{Point3, Unit, Vector3};

use super::interval::Interval;
use super::side::Side;

/// One wheel with its five links, in side axes (y outboard), at design height.
#[derive(Debug, Clone, PartialEq)]
pub struct Corner {
    pub side: Side,
    pub wheel: Wheel,
    pub links: [Link; 5],
    pub halfshaft: Option<Halfshaft>,
    pub spring: Option<Spring>,
}

impl Corner {
    /// Height of the contact point at design, mm above the datum: `W + R d`, `d` the direction in the wheel plane that points
    /// most nearly down.
    pub(crate) fn contact_height_mm(&self) -> f64 {
        let (up, spin) = (Vector3::z(), self.wheel.spin_axis);
        let down = (spin.into_inner() * up.dot(&spin) - up).normalize();
        self.wheel.centre.z + self.wheel.tyre_radius_mm * down.z
    }
}

#[derive(Debug, Clone, PartialEq)]
pub struct Wheel {
    pub centre: Point3<f64>,
    /// Unit spin axis, pointing outboard: (cos camber · sin toe, cos camber · cos toe, −sin camber).
    pub spin_axis: Unit<Vector3<f64>>,
    /// Loaded radius, mm.
    pub tyre_radius_mm: f64,
    /// Length over which toe is stated in millimetres.
    pub toe_span_mm: f64,
    /// Inside radius of the rim, mm, when the file gives it.
    pub rim_radius_mm: Option<f64>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Link {
    pub name: String,
    /// The middle of its box while the file gives no point, see `LinkAdjustments::within`.
    pub chassis: Point3<f64>,
    pub upright: Point3<f64>,
    /// Length measured on the real link, mm, when the file gives it; compared with the points, never used to move.
    pub taped_mm: Option<f64>,
    /// Bolt through the rod end on the chassis, when given.
    pub chassis_bolt: Option<Unit<Vector3<f64>>>,
    /// Bolt through the rod end on the upright, at design, when given; it turns with the upright.
    pub upright_bolt: Option<Unit<Vector3<f64>>>,
    /// Largest misalignment that the rod ends of this link allow, degrees.
    pub rod_end_limit_deg: Option<f64>,
}

impl Link {
    /// Eye to eye, mm.
    pub fn length_mm(&self) -> f64 {
        (self.upright - self.chassis).norm()
    }
}

#[derive(Debug, Clone, PartialEq)]
pub struct Halfshaft {
    /// Inner joint centre, fixed to the chassis.
    pub inner: Point3<f64>,
    /// Output-flange axis of the final drive, pointing outboard.
    pub axis: Unit<Vector3<f64>>,
    /// Outer joint centre at design; it moves with the upright.
    pub outer: Point3<f64>,
    pub inner_limit_deg: Option<f64>,
    pub outer_limit_deg: Option<f64>,
    /// Least and greatest plunge, mm from the design length, joint pulled apart positive.
    pub plunge_window_mm: Option<Interval>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Spring {
    pub chassis: Point3<f64>,
    /// Lower mounting at design.
    pub mount: Point3<f64>,
    pub on: SpringMount,
}

/// What the spring's moving end is bolted to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SpringMount {
    Upright,
    /// On the link of this index, at this share of its length from the chassis end (no unit).
    Link {
        index: usize,
        share: f64,
    },
}
