//! Descent from one design vector: sequential quadratic programming in a trust region.
//!
//! Each step linearises every residual (the gradients are exact) and solves a QP subproblem for the best step inside
//! the bounds and the trust region, limits held. Limits enter as linear constraints with one slack of a high penalty, so a
//! start that violates a limit is led back, and a step is kept only when the true merit function falls. Bounds are never
//! left: every design vector is clamped to them.
//!
//! The iteration is run by `argmin`; step, trust region and acceptance are ours, for none of its solvers takes bounds and
//! linear constraints together.
//!
//! Source: sequential quadratic programming with a trust region and an exact penalty, e.g. J. Nocedal and S. J. Wright,
//! *Numerical Optimization*, ch. 18 (from memory).

use argmin::core::{Error, Executor, IterState, KV, Problem, Solver, State, TerminationReason, TerminationStatus};

use super::iterate::{Bounds, Iterate, LIMIT_PENALTY, Objective, clamped, moved};
use super::problem::TuneProblem;
use super::qp::QpSubproblem;
use super::residual::Evaluation;
use super::search::LIMIT_TOLERANCE;
use crate::studies::termination::Termination;

const MAX_STEPS: u64 = 60;
/// Half width of the first trust region, proportion of each adjustment range.
const FIRST_RADIUS: f64 = 0.5;
/// Steps shorter than this proportion of the adjustment ranges end the descent.
const MIN_RADIUS: f64 = 1e-7;
/// Times as heavy a penalty, and as often, where a descent leaves limits that its start keeps.
const HEAVIER: f64 = 100.0;
const MAX_HEAVIER: i32 = 2;
/// A predicted gain smaller than this ends it too: a millionth of what matters in the shop.
const MIN_GAIN: f64 = 1e-6;

/// Where a descent ended, and why there.
#[derive(Debug, Clone)]
pub struct Descent {
    /// Where it ended.
    pub iterate: Iterate,
    /// Why it ended.
    pub termination: Termination,
}

impl Descent {
    /// What the car there comes to.
    pub fn evaluation(&self) -> &Evaluation {
        &self.iterate.evaluation
    }

    /// The same place as another question judges it.
    pub fn judged_by(&self, problem: &TuneProblem) -> Option<Self> {
        let design_vector = self.iterate.design_vector.clone();
        let evaluation = problem.evaluate(&design_vector)?;
        Some(Self { iterate: Iterate { design_vector, evaluation }, termination: self.termination })
    }
}

/// A design vector whose wheel cannot be moved through its whole travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoPosture;

impl std::fmt::Display for NoPosture {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "the wheel cannot be moved through its whole travel")
    }
}

impl std::error::Error for NoPosture {}

/// Goes downhill from a design vector inside the bounds; an error when the car cannot be moved at the start.
pub fn descend(
    problem: &TuneProblem,
    bounds: &Bounds,
    start: &[f64],
    objective: Objective,
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<Descent, NoPosture> {
    let design_vector = clamped(start, bounds);
    let evaluation = problem.evaluate(&design_vector).ok_or(NoPosture)?;
    descend_on(problem, bounds, Iterate { design_vector, evaluation }, objective, stop)
}

/// The same from where another descent ended. From a start that keeps the limits no descent ends where they are broken: of a wheel that
/// steers by degrees the squares outweigh the penalty, which is made heavier then.
pub fn descend_on(
    problem: &TuneProblem,
    bounds: &Bounds,
    start: Iterate,
    objective: Objective,
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<Descent, NoPosture> {
    let is_kept = |of: &Iterate| of.evaluation.worst_violation() <= LIMIT_TOLERANCE;
    let with_penalty =
        |penalty: f64| run(problem, start.clone(), TrustRegionSqp::new(bounds, (objective, penalty), stop), MAX_STEPS);
    let mut end = with_penalty(LIMIT_PENALTY)?;
    for times in 1..=MAX_HEAVIER {
        if !is_kept(&start) || is_kept(&end.iterate) || stop() {
            break;
        }
        end = with_penalty(LIMIT_PENALTY * HEAVIER.powi(times))?;
    }
    Ok(end)
}

fn run(problem: &TuneProblem, start: Iterate, solver: TrustRegionSqp, max_steps: u64) -> Result<Descent, NoPosture> {
    let merit = start.merit(solver.bounds, solver.objective, solver.penalty);
    let from_start = |state: SqpState| state.param(start).cost(merit).max_iters(max_steps);
    let executor = Executor::new(problem, solver).configure(from_start).ctrlc(false);
    // Steps fail for want of an iterate alone, and there always is one.
    let mut run = executor.run().map_err(|_| NoPosture)?;
    let iterate = run.state.take_param().ok_or(NoPosture)?;
    Ok(Descent { iterate, termination: run.solver.termination(run.state.get_termination_reason()) })
}

struct TrustRegionSqp<'a> {
    bounds: &'a Bounds,
    objective: Objective,
    /// Weight of a violated limit.
    penalty: f64,
    stop: &'a (dyn Fn() -> bool + Sync),
    /// Half width of the trust region, proportion of each adjustment range.
    radius: f64,
    /// Why the trust region was last made narrower.
    narrowed_by: Termination,
}

/// The merit function is the cost of the state.
type SqpState = IterState<Iterate, (), (), (), (), f64>;

enum Step {
    Taken { to: Iterate, merit: f64 },
    Rejected,
    Converged,
}

impl Solver<&TuneProblem<'_>, SqpState> for TrustRegionSqp<'_> {
    fn name(&self) -> &str {
        "trust region over QP subproblems"
    }

    fn next_iter(
        &mut self,
        problem: &mut Problem<&TuneProblem<'_>>,
        mut state: SqpState,
    ) -> Result<(SqpState, Option<KV>), Error> {
        let here = state.take_param().ok_or(NoPosture)?;
        let state = match problem.problem("evaluations", |problem| Ok(self.step(problem, &here, state.get_cost())))? {
            Step::Taken { to, merit } => state.param(to).cost(merit),
            Step::Rejected => state.param(here),
            Step::Converged => state.param(here).terminate_with(TerminationReason::SolverConverged),
        };
        Ok((state, None))
    }

    fn terminate(&mut self, _: &SqpState) -> TerminationStatus {
        if (self.stop)() {
            return TerminationStatus::Terminated(TerminationReason::Interrupt);
        }
        if self.radius < MIN_RADIUS {
            return TerminationStatus::Terminated(TerminationReason::SolverExit(self.narrowed_by.name().to_owned()));
        }
        TerminationStatus::NotTerminated
    }
}

impl<'a> TrustRegionSqp<'a> {
    fn new(bounds: &'a Bounds, (objective, penalty): (Objective, f64), stop: &'a (dyn Fn() -> bool + Sync)) -> Self {
        let narrowed_by = Termination::TrustRegionExhausted;
        Self { bounds, objective, penalty, stop, radius: FIRST_RADIUS, narrowed_by }
    }

    fn step(&mut self, problem: &TuneProblem, here: &Iterate, merit: f64) -> Step {
        let Some(step) = QpSubproblem::new(here, self.bounds, (self.objective, self.penalty), self.radius).step()
        else {
            return self.rejected(Termination::QpFailed);
        };
        let predicted_gain = merit - step.predicted_merit;
        if predicted_gain < MIN_GAIN {
            return Step::Converged;
        }
        let design_vector = moved(&here.design_vector, &step.by, self.bounds);
        let Some(evaluation) = problem.evaluate(&design_vector) else {
            return self.rejected(Termination::NoPosture);
        };
        let to = Iterate { design_vector, evaluation };
        let merit_there = to.merit(self.bounds, self.objective, self.penalty);
        let gain = merit - merit_there;
        let ratio = gain / predicted_gain;
        if ratio > 0.75 {
            self.radius = (2.0 * self.radius).min(1.0);
        } else if ratio < 0.25 {
            self.narrow(Termination::TrustRegionExhausted);
        }
        if gain > 0.0 { Step::Taken { to, merit: merit_there } } else { Step::Rejected }
    }

    fn rejected(&mut self, by: Termination) -> Step {
        self.narrow(by);
        Step::Rejected
    }

    fn narrow(&mut self, by: Termination) {
        self.radius *= 0.25;
        self.narrowed_by = by;
    }

    /// The reason of the run in our own words.
    fn termination(&self, reason: Option<&TerminationReason>) -> Termination {
        match reason {
            Some(TerminationReason::SolverConverged) => Termination::Converged,
            Some(TerminationReason::MaxItersReached) => Termination::StepLimit,
            Some(TerminationReason::Interrupt) => Termination::Stopped,
            _ => self.narrowed_by,
        }
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::{Iterate, NoPosture, TrustRegionSqp, descend, run};
    use crate::file::GeometryFile;
    use crate::geometry::{AdjustmentRange, Geometry, Interval, Side, ToeTarget};
    use crate::studies::design_variables::DesignVariables;
    use crate::studies::termination::Termination;
    use crate::studies::tune::iterate::{Bounds, LIMIT_PENALTY};
    use crate::studies::tune::search::bounds_of;
    use crate::studies::tune::{Objective, TuneProblem};

    fn read(path: &str) -> Geometry {
        GeometryFile::read(Path::new(path)).unwrap_or_else(|error| panic!("{error}")).geometry
    }

    fn problem(geometry: &Geometry) -> (TuneProblem<'_>, Bounds) {
        let variables = DesignVariables::of(geometry, Side::Left);
        let problem = TuneProblem::new(geometry, Side::Left, variables, None);
        let bounds = bounds_of(&problem);
        (problem, bounds)
    }

    /// Its bump stop stands 0.3 mm before the wheel binds; the front lower bracket may go up and down.
    fn near_a_fold() -> Geometry {
        let mut geometry = read("tests/outside/near-fold.toml");
        geometry.adjustments.left.links[0].chassis[2] = Some(AdjustmentRange { low: -20.0, high: 20.0, step: None });
        geometry
    }

    #[test]
    fn a_descent_tells_why_it_ended() {
        let geometry = read("geometries/first-cut.toml");
        let (problem, bounds) = problem(&geometry);
        let drawn = vec![0.0; bounds.len()];
        let asked = AtomicUsize::new(0);
        let after_three = || asked.fetch_add(1, Ordering::Relaxed) >= 3;
        let whole = descend(&problem, &bounds, &drawn, Objective::Squares, &|| false).expect("it moves");
        let stopped = descend(&problem, &bounds, &drawn, Objective::Squares, &after_three).expect("it moves");
        let start = Iterate { design_vector: drawn.clone(), evaluation: problem.evaluate(&drawn).expect("it moves") };
        let solver = TrustRegionSqp::new(&bounds, (Objective::Squares, LIMIT_PENALTY), &|| false);
        let limited = run(&problem, start, solver, 3).expect("it moves");
        let wide = vec![Interval { low: f64::NEG_INFINITY, high: f64::INFINITY }; bounds.len()];
        let unbounded = descend(&problem, &wide, &drawn, Objective::Squares, &|| false).expect("it moves");
        assert_eq!(whole.termination, Termination::Converged);
        assert_eq!(stopped.termination, Termination::Stopped);
        assert_eq!(limited.termination, Termination::StepLimit);
        assert_eq!(unbounded.termination, Termination::QpFailed);
        // Three steps either way, and the best of them is kept.
        assert_eq!(stopped.iterate.design_vector, limited.iterate.design_vector);
        let [start, three, end] =
            [&unbounded, &limited, &whole].map(|descent| descent.evaluation().worst_bump_steer_deg);
        assert!(end < three && three < start, "{start}, {three}, {end} deg");
    }

    #[test]
    fn a_start_that_cannot_be_moved_is_told() {
        let mut geometry = near_a_fold();
        geometry.travel.bump_mm = 52.0;
        let (problem, bounds) = problem(&geometry);
        let descent = descend(&problem, &bounds, &[0.0], Objective::Squares, &|| false);
        assert_eq!(descent.map(|descent| descent.termination), Err(NoPosture));
    }

    /// A toe curve that only a fold comes near draws the car into it.
    #[test]
    fn a_descent_into_a_fold_tells_that_postures_end() {
        let mut geometry = near_a_fold();
        geometry.travel.bump_mm = 51.6;
        geometry.targets.toe = Some(ToeTarget { curve: vec![(0.0, 0.0), (50.0, 30.0)], weight: 1.0 });
        let (problem, bounds) = problem(&geometry);
        let descent = descend(&problem, &bounds, &[0.0], Objective::Squares, &|| false).expect("it moves");
        assert_eq!(descent.termination, Termination::NoPosture);
        let beyond = descent.iterate.design_vector[0] + descent.iterate.design_vector[0].signum() * 1e-3;
        assert!(problem.evaluate(&[beyond]).is_none());
    }
}
