//! Derivatives of a posture and its motion by the pickups and link lengths, at a given bump travel.
//!
//! With `J` the Jacobian of the closure equations without the vertical column, `y` the pose, `V` the motion and `p` a
//! coordinate of a pickup or the length of a link:
//!
//! ```text
//! J δy = −f_p δp                                 f_p  change of a closure error with p, pose held
//! J δV = −(H δy + q_p δp)                        H, q_p  changes of the closing speeds J V with the pose and with p
//! ```
//!
//! Each `p` belongs to one link, so `f_p` and `q_p` have one entry. For a measure `m(y, V)` two solves with the transposed
//! Jacobian give its derivatives by every `p` at once:
//!
//! ```text
//! Jᵀ μ = ∂m/∂V      Jᵀ λ = ∂m/∂y − Hᵀ μ      dm/dp = −λ_i f_p − μ_i q_p + ∂m/∂p
//! ```
//!
//! Source: implicit-function theorem, adjoint form. Tested by `tests/kinematics/sensitivities.rs` (central differences).

use nalgebra::{Matrix3, Vector3};

use super::linkage::{Linkage, ROTATION_SCALE_MM};
use super::posture::{Motion, Posture, turned_back};
use super::solve::SolveError;
use crate::geometry::{Coordinate, End, Pickup};

/// One number for each of the five unknowns: x and y of the wheel centre, rotations times [`ROTATION_SCALE_MM`].
type Unknowns = [f64; 5];

/// Gradient of one measure by the pose and the motion of the upright, side axes, everything else held.
///
/// The vertical parts of `place` and `velocity` are given by the bump travel and do not count.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PoseGradient {
    /// By the place of the wheel centre: the measure's unit per mm.
    pub place: Vector3<f64>,
    /// By a rotation of the upright about its wheel centre: the measure's unit per rad, right-hand rule.
    pub turn: Vector3<f64>,
    /// By the velocity of the wheel centre: the measure's unit per mm/mm.
    pub velocity: Vector3<f64>,
    /// By the angular velocity: the measure's unit per rad/mm, right-hand rule.
    pub angular: Vector3<f64>,
}

/// Gradient of one measure by the pickups and the link lengths, side axes, links in file order; the measure's unit per mm.
///
/// A pickup takes its link along: the length follows the drawn points, so that the drawn posture stays a posture. Upright
/// pickups move in the upright as it stands in the drawing.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LinkGradient {
    /// By each chassis pickup.
    pub chassis: [Vector3<f64>; 5],
    /// By each upright pickup.
    pub upright: [Vector3<f64>; 5],
    /// By the length of each link, both its points held.
    pub length: [f64; 5],
}

impl LinkGradient {
    /// By one coordinate of a pickup: the measure's unit per mm.
    pub fn by(&self, Coordinate { link, end, axis }: Coordinate) -> f64 {
        match end {
            End::Chassis => self.chassis[link][axis.index()],
            End::Upright => self.upright[link][axis.index()],
        }
    }

    /// By a pickup that is moved while its link keeps its length, as a shim does: the measure's unit per mm.
    ///
    /// Tested by `tests/kinematics/sensitivities.rs`.
    pub fn by_shim(&self, linkage: &Linkage, Pickup { link, end }: Pickup) -> Vector3<f64> {
        // The length that follows the drawn points is taken back.
        let by_following = linkage.links[link].drawn_direction * self.length[link];
        match end {
            End::Chassis => self.chassis[link] + by_following,
            End::Upright => self.upright[link] - by_following,
        }
    }
}

/// The inverse Jacobian of one posture, from which the gradient of any measure follows.
///
/// Without meaning at a turning point, where the Jacobian has no inverse. Source: `docs/theory.md`, "Sensitivities".
/// Tested by `tests/kinematics/sensitivities.rs`.
#[derive(Debug, Clone, Copy)]
pub struct PostureSensitivity {
    rotation: Matrix3<f64>,
    motion: Motion,
    /// Inverse of `J`, column by column: how far one millimetre of each link's closure error moves the unknowns.
    inverse: [Unknowns; 5],
    links: [LinkAtPosture; 5],
}

/// A link at the posture, with the derivatives of its closure error by its own pickups.
#[derive(Debug, Clone, Copy)]
struct LinkAtPosture {
    /// From the wheel centre to the upright end, mm.
    arm: Vector3<f64>,
    /// From the chassis end to the upright end, mm.
    along: Vector3<f64>,
    inverse_length: f64,
    error_by_chassis: Vector3<f64>,
    error_by_upright: Vector3<f64>,
}

impl PostureSensitivity {
    /// From a solved posture of this linkage; an error when the posture is singular.
    pub fn new(linkage: &Linkage, posture: &Posture) -> Result<Self, SolveError> {
        let links = linkage.links.map(|link| {
            let arm = posture.direction(&link.arm);
            let along = link.base + posture.displacement + arm;
            let unit = along * link.inverse_length;
            // The length follows the drawn points: it grows as they part.
            let error_by_chassis = link.drawn_direction - unit;
            let error_by_upright = posture.direction_at_design(&unit) - link.drawn_direction;
            LinkAtPosture { arm, along, inverse_length: link.inverse_length, error_by_chassis, error_by_upright }
        });
        // The identity stands behind the rows as right-hand sides; its solutions are the columns of the inverse.
        let row = |i: usize| {
            let LinkAtPosture { arm, along, inverse_length, .. } = &links[i];
            let [a, b, c, d, e] = unknowns(&(along * *inverse_length), &(arm.cross(along) * *inverse_length));
            let mut row = [a, b, c, d, e, 0.0, 0.0, 0.0, 0.0, 0.0];
            row[5 + i] = 1.0;
            row
        };
        let (lu, _) = linkage.order.eliminate(row).ok_or(SolveError::Singular { bump_mm: posture.bump_mm })?;
        let inverse = std::array::from_fn(|i| lu.solution(5 + i));
        Ok(Self { rotation: posture.rotation, motion: posture.motion, inverse, links })
    }

    /// Writes the derivatives of a measure by every pickup and link length, as far as they come by way of the pose and the
    /// motion of the upright; a measure that depends on a pickup directly adds that itself.
    #[inline]
    pub fn write(&self, gradient: &PoseGradient, to: &mut LinkGradient) {
        let pose = unknowns(&gradient.place, &gradient.turn);
        // Most measures do not depend on the motion; they need one solve in place of two.
        if gradient.velocity == Vector3::zeros() && gradient.angular == Vector3::zeros() {
            self.write_pose(&pose, to);
        } else {
            self.write_motion(&pose, &unknowns(&gradient.velocity, &gradient.angular), to);
        }
    }

    #[inline]
    fn write_pose(&self, pose: &Unknowns, to: &mut LinkGradient) {
        to.length = transpose_times(&self.inverse, pose);
        for (i, link) in self.links.iter().enumerate() {
            to.chassis[i] = link.error_by_chassis * -to.length[i];
            to.upright[i] = link.error_by_upright * -to.length[i];
        }
    }

    /// The closing speed of a link is `e·(v + ω × R a) / L`; it changes with the pose and with the link's own points.
    fn write_motion(&self, pose: &Unknowns, motion: &Unknowns, to: &mut LinkGradient) {
        let multipliers = transpose_times(&self.inverse, motion);
        let Motion { velocity, angular } = self.motion;
        let mut pose = *pose;
        let speeds = self.links.map(|link| {
            let by_along = velocity + angular.cross(&link.arm);
            (by_along, by_along + link.along.cross(&angular))
        });
        for ((link, (by_along, by_arm)), multiplier) in self.links.iter().zip(&speeds).zip(&multipliers) {
            let factor = multiplier * link.inverse_length;
            let by_pose = unknowns(by_along, &link.arm.cross(by_arm));
            pose.iter_mut().zip(by_pose).for_each(|(entry, by)| *entry -= by * factor);
        }
        self.write_pose(&pose, to);
        for (i, (link, (by_along, by_arm))) in self.links.iter().zip(&speeds).enumerate() {
            let factor = multipliers[i] * link.inverse_length;
            to.chassis[i] += by_along * factor;
            to.upright[i] -= turned_back(&self.rotation, by_arm) * factor;
        }
    }
}

/// A vector of the wheel centre and one of the upright's rotation as numbers of the five unknowns.
fn unknowns(place: &Vector3<f64>, turn: &Vector3<f64>) -> Unknowns {
    let k = 1.0 / ROTATION_SCALE_MM;
    [place.x, place.y, turn.x * k, turn.y * k, turn.z * k]
}

/// `Mᵀ v` for a matrix given by its columns.
fn transpose_times(columns: &[Unknowns; 5], v: &Unknowns) -> Unknowns {
    columns.map(|column| column[0] * v[0] + column[1] * v[1] + column[2] * v[2] + column[3] * v[3] + column[4] * v[4])
}
