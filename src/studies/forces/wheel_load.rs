//! What a load on a wheel does to its upright at a posture.

use nalgebra::{Point3, Vector3};
use serde::Serialize;

use super::cases::CaseLoad;
use crate::geometry::{Corner, TorquePath};
use crate::measures::{contact_point, spin_axis};
use crate::mechanism::{Posture, Wrench};

/// Torque that a halfshaft brings to its wheel, and what its bent joint does with it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct HalfshaftTorque {
    /// About the spindle, N·m, driving positive.
    pub torque_nm: f64,
    /// Between the shaft and the spindle, deg; `None` without a halfshaft, and the joint counts as straight.
    pub joint_angle_deg: Option<f64>,
    /// Couple that the joint leaves on the upright, N·m: it lies in the plane of shaft and spindle.
    pub couple_nm: f64,
}

/// What acts on the upright, side axes, with the torque of the halfshaft when it takes that of the wheel.
///
/// With the torque on the upright the wheel is locked to it, and the contact force acts on both as on one body. With the
/// torque to the halfshaft the wheel turns in its bearing: a constant-velocity joint passes the torque `T` about the spindle
/// `s` on along the bisector of spindle and shaft, so that it puts `T (s + e) / (1 + s·e)` on the wheel, `e` the direction of
/// the shaft outboard. Across the spindle that leaves `T tan(β/2)`.
///
/// Source: joint forces act in the bisecting plane of the joint; `docs/theory.md`, "Forces in links and brackets". Tested by
/// `tests/forces/balance.rs`.
pub(super) fn on_upright(load: &CaseLoad, corner: &Corner, posture: &Posture) -> (Wrench, Option<HalfshaftTorque>) {
    let (centre, s) = (posture.wheel_centre(), spin_axis(corner, posture));
    let contact = contact_point(&centre, &s, corner.wheel.tyre_radius_mm, &Vector3::z());
    let at_contact = Wrench::of_force(load.contact_n, &contact, &centre);
    let at_centre = Wrench::of_force(load.centre_n, &centre, &centre);
    let given = at_contact + at_centre + Wrench::of_moment(load.moment_nm * 1000.0);
    if load.torque_to != Some(TorquePath::Halfshaft) {
        return (given, None);
    }
    let torque_n_mm = -s.dot(&at_contact.moment_n_mm);
    let shaft = corner.halfshaft.as_ref().map(|shaft| direction(&shaft.inner, &posture.point(&shaft.outer)));
    let e = shaft.unwrap_or(s);
    let through_joint = (s + e) * (torque_n_mm / (1.0 + s.dot(&e)));
    let across = through_joint - s * torque_n_mm;
    let torque = HalfshaftTorque {
        torque_nm: torque_n_mm / 1000.0,
        joint_angle_deg: shaft.map(|e| s.cross(&e).norm().atan2(s.dot(&e)).to_degrees()),
        couple_nm: across.norm() / 1000.0,
    };
    (given + Wrench::of_moment(through_joint), Some(torque))
}

/// Unit direction from one place to another.
pub(super) fn direction(from: &Point3<f64>, to: &Point3<f64>) -> Vector3<f64> {
    (to - from).normalize()
}
