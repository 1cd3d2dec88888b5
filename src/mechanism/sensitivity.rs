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
//! Source: implicit-function theorem, adjoint form. Tested by `tests/kinematics/sensitivities.rs` (central differences).

use nalgebra::{Matrix3, Vector3};

use super::closure::{Linkage, ROTATION_SCALE_MM};
use super::motion::Motion;
use super::solve::{Posture, StopReason, turned_back};
use crate::geometry::{Coordinate, End};

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

impl LinkGradient {
    /// By one coordinate of a pickup.
    pub fn by(&self, Coordinate { link, end, axis }: Coordinate) -> f64 {
        match end {
            End::Chassis => self.chassis[link][axis.index()],
            End::Upright => self.upright[link][axis.index()],
        }
    }
}

/// The answer of one posture, factorised once for all measures.
#[derive(Debug, Clone, Copy)]
pub struct PostureSensitivity {
    rotation: Matrix3<f64>,
    motion: Motion,
    /// Inverse of `J`, column by column: what one millimetre of each link's closing error moves.
    inverse: [Five; 5],
    links: [LinkResponse; 5],
}

/// A link at the posture, and the changes of its closure error with its own points.
#[derive(Debug, Clone, Copy)]
struct LinkResponse {
    arm: Vector3<f64>,
    along: Vector3<f64>,
    per_length: f64,
    error_chassis: Vector3<f64>,
    error_upright: Vector3<f64>,
}

impl PostureSensitivity {
    /// From a solved posture of this linkage.
    pub fn new(linkage: &Linkage, posture: &Posture) -> Result<Self, StopReason> {
        let links = linkage.links.map(|bar| {
            let arm = posture.direction(&bar.arm);
            let along = bar.base + posture.displacement + arm;
            let unit = along * bar.inverse_length;
            // A link follows its points: its length grows as the drawn points part.
            let (error_chassis, error_upright) = (bar.drawn - unit, posture.back(&unit) - bar.drawn);
            LinkResponse { arm, along, per_length: bar.inverse_length, error_chassis, error_upright }
        });
        // Each row brings its column of the identity along; what comes back is the inverse, column by column.
        let row = |i: usize| {
            let LinkResponse { arm, along, per_length, .. } = &links[i];
            let [a, b, c, d, e] = reduced(&(along * *per_length), &(arm.cross(along) * *per_length));
            let mut row = [a, b, c, d, e, 0.0, 0.0, 0.0, 0.0, 0.0];
            row[5 + i] = 1.0;
            row
        };
        let (triangular, _) = linkage.order.eliminate(row).ok_or(StopReason::Singular)?;
        let inverse = std::array::from_fn(|i| triangular.solution(5 + i));
        Ok(Self { rotation: posture.rotation, motion: posture.motion, inverse, links })
    }

    /// Derivatives of a measure, by way of the pose and the motion, with respect to every pickup and link length.
    #[inline]
    pub fn write(&self, gradient: &PoseGradient, to: &mut LinkGradient) {
        let pose = reduced(&gradient.place, &gradient.turn);
        // Most measures do not depend on the motion; they need one solve in place of two.
        if gradient.velocity == Vector3::zeros() && gradient.angular == Vector3::zeros() {
            self.write_pose(&pose, to);
        } else {
            self.write_motion(&pose, &reduced(&gradient.velocity, &gradient.angular), to);
        }
    }

    #[inline]
    fn write_pose(&self, pose: &Five, to: &mut LinkGradient) {
        to.length = columns_times(&self.inverse, pose);
        for (i, link) in self.links.iter().enumerate() {
            to.chassis[i] = link.error_chassis * -to.length[i];
            to.upright[i] = link.error_upright * -to.length[i];
        }
    }

    /// The closing speed of a link is `e·(v + ω × R a) / L`; it changes with the pose and with the link's own points.
    fn write_motion(&self, pose: &Five, motion: &Five, to: &mut LinkGradient) {
        let motion = columns_times(&self.inverse, motion);
        let Motion { velocity, angular } = self.motion;
        let mut pose = *pose;
        let speeds = self.links.map(|link| {
            let speed = velocity + angular.cross(&link.arm);
            (speed, speed + link.along.cross(&angular))
        });
        for ((link, (speed, lever)), factor) in self.links.iter().zip(&speeds).zip(&motion) {
            let share = factor * link.per_length;
            let by_pose = reduced(speed, &link.arm.cross(lever));
            pose.iter_mut().zip(by_pose).for_each(|(entry, by)| *entry -= by * share);
        }
        self.write_pose(&pose, to);
        for (i, (link, (speed, lever))) in self.links.iter().zip(&speeds).enumerate() {
            let share = motion[i] * link.per_length;
            to.chassis[i] += speed * share;
            to.upright[i] -= turned_back(&self.rotation, lever) * share;
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
