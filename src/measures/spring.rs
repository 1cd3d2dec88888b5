//! Spring length and motion ratio; length of a droop strap.

use nalgebra::{Point3, Vector3};

use crate::geometry::{Corner, Spring, SpringMount, Strap};
use crate::mechanism::{Posture, UprightPose};

/// Length and motion ratio of one spring or damper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpringMeasures {
    /// Eye to eye, mm.
    pub length_mm: f64,
    /// Motion ratio, damper mm per wheel mm (no unit): `−d(length)/d(bump travel)`; positive when the spring shortens in bump.
    pub ratio: f64,
}

/// Spring length and motion ratio; `None` when the geometry has no spring.
///
/// A mount on the upright moves with it; a mount on a link lies at a fixed share of the line from the chassis pickup to
/// the upright pickup.
///
/// Source: derivative of the length along the motion. Tested by `tests/kinematics/rates.rs` and `tests/cli/outside.rs`.
pub fn spring(corner: &Corner, posture: &Posture) -> Option<SpringMeasures> {
    let spring = corner.spring.as_ref()?;
    let along = spring_mount_point(corner, spring, posture) - spring.chassis;
    let length_mm = along.norm();
    Some(SpringMeasures { length_mm, ratio: -along.dot(&mount_velocity(corner, spring, posture)) / length_mm })
}

/// Where the moving end of a spring is, side axes.
pub fn spring_mount_point(corner: &Corner, spring: &Spring, pose: &impl UprightPose) -> Point3<f64> {
    match spring.on {
        SpringMount::Upright => pose.point(&spring.mount),
        SpringMount::Link { index, share } => {
            let link = &corner.links[index];
            link.chassis + (pose.point(&link.upright) - link.chassis) * share
        }
    }
}

/// Between the two ends of a droop strap, mm.
///
/// Tested by `tests/forces/strap.rs` and `tests/driveline/runs_out.rs`.
pub fn strap_mm(strap: &Strap, posture: &Posture) -> f64 {
    (posture.point(&strap.upright) - strap.chassis).norm()
}

/// Of that end, mm per mm of bump travel.
fn mount_velocity(corner: &Corner, spring: &Spring, posture: &Posture) -> Vector3<f64> {
    match spring.on {
        SpringMount::Upright => posture.velocity_at(&posture.point(&spring.mount)),
        SpringMount::Link { index, share } => posture.velocity_at(&posture.point(&corner.links[index].upright)) * share,
    }
}
