//! Misalignment of the rod ends.

use nalgebra::Vector3;

use super::shaft::angle_between_rad;
use crate::geometry::Corner;
use crate::mechanism::Posture;

/// Misalignment at the two ends of one link, deg; `None` at an end that gives no bolt axis.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct RodEndMeasures {
    /// At the bracket on the frame.
    pub chassis_deg: Option<f64>,
    /// At the upright.
    pub upright_deg: Option<f64>,
}

/// Misalignment of the rod ends of each link: `|90° − angle between link axis and bolt axis|`, the rod end clocked at its
/// best; 0 is square. A bolt in the upright turns with it.
///
/// Source: definition in `docs/conventions.md`. Tested by `tests/kinematics/closed_form.rs`.
pub fn rod_ends(corner: &Corner, posture: &Posture) -> [RodEndMeasures; 5] {
    corner.links.each_ref().map(|link| {
        let along = posture.point(&link.upright) - link.chassis;
        RodEndMeasures {
            chassis_deg: link.chassis_bolt.as_ref().map(|bolt| out_of_square_deg(&along, bolt)),
            upright_deg: link.upright_bolt.as_ref().map(|bolt| out_of_square_deg(&along, &posture.direction(bolt))),
        }
    })
}

/// Misalignment of a rod end whose partner holds it twisted by `twist_deg` off its best clocking:
/// `acos(cos m₀ cos τ)`, with `m₀` the misalignment at best clocking, all in degrees.
///
/// Source: spherical right triangle (Napier). Tested by the unit test below.
pub fn misalignment_when_twisted_deg(at_best_deg: f64, twist_deg: f64) -> f64 {
    let (m, t) = (at_best_deg.to_radians(), twist_deg.to_radians());
    // The same angle as acos(cos m cos t), without the loss of digits near zero.
    (m.sin().hypot(m.cos() * t.sin())).atan2(m.cos() * t.cos()).to_degrees()
}

fn out_of_square_deg(along: &Vector3<f64>, bolt: &Vector3<f64>) -> f64 {
    (90.0 - angle_between_rad(along, bolt).to_degrees()).abs()
}

#[cfg(test)]
mod tests {
    use super::misalignment_when_twisted_deg;

    #[test]
    fn twist_and_misalignment_add_as_a_right_spherical_triangle() {
        let expected = (f64::to_radians(7.0).cos() * f64::to_radians(4.0).cos()).acos().to_degrees();
        assert!((misalignment_when_twisted_deg(7.0, 4.0) - expected).abs() < 1e-12);
        assert_eq!(misalignment_when_twisted_deg(0.0, 0.0), 0.0);
        assert!((misalignment_when_twisted_deg(0.0, 5.0) - 5.0).abs() < 1e-12);
    }
}
