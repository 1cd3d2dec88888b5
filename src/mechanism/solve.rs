//! One posture: Newton's method on the closure equations, from a predicted pose to rounding.

use std::fmt;

use nalgebra::Vector3;

use super::kernel::Lu5;
use super::linkage::{Linkage, LoopClosure, ROTATION_SCALE_MM, rodrigues_rate, rotation_of};
use super::pivot_order::PivotOrder;
use super::posture::{Motion, Posture};

/// A Newton step this short is not worth taking, mm: the posture and its Jacobian are then good to a part in 10¹².
const LAST_CORRECTION_MM: f64 = 1e-10;
/// Closure error that is rounding, as a share of the distances of a link's ends from the wheel centre: of the order of a
/// hundred units in the last place.
const ROUNDING: f64 = 2e-14;
/// Largest closure error of any link in a posture that the solver returns, mm: below any gauge, above rounding at 1 m.
pub const MAX_CLOSURE_ERROR_MM: f64 = 1e-9;
/// Newton converges quadratically or not at all here; a good prediction needs two evaluations.
const MAX_ITERATIONS: u32 = 12;

/// Why Newton's method found no posture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SolveError {
    /// The Jacobian has no inverse to working accuracy: the links leave the upright a second motion, or bump travel
    /// cannot drive the wheel.
    Singular {
        /// Bump travel that was asked for, mm, up positive.
        bump_mm: f64,
    },
    /// The corrections did not shrink: the prediction is too far from a posture, or there is none at this bump travel.
    NotConverging {
        /// Bump travel that was asked for, mm, up positive.
        bump_mm: f64,
    },
}

impl fmt::Display for SolveError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Singular { bump_mm } => write!(
                f,
                "the links do not hold the wheel at {bump_mm} mm of bump travel: their equations are singular there; \
                 move a pickup so that no two links do the same work"
            ),
            Self::NotConverging { bump_mm } => write!(
                f,
                "no posture was found at {bump_mm} mm of bump travel: the links cannot close there, or the search \
                 began too far away; approach it in smaller steps"
            ),
        }
    }
}

impl std::error::Error for SolveError {}

/// A posture and the report of the iteration that found it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Solved {
    pub(super) posture: Posture,
    /// How far the first Newton step moved the upright from the predicted pose, mm (rotations times 100 mm).
    pub(super) first_correction_mm: f64,
}

/// Newton's method at a given bump travel from a predicted pose: x and y of `displacement` (its z is not used) and `rodrigues`.
///
/// Every returned posture closes to [`MAX_CLOSURE_ERROR_MM`]; whether it is on the right branch is for the caller to
/// judge, from [`Solved::first_correction_mm`] and the determinant. Allocates nothing.
pub(super) fn solve(
    linkage: &Linkage,
    bump_mm: f64,
    displacement: &Vector3<f64>,
    rodrigues: &Vector3<f64>,
) -> Result<Solved, SolveError> {
    let mut displacement = Vector3::new(displacement.x, displacement.y, bump_mm);
    let mut rodrigues = *rodrigues;
    let mut first_correction_mm = 0.0;
    let mut last_correction_mm = f64::INFINITY;
    for iteration in 0..=MAX_ITERATIONS {
        let rotation = rotation_of(&rodrigues);
        let closure = linkage.closure(&displacement, &rotation);
        let system = ReducedSystem::of(&closure, &linkage.order).ok_or(SolveError::Singular { bump_mm })?;
        let step = system.solution(ReducedSystem::CLOSING);
        let correction_mm = step.iter().map(|s| s * s).sum::<f64>().sqrt();
        if iteration == 0 {
            first_correction_mm = correction_mm;
        }
        let shrinks = correction_mm <= 0.5 * last_correction_mm;
        // Near a turning point rounding is magnified: there the links close long before the corrections vanish.
        let closure_error_mm = closure.worst_mm();
        let at_rounding = !shrinks && closure_error_mm <= rounding_mm(linkage);
        if (correction_mm <= LAST_CORRECTION_MM || at_rounding) && closure_error_mm <= MAX_CLOSURE_ERROR_MM {
            let rate = system.solution(ReducedSystem::DRIVING);
            let motion = Motion {
                velocity: Vector3::new(rate[0], rate[1], 1.0),
                angular: Vector3::new(rate[2], rate[3], rate[4]) / ROTATION_SCALE_MM,
            };
            let posture = Posture {
                bump_mm,
                displacement,
                rotation,
                motion,
                closure_error_mm,
                determinant: system.determinant,
                design_centre: linkage.wheel_centre,
                rodrigues,
            };
            return Ok(Solved { posture, first_correction_mm });
        }
        if !shrinks {
            return Err(SolveError::NotConverging { bump_mm });
        }
        last_correction_mm = correction_mm;
        displacement.x += step[0];
        displacement.y += step[1];
        rodrigues += rodrigues_rate(&rodrigues, &(Vector3::new(step[2], step[3], step[4]) / ROTATION_SCALE_MM));
    }
    Err(SolveError::NotConverging { bump_mm })
}

/// Closure error that rounding can leave, mm; it grows with the links.
#[cold]
fn rounding_mm(linkage: &Linkage) -> f64 {
    let reaches_mm = linkage.links.iter().map(|link| link.base.norm() + link.arm.norm());
    ROUNDING * reaches_mm.fold(0.0, f64::max)
}

/// The five link rows without the vertical column, unknowns `(v_x, v_y, ω·100 mm)`, factorised together with two
/// right-hand sides: the Newton step that closes the links, and the motion that a millimetre of bump travel drives.
struct ReducedSystem {
    lu: Lu5<7>,
    determinant: f64,
}

impl ReducedSystem {
    /// Column of the right-hand side whose solution closes the links.
    const CLOSING: usize = 5;
    /// Column of the right-hand side whose solution is the motion per millimetre of bump travel.
    const DRIVING: usize = 6;

    #[inline]
    fn of(closure: &LoopClosure, order: &PivotOrder) -> Option<Self> {
        let row = |i: usize| {
            let r = &closure.rows[i];
            [r[0], r[1], r[3], r[4], r[5], -closure.error_mm[i], -r[2]]
        };
        let (lu, determinant) = order.eliminate(row)?;
        Some(Self { lu, determinant })
    }

    #[inline]
    fn solution(&self, column: usize) -> [f64; 5] {
        self.lu.solution(column)
    }
}
