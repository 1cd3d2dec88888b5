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
