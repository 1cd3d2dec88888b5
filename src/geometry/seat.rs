//! How the points of the upright stand in side axes, whichever axes the file gives them in.

use nalgebra::{Point3, Rotation3, Unit, Vector3};

use super::file::UprightAxes;

/// How the points of the upright are brought from the file's axes into side axes.
pub(super) struct UprightFrame {
    centre: Vector3<f64>,
    rotation: Rotation3<f64>,
}

impl UprightFrame {
    /// In hub axes a point p of the upright is at `W + R p`, `R = Rz(−toe)·Rx(−camber)`.
    pub(super) fn new(axes: UprightAxes, centre: &Point3<f64>, toe_rad: f64, camber_rad: f64) -> Self {
        match axes {
            UprightAxes::Car => UprightFrame { centre: Vector3::zeros(), rotation: Rotation3::identity() },
            UprightAxes::Hub => UprightFrame { centre: centre.coords, rotation: hub_rotation(toe_rad, camber_rad) },
        }
    }

    pub(super) fn point(&self, p: &Point3<f64>) -> Point3<f64> {
        self.rotation * p + self.centre
    }

    /// A point in side axes as the file gives it; hub axes on the right are those of the file already.
    pub(super) fn as_written(&self, p: &Point3<f64>) -> Point3<f64> {
        self.rotation.inverse() * (p - self.centre)
    }

    pub(super) fn direction(&self, d: Unit<Vector3<f64>>) -> Unit<Vector3<f64>> {
        self.rotation * d
    }
}

/// From hub axes (y along the spindle) to side axes.
pub(super) fn hub_rotation(toe_rad: f64, camber_rad: f64) -> Rotation3<f64> {
    let yaw = Rotation3::from_axis_angle(&Vector3::z_axis(), -toe_rad);
    yaw * Rotation3::from_axis_angle(&Vector3::x_axis(), -camber_rad)
}
