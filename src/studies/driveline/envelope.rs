//! The lowest and highest value of something along the path of a wheel, found and not sampled.

use argmin::core::{CostFunction, Error, Executor, State};
use argmin::solver::brent::BrentRoot;
use serde::Serialize;

use crate::mechanism::{Posture, WheelPath};
use crate::studies::stations;

/// Between two neighbouring places the figure turns once at most, mm of bump travel: far finer than any corner bends.
const STEP_MM: f64 = 0.5;
/// Where a figure turns is found to this, mm of bump travel.
const SETTLED_MM: f64 = 1e-12;

/// The lowest and the highest value over the travel, where they are, and the value at design height.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Envelope {
    /// Lowest value.
    pub low: f64,
    /// Bump travel there, mm, up positive.
    pub low_at_bump_mm: f64,
    /// Highest value.
    pub high: f64,
    /// Bump travel there, mm, up positive.
    pub high_at_bump_mm: f64,
    /// At design height.
    pub at_design: f64,
}

impl Envelope {
    /// Of a figure along a path, between the ends of its reach: both ends and every place where `turning` goes through zero.
    /// `turning` has the sign of the figure's slope, and is zero where the figure turns.
    ///
    /// `None` when the figure has no value somewhere.
    pub fn of(
        path: &WheelPath,
        value: impl Fn(&Posture) -> Option<f64>,
        turning: impl Fn(&Posture) -> Option<f64>,
    ) -> Option<Self> {
        let at_design = value(&path.at(0.0)?)?;
        let mut found = Self { low: at_design, low_at_bump_mm: 0.0, high: at_design, high_at_bump_mm: 0.0, at_design };
        let mut before: Option<(f64, f64)> = None;
        for bump_mm in places(path) {
            let posture = path.at(bump_mm)?;
            let (here, slope) = (value(&posture)?, turning(&posture)?);
            found.take(bump_mm, here);
            if let Some((last_mm, last_slope)) = before.filter(|(_, last)| last * slope < 0.0) {
                let slope_at = |mm: f64| path.at(mm).and_then(|posture| turning(&posture));
                let at_mm = root(&slope_at, last_mm, bump_mm).unwrap_or(if last_slope.abs() < slope.abs() {
                    last_mm
                } else {
                    bump_mm
                });
                found.take(at_mm, value(&path.at(at_mm)?)?);
            }
            before = Some((bump_mm, slope));
        }
        Some(found)
    }

    fn take(&mut self, bump_mm: f64, value: f64) {
        if value < self.low {
            (self.low, self.low_at_bump_mm) = (value, bump_mm);
        }
        if value > self.high {
            (self.high, self.high_at_bump_mm) = (value, bump_mm);
        }
    }
}

/// Bump travels along a path, mm, from end to end of its reach, design height among them.
pub(super) fn places(path: &WheelPath) -> Vec<f64> {
    let (low_mm, high_mm) = path.reach_mm();
    stations(low_mm, high_mm, STEP_MM)
}

/// Where a function with different signs at both ends is zero; `None` where it has no value.
pub(super) fn root(value: &impl Fn(f64) -> Option<f64>, low: f64, high: f64) -> Option<f64> {
    let problem = Crossing(value);
    let solver = BrentRoot::new(low, high, SETTLED_MM);
    let found = Executor::new(problem, solver).configure(|state| state.max_iters(200)).ctrlc(false).run().ok()?;
    found.state().get_best_param().copied()
}

struct Crossing<'f, F>(&'f F);

impl<F: Fn(f64) -> Option<f64>> CostFunction for Crossing<'_, F> {
    type Param = f64;
    type Output = f64;

    /// A value that is not there ends the search: the solver takes what is no number for an answer.
    fn cost(&self, at: &f64) -> Result<f64, Error> {
        (self.0)(*at).filter(|value| value.is_finite()).ok_or_else(|| Error::msg("no value there"))
    }
}
