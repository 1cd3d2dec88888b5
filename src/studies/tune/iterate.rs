//! Where a descent stands, and the merit function that it brings down.

use super::problem::Evaluation;
use crate::geometry::Interval;

/// What is brought down.
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

/// Penalty of a violated limit against scaled residuals: far above any, so that limits come first.
pub(super) const LIMIT_PENALTY: f64 = 1e3;

/// Lowest and highest value of each design variable.
pub type Bounds = Vec<Interval>;

/// A design vector and what it comes to.
#[derive(Debug, Clone)]
pub struct Iterate {
    /// Mm or deg from the drawn place.
    pub design_vector: Vec<f64>,
    /// At that vector.
    pub evaluation: Evaluation,
}

impl Iterate {
    /// Exact-penalty merit function: objective, violated limits and moves.
    pub(super) fn merit(&self, bounds: &Bounds, objective: Objective) -> f64 {
        let moves: f64 = self.design_vector.iter().zip(bounds).map(|(x, bound)| (x / span(bound)).powi(2)).sum();
        let residuals = match objective {
            Objective::Squares => self.evaluation.half_square(),
            Objective::Worst => self.evaluation.worst_residual(),
        };
        residuals + 0.5 * objective.move_weight() * moves + LIMIT_PENALTY * self.evaluation.worst_violation()
    }
}

/// Width of an adjustment range; a variable that is held has any width, for it does not move.
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
