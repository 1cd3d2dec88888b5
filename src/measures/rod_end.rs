//! Misalignment of the rod ends.

use nalgebra::Vector3;

use super::gradient::{Derivatives, Gradient};
use super::shaft::angle_between_rad;
use crate::geometry::{Corner, CornerPoint, End, Pickup};
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

/// Misalignment of one rod end with its sign, and what it depends on to first order.
#[derive(Debug, Clone)]
pub struct SignedRodEnd {
    /// `asin(u·b)`, deg, with the unit vectors `u` from the inner to the outer end and `b` along the bolt: its size is that of
    /// [`rod_ends`], and it has no kink where the rod end is square.
    pub deg: f64,
    /// By the points of the corner, deg per mm.
    pub by_points: Gradient,
    /// By the unit vector along the bolt as drawn, deg.
    pub by_bolt: Vector3<f64>,
}

/// Of one end of a link; `None` without a bolt axis, or with the link in line with its bolt.
///
/// Tested by `rod_ends_have_the_derivatives_of_the_moved_car`.
pub fn signed_rod_end(corner: &Corner, pickup: Pickup, posture: &Posture, at: &Derivatives) -> Option<SignedRodEnd> {
    let link = &corner.links[pickup.link];
    let along = posture.point(&link.upright) - link.chassis;
    let (length_mm, unit) = (along.norm(), along.normalize());
    let bolt = match pickup.end {
        End::Chassis => link.chassis_bolt?.into_inner(),
        End::Upright => posture.direction(link.upright_bolt.as_ref()?),
    };
    let sin = unit.dot(&bolt);
    let deg_per_sin = (1.0 / (1.0 - sin * sin).sqrt()).to_degrees();
    let by_along = (bolt - unit * sin) * (deg_per_sin / length_mm);
    let point = |end| CornerPoint::Pickup(Pickup { end, ..pickup });
    let points = [(point(End::Upright), by_along), (point(End::Chassis), -by_along)];
    let by_bolt = unit * deg_per_sin;
    // A bolt in the upright turns with it, one in the frame does not.
    let (by_turn, by_drawn) = match pickup.end {
        End::Chassis => (Vector3::zeros(), by_bolt),
        End::Upright => (by_bolt, posture.direction_at_design(&by_bolt)),
    };
    let by_points = at.of_places(&points, &bolt, &by_turn)?;
    Some(SignedRodEnd { deg: sin.asin().to_degrees(), by_points, by_bolt: by_drawn }).filter(|end| end.deg.abs() < 90.0)
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

/// How far a bolt is from square to its link, deg; `along` is the link.
///
/// Source and test as [`rod_ends`].
pub fn out_of_square_deg(along: &Vector3<f64>, bolt: &Vector3<f64>) -> f64 {
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
