//! What five links and a spring carry when something acts on the upright: six equations of equilibrium in six tensions.
//!
//! A member that pulls with the tension `t` along its unit direction `u` (from the chassis to the upright) puts `−t u` on
//! the upright. With the rows of the Jacobian as wrenches of one newton, the spring's in the place of the driver's,
//!
//! ```text
//! Jᵀ t = F        F force and moment about the wheel centre that act on the upright
//! ```
//!
//! The same matrix turns velocities of the upright into stretching speeds, so that virtual work holds by construction: the
//! spring's tension is the power of the load along the motion over the spring's stretching speed.
//!
//! With each link a spring along itself, the same matrix tells how the upright gives ([`Flexibility`]).
//!
//! Source: principle of virtual work. Tested by `tests/reference/forces.rs` and `tests/forces/balance.rs`.

use std::fmt;

use nalgebra::{Matrix6, Point3, Vector3, Vector6};

use super::conditioning::{NEARLY_SINGULAR, SINGULAR};
use super::linkage::{Linkage, ROTATION_SCALE_MM};
use super::posture::Posture;

/// A force on the upright and its moment about the wheel centre, side axes.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Wrench {
    /// N.
    pub force_n: Vector3<f64>,
    /// About the wheel centre where it stands, N·mm, right-hand rule.
    pub moment_n_mm: Vector3<f64>,
}

impl Wrench {
    /// A force at a place, seen from the wheel centre.
    pub fn of_force(force_n: Vector3<f64>, at: &Point3<f64>, wheel_centre: &Point3<f64>) -> Self {
        Self { force_n, moment_n_mm: (at - wheel_centre).cross(&force_n) }
    }

    /// A moment alone, N·mm.
    pub fn of_moment(moment_n_mm: Vector3<f64>) -> Self {
        Self { force_n: Vector3::zeros(), moment_n_mm }
    }

    /// Its size as one number, N: the moment divided by the length that scales rotations.
    pub fn size_n(&self) -> f64 {
        self.force_n.norm().max(self.moment_n_mm.norm() / ROTATION_SCALE_MM)
    }

    /// Both parts as six numbers, N.
    fn scaled(&self) -> Vector6<f64> {
        let moment = self.moment_n_mm / ROTATION_SCALE_MM;
        Vector6::from_iterator(self.force_n.iter().chain(moment.iter()).copied())
    }
}

impl std::ops::Add for Wrench {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self { force_n: self.force_n + other.force_n, moment_n_mm: self.moment_n_mm + other.moment_n_mm }
    }
}

/// The member that holds the wheel up: a spring, a bump stop or a strap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strut {
    /// Unit direction from its end on the chassis to its end that moves, side axes.
    pub direction: Vector3<f64>,
    /// Where its pull reaches the upright, side axes: its mount, or the upright pickup of the link that carries it.
    pub at: Point3<f64>,
    /// Share of its pull that reaches the upright: 1 on the upright; part-way along a link, the share of the link's length
    /// from the chassis (no unit).
    pub share: f64,
}

/// Tensions of the members, N, pull positive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tensions {
    /// Of the links in file order; of one that carries the strut, the mean along its length.
    pub links_n: [f64; 5],
    /// Of the strut.
    pub strut_n: f64,
    /// The members nearly fail to hold the upright: forces grow without bound towards that.
    pub nearly_singular: bool,
}

/// The six lines of action do not hold the upright: no tension of the strut balances a load on the wheel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SpringDoesNotHold;

impl fmt::Display for SpringDoesNotHold {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(
            "the spring does not hold the wheel here: the wheel moves without changing its length; move an end of it",
        )
    }
}

impl std::error::Error for SpringDoesNotHold {}

/// Tensions that balance a wrench on the upright at a posture of this linkage.
///
/// Tested by `tests/forces/balance.rs`, against six equations solved outside and by virtual work.
pub fn tensions(
    linkage: &Linkage,
    posture: &Posture,
    strut: &Strut,
    load: &Wrench,
) -> Result<Tensions, SpringDoesNotHold> {
    let members = members(linkage, posture, strut);
    let least = members.singular_values().min();
    // A NaN is no number to go on with.
    if least.is_nan() || least < SINGULAR {
        return Err(SpringDoesNotHold);
    }
    let t = members.transpose().lu().solve(&load.scaled()).ok_or(SpringDoesNotHold)?;
    Ok(Tensions { links_n: std::array::from_fn(|i| t[i]), strut_n: t[5], nearly_singular: least < NEARLY_SINGULAR })
}

/// The Jacobian with the strut's row in the place of the driver's: a velocity of the wheel centre and an angular velocity
/// times [`ROTATION_SCALE_MM`] become the stretching speeds of the six members.
fn members(linkage: &Linkage, posture: &Posture, strut: &Strut) -> Matrix6<f64> {
    let mut members = linkage.jacobian(&posture.displacement, &posture.rotation);
    let direction = strut.direction * strut.share;
    let moment = (strut.at - posture.wheel_centre()).cross(&direction) / ROTATION_SCALE_MM;
    let row = Vector6::from_iterator(direction.iter().chain(moment.iter()).copied());
    members.set_row(5, &row.transpose());
    members
}

/// How an upright gives when its links do: each a spring along itself, all else rigid.
///
/// `δq = J⁻¹ diag(1/k) J⁻ᵀ F` to first order in the load: forces in the members, their stretch, and where that puts the upright.
///
/// Source: force and displacement method with one matrix, any text on structures. Tested by `tests/forces/compliance.rs`
/// (postures solved again with stretched links; the order is shown).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flexibility {
    inverse: Matrix6<f64>,
    /// Stretch of each member under one newton, mm/N.
    per_newton: Vector6<f64>,
}

impl Flexibility {
    /// With the height of the wheel centre against the chassis held by something outside; the spring feels no load.
    /// `None` at a posture that cannot be moved.
    pub fn with_travel_held(linkage: &Linkage, posture: &Posture, stiffness_n_per_mm: &[f64; 5]) -> Option<Self> {
        let members = linkage.jacobian(&posture.displacement, &posture.rotation);
        Self::of(members, stiffness_n_per_mm, 0.0)
    }

    /// With the wheel on its spring of this rate, N/mm. `None` where that does not hold it.
    pub fn on_spring(
        linkage: &Linkage,
        posture: &Posture,
        stiffness_n_per_mm: &[f64; 5],
        strut: &Strut,
        rate_n_per_mm: f64,
    ) -> Option<Self> {
        Self::of(members(linkage, posture, strut), stiffness_n_per_mm, 1.0 / rate_n_per_mm)
    }

    fn of(members: Matrix6<f64>, stiffness_n_per_mm: &[f64; 5], sixth_mm_per_n: f64) -> Option<Self> {
        let least = members.singular_values().min();
        if least.is_nan() || least < SINGULAR {
            return None;
        }
        let links = stiffness_n_per_mm.iter().map(|k| 1.0 / k);
        let per_newton = Vector6::from_iterator(links.chain([sixth_mm_per_n]));
        Some(Self { inverse: members.try_inverse()?, per_newton })
    }

    /// Stretch of each link under a load, mm, in file order; longer positive.
    pub fn stretch_mm(&self, load: &Wrench) -> [f64; 5] {
        let stretch = self.stretch(load);
        std::array::from_fn(|i| stretch[i])
    }

    fn stretch(&self, load: &Wrench) -> Vector6<f64> {
        (self.inverse.transpose() * load.scaled()).component_mul(&self.per_newton)
    }

    /// Displacement of the wheel centre, mm, and rotation of the upright, rad, under a load, side axes.
    pub fn displacement(&self, load: &Wrench) -> (Vector3<f64>, Vector3<f64>) {
        let moved = self.inverse * self.stretch(load);
        let (shift, turn) = (moved.fixed_rows::<3>(0), moved.fixed_rows::<3>(3));
        (shift.into_owned(), turn / ROTATION_SCALE_MM)
    }
}

/// What the upright does while one link (0 to 4, file order) grows by a millimetre, the height of the wheel centre held:
/// displacement of the wheel centre, mm, and rotation, rad, side axes. `None` at a posture that cannot be moved.
///
/// Tested by `tests/forces/frame.rs` (the posture solved again with the link longer).
pub fn travel_held_stretch(linkage: &Linkage, posture: &Posture, index: usize) -> Option<(Vector3<f64>, Vector3<f64>)> {
    let members = linkage.jacobian(&posture.displacement, &posture.rotation);
    let mut stretch = Vector6::zeros();
    stretch[index] = 1.0;
    let moved = members.lu().solve(&stretch)?;
    let (shift, turn) = (moved.fixed_rows::<3>(0), moved.fixed_rows::<3>(3));
    Some((shift.into_owned(), turn / ROTATION_SCALE_MM))
}
