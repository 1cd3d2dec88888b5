//! How a posture and its motion answer to small changes of the linkage, at a given bump travel.
//!
//! With `J` the Jacobian of the closure equations without the vertical column, `y` the pose and `V` the motion:
//!
//! ```text
//! J δy = −f_p δp                                 f_p  change of a closure error with parameter p, pose held
//! J δV = −(H δy + q_p δp)                        H, q_p  changes of the closing speeds J V with pose and parameter
//! ```
//!
//! Each parameter belongs to one link, so `f_p` and `q_p` have one entry. For a measure `m(y, V)` two solves with the
//! transposed Jacobian give its derivatives with respect to every parameter at once:
//!
//! ```text
//! Jᵀ μ = ∂m/∂V      Jᵀ λ = ∂m/∂y − Hᵀ μ      dm/dp = −λ_i f_p − μ_i q_p + ∂m/∂p
//! ```
//!
//! Source: implicit-function theorem, adjoint form. Held by `tests/kinematics/sensitivities.rs` (central differences).

use nalgebra::{SMatrix, SVector, Vector3};

use super::closure::{Linkage, ROTATION_SCALE_MM};
use super::solve::{Posture, Stop};

type Vector5 = SVector<f64, 5>;
type Matrix5 = SMatrix<f64, 5, 5>;

/// First-order dependence of one measure on the pose and the motion of the upright, everything else held.
///
/// Units: those of the measure per mm (`place`), per rad (`turn`), per mm/mm (`velocity`), per rad/mm (`angular`). Side
/// axes. The vertical parts of `place` and `velocity` are given by the driver and do not count.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PoseGradient {
    pub place: Vector3<f64>,
    pub turn: Vector3<f64>,
    pub velocity: Vector3<f64>,
    pub angular: Vector3<f64>,
}

/// Derivatives of one measure with respect to the pickups and the link lengths, side axes; the measure's unit per mm.
///
/// A pickup takes its link along: the length follows the drawn points, so that the drawn posture stays a solution.
/// `length` is a change of length with both points held.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LinkGradient {
    pub chassis: [Vector3<f64>; 5],
    pub upright: [Vector3<f64>; 5],
    pub length: [f64; 5],
}

/// The answer of one posture, factorised once for all measures.
#[derive(Debug, Clone, Copy)]
pub struct Response {
    inverse: Matrix5,
    /// Closing speeds against pose, `H`.
    closing: Matrix5,
    links: [LinkResponse; 5],
}

/// Changes of the closure error and of the closing speed of a link with its own points.
#[derive(Debug, Clone, Copy)]
struct LinkResponse {
    error_chassis: Vector3<f64>,
    error_upright: Vector3<f64>,
    speed_chassis: Vector3<f64>,
    speed_upright: Vector3<f64>,
}

impl Response {
    /// From a solved posture of this linkage.
    pub fn new(linkage: &Linkage, posture: &Posture) -> Result<Self, Stop> {
        let (rotation, motion) = (&posture.rotation, &posture.motion);
        let mut jacobian = Matrix5::zeros();
        let mut closing = Matrix5::zeros();
        let links = std::array::from_fn(|i| {
            let bar = &linkage.bars[i];
            let arm = rotation * bar.arm;
            // A link follows its points: its length grows as the drawn points part.
            let drawn = (bar.base + bar.arm).normalize();
            let along = bar.base + posture.displacement + arm;
            let k = bar.inverse_length;
            let speed = motion.velocity + motion.angular.cross(&arm);
            let spun = along.cross(&motion.angular);
            set_row(&mut jacobian, i, &(along * k), &(arm.cross(&along) * k));
            set_row(&mut closing, i, &(speed * k), &(arm.cross(&(speed + spun)) * k));
            LinkResponse {
                error_chassis: drawn - along * k,
                error_upright: rotation.tr_mul(&along) * k - drawn,
                speed_chassis: speed * -k,
                speed_upright: rotation.tr_mul(&(speed + spun)) * k,
            }
        });
        Ok(Self { inverse: jacobian.try_inverse().ok_or(Stop::Singular)?, closing, links })
    }

    /// Derivatives of a measure with respect to every pickup and link length.
    pub fn of(&self, gradient: &PoseGradient) -> LinkGradient {
        let motion_part = self.inverse.tr_mul(&reduced(&gradient.velocity, &gradient.angular));
        let pose = reduced(&gradient.place, &gradient.turn) - self.closing.tr_mul(&motion_part);
        let pose_part = self.inverse.tr_mul(&pose);
        let mut out = LinkGradient::default();
        for (i, link) in self.links.iter().enumerate() {
            let (lambda, mu) = (pose_part[i], motion_part[i]);
            out.chassis[i] = -(link.error_chassis * lambda + link.speed_chassis * mu);
            out.upright[i] = -(link.error_upright * lambda + link.speed_upright * mu);
            out.length[i] = lambda;
        }
        out
    }
}

/// A row in the five unknowns: x and y of the wheel centre, rotations times [`ROTATION_SCALE_MM`].
fn set_row(matrix: &mut Matrix5, i: usize, place: &Vector3<f64>, turn: &Vector3<f64>) {
    matrix.set_row(i, &reduced(place, turn).transpose());
}

fn reduced(place: &Vector3<f64>, turn: &Vector3<f64>) -> Vector5 {
    let scaled = turn / ROTATION_SCALE_MM;
    Vector5::new(place.x, place.y, scaled.x, scaled.y, scaled.z)
}
