//! Axes and centres of the first-order motion: instant axis, roll centre, anti-squat and anti-lift.

use nalgebra::{Point3, Vector3};

use super::road::Road;
use crate::geometry::{Car, Side};
use crate::mechanism::Posture;

/// Screw axis of the upright's first-order motion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InstantAxis {
    /// The point of the axis nearest to the wheel centre, side axes.
    pub point: Point3<f64>,
    /// Unit direction, side axes.
    pub direction: Vector3<f64>,
    /// Advance along the axis per radian of turn, mm/rad; 0 for a plain hinge.
    pub pitch_mm_per_rad: f64,
}

/// The instant (screw) axis of the upright; `None` when it only translates.
///
/// `point = W + ω × v / ω²`, pitch `v·ω / ω²`.
///
/// Source: Chasles/Mozzi, any kinematics text. Tested by `tests/kinematics/closed_form.rs` (five links on a hinge line).
pub fn instant_axis(posture: &Posture) -> Option<InstantAxis> {
    // 1e-9 rad/mm puts the axis a thousand kilometres away.
    const TRANSLATES: f64 = 1e-9;
    let (v, omega) = (posture.motion.velocity, posture.motion.angular);
    let square = omega.norm_squared();
    (square.sqrt() > TRANSLATES).then(|| InstantAxis {
        point: posture.wheel_centre() + omega.cross(&v) / square,
        direction: omega / square.sqrt(),
        pitch_mm_per_rad: v.dot(&omega) / square,
    })
}

/// The line in the front view, in road axes (outboard, up from the road), on which one wheel puts the roll centre: from
/// the contact point along the normal to the velocity of the upright-fixed point there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RollCentreLine {
    contact_mm: (f64, f64),
    /// Unit normal to the velocity.
    along: (f64, f64),
}

impl RollCentreLine {
    /// From the posture and its contact point (side axes) on a road.
    pub fn new(posture: &Posture, contact: &Point3<f64>, road: &Road) -> Self {
        let (out, up) = road.resolve(&posture.velocity_at(contact));
        let size = out.hypot(up);
        Self { contact_mm: (road.lateral_mm(contact), road.height_mm(contact)), along: (-up / size, out / size) }
    }

    /// Height at which the line meets the middle of the car, mm above the road: `y_C v_y / v_z`; `None` when the line is
    /// vertical within 1e-7.
    ///
    /// Source: definition of the roll centre by the normal to the velocity of the contact point (ISO 8855, SAE J670 in
    /// other words). Tested by `tests/kinematics/closed_form.rs` (planar double wishbone by construction).
    pub fn own_side_height_mm(&self) -> Option<f64> {
        let ((y, z), (ay, az)) = (self.contact_mm, self.along);
        (ay.abs() > PARALLEL).then(|| z - y * az / ay)
    }
}

/// Sine below which two lines count as parallel.
const PARALLEL: f64 = 1e-7;

/// Roll centre of the axle, in road axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RollCentre {
    /// mm above the road.
    pub height_mm: f64,
    /// mm to the left of the middle of the car along the road.
    pub lateral_mm: f64,
}

/// Where the lines of both wheels meet; `None` when they are parallel within 1e-7.
pub fn roll_centre(left: &RollCentreLine, right: &RollCentreLine) -> Option<RollCentre> {
    let mirrored = |(y, z): (f64, f64)| (Side::Right.sign() * y, z);
    let (p, a) = (left.contact_mm, left.along);
    let (q, b) = (mirrored(right.contact_mm), mirrored(right.along));
    let cross = a.0 * b.1 - a.1 * b.0;
    (cross.abs() > PARALLEL).then(|| {
        let t = ((q.0 - p.0) * b.1 - (q.1 - p.1) * b.0) / cross;
        RollCentre { height_mm: p.1 + t * a.1, lateral_mm: p.0 + t * a.0 }
    })
}

/// Slope of the wheel-centre path in the side view, in degrees: `atan(−dW_x/dW_z)`; positive when the wheel moves
/// rearward in bump.
pub fn wheel_centre_path_deg(posture: &Posture) -> f64 {
    let v = posture.motion.velocity;
    (-v.x / v.z).atan().to_degrees()
}

/// Anti-squat, per cent, of a final drive fixed to the chassis: the driving force acts at the wheel centre.
///
/// `100 (−dW_x/dW_z) · wheelbase / CG height · rear drive share`; positive resists squat. `None` when the car's data are
/// missing.
///
/// Source: T. D. Gillespie, *Fundamentals of Vehicle Dynamics*, ch. 7; W. F. and D. L. Milliken, *Race Car Vehicle
/// Dynamics*, ch. 17 (formulae from memory). Tested by `tests/reference.rs` (AS-01).
pub fn anti_squat_pct(posture: &Posture, car: &Car) -> Option<f64> {
    let v = posture.motion.velocity;
    Some(100.0 * (-v.x / v.z) * car.wheelbase_mm? / car.cg_height_mm? * car.rear_drive_share?)
}

/// Anti-lift under braking, per cent, with the brake on the upright: the force acts at the contact point with the wheel
/// locked.
///
/// `100 (−v_x/v_z) · wheelbase / CG height · rear brake share`, with `v` the velocity of the upright-fixed point at the
/// contact point in chassis axes; positive resists lift. `None` when the car's data are missing or that point does not
/// rise.
///
/// Source: as [`anti_squat_pct`]. Tested by `tests/reference.rs` (KI-10, AS-02).
pub fn anti_lift_pct(posture: &Posture, contact: &Point3<f64>, car: &Car) -> Option<f64> {
    let v = posture.velocity_at(contact);
    let pct = 100.0 * (-v.x / v.z) * car.wheelbase_mm? / car.cg_height_mm? * car.rear_brake_share?;
    pct.is_finite().then_some(pct)
}
