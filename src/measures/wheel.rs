//! Where the wheel points and where its tyre meets the road.

use nalgebra::{Point3, Vector3};

use super::road::Road;
use crate::geometry::{Corner, Side};
use crate::mechanism::{Motion, Posture, UprightPose};

/// Unit spin axis of the wheel now, side axes, pointing outboard.
pub fn spin_axis(corner: &Corner, pose: &impl UprightPose) -> Vector3<f64> {
    pose.direction(&corner.wheel.spin_axis)
}

/// Toe of the wheel, in degrees; positive is toe-in.
///
/// The angle in plan from the y axis to the spin axis `s`, `atan2(s_x, s_y)`, in side axes. Without meaning when `s` is
/// along z; the geometry reader refuses such a wheel.
///
/// Source: ISO 8855:2011, 7.1.6 (static toe angle). Tested by `tests/kinematics/closed_form.rs` and `tests/reference.rs`.
pub fn toe_deg(s: &Vector3<f64>) -> f64 {
    s.x.atan2(s.y).to_degrees()
}

/// Change of toe per millimetre of bump travel, deg/mm: `(s_y ṡ_x − s_x ṡ_y) / (s_x² + s_y²)` with `ṡ = ω × s`.
///
/// Source: derivative of [`toe_deg`]. Tested by `tests/kinematics/rates.rs` (central differences).
pub fn toe_gradient_deg_per_mm(s: &Vector3<f64>, motion: &Motion) -> f64 {
    let rate = motion.angular.cross(s);
    ((s.y * rate.x - s.x * rate.y) / (s.x * s.x + s.y * s.y)).to_degrees()
}

/// Steer angle, in degrees, positive to the left as in ISO 8855: toe-in is negative steer on the left, positive on the
/// right.
pub fn steer_deg(side: Side, toe_deg: f64) -> f64 {
    -side.sign() * toe_deg
}

/// Camber, in degrees, against the chassis; positive when the top of the wheel leans outboard.
///
/// True inclination `asin(−s_z)` of the spin axis, not its projection on the front view (the two differ by 0.02° at 5°
/// of toe and camber).
///
/// Source: ISO 8855 camber, read as true inclination: see `docs/conventions.md`. Tested by
/// `tests/kinematics/closed_form.rs`.
pub fn camber_deg(s: &Vector3<f64>) -> f64 {
    (-s.z).clamp(-1.0, 1.0).asin().to_degrees()
}

/// Change of camber per millimetre of bump travel, deg/mm: `−ṡ_z / √(s_x² + s_y²)`.
///
/// Source: derivative of [`camber_deg`]. Tested by `tests/kinematics/rates.rs`.
pub fn camber_gradient_deg_per_mm(s: &Vector3<f64>, motion: &Motion) -> f64 {
    (-motion.angular.cross(s).z / s.x.hypot(s.y)).to_degrees()
}

/// Camber to the road, in degrees: `asin(−s·n)` with the road normal `n`; sign as camber.
pub fn camber_to_road_deg(s: &Vector3<f64>, road: &Road) -> f64 {
    (-s.dot(&road.normal())).clamp(-1.0, 1.0).asin().to_degrees()
}

/// Contact point of a rigid, thin tyre disc with the road, side axes.
///
/// `C = W + R_tyre d`, with `d = normalise(−n + (n·s) s)` the direction in the wheel plane that points most nearly down
/// the road normal. Without meaning for a wheel lying flat on the road.
///
/// Source: definition in `docs/conventions.md` (thin rigid disc, loaded radius). Tested by `tests/reference.rs`.
pub fn contact_point(centre: &Point3<f64>, s: &Vector3<f64>, radius_mm: f64, normal: &Vector3<f64>) -> Point3<f64> {
    centre + (s * normal.dot(s) - normal).normalize() * radius_mm
}

/// Recession, mm: how far the wheel centre has moved rearward from design.
pub fn recession_mm(posture: &Posture) -> f64 {
    -posture.displacement.x
}

/// Pitch of the upright, in degrees, top forward positive: the side view of the direction of the upright that was
/// vertical at design, `atan2((R ẑ)_x, (R ẑ)_z)`.
pub fn upright_pitch_deg(posture: &Posture) -> f64 {
    let up = posture.direction(&Vector3::z());
    up.x.atan2(up.z).to_degrees()
}

/// Toe in millimetres over a stated span: the difference between the distances front and rear of one wheel,
/// `span · sin(toe)`.
///
/// Source: `asin(difference / diameter)`, wheel-alignment practice; BS-01 and BS-02 in `tests/reference.rs`.
pub fn toe_mm(toe_deg: f64, span_mm: f64) -> f64 {
    span_mm * toe_deg.to_radians().sin()
}

#[cfg(test)]
mod tests {
    use super::{camber_deg, toe_deg, toe_mm};
    use nalgebra::{Rotation3, Vector3};

    /// ISO 8855 definitions applied to a left wheel; the number is worked by hand.
    #[test]
    fn toe_and_camber_of_a_known_spin_axis() {
        let s = Vector3::new(0.0174524, 0.9983912, -0.0540016);
        assert!((toe_deg(&s) - 1.0015).abs() < 5e-5);
        assert!((camber_deg(&s) - 3.0956).abs() < 5e-5);
    }

    /// Camber first, then toe about the vertical: both come back as they were set.
    #[test]
    fn camber_then_toe_gives_back_both() {
        let degrees = f64::to_radians(-5.0);
        let toe = Rotation3::from_axis_angle(&Vector3::z_axis(), degrees);
        let camber = Rotation3::from_axis_angle(&Vector3::x_axis(), degrees);
        let s = toe * camber * Vector3::y();
        assert!((toe_deg(&s) - 5.0).abs() < 1e-12 && (camber_deg(&s) - 5.0).abs() < 1e-12);
        let s = camber * toe * Vector3::y();
        assert!((toe_deg(&s) - 5.0190).abs() < 1e-4 && (camber_deg(&s) - 4.9809).abs() < 1e-4);
    }

    /// 4 mm in all over 727.7 mm is 0.31° total, 0.1575° per wheel (wheel-alignment conversion pages).
    #[test]
    fn toe_in_millimetres_over_a_span() {
        assert!((2.0 * toe_mm(0.157_5, 727.7) - 4.0).abs() < 1e-3);
        assert!((toe_mm(0.1504, 381.0) - 1.0).abs() < 2e-4);
    }
}
