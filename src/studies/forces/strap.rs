//! Where the droop strap takes the place of the spring.

use serde::Serialize;

use super::balance::{StrapFails, WheelForces};
use super::cases::CaseLoad;
use crate::geometry::{Side, Spring, Strap};
use crate::measures::strap_mm;
use crate::mechanism::{Posture, SpringDoesNotHold};
use crate::studies::rig::RigWheel;

/// As near as a strap is cut, mm: common practice.
const TAUT_MM: f64 = 0.5;

/// A taut strap does not hold the wheel in one case, so that it counts as slack and the spring holds it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StrapSlack {
    /// The case.
    pub case: String,
    /// Of the wheel.
    pub side: Side,
    /// Bump travel.
    pub at_bump_mm: f64,
    /// Why.
    pub why: StrapFails,
}

/// A strap that is not taut at full droop, or before it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StrapOffItsLength {
    /// Of the wheel.
    pub side: Side,
    /// Full droop, as bump travel.
    pub at_bump_mm: f64,
    /// Between its two ends there.
    pub apart_mm: f64,
    /// Of the strap.
    pub length_mm: f64,
}

impl StrapOffItsLength {
    /// `None` when the file gives no strap, no length, or the one that fits.
    pub(super) fn of(wheel: &RigWheel) -> Option<Self> {
        let strap = wheel.corner.spring.as_ref()?.make.strap?;
        let (at_bump_mm, length_mm) = (-wheel.geometry.travel.droop_mm, strap.length_mm?);
        let apart_mm = strap_mm(&strap, &wheel.path.at(at_bump_mm)?);
        let is_off = (apart_mm - length_mm).abs() > TAUT_MM;
        is_off.then_some(Self { side: wheel.corner.side, at_bump_mm, apart_mm, length_mm })
    }
}

/// Where its ends are as far apart as it is long; one without a length is cut for full droop.
fn is_taut(strap: &Strap, posture: &Posture, droop_mm: f64) -> bool {
    match strap.length_mm {
        Some(length_mm) => strap_mm(strap, posture) >= length_mm - TAUT_MM,
        None => posture.bump_mm <= -droop_mm,
    }
}

/// The forces of a wheel on its strap where that is taut and pulls, else on its spring; with the reason why a taut strap counts as
/// slack.
pub(super) fn forces(
    wheel: &RigWheel,
    spring: &Spring,
    posture: &Posture,
    load: &CaseLoad,
) -> (Result<WheelForces, SpringDoesNotHold>, Option<StrapFails>) {
    let taut = spring.make.strap.filter(|strap| is_taut(strap, posture, wheel.geometry.travel.droop_mm));
    let on_strap = taut.map(|strap| WheelForces::on_strap((wheel.corner, spring, &strap), posture, load));
    match on_strap {
        Some(Ok(forces)) => (Ok(forces), None),
        other => (WheelForces::of(wheel.corner, spring, posture, load), other.and_then(Result::err)),
    }
}
