//! Distribution of the worst bump steer of built wheels.

use super::statistics::percentile;
use crate::geometry::{Interval, Side};
use crate::studies::errors::ErrorModel;
use crate::studies::rig::Rig;
use crate::studies::tolerance::model::WheelModel;
use crate::studies::tolerance::monte_carlo::Watch;

/// Wheels between two looks at whether to go on.
const AT_A_TIME: usize = 10_000;
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
        Self::watched(rig, side, (errors, wheels, seed), Watch::NONE)
    }

    /// The same; after a stop of the wheels that are built by then, the first few at least.
    pub fn watched(
        rig: &Rig,
        side: Side,
        (errors, wheels, seed): (&ErrorModel, usize, u64),
        watch: Watch<'_>,
    ) -> Option<Self> {
        let model = WheelModel::new(rig, side).ok()?;
        let mut all = model.worst_bump_steer(errors, 0..wheels.min(AT_A_TIME), seed);
        while all.wheels < wheels && !(watch.stop)() {
            let more = model.worst_bump_steer(errors, all.wheels..wheels.min(all.wheels + AT_A_TIME), seed);
            (watch.built)(more.wheels);
            all.moving_deg.extend(more.moving_deg);
            all.wheels += more.wheels;
        }
        Some(all)
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
