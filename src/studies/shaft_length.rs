//! How long a halfshaft is between the centres of its joints, at design and over the wheel's travel.

use serde::Serialize;

use super::judged_car::JudgedCar;
use crate::geometry::{Halfshaft, Interval, Side};

/// Between the centres of both joints, mm: what a shaft must reach, and what a tape shows with the wheel at that height.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ShaftLength {
    /// At design height.
    pub design_mm: f64,
    /// From the shortest to the longest over bump and droop.
    pub over_travel_mm: Interval,
}

impl ShaftLength {
    /// Of one wheel of a moved car; `None` without a halfshaft.
    ///
    /// Tested by `the_halfshaft_is_as_long_as_its_joints_are_apart` in `tests/cli/sweep/summary.rs`.
    pub(super) fn of(car: &JudgedCar, side: Side) -> Option<Self> {
        let design_mm = car.geometry().corner(side).halfshaft.as_ref().map(Halfshaft::length_mm)?;
        let plunge = car.heave.rows.of(side).filter_map(|row| row.wheel.shaft.map(|shaft| shaft.plunge_mm));
        let over_travel_mm = Interval::of(plunge.map(|mm| design_mm + mm))?;
        Some(Self { design_mm, over_travel_mm })
    }
}
