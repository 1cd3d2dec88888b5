//! Spring length and motion ratio; length of a droop strap.

use nalgebra::Point3;

use crate::geometry::{Corner, Spring, SpringMount, Strap};
use crate::mechanism::Posture;

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
    let mount = mount_point(corner, spring, posture);
    let along = mount.point - spring.chassis;
    let length_mm = along.norm();
    Some(SpringMeasures { length_mm, ratio: -along.dot(&mount.velocity) / length_mm })
}

/// Where the moving end of a spring is, side axes.
pub fn spring_mount_point(corner: &Corner, spring: &Spring, posture: &Posture) -> Point3<f64> {
    mount_point(corner, spring, posture).point
}

/// Between the two ends of a droop strap, mm.
///
/// Tested by `tests/forces/strap.rs` and `tests/driveline/runs_out.rs`.
pub fn strap_mm(strap: &Strap, posture: &Posture) -> f64 {
    (posture.point(&strap.upright) - strap.chassis).norm()
}

struct Moving {
    point: Point3<f64>,
    velocity: nalgebra::Vector3<f64>,
}

fn mount_point(corner: &Corner, spring: &Spring, posture: &Posture) -> Moving {
    match spring.on {
        SpringMount::Upright => {
            let point = posture.point(&spring.mount);
            Moving { point, velocity: posture.velocity_at(&point) }
        }
        SpringMount::Link { index, share } => {
            let link = &corner.links[index];
            let outer = posture.point(&link.upright);
            Moving {
                point: link.chassis + (outer - link.chassis) * share,
                velocity: posture.velocity_at(&outer) * share,
            }
        }
    }
}
