//! Distribution of the worst bump steer of built wheels.

use super::statistics::percentile;
use crate::geometry::{Interval, Side};
use crate::studies::errors::ErrorModel;
use crate::studies::rig::Rig;
use crate::studies::tolerance::model::WheelModel;

/// A band leaves out one wheel in twenty, half of them at either end.
const OUTSIDE_BAND: f64 = 0.05;

/// Worst bump steer of many built wheels of one side. Each is one wheel, not a car of two.
#[derive(Debug, Clone, PartialEq)]
pub struct WorstBumpSteer {
    /// Those that move through their whole travel, deg.
    moving_deg: Vec<f64>,
    wheels: usize,
    /// Of the wheel as drawn, deg.
    pub as_drawn_deg: f64,
}

impl WorstBumpSteer {
    pub(super) fn new(moving_deg: Vec<f64>, wheels: usize, as_drawn_deg: f64) -> Self {
        Self { moving_deg, wheels, as_drawn_deg }
    }

    /// Of one side of a car; `None` when it is singular or binds as drawn, so that there is nothing to build from.
    pub fn of(rig: &Rig, side: Side, errors: &ErrorModel, wheels: usize, seed: u64) -> Option<Self> {
        Some(WheelModel::new(rig, side).ok()?.worst_bump_steer(errors, wheels, seed))
    }

    /// Wheels built.
    pub fn wheels(&self) -> usize {
        self.wheels
    }

    /// Wheels that do not get through their travel: they have no worst value.
    pub fn lost(&self) -> usize {
        self.wheels - self.moving_deg.len()
    }

    /// The value that this share of the wheels that move stays below, deg.
    pub fn percentile_deg(&self, share: f64) -> Option<f64> {
        percentile(&mut self.moving_deg.clone(), share)
    }

    /// Where 19 of 20 wheels that move lie, deg.
    ///
    /// Begins above zero even for a car that is flat as drawn, because an error of either sign makes a flat curve worse.
    /// Tested by `the_band_of_a_wheel_is_that_of_wheels_built_one_by_one`.
    pub fn band_deg(&self) -> Option<Interval> {
        let low = self.percentile_deg(OUTSIDE_BAND / 2.0)?;
        Some(Interval { low, high: self.percentile_deg(1.0 - OUTSIDE_BAND / 2.0)? })
    }
}
