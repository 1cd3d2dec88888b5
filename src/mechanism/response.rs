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

use nalgebra::Vector3;

use super::closure::{Linkage, ROTATION_SCALE_MM};
use super::solve::{Posture, Stop};

/// In the five unknowns: x and y of the wheel centre, rotations times [`ROTATION_SCALE_MM`].
type Five = [f64; 5];

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
    /// Inverse of `J`, column by column: what one millimetre of each link's closing error moves.
    inverse: [Five; 5],
    /// Closing speeds against pose, `H`, row by row.
    closing: [Five; 5],
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
        let motion = &posture.motion;
        let mut jacobian = [[0.0; 5]; 5];
        let mut closing = [[0.0; 5]; 5];
        let links = std::array::from_fn(|i| {
            let bar = &linkage.bars[i];
            let arm = posture.direction(&bar.arm);
            // A link follows its points: its length grows as the drawn points part.
            let drawn = bar.drawn;
            let along = bar.base + posture.displacement + arm;
            let k = bar.inverse_length;
            let speed = motion.velocity + motion.angular.cross(&arm);
            let spun = along.cross(&motion.angular);
            jacobian[i] = reduced(&(along * k), &(arm.cross(&along) * k));
            closing[i] = reduced(&(speed * k), &(arm.cross(&(speed + spun)) * k));
            LinkResponse {
                error_chassis: drawn - along * k,
                error_upright: posture.back(&along) * k - drawn,
                speed_chassis: speed * -k,
                speed_upright: posture.back(&(speed + spun)) * k,
            }
        });
        // Each row brings its column of the identity along; what comes back is the inverse, column by column.
        let row = |i: usize| {
            std::array::from_fn::<f64, 10, _>(|j| if j < 5 { jacobian[i][j] } else { f64::from(u8::from(j == 5 + i)) })
        };
        let (triangular, _) = linkage.order.eliminate(row).ok_or(Stop::Singular)?;
        let columns: [Five; 5] = std::array::from_fn(|i| triangular.solution(5 + i));
        Ok(Self { inverse: columns, closing, links })
    }

    /// Derivatives of a measure, by way of the pose and the motion, with respect to every pickup and link length.
    #[inline]
    pub fn write(&self, gradient: &PoseGradient, to: &mut LinkGradient) {
        let mut pose = reduced(&gradient.place, &gradient.turn);
        // Most measures do not depend on the motion; they need one solve in place of two.
        let moves = gradient.velocity != Vector3::zeros() || gradient.angular != Vector3::zeros();
        let mut motion = [0.0; 5];
        if moves {
            motion = columns_times(&self.inverse, &reduced(&gradient.velocity, &gradient.angular));
            let carried = transposed_product(&self.closing, &motion);
            pose = std::array::from_fn(|i| pose[i] - carried[i]);
        }
        to.length = columns_times(&self.inverse, &pose);
        for (i, link) in self.links.iter().enumerate() {
            to.chassis[i] = link.error_chassis * -to.length[i];
            to.upright[i] = link.error_upright * -to.length[i];
        }
        if moves {
            for (i, link) in self.links.iter().enumerate() {
                to.chassis[i] -= link.speed_chassis * motion[i];
                to.upright[i] -= link.speed_upright * motion[i];
            }
        }
    }
}

fn reduced(place: &Vector3<f64>, turn: &Vector3<f64>) -> Five {
    let k = 1.0 / ROTATION_SCALE_MM;
    [place.x, place.y, turn.x * k, turn.y * k, turn.z * k]
}

/// `Mᵀ v` for a matrix given by its columns.
fn columns_times(columns: &[Five; 5], v: &Five) -> Five {
    columns.map(|column| column[0] * v[0] + column[1] * v[1] + column[2] * v[2] + column[3] * v[3] + column[4] * v[4])
}

/// `Mᵀ v` for a matrix given by its rows.
fn transposed_product(rows: &[Five; 5], v: &Five) -> Five {
    let mut out = [0.0; 5];
    for (row, factor) in rows.iter().zip(v) {
        for (sum, entry) in out.iter_mut().zip(row) {
            *sum += entry * factor;
        }
    }
    out
}
