//! The iteration: undamped while the undamped step is good, damped after one that is not.

use argmin::core::{Error, IterState, KV, Problem, Solver, State, TerminationReason, TerminationStatus};
use nalgebra::DVector;

use super::{Directions, FitOptions, LeastSquaresProblem, Linearisation, NoFit};
use crate::studies::termination::Termination;

/// The first damping, against the square of the largest singular value.
const FIRST_DAMPING: f64 = 1e-3;
/// Damping below this proportion of the square of the smallest singular value is none.
const NO_DAMPING: f64 = 1e-3;
/// A step that gains less than this proportion of what was predicted is not taken.
const MIN_GAIN_RATIO: f64 = 0.1;
/// A proportion of the sum of squares that rounding of the residuals can hide.
const HIDDEN: f64 = 1e-11;

/// Parameters and what they come to.
#[derive(Debug, Clone)]
pub(super) struct Iterate {
    pub(super) parameters: DVector<f64>,
    pub(super) residuals: DVector<f64>,
    pub(super) directions: Directions,
    /// See [`Directions::parts`].
    parts: DVector<f64>,
    sum_of_squares: f64,
    /// Length of the undamped step, in the scale of the parameters.
    full_step: f64,
}

impl Iterate {
    /// `None` when a number is not finite.
    fn new(parameters: DVector<f64>, linearisation: Linearisation, options: &FitOptions) -> Option<Self> {
        let Linearisation { residuals, jacobian } = linearisation;
        let sum_of_squares = residuals.norm_squared();
        let directions = Directions::new(&jacobian, &options.scale, options.min_singular_ratio)?;
        let parts = directions.parts(&residuals);
        let full_step = directions.step(&parts, 0.0).norm();
        let is_finite = sum_of_squares.is_finite() && full_step.is_finite();
        is_finite.then_some(Self { parameters, residuals, directions, parts, sum_of_squares, full_step })
    }

    fn step(&self, damping: f64) -> DVector<f64> {
        self.directions.step(&self.parts, damping)
    }

    /// After the undamped step, to first order.
    fn after_last_step(self) -> Self {
        Self {
            parameters: &self.parameters + self.directions.in_units(&self.step(0.0)),
            residuals: self.directions.left_by(&self.parts, &self.residuals),
            ..self
        }
    }
}

/// The sum of squares is the cost of the state.
type FitState = IterState<Iterate, (), (), (), (), f64>;

pub(super) struct LevenbergMarquardt<'a> {
    start: Option<(DVector<f64>, Linearisation)>,
    options: &'a FitOptions,
    damping: f64,
    /// What the next rejection multiplies the damping by.
    growth: f64,
    /// Length of the last step that was rejected.
    rejected_step: f64,
    rejected_by: Termination,
}

impl<'a> LevenbergMarquardt<'a> {
    pub(super) fn new(start: DVector<f64>, linearisation: Linearisation, options: &'a FitOptions) -> Self {
        Self {
            start: Some((start, linearisation)),
            options,
            damping: 0.0,
            growth: 2.0,
            rejected_step: f64::INFINITY,
            rejected_by: Termination::TrustRegionExhausted,
        }
    }

    fn accept(&mut self, from: &Iterate, ratio: f64) {
        let Some((_, weakest)) = from.directions.extremes() else { return };
        self.damping *= (1.0 - (2.0 * ratio - 1.0).powi(3)).max(1.0 / 3.0);
        if self.damping < NO_DAMPING * weakest * weakest {
            self.damping = 0.0;
        }
        self.growth = 2.0;
    }

    fn reject(&mut self, from: &Iterate, step: f64, by: Termination) {
        let strongest = from.directions.extremes().map_or(0.0, |(strongest, _)| strongest);
        self.damping = self.damping.max(FIRST_DAMPING * strongest * strongest) * self.growth;
        self.growth *= 2.0;
        self.rejected_step = step;
        self.rejected_by = by;
    }

    /// The reason of the run in our own words.
    pub(super) fn termination(&self, reason: Option<&TerminationReason>) -> Termination {
        match reason {
            Some(TerminationReason::SolverConverged) => Termination::Converged,
            Some(TerminationReason::MaxItersReached) => Termination::StepLimit,
            _ => self.rejected_by,
        }
    }
}

impl<P: LeastSquaresProblem> Solver<&P, FitState> for LevenbergMarquardt<'_> {
    fn name(&self) -> &str {
        "Levenberg-Marquardt with a rank test"
    }

    fn init(&mut self, _: &mut Problem<&P>, state: FitState) -> Result<(FitState, Option<KV>), Error> {
        let start =
            self.start.take().and_then(|(start, linearisation)| Iterate::new(start, linearisation, self.options));
        let start = start.ok_or(NoFit::<&str>::NotFinite)?;
        let sum_of_squares = start.sum_of_squares;
        Ok((state.param(start).cost(sum_of_squares), None))
    }

    fn next_iter(&mut self, problem: &mut Problem<&P>, mut state: FitState) -> Result<(FitState, Option<KV>), Error> {
        let here = state.take_param().ok_or(NoFit::<&str>::NotFinite)?;
        if here.full_step <= self.options.settled {
            return Ok((converged(state, here.after_last_step()), None));
        }
        let step = here.step(self.damping);
        let parameters = &here.parameters + here.directions.in_units(&step);
        let there = problem.problem("evaluations", |problem| {
            let linearisation = problem.linearised(&parameters).ok();
            Ok(linearisation.and_then(|linearisation| Iterate::new(parameters, linearisation, self.options)))
        })?;
        let Some(there) = there else {
            self.reject(&here, step.norm(), Termination::NoPosture);
            return Ok((state.param(here), None));
        };
        let predicted_gain = here.directions.predicted_gain(&here.parts, self.damping);
        let gain = here.sum_of_squares - there.sum_of_squares;
        if predicted_gain <= HIDDEN * here.sum_of_squares {
            // The sum of squares no longer tells the better of two; the step that is left does.
            if there.full_step >= here.full_step {
                return Ok((converged(state, here), None));
            }
        } else if gain >= MIN_GAIN_RATIO * predicted_gain {
            self.accept(&here, gain / predicted_gain);
        } else {
            self.reject(&here, step.norm(), Termination::TrustRegionExhausted);
            return Ok((state.param(here), None));
        }
        self.rejected_step = f64::INFINITY;
        let sum_of_squares = there.sum_of_squares;
        Ok((state.param(there).cost(sum_of_squares), None))
    }

    fn terminate(&mut self, _: &FitState) -> TerminationStatus {
        if self.rejected_step <= self.options.settled {
            return TerminationStatus::Terminated(TerminationReason::SolverExit(self.rejected_by.name().to_owned()));
        }
        TerminationStatus::NotTerminated
    }
}

fn converged(state: FitState, at: Iterate) -> FitState {
    let sum_of_squares = at.residuals.norm_squared();
    state.param(at).cost(sum_of_squares).terminate_with(TerminationReason::SolverConverged)
}
