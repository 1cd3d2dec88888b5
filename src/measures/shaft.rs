//! The halfshaft: joint angles and plunge.

use nalgebra::Vector3;

use super::wheel::spin_axis;
use crate::geometry::Corner;
use crate::mechanism::Posture;

/// Joint angles and plunge of one halfshaft.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShaftMeasures {
    /// Angle between the shaft and the output-flange axis, deg; 0 is straight.
    pub inner_angle_deg: f64,
    /// Angle between the shaft and the spin axis, deg; 0 is straight.
    pub outer_angle_deg: f64,
    /// Change of the distance between the joint centres from design, mm; positive when the joint is pulled apart.
    pub plunge_mm: f64,
}

/// Joint angles and plunge; `None` when the geometry has no halfshaft.
///
/// With `I` and `O` the joint centres: inner angle between `O − I` and the flange axis, outer between `O − I` and `s`,
/// plunge `|O − I| − |O − I|(design)`. The shaft's spline and joints take no force here.
///
/// Source: definitions in `docs/conventions.md`. Tested by `tests/cli/outside.rs`.
pub fn shaft(corner: &Corner, posture: &Posture) -> Option<ShaftMeasures> {
    let halfshaft = corner.halfshaft.as_ref()?;
    let along = posture.point(&halfshaft.outer) - halfshaft.inner;
    Some(ShaftMeasures {
        inner_angle_deg: angle_between_rad(&along, &halfshaft.axis).to_degrees(),
        outer_angle_deg: angle_between_rad(&along, &spin_axis(corner, posture)).to_degrees(),
        plunge_mm: along.norm() - halfshaft.length_mm(),
    })
}

/// Angle between two directions, rad, by `atan2(|a × b|, a·b)`: `acos` loses half its digits near zero.
pub(crate) fn angle_between_rad(a: &Vector3<f64>, b: &Vector3<f64>) -> f64 {
    a.cross(b).norm().atan2(a.dot(b))
}
