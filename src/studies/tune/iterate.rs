//! An iterate of a descent, and the merit function that is minimised.

use super::residual::Evaluation;
use crate::geometry::Interval;

/// What is minimised.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Objective {
    /// Half the sum of squares of the scaled residuals.
    Squares,
    /// The largest scaled residual.
    Worst,
}

impl Objective {
    /// Weight of moving anything by its whole adjustment range. Small: it only decides between answers that are equally
    /// good.
    pub(super) fn move_weight(self) -> f64 {
        match self {
            Objective::Squares => 1e-3,
            Objective::Worst => 1e-7,
        }
    }
}

/// Weight of a violated limit in the merit function: far above what a residual of a usable car gains by it, so that limits come first.
pub(super) const LIMIT_PENALTY: f64 = 1e3;

/// Lowest and highest value of each design variable.
pub type Bounds = Vec<Interval>;

/// A design vector with its residuals.
#[derive(Debug, Clone)]
pub struct Iterate {
    /// One number for each design variable, mm or deg from the drawn place.
    pub design_vector: Vec<f64>,
    /// The residuals there.
    pub evaluation: Evaluation,
}

impl Iterate {
    /// Exact-penalty merit function: objective, violated limits with the weight of their penalty, and moves.
    pub(super) fn merit(&self, bounds: &Bounds, objective: Objective, penalty: f64) -> f64 {
        let moves: f64 = self.design_vector.iter().zip(bounds).map(|(x, bound)| (x / span(bound)).powi(2)).sum();
        let residuals = match objective {
            Objective::Squares => self.evaluation.half_square(),
            Objective::Worst => self.evaluation.worst_residual(),
        };
        residuals + 0.5 * objective.move_weight() * moves + penalty * self.evaluation.worst_violation()
    }
}

/// Width of an adjustment range; 1 for a variable that is held, which does not move.
pub(super) fn span(bound: &Interval) -> f64 {
    if bound.high > bound.low { bound.width() } else { 1.0 }
}

pub(super) fn clamped(design_vector: &[f64], bounds: &Bounds) -> Vec<f64> {
    design_vector.iter().zip(bounds).map(|(x, bound)| x.clamp(bound.low, bound.high)).collect()
}

/// A design vector after a step, inside its bounds.
pub(super) fn moved(design_vector: &[f64], step: &[f64], bounds: &Bounds) -> Vec<f64> {
    let sum: Vec<f64> = design_vector.iter().zip(step).map(|(x, by)| x + by).collect();
    clamped(&sum, bounds)
}
