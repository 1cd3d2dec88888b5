//! One posture: Newton on the closure equations, from a guess to rounding.

use nalgebra::{Matrix3, Point3, Vector3};

use super::closure::{Linkage, LoopClosure, ROTATION_SCALE_MM, gibbs_rate, rotation_of, rows_of};
use super::kernel::{self, Lu5};
use super::motion::Motion;
use super::pivot_order::PivotOrder;

/// A Newton step this short is not worth taking, mm: the posture and its Jacobian are then good to a part in 10¹².
const LAST_CORRECTION_MM: f64 = 1e-10;
/// LoopClosure error that is rounding at the size of a car, mm.
const CLOSED_MM: f64 = 1e-11;
/// LoopClosure error that every returned posture keeps, mm.
pub const GUARANTEED_MM: f64 = 1e-9;
/// Newton converges quadratically or not at all here; a good start needs two evaluations.
const MAX_ITERATIONS: u32 = 12;

/// The upright at one bump travel: where it stands, how it moves, and how well the links close.
///
/// In side axes. The design posture has no displacement and the identity as rotation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Posture {
    /// Commanded vertical displacement of the wheel centre relative to the chassis, mm, up positive.
    pub bump_mm: f64,
    /// Wheel centre minus its design place, mm.
    pub displacement: Vector3<f64>,
    /// Rotation of the upright from design.
    pub rotation: Matrix3<f64>,
    /// First-order motion per millimetre of bump travel.
    pub motion: Motion,
    /// Largest closure error of the five links, mm.
    pub closure_error_mm: f64,
    /// Determinant of the scaled Jacobian. Its sign holds along a branch and changes at a turning point; alone it
    /// means nothing.
    pub determinant: f64,
    pub(super) design_centre: Point3<f64>,
    pub(crate) gibbs: Vector3<f64>,
}

impl Posture {
    /// Wheel centre, side axes.
    #[inline]
    pub fn wheel_centre(&self) -> Point3<f64> {
        self.design_centre + self.displacement
    }

    /// Where a point of the upright has gone, from its place at design.
    #[inline]
    pub fn point(&self, at_design: &Point3<f64>) -> Point3<f64> {
        self.wheel_centre() + self.direction(&(at_design - self.design_centre))
    }

    /// Where a direction fixed to the upright points, from its direction at design.
    #[inline]
    pub fn direction(&self, at_design: &Vector3<f64>) -> Vector3<f64> {
        kernel::turned(&rows_of(&self.rotation), (*at_design).into()).into()
    }

    /// The direction at design of what points this way now.
    #[inline]
    pub fn back(&self, now: &Vector3<f64>) -> Vector3<f64> {
        turned_back(&self.rotation, now)
    }

    /// Velocity of the upright-fixed point that is at `point` now, mm per mm of bump travel.
    #[inline]
    pub fn velocity_at(&self, point: &Point3<f64>) -> Vector3<f64> {
        self.motion.velocity + self.motion.angular.cross(&(point - self.wheel_centre()))
    }
}

/// `Rᵀ v` written out: the general product of nalgebra is several times slower at this size.
#[inline]
pub(super) fn turned_back(rotation: &Matrix3<f64>, v: &Vector3<f64>) -> Vector3<f64> {
    Vector3::new(rotation.column(0).dot(v), rotation.column(1).dot(v), rotation.column(2).dot(v))
}

/// A posture and the report of the iteration that found it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Solved {
    pub posture: Posture,
    /// Newton steps taken; 0 when the guess already closed.
    pub iterations: u32,
    /// How far the first Newton step moved the upright from the guess, mm (rotations times 100 mm).
    pub first_correction_mm: f64,
}

/// Why an iteration gave no posture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StopReason {
    /// The Jacobian has no inverse to working accuracy.
    Singular,
    /// The corrections did not shrink: the guess is too far away, or there is no posture here.
    NotConverging,
}

impl Linkage {
    /// The design posture with its motion; an error when the links leave the wheel more than one freedom, or when
    /// bump travel cannot drive it.
    pub fn design(&self) -> Result<Posture, StopReason> {
        self.solve(0.0, &Vector3::zeros(), &Vector3::zeros()).map(|solved| solved.posture)
    }

    /// Newton at a given bump travel from a guess (`displacement_xy`: only x and y are used; `gibbs`).
    ///
    /// Returns a posture that closes to rounding (never worse than [`GUARANTEED_MM`]); the caller judges whether
    /// it is on the right branch from [`Solved::first_correction_mm`] and the determinant. Allocates nothing.
    pub(super) fn solve(
        &self,
        bump_mm: f64,
        displacement_xy: &Vector3<f64>,
        gibbs: &Vector3<f64>,
    ) -> Result<Solved, StopReason> {
        let mut displacement = Vector3::new(displacement_xy.x, displacement_xy.y, bump_mm);
        let mut gibbs = *gibbs;
        let mut first_correction_mm = 0.0;
        let mut last_correction_mm = f64::INFINITY;
        for iterations in 0..=MAX_ITERATIONS {
            let rotation = rotation_of(&gibbs);
            let closure = self.closure(&displacement, &rotation);
            let factors = Eliminated::of(&closure, &self.order).ok_or(StopReason::Singular)?;
            let step = factors.solve(Eliminated::CLOSING);
            let correction_mm = step.iter().map(|s| s * s).sum::<f64>().sqrt();
            if iterations == 0 {
                first_correction_mm = correction_mm;
            }
            let shrinks = correction_mm <= 0.5 * last_correction_mm;
            // Near a turning point rounding is magnified: there the links close long before the corrections vanish.
            let closure_error_mm = closure.worst_mm();
            let at_rounding = !shrinks && closure_error_mm <= CLOSED_MM;
            if (correction_mm <= LAST_CORRECTION_MM || at_rounding) && closure_error_mm <= GUARANTEED_MM {
                let rate = factors.solve(Eliminated::DRIVING);
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
                    determinant: factors.determinant,
                    design_centre: self.wheel_centre,
                    gibbs,
                };
                return Ok(Solved { posture, iterations, first_correction_mm });
            }
            if !shrinks {
                return Err(StopReason::NotConverging);
            }
            last_correction_mm = correction_mm;
            displacement.x += step[0];
            displacement.y += step[1];
            gibbs += gibbs_rate(&gibbs, &(Vector3::new(step[2], step[3], step[4]) / ROTATION_SCALE_MM));
        }
        Err(StopReason::NotConverging)
    }
}

/// The five link rows without the vertical column, unknowns `(v_x, v_y, ω·100 mm)`, in triangular form. Both right-hand
/// sides ride along: what closes the links, and what bump drives.
struct Eliminated {
    triangular: Lu5<7>,
    determinant: f64,
}

impl Eliminated {
    const CLOSING: usize = 5;
    const DRIVING: usize = 6;

    #[inline]
    fn of(closure: &LoopClosure, order: &PivotOrder) -> Option<Self> {
        let row = |i: usize| {
            let r = &closure.rows[i];
            [r[0], r[1], r[3], r[4], r[5], -closure.error_mm[i], -r[2]]
        };
        let (triangular, determinant) = order.eliminate(row)?;
        Some(Self { triangular, determinant })
    }

    #[inline]
    fn solve(&self, side: usize) -> [f64; 5] {
        self.triangular.solution(side)
    }
}
