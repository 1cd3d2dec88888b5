//! From one setting downhill: a trust region over quadratic programs.
//!
//! Each step linearises every figure (the derivatives are exact) and asks a small convex program for the best step inside
//! the bounds and the trust region, limits held. First the sum of squares of the misses is brought down (Gauss-Newton:
//! quick, and it spreads the misses); then, from there, the worst miss. Limits enter as linear constraints with one
//! slack that is priced high, so a start that breaks a limit is led back, and a step is kept only when the true merit
//! falls. Bounds are never left: every setting is clamped to them.
//!
//! Source: sequential convex programming with a trust region and an exact penalty, e.g. J. Nocedal and S. J. Wright,
//! *Numerical Optimization*, ch. 18 (from memory); the programs are solved by the `clarabel` crate.

use clarabel::algebra::CscMatrix;
use clarabel::solver::{DefaultSettingsBuilder, DefaultSolver, IPSolver, NonnegativeConeT, SolverStatus};

use super::problem::{Evaluation, Residual, TuneProblem};
use crate::geometry::Interval;

/// What is brought down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Objective {
    /// The sum of squares of all misses.
    Squares,
    /// The worst miss.
    Worst,
}

/// Price of a broken limit against misses: far above any, so that limits come first.
const LIMIT_PRICE: f64 = 1e3;
/// Price of moving anything by its whole play. Small: it only decides between answers that are equally good.
const SQUARES_MOVE_PRICE: f64 = 1e-3;
const WORST_MOVE_PRICE: f64 = 1e-7;
const MAX_STEPS: usize = 60;
/// Steps shorter than this share of the play end the descent.
const MIN_TRUST: f64 = 1e-7;
/// A promised gain smaller than this ends it too: a millionth of what matters in the shop.
const MIN_GAIN: f64 = 1e-6;

/// Where a descent stands.
#[derive(Debug, Clone)]
pub struct Iterate {
    pub setting: Vec<f64>,
    pub evaluation: Evaluation,
}

/// Lowest and highest value of each number of a setting.
pub type Bounds = Vec<Interval>;

/// Goes downhill from a setting inside the bounds; `None` when the car cannot be moved there.
pub fn descend(
    problem: &TuneProblem,
    bounds: &Bounds,
    start: &[f64],
    aim: Objective,
    stop: &(dyn Fn() -> bool + Sync),
) -> Option<Iterate> {
    let mut here = Iterate { setting: clamped(start, bounds), evaluation: problem.problem(&clamped(start, bounds))? };
    let mut trust = 0.5;
    for _ in 0..MAX_STEPS {
        if stop() || trust < MIN_TRUST {
            break;
        }
        let program = QpSubproblem::new(&here, bounds, aim, trust);
        let Some(step) = program.step() else {
            trust *= 0.25;
            continue;
        };
        let setting = clamped(&sum(&here.setting, &step.by), bounds);
        let merit = merit(&here, bounds, aim);
        let promised = merit - step.merit;
        if promised < MIN_GAIN {
            break;
        }
        let Some(evaluation) = problem.problem(&setting) else {
            trust *= 0.25;
            continue;
        };
        let there = Iterate { setting, evaluation };
        let gained = merit - self::merit(&there, bounds, aim);
        let kept_promise = gained / promised;
        if kept_promise > 0.75 {
            trust = (2.0 * trust).min(1.0);
        } else if kept_promise < 0.25 {
            trust *= 0.25;
        }
        if gained > 0.0 {
            here = there;
        }
    }
    Some(here)
}

fn clamped(setting: &[f64], bounds: &Bounds) -> Vec<f64> {
    setting.iter().zip(bounds).map(|(x, band)| x.clamp(band.low, band.high)).collect()
}

fn sum(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a + b).collect()
}

/// Width of a play; one that is held has any width, for it does not move.
fn span(band: &Interval) -> f64 {
    if band.high > band.low { band.high - band.low } else { 1.0 }
}

fn move_price(aim: Objective) -> f64 {
    match aim {
        Objective::Squares => SQUARES_MOVE_PRICE,
        Objective::Worst => WORST_MOVE_PRICE,
    }
}

/// What a descent brings down: misses, broken limits and moves.
fn merit(at: &Iterate, bounds: &Bounds, aim: Objective) -> f64 {
    let moves: f64 = at.setting.iter().zip(bounds).map(|(x, band)| (x / span(band)).powi(2)).sum();
    let misses = match aim {
        Objective::Squares => at.evaluation.wants.iter().map(|term| 0.5 * term.miss().powi(2)).sum(),
        Objective::Worst => at.evaluation.worst_want(),
    };
    misses + 0.5 * move_price(aim) * moves + LIMIT_PRICE * at.evaluation.worst_break()
}

/// A step and what the linearised car promises for it.
struct Step {
    by: Vec<f64>,
    merit: f64,
}

/// One convex program: unknowns are the step (in shares of each play), the worst miss when it is aimed at, and the slack
/// of the limits.
struct QpSubproblem<'a> {
    here: &'a Iterate,
    bounds: &'a Bounds,
    aim: Objective,
    trust: f64,
    rows: Vec<(Vec<f64>, f64)>,
}

impl<'a> QpSubproblem<'a> {
    fn new(here: &'a Iterate, bounds: &'a Bounds, aim: Objective, trust: f64) -> Self {
        let mut program = Self { here, bounds, aim, trust, rows: Vec::new() };
        program.add_bounds();
        program.add_limits();
        if aim == Objective::Worst {
            program.add_worst();
        }
        program
    }

    fn moves(&self) -> usize {
        self.bounds.len()
    }

    fn unknowns(&self) -> usize {
        self.moves() + 2
    }

    /// Index of the worst miss among the unknowns; the slack comes behind it.
    fn worst(&self) -> usize {
        self.moves()
    }

    fn slack(&self) -> usize {
        self.moves() + 1
    }

    /// `row · x ≤ limit`.
    fn add(&mut self, entries: impl IntoIterator<Item = (usize, f64)>, limit: f64) {
        let mut row = vec![0.0; self.unknowns()];
        entries.into_iter().for_each(|(i, value)| row[i] += value);
        self.rows.push((row, limit));
    }

    fn add_bounds(&mut self) {
        for (k, band) in self.bounds.iter().enumerate() {
            let (x, span) = (self.here.setting[k], span(band));
            self.add([(k, 1.0)], ((band.high - x) / span).min(self.trust));
            self.add([(k, -1.0)], ((x - band.low) / span).min(self.trust));
        }
        self.add([(self.slack(), -1.0)], 0.0);
        self.add([(self.worst(), -1.0)], 0.0);
    }

    /// Slopes of a term per share of each play, scaled.
    fn scaled_slopes(&self, term: &Residual) -> Vec<f64> {
        term.slopes.iter().zip(self.bounds).map(|(slope, band)| slope * term.scale * span(band)).collect()
    }

    /// Limits that a step inside the trust region could break; the others cannot matter.
    fn add_limits(&mut self) {
        for term in &self.here.evaluation.limits {
            let slopes = self.scaled_slopes(term);
            let reach: f64 = slopes.iter().map(|slope| slope.abs() * self.trust).sum();
            for (sign, room) in
                [(1.0, (term.band.high - term.value) * term.scale), (-1.0, (term.value - term.band.low) * term.scale)]
            {
                if room < reach {
                    let entries = slopes.iter().enumerate().map(|(k, slope)| (k, sign * slope));
                    self.add(entries.chain([(self.slack(), -1.0)]), room);
                }
            }
        }
    }

    fn add_worst(&mut self) {
        for term in &self.here.evaluation.wants {
            let slopes = self.scaled_slopes(term);
            for (sign, room) in
                [(1.0, (term.band.high - term.value) * term.scale), (-1.0, (term.value - term.band.low) * term.scale)]
            {
                let entries = slopes.iter().enumerate().map(|(k, slope)| (k, sign * slope));
                self.add(entries.chain([(self.worst(), -1.0)]), room);
            }
        }
    }

    /// Quadratic and linear part of what is brought down.
    fn objective(&self) -> (Vec<Vec<f64>>, Vec<f64>) {
        let n = self.moves();
        let mut quadratic = vec![vec![0.0; self.unknowns()]; self.unknowns()];
        let mut linear = vec![0.0; self.unknowns()];
        for (k, band) in self.bounds.iter().enumerate() {
            quadratic[k][k] += move_price(self.aim);
            linear[k] += move_price(self.aim) * self.here.setting[k] / span(band);
        }
        linear[self.slack()] = LIMIT_PRICE;
        linear[self.worst()] = 1.0;
        if self.aim == Objective::Squares {
            for term in self.here.evaluation.wants.iter().filter(|term| term.miss() != 0.0) {
                let slopes = self.scaled_slopes(term);
                for i in 0..n {
                    linear[i] += term.miss() * slopes[i];
                    for j in i..n {
                        quadratic[i][j] += slopes[i] * slopes[j];
                    }
                }
            }
        }
        (quadratic, linear)
    }

    fn step(&self) -> Option<Step> {
        let (quadratic, linear) = self.objective();
        let solution = solve(&quadratic, &linear, &self.rows)?.unknowns;
        let by: Vec<f64> = solution.iter().zip(self.bounds).map(|(share, band)| share * span(band)).collect();
        Some(Step { merit: self.promised_merit(&by), by })
    }

    /// Merit of the linearised car after a step.
    fn promised_merit(&self, by: &[f64]) -> f64 {
        let moved = |term: &Residual| {
            let change: f64 = term.slopes.iter().zip(by).map(|(slope, by)| slope * by).sum();
            Residual { value: term.value + change, slopes: Vec::new(), ..*term }
        };
        let evaluation = Evaluation {
            wants: self.here.evaluation.wants.iter().map(moved).collect(),
            limits: self.here.evaluation.limits.iter().map(moved).collect(),
        };
        let setting = clamped(&sum(&self.here.setting, by), self.bounds);
        // Where a miss inside its band turns outward, the squares were not modelled: the promise is then an estimate.
        merit(&Iterate { setting, evaluation }, self.bounds, self.aim)
    }
}

/// What the worst miss pays for one more mm or deg of each bound, at a settled setting: upper ends, then lower ends, in
/// scaled misses; from the multipliers of the last program without a trust region.
pub fn bound_multipliers(settled: &Iterate, bounds: &Bounds) -> Option<Vec<(f64, f64)>> {
    let program = QpSubproblem::new(settled, bounds, Objective::Worst, f64::INFINITY);
    let (quadratic, linear) = program.objective();
    let prices = solve(&quadratic, &linear, &program.rows)?.prices;
    let pairs = bounds.iter().enumerate().map(|(k, band)| (prices[2 * k] / span(band), prices[2 * k + 1] / span(band)));
    Some(pairs.collect())
}

/// The least point of a convex program, and the multiplier of each row.
struct Solution {
    unknowns: Vec<f64>,
    prices: Vec<f64>,
}

/// Minimises `½ xᵀ Q x + c x` with `row · x ≤ limit` for every row; `Q` as its upper triangle.
fn solve(quadratic: &[Vec<f64>], linear: &[f64], rows: &[(Vec<f64>, f64)]) -> Option<Solution> {
    let unknowns = linear.len();
    let upper = sparse(unknowns, unknowns, |i, j| if i <= j { quadratic[i][j] } else { 0.0 });
    let constraints = sparse(rows.len(), unknowns, |i, j| rows[i].0[j]);
    let limits: Vec<f64> = rows.iter().map(|(_, limit)| *limit).collect();
    let cones = [NonnegativeConeT(rows.len())];
    let settings = DefaultSettingsBuilder::default().verbose(false).max_iter(60).build().ok()?;
    let mut solver = DefaultSolver::new(&upper, linear, &constraints, &limits, &cones, settings).ok()?;
    solver.solve();
    let solved = matches!(solver.solution.status, SolverStatus::Solved | SolverStatus::AlmostSolved);
    let solution = solver.solution;
    (solved && solution.x.iter().all(|x| x.is_finite()))
        .then_some(Solution { unknowns: solution.x, prices: solution.z })
}

fn sparse(rows: usize, columns: usize, entry: impl Fn(usize, usize) -> f64) -> CscMatrix<f64> {
    let (mut starts, mut places, mut values) = (vec![0], Vec::new(), Vec::new());
    for j in 0..columns {
        for i in 0..rows {
            let value = entry(i, j);
            if value != 0.0 {
                places.push(i);
                values.push(value);
            }
        }
        starts.push(values.len());
    }
    CscMatrix::new(rows, columns, starts, places, values)
}
