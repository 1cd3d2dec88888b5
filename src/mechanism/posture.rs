//! The upright at one bump travel: where it stands and how it moves.

use nalgebra::{Matrix3, Point3, Vector3};

use super::kernel;
use super::linkage::rows_of;

/// First-order motion of the upright, per millimetre of bump travel, side axes.
///
/// With `J` the Jacobian of the closure equations, `J (v, ω) = (0, 0, 0, 0, 0, 1)`: exact at every posture, never a
/// difference of two of them.
///
/// Source: implicit-function theorem; `docs/theory.md`, "First-order motion". Tested by `tests/kinematics/rates.rs`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motion {
    /// Velocity of the wheel centre, mm per mm; its z is 1.
    pub velocity: Vector3<f64>,
    /// Angular velocity, rad per mm, right-hand rule.
    pub angular: Vector3<f64>,
}

/// The upright at one bump travel, side axes: where it stands, how it moves, and how well the links close.
///
/// At design the displacement is zero and the rotation is the identity. A [`Posture`] is only ever made by the solver,
/// so every link is closed to [`MAX_CLOSURE_ERROR_MM`](super::MAX_CLOSURE_ERROR_MM).
///
/// Source: `docs/theory.md`, "One posture". Tested by `tests/kinematics/closed_form.rs`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Posture {
    /// Bump travel that was asked for: vertical displacement of the wheel centre relative to the chassis from its place
    /// in the drawing, mm, up positive.
    pub bump_mm: f64,
    /// Wheel centre minus its place in the drawing, mm; its z is `bump_mm`.
    pub displacement: Vector3<f64>,
    /// Rotation of the upright from the drawing: turns a direction at design into the direction now.
    pub rotation: Matrix3<f64>,
    /// First-order motion per millimetre of bump travel.
    pub motion: Motion,
    /// Largest closure error of the five links, mm.
    pub closure_error_mm: f64,
    /// Determinant of the Jacobian of the five link equations, each row divided by its link's length and rotations
    /// times [`ROTATION_SCALE_MM`](super::ROTATION_SCALE_MM); no unit. It keeps its sign along a branch and goes to zero
    /// at a turning point. By itself the sign means nothing: healthy corners have either.
    pub determinant: f64,
    /// Wheel centre in the drawing.
    pub(super) design_centre: Point3<f64>,
    /// Modified Rodrigues parameters of `rotation`: its axis times the tangent of a quarter of its angle, no unit.
    pub(crate) rodrigues: Vector3<f64>,
}

impl Posture {
    /// Place of the wheel centre, mm, side axes.
    #[inline]
    pub fn wheel_centre(&self) -> Point3<f64> {
        self.design_centre + self.displacement
    }

    /// Place now of the upright-fixed point that is at `at_design` in the drawing, mm, side axes.
    #[inline]
    pub fn point(&self, at_design: &Point3<f64>) -> Point3<f64> {
        self.wheel_centre() + self.direction(&(at_design - self.design_centre))
    }

    /// Direction now, side axes, of the upright-fixed direction `at_design` in the drawing; its length is kept.
    #[inline]
    pub fn direction(&self, at_design: &Vector3<f64>) -> Vector3<f64> {
        turned(&self.rotation, at_design)
    }

    /// Direction in the drawing, side axes, of the upright-fixed direction that is `now`: undoes [`Posture::direction`].
    #[inline]
    pub fn direction_at_design(&self, now: &Vector3<f64>) -> Vector3<f64> {
        turned_back(&self.rotation, now)
    }

    /// Velocity of the upright-fixed point that is at `point` now, mm per mm of bump travel, side axes.
    ///
    /// Tested by `tests/kinematics/rates.rs`.
    #[inline]
    pub fn velocity_at(&self, point: &Point3<f64>) -> Vector3<f64> {
        self.motion.velocity + self.motion.angular.cross(&(point - self.wheel_centre()))
    }
}

/// Where an upright stands, with or without its motion, side axes.
pub trait UprightPose {
    /// Place of the wheel centre, mm.
    fn wheel_centre(&self) -> Point3<f64>;

    /// Direction now of the upright-fixed direction `at_design` in the drawing; its length is kept.
    fn direction(&self, at_design: &Vector3<f64>) -> Vector3<f64>;

    /// Place now, mm, of the upright-fixed point that is at `at_design` in the drawing.
    fn point(&self, at_design: &Point3<f64>) -> Point3<f64>;
}

impl UprightPose for Posture {
    fn wheel_centre(&self) -> Point3<f64> {
        self.wheel_centre()
    }

    fn direction(&self, at_design: &Vector3<f64>) -> Vector3<f64> {
        self.direction(at_design)
    }

    fn point(&self, at_design: &Point3<f64>) -> Point3<f64> {
        self.point(at_design)
    }
}

/// `R v` of a rotation, written out: see [`turned_back`].
#[inline]
pub(crate) fn turned(rotation: &Matrix3<f64>, v: &Vector3<f64>) -> Vector3<f64> {
    kernel::turned(&rows_of(rotation), (*v).into()).into()
}

/// `Rᵀ v` written out: the general product of nalgebra is several times slower at this size.
#[inline]
pub(super) fn turned_back(rotation: &Matrix3<f64>, v: &Vector3<f64>) -> Vector3<f64> {
    Vector3::new(rotation.column(0).dot(v), rotation.column(1).dot(v), rotation.column(2).dot(v))
}
