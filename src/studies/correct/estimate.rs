//! The most likely car, how well it is known, and the readings that do not fit it.

use nalgebra::{DMatrix, DVector, SymmetricEigen};

use super::problem::{Observation, Problem};
use crate::studies::least_squares::{FitOptions, LeastSquaresProblem, fit};
use crate::studies::locate::critical_residual;
use crate::studies::termination::Termination;

/// A fit is settled when its next step is shorter than this share of a standard deviation.
const SETTLED: f64 = 1e-9;
const MAX_STEPS: u64 = 60;
/// The prior holds every direction, so none is without effect.
const MIN_SINGULAR_RATIO: f64 = 1e-12;
/// A reading with less redundancy is not controlled by the others (no unit).
const MIN_REDUNDANCY: f64 = 1e-6;
/// At most this share of the readings is taken out; where more are wrong, nothing can be told from the rest.
const MAX_REMOVED: f64 = 1.0 / 3.0;

/// What the readings say of the unknowns, which count in their prior standard deviations.
#[derive(Debug, Clone)]
pub(super) struct Estimate<'d> {
    pub problem: Problem<'d>,
    /// The most likely.
    pub unknowns: DVector<f64>,
    pub covariance: DMatrix<f64>,
    /// Of each observation that was used, derivatives of its residual by the unknowns.
    pub jacobian: DMatrix<f64>,
    /// Every observation with what the estimate makes of it.
    pub fitted: Vec<Fitted>,
}

/// An observation beside the estimate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fitted {
    pub observation: Observation,
    /// Read less fitted, in standard deviations of the reading.
    pub residual: f64,
    /// The residual over its own standard deviation; `None` where nothing else controls it.
    pub standardised: Option<f64>,
    pub is_suspect: bool,
}

/// Why there is no estimate.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum NoEstimate {
    /// Nothing near the drawing moves as it was read, or a third of the readings and more do not fit: the worst ones first.
    DoesNotFit(Vec<Fitted>),
    /// The search began outside of what a wheel reaches.
    OutOfReach,
}

struct Solved {
    unknowns: DVector<f64>,
    covariance: DMatrix<f64>,
    jacobian: DMatrix<f64>,
    residuals: DVector<f64>,
}

fn solved(problem: &Problem<'_>, start: &DVector<f64>) -> Option<(Solved, Termination)> {
    let count = problem.unknowns();
    let options = FitOptions {
        scale: DVector::from_element(count, 1.0),
        min_singular_ratio: MIN_SINGULAR_RATIO,
        settled: SETTLED,
        max_steps: MAX_STEPS,
    };
    let found = fit(problem, start.clone(), &options).ok()?;
    let there = problem.linearised(&found.parameters).ok()?;
    let read = problem.observations.len();
    let solved = Solved {
        unknowns: found.parameters,
        covariance: found.covariance,
        jacobian: there.jacobian.rows(0, read).into_owned(),
        residuals: there.residuals.rows(0, read).into_owned(),
    };
    Some((solved, found.termination))
}

/// The least sum of squares of all readings and of the prior; `None` where a wheel does not reach them.
pub(super) fn sum_of_squares(problem: &Problem<'_>) -> Option<f64> {
    let (solved, _) = solved(problem, &DVector::zeros(problem.unknowns()))?;
    Some(solved.residuals.norm_squared() + solved.unknowns.norm_squared())
}

/// How far readings are from a car, those left out that are off most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Misfit {
    /// Sum of squares of readings and prior; a reading that is left out counts with the residual from which on it may be.
    pub sum: f64,
    /// Root mean square of all readings but the worst tenth, in their standard deviations.
    pub scatter: f64,
}

impl Misfit {
    /// At most this share is left out.
    const LEFT_OUT: f64 = 0.25;
    /// Slips of the hand are no more than this share; they are no scatter.
    const SLIPS: f64 = 0.1;
    /// What is left out goes in so many steps.
    const STEPS: usize = 6;

    /// `None` where a wheel does not reach the readings.
    pub fn of(problem: &Problem<'_>) -> Option<Self> {
        let all = problem.observations.len();
        let critical = critical_residual(all);
        let most = (Self::LEFT_OUT * all as f64).floor() as usize;
        let at_once = most.div_ceil(Self::STEPS);
        let mut used: Vec<usize> = (0..all).collect();
        let mut start = DVector::zeros(problem.unknowns());
        loop {
            let part = problem.with_only(&used);
            let (solved, _) = solved(&part, &start)?;
            let size = |row: usize| solved.fitted(&part, row).standardised.map_or(0.0, f64::abs);
            let mut off: Vec<(usize, f64)> = (0..used.len()).map(|row| (used[row], size(row))).collect();
            off.retain(|(_, size)| *size > critical);
            off.sort_by(|a, b| b.1.total_cmp(&a.1));
            off.truncate(at_once.min(most - (all - used.len())));
            if off.is_empty() {
                let left_out = (all - used.len()) as f64 * critical.powi(2);
                let sum = solved.residuals.norm_squared() + solved.unknowns.norm_squared() + left_out;
                let of_all = problem.linearised(&solved.unknowns).ok()?.residuals;
                let mut squares: Vec<f64> = of_all.iter().take(all).map(|residual| residual.powi(2)).collect();
                squares.sort_by(f64::total_cmp);
                squares.truncate(all - (Self::SLIPS * all as f64).floor() as usize);
                return Some(Self { sum, scatter: (squares.iter().sum::<f64>() / squares.len() as f64).sqrt() });
            }
            used.retain(|index| !off.iter().any(|(out, _)| out == index));
            start = solved.unknowns;
        }
    }
}

impl<'d> Estimate<'d> {
    /// Fits everything that was read, and takes out what does not fit, one by one.
    pub fn of(problem: &Problem<'d>) -> Result<Self, NoEstimate> {
        let all = problem.observations.len();
        let critical = critical_residual(all);
        let most = (MAX_REMOVED * all as f64).floor() as usize;
        let mut used: Vec<usize> = (0..all).collect();
        let mut start = DVector::zeros(problem.unknowns());
        loop {
            let part = problem.with_only(&used);
            let (solved, termination) = solved(&part, &start).ok_or(NoEstimate::OutOfReach)?;
            let fitted: Vec<Fitted> = (0..used.len()).map(|row| solved.fitted(&part, row)).collect();
            let size = |fitted: &Fitted| fitted.standardised.map_or(0.0, f64::abs);
            let worst = (0..used.len()).max_by(|&a, &b| size(&fitted[a]).total_cmp(&size(&fitted[b])));
            match worst.filter(|&worst| size(&fitted[worst]) > critical) {
                Some(_) if all - used.len() == most => {
                    let mut worst = fitted;
                    worst.sort_by(|a, b| size(b).total_cmp(&size(a)));
                    return Err(NoEstimate::DoesNotFit(worst));
                }
                Some(worst) => drop(used.remove(worst)),
                None if termination != Termination::Converged => return Err(NoEstimate::DoesNotFit(fitted)),
                None => return Ok(Self::finished(problem, &used, part, solved, fitted)),
            }
            start = solved.unknowns;
        }
    }

    fn finished(problem: &Problem<'d>, used: &[usize], part: Problem<'d>, solved: Solved, fitted: Vec<Fitted>) -> Self {
        let mut of_all = fitted;
        for (index, observation) in problem.observations.iter().enumerate().filter(|(index, _)| !used.contains(index)) {
            let alone = problem.with_only(&[index]);
            let residual = alone.linearised(&solved.unknowns).map_or(f64::NAN, |there| -there.residuals[0]);
            of_all.push(Fitted { observation: *observation, residual, standardised: None, is_suspect: true });
        }
        of_all.sort_by_key(|fitted| (fitted.observation.round, fitted.observation.reading.line));
        let Solved { unknowns, covariance, jacobian, .. } = solved;
        Self { problem: part, unknowns, covariance, jacobian, fitted: of_all }
    }

    /// Standard deviation of one unknown, in its prior standard deviations.
    pub fn sd(&self, unknown: usize) -> f64 {
        self.covariance[(unknown, unknown)].sqrt()
    }

    /// Of the independent pickup errors of a wheel.
    pub fn covariance_of_errors(&self, wheel: usize) -> DMatrix<f64> {
        let (first, count) = (self.problem.first_of(wheel), self.problem.wheels[wheel].errors.independent());
        self.covariance.view((first, first), (count, count)).into_owned()
    }

    /// What is left of the standard deviation of each independent combination of the pickup errors of a wheel, rising.
    pub fn sd_left(&self, wheel: usize) -> Vec<f64> {
        let values = SymmetricEigen::new(self.covariance_of_errors(wheel)).eigenvalues;
        let mut left: Vec<f64> = values.iter().map(|value| value.max(0.0).sqrt()).collect();
        left.sort_by(f64::total_cmp);
        left
    }

    /// A lower triangle `L` with `L Lᵀ` the covariance.
    pub fn root(&self) -> Option<DMatrix<f64>> {
        Some(self.covariance.clone().cholesky()?.unpack())
    }
}

impl Solved {
    fn fitted(&self, problem: &Problem<'_>, row: usize) -> Fitted {
        let derivatives = self.jacobian.row(row);
        let leverage = (derivatives * &self.covariance * derivatives.transpose())[(0, 0)];
        let redundancy = 1.0 - leverage;
        let residual = -self.residuals[row];
        Fitted {
            observation: problem.observations[row],
            residual,
            standardised: (redundancy > MIN_REDUNDANCY).then(|| residual / redundancy.sqrt()),
            is_suspect: false,
        }
    }
}
