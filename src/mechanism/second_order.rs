//! How the motion of the upright itself changes along its path.

use nalgebra::{Matrix6, Point3, Vector3, Vector6};

use super::posture::Posture;
use crate::geometry::Corner;

/// Second derivatives of the pose by bump travel, side axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Acceleration {
    /// Of the wheel centre, 1/mm; its z is 0.
    pub centre: Vector3<f64>,
    /// Change of the angular velocity, rad/mm².
    pub angular: Vector3<f64>,
}

impl Acceleration {
    /// At a posture of this corner; `None` where the links hold it in no place.
    ///
    /// With p the outer end of a link now, c its inner one, r = p − W and ω the angular velocity, the length that stays gives
    /// `(p − c)·(a + α × r) = −|p′|² − (p − c)·(ω × (ω × r))`; the driver gives a_z = 0.
    ///
    /// Source: closure equations, differentiated twice. Tested by `tests/driveline/spring.rs` (differences).
    pub fn of(corner: &Corner, posture: &Posture) -> Option<Self> {
        let (mut rows, mut right) = (Matrix6::zeros(), Vector6::zeros());
        let omega = posture.motion.angular;
        for (i, link) in corner.links.iter().enumerate() {
            let outer = posture.point(&link.upright);
            let (along, arm) = (outer - link.chassis, outer - posture.wheel_centre());
            let moment = arm.cross(&along);
            rows.fixed_view_mut::<1, 3>(i, 0).copy_from(&along.transpose());
            rows.fixed_view_mut::<1, 3>(i, 3).copy_from(&moment.transpose());
            let speed = posture.velocity_at(&outer);
            right[i] = -speed.norm_squared() - along.dot(&omega.cross(&omega.cross(&arm)));
        }
        rows[(5, 2)] = 1.0;
        let found = rows.lu().solve(&right)?;
        let part = |from: usize| Vector3::new(found[from], found[from + 1], found[from + 2]);
        Some(Self { centre: part(0), angular: part(3) })
    }

    /// Second derivative of the place of an upright-fixed point that is at `point` now, 1/mm.
    pub fn at(&self, posture: &Posture, point: &Point3<f64>) -> Vector3<f64> {
        let (arm, omega) = (point - posture.wheel_centre(), posture.motion.angular);
        self.centre + self.angular.cross(&arm) + omega.cross(&omega.cross(&arm))
    }
}
