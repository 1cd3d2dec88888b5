//! Nonlinear least squares: parameters that bring the sum of squares of many residuals to its least.
//!
//! A residual is a reading less what the parameters make of it, over the standard deviation of the reading: the weights
//! are part of the residuals, and so is a prior, as one residual for each parameter that has one. The method is
//! Gauss–Newton with the damping of Levenberg and Marquardt and a rank test: directions in which the parameters change
//! the residuals by next to nothing are left alone and reported. The iteration is run by `argmin`; the solver is ours.
//!
//! Source: Å. Björck, *Numerical Methods for Least Squares Problems*, ch. 9; the rule of the damping from K. Madsen,
//! H. B. Nielsen and O. Tingleff, *Methods for Non-Linear Least Squares Problems* (both from memory). Tested by
//! `tests/least_squares/main.rs`.

mod directions;
mod levenberg_marquardt;

use argmin::core::{Executor, State};
use nalgebra::{DMatrix, DVector};

use super::termination::Termination;
use levenberg_marquardt::LevenbergMarquardt;

pub use directions::Directions;

/// What is fitted.
pub trait LeastSquaresProblem {
    /// Why there are no residuals for some parameters.
    type Failure;

    /// The residuals for these parameters, and their derivatives.
    fn linearised(&self, parameters: &DVector<f64>) -> Result<Linearisation, Self::Failure>;
}

/// Residuals, each over the standard deviation of its reading, and their derivatives.
#[derive(Debug, Clone, PartialEq)]
pub struct Linearisation {
    /// What the parameters leave of each reading.
    pub residuals: DVector<f64>,
    /// A row for each residual, a column for each parameter.
    pub jacobian: DMatrix<f64>,
}

/// How a fit is done.
#[derive(Debug, Clone, PartialEq)]
pub struct FitOptions {
    /// The same change of each parameter, each in its unit: directions and steps are measured in these.
    pub scale: DVector<f64>,
    /// A direction is fitted when it changes the residuals by more than this proportion of what the strongest one does.
    pub min_singular_ratio: f64,
    /// A step no longer than this, in `scale`, is the last.
    pub settled: f64,
    /// Steps that are tried at most.
    pub max_steps: u64,
}

/// Fitted parameters, and how well the residuals determine them.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Each in its unit.
    pub parameters: DVector<f64>,
    /// Why the iteration ended.
    pub termination: Termination,
    /// What the parameters leave of each reading, over its standard deviation.
    pub residuals: DVector<f64>,
    /// Directions in which the parameters are determined.
    pub rank: usize,
    /// Those in which they are not, and stayed where they started: orthonormal, in `scale`. Along them nothing is known, not
    /// even whether the sum of squares is at its least.
    pub null_directions: Vec<DVector<f64>>,
    /// Covariance of the parameters when each residual has a standard deviation of 1: the pseudo-inverse of JᵀJ. It holds
    /// no part along the null directions.
    pub covariance: DMatrix<f64>,
}

impl Fit {
    /// What has been made least.
    pub fn sum_of_squares(&self) -> f64 {
        self.residuals.norm_squared()
    }
}

/// Why there is no fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoFit<F> {
    /// The starting parameters have no residuals.
    Start(F),
    /// A residual or derivative is not finite at the starting parameters.
    NotFinite,
}

impl<F: std::fmt::Display> std::fmt::Display for NoFit<F> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Start(why) => write!(f, "the fit cannot start: {why}"),
            Self::NotFinite => write!(f, "the fit cannot start: a residual there is not finite; start elsewhere"),
        }
    }
}

impl<F: std::fmt::Debug + std::fmt::Display> std::error::Error for NoFit<F> {}

/// Fits a problem from starting parameters.
///
/// The last step, no longer than `settled`, is taken without evaluating the problem again: residuals are those it
/// predicts, covariance and rank those before it.
pub fn fit<P: LeastSquaresProblem>(
    problem: &P,
    start: DVector<f64>,
    options: &FitOptions,
) -> Result<Fit, NoFit<P::Failure>> {
    let linearisation = problem.linearised(&start).map_err(NoFit::Start)?;
    let solver = LevenbergMarquardt::new(start, linearisation, options);
    let executor = Executor::new(problem, solver).configure(|state| state.max_iters(options.max_steps)).ctrlc(false);
    // The solver fails in `init` alone, and there for want of finite numbers.
    let mut run = executor.run().map_err(|_| NoFit::NotFinite)?;
    let iterate = run.state.take_param().ok_or(NoFit::NotFinite)?;
    Ok(Fit {
        termination: run.solver.termination(run.state.get_termination_reason()),
        rank: iterate.directions.rank(),
        null_directions: iterate.directions.null_directions(),
        covariance: iterate.directions.covariance(),
        parameters: iterate.parameters,
        residuals: iterate.residuals,
    })
}
