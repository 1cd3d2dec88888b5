//! Where an upright stands, without its motion: all that the batch solver gives of a built wheel, and enough for some
//! measures.

use nalgebra::{Matrix3, Point3, Vector3};

use super::shaft::angle_between_rad;
use super::wheel::contact_point;
use crate::geometry::Corner;
use crate::mechanism::{UprightPose, turned};

/// Where the upright of a corner stands; angles that are known already are not worked out again.
#[derive(Debug, Clone, Copy)]
pub struct Placed<'a> {
    /// The corner as drawn.
    pub corner: &'a Corner,
    /// Wheel centre minus its drawn place, mm, side axes.
    pub displacement: Vector3<f64>,
    /// From the drawn posture, side axes.
    pub rotation: Matrix3<f64>,
    /// Per wheel, deg, toe-in positive.
    pub toe_deg: f64,
    /// Against the chassis, deg, top outboard positive.
    pub camber_deg: f64,
}

impl UprightPose for Placed<'_> {
    fn wheel_centre(&self) -> Point3<f64> {
        self.corner.wheel.centre + self.displacement
    }

    fn direction(&self, at_design: &Vector3<f64>) -> Vector3<f64> {
        turned(&self.rotation, at_design)
    }

    fn point(&self, at_design: &Point3<f64>) -> Point3<f64> {
        self.wheel_centre() + self.direction(&(at_design - self.corner.wheel.centre))
    }
}

impl Placed<'_> {
    pub(super) fn spin_axis(&self) -> Vector3<f64> {
        self.rotation * *self.corner.wheel.spin_axis
    }

    /// With a level road.
    pub(super) fn contact(&self) -> Point3<f64> {
        let wheel = &self.corner.wheel;
        contact_point(&(wheel.centre + self.displacement), &self.spin_axis(), wheel.tyre_radius_mm, &Vector3::z())
    }

    /// From the inner to the outer joint of the halfshaft.
    fn shaft(&self) -> Option<Vector3<f64>> {
        let (shaft, wheel) = (self.corner.halfshaft.as_ref()?, &self.corner.wheel);
        Some((wheel.centre - shaft.inner) + self.displacement + self.rotation * (shaft.outer - wheel.centre))
    }

    pub(super) fn plunge_mm(&self) -> Option<f64> {
        let shaft = self.corner.halfshaft.as_ref()?;
        Some(self.shaft()?.norm() - (shaft.outer - shaft.inner).norm())
    }

    pub(super) fn inner_angle_deg(&self) -> Option<f64> {
        Some(angle_between_rad(&self.shaft()?, &self.corner.halfshaft.as_ref()?.axis).to_degrees())
    }

    pub(super) fn outer_angle_deg(&self) -> Option<f64> {
        Some(angle_between_rad(&self.shaft()?, &self.spin_axis()).to_degrees())
    }
}
