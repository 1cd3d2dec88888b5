//! The convex step: the best move of a linearised car inside bounds and trust region, as a quadratic program.
//!
//! The programs are solved by the interior-point solver of the `clarabel` crate; its multipliers tell what the bounds hold
//! back.

use clarabel::algebra::CscMatrix;
use clarabel::solver::{DefaultSettingsBuilder, DefaultSolver, IPSolver, NonnegativeConeT, SolverStatus};

use super::iterate::{Bounds, Iterate, LIMIT_PENALTY, Objective, moved, span};
use super::residual::{Evaluation, Residual};

/// A step in mm or deg, and the merit that the linearised car has after it.
pub(super) struct Step {
    pub by: Vec<f64>,
    pub predicted_merit: f64,
}

/// One convex program: unknowns are the step (in proportions of each adjustment range), the largest scaled residual when
/// that is the objective, and the slack of the limits.
pub(super) struct QpSubproblem<'a> {
    here: &'a Iterate,
    bounds: &'a Bounds,
    objective: Objective,
    /// Weight of a violated limit.
    penalty: f64,
    radius: f64,
    /// Those of the bounds and of the two last unknowns first, which keep the program bounded.
    rows: Vec<Row>,
}

/// `row · x ≤ limit`.
type Row = (Vec<f64>, f64);

impl<'a> QpSubproblem<'a> {
    pub fn new(here: &'a Iterate, bounds: &'a Bounds, (objective, penalty): (Objective, f64), radius: f64) -> Self {
        let mut program = Self { here, bounds, objective, penalty, radius, rows: Vec::new() };
        program.add_bounds();
        program.add_limits();
        if objective == Objective::Worst {
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

    /// Index of the largest scaled residual among the unknowns; the slack comes behind it.
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
        for (k, bound) in self.bounds.iter().enumerate() {
            let (x, span) = (self.here.design_vector[k], span(bound));
            self.add([(k, 1.0)], ((bound.high - x) / span).min(self.radius));
            self.add([(k, -1.0)], ((x - bound.low) / span).min(self.radius));
        }
        self.add([(self.slack(), -1.0)], 0.0);
        self.add([(self.worst(), -1.0)], 0.0);
    }

    /// Scaled gradient of a residual, per whole adjustment range of each variable.
    fn scaled_gradient(&self, residual: &Residual) -> Vec<f64> {
        residual.gradient.iter().zip(self.bounds).map(|(by, bound)| by * residual.scale * span(bound)).collect()
    }

    /// Limits that a step inside the trust region could violate; the others cannot matter.
    fn add_limits(&mut self) {
        for residual in &self.here.evaluation.limits {
            let gradient = self.scaled_gradient(residual);
            // Without a trust region what does not act on the limit has no reach, and not an undefined one.
            let acting = gradient.iter().filter(|by| **by != 0.0);
            let reach: f64 = acting.map(|by| by.abs() * self.radius).sum();
            for (sign, room) in [
                (1.0, (residual.band.high - residual.value) * residual.scale),
                (-1.0, (residual.value - residual.band.low) * residual.scale),
            ] {
                if room < reach {
                    let entries = gradient.iter().enumerate().map(|(k, by)| (k, sign * by));
                    self.add(entries.chain([(self.slack(), -1.0)]), room);
                }
            }
        }
    }

    fn add_worst(&mut self) {
        for residual in &self.here.evaluation.objective {
            let gradient = self.scaled_gradient(residual);
            for (sign, room) in [
                (1.0, (residual.band.high - residual.value) * residual.scale),
                (-1.0, (residual.value - residual.band.low) * residual.scale),
            ] {
                // A band without an end on this side asks for nothing there.
                if room.is_finite() {
                    let entries = gradient.iter().enumerate().map(|(k, by)| (k, sign * by));
                    self.add(entries.chain([(self.worst(), -1.0)]), room);
                }
            }
        }
    }

    /// Quadratic (upper triangle) and linear part of the linearised merit function.
    fn merit_model(&self) -> (Vec<Vec<f64>>, Vec<f64>) {
        let n = self.moves();
        let mut quadratic = vec![vec![0.0; self.unknowns()]; self.unknowns()];
        let mut linear = vec![0.0; self.unknowns()];
        let move_weight = self.objective.move_weight();
        for (k, bound) in self.bounds.iter().enumerate() {
            quadratic[k][k] += move_weight;
            linear[k] += move_weight * self.here.design_vector[k] / span(bound);
        }
        linear[self.slack()] = self.penalty;
        linear[self.worst()] = 1.0;
        if self.objective == Objective::Squares {
            for residual in self.here.evaluation.objective.iter().filter(|residual| residual.scaled() != 0.0) {
                let gradient = self.scaled_gradient(residual);
                for i in 0..n {
                    linear[i] += residual.scaled() * gradient[i];
                    for j in i..n {
                        quadratic[i][j] += gradient[i] * gradient[j];
                    }
                }
            }
        }
        (quadratic, linear)
    }

    fn solved(&self) -> Option<Solution> {
        let (quadratic, linear) = self.merit_model();
        let of_bounds = 2 * self.moves() + 2;
        solve(&quadratic, &linear, &self.rows, of_bounds)
    }

    /// `None` when the program has no solution to working accuracy.
    pub fn step(&self) -> Option<Step> {
        let solution = self.solved()?.unknowns;
        let by: Vec<f64> = solution.iter().zip(self.bounds).map(|(part, bound)| part * span(bound)).collect();
        Some(Step { predicted_merit: self.predicted_merit(&by), by })
    }

    /// Merit of the linearised car after a step.
    fn predicted_merit(&self, by: &[f64]) -> f64 {
        let linearised = |residual: &Residual| {
            let change: f64 = residual.gradient.iter().zip(by).map(|(gradient, by)| gradient * by).sum();
            Residual { value: residual.value + change, gradient: Vec::new(), ..*residual }
        };
        let evaluation = Evaluation {
            objective: self.here.evaluation.objective.iter().map(linearised).collect(),
            limits: self.here.evaluation.limits.iter().map(linearised).collect(),
            ..self.here.evaluation
        };
        let design_vector = moved(&self.here.design_vector, by, self.bounds);
        // Where a value leaves its band, its square was not modelled: the prediction is then an estimate.
        Iterate { design_vector, evaluation }.merit(self.bounds, self.objective, self.penalty)
    }
}

/// By how much the largest scaled residual falls for one more mm or deg of each bound, upper and lower: the multipliers of
/// a program without a trust region at the end of a descent.
pub(super) fn bound_multipliers(end: &Iterate, bounds: &Bounds) -> Option<Vec<(f64, f64)>> {
    let program = QpSubproblem::new(end, bounds, (Objective::Worst, LIMIT_PENALTY), f64::INFINITY);
    let multipliers = program.solved()?.multipliers;
    let of_bound = |(k, bound)| (multipliers[2 * k] / span(bound), multipliers[2 * k + 1] / span(bound));
    Some(bounds.iter().enumerate().map(of_bound).collect())
}

/// The least point of a convex program, and the multiplier of each row.
struct Solution {
    unknowns: Vec<f64>,
    multipliers: Vec<f64>,
}

/// Rows that are added at a time, per unknown.
const ADDED: usize = 3;
/// A row may be left out while it is broken by no more than this, scaled: a hundredth of what the solver leaves over.
const BROKEN: f64 = 1e-10;

/// Minimises `½ xᵀ Q x + c x` with `row · x ≤ limit` for every row; `Q` as its upper triangle. The first `always` rows keep it
/// bounded. Of hundreds of rows a handful matters: the others are left out until the solution breaks them, the most broken
/// first, and a solution that breaks none is that of all rows.
fn solve(quadratic: &[Vec<f64>], linear: &[f64], rows: &[Row], always: usize) -> Option<Solution> {
    let mut used: Vec<usize> = (0..always).collect();
    loop {
        let some: Vec<&Row> = used.iter().map(|&row| &rows[row]).collect();
        let solution = solve_with(quadratic, linear, &some)?;
        let beyond = |(row, limit): &Row| row.iter().zip(&solution.unknowns).map(|(by, x)| by * x).sum::<f64>() - limit;
        let is_broken = |(row, beyond): &(usize, f64)| *beyond > BROKEN && !used.contains(row);
        let mut broken: Vec<(usize, f64)> = rows.iter().map(beyond).enumerate().filter(is_broken).collect();
        if broken.is_empty() {
            let mut multipliers = vec![0.0; rows.len()];
            used.iter().zip(&solution.multipliers).for_each(|(&row, multiplier)| multipliers[row] = *multiplier);
            return Some(Solution { multipliers, ..solution });
        }
        broken.sort_by(|a, b| b.1.total_cmp(&a.1));
        used.extend(broken.into_iter().take(ADDED * linear.len()).map(|(row, _)| row));
    }
}

/// With all of these rows.
fn solve_with(quadratic: &[Vec<f64>], linear: &[f64], rows: &[&Row]) -> Option<Solution> {
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
        .then_some(Solution { unknowns: solution.x, multipliers: solution.z })
}

/// By columns, without zeros.
fn sparse(rows: usize, columns: usize, entry: impl Fn(usize, usize) -> f64) -> CscMatrix<f64> {
    let (mut column_starts, mut row_indices, mut values) = (vec![0], Vec::new(), Vec::new());
    for j in 0..columns {
        for i in 0..rows {
            let value = entry(i, j);
            if value != 0.0 {
                row_indices.push(i);
                values.push(value);
            }
        }
        column_starts.push(values.len());
    }
    CscMatrix::new(rows, columns, column_starts, row_indices, values)
}

#[cfg(test)]
mod tests {
    use rand::rngs::StdRng;
    use rand::{Rng, SeedableRng};

    use super::{
        Bounds, Evaluation, Iterate, LIMIT_PENALTY, Objective, QpSubproblem, Residual, Row, bound_multipliers, solve,
        solve_with,
    };
    use crate::geometry::{Interval, Quantity};
    use crate::studies::tune::residual::ResidualOf;

    /// A car that is linear, so that the program is the car itself: values at the origin and their gradients.
    fn residual(value: f64, band: Interval, scale: f64, gradient: [f64; 2]) -> (f64, Residual) {
        let subject = ResidualOf::Limit(Quantity::CamberChange);
        (value, Residual { subject, value, band, scale, gradient: gradient.to_vec() })
    }

    fn at(x: [f64; 2], all: &[(f64, Residual)]) -> Vec<Residual> {
        let moved = |(value, residual): &(f64, Residual)| Residual {
            value: value + residual.gradient[0] * x[0] + residual.gradient[1] * x[1],
            ..residual.clone()
        };
        all.iter().map(moved).collect()
    }

    fn iterate(x: [f64; 2], objective: &[(f64, Residual)], limits: &[(f64, Residual)]) -> Iterate {
        let evaluation = Evaluation { objective: at(x, objective), limits: at(x, limits), worst_bump_steer_deg: 0.0 };
        Iterate { design_vector: x.to_vec(), evaluation }
    }

    /// How far a value is outside its band, scaled.
    fn outside(residual: &Residual) -> f64 {
        let Residual { value, band, scale, .. } = residual;
        scale * f64::max(0.0, f64::max(value - band.high, band.low - value))
    }

    /// The merit of a design vector, written out.
    fn merit(
        x: [f64; 2],
        spans: [f64; 2],
        objective: &[(f64, Residual)],
        limits: &[(f64, Residual)],
        of: Objective,
    ) -> f64 {
        let out: Vec<f64> = at(x, objective).iter().map(outside).collect();
        let (worst, squares) =
            (out.iter().copied().fold(0.0, f64::max), out.iter().map(|out| 0.5 * out * out).sum::<f64>());
        let broken = at(x, limits).iter().map(outside).fold(0.0, f64::max);
        let moves = (x[0] / spans[0]).powi(2) + (x[1] / spans[1]).powi(2);
        match of {
            Objective::Squares => squares + 0.5e-3 * moves + 1e3 * broken,
            Objective::Worst => worst + 0.5e-7 * moves + 1e3 * broken,
        }
    }

    /// The best of 250,000 places in the box that the bounds and the trust region leave is no better.
    #[test]
    fn a_step_goes_to_the_best_place_of_the_box() {
        let bounds: Bounds = vec![Interval { low: -10.0, high: 10.0 }, Interval { low: -1.0, high: 3.0 }];
        let spans = [20.0, 4.0];
        let target = |value, scale, gradient| residual(value, Interval::single(0.0), scale, gradient);
        let objective =
            [target(0.8, 10.0, [0.05, -0.2]), target(-0.5, 4.0, [0.11, 0.3]), target(0.3, 10.0, [-0.02, 0.07])];
        let upper = residual(0.2, Interval { low: -5.0, high: 0.35 }, 2.0, [-0.05, 0.1]);
        let lower = residual(-0.1, Interval { low: -0.2, high: 9.0 }, 3.0, [-0.04, 0.02]);
        let here = [2.0, 0.5];
        for limits in [vec![], vec![upper.clone()], vec![lower.clone()], vec![upper, lower]] {
            for of in [Objective::Squares, Objective::Worst] {
                for radius in [1.0, 0.3, 0.05] {
                    let from = iterate(here, &objective, &limits);
                    let step = QpSubproblem::new(&from, &bounds, (of, LIMIT_PENALTY), radius)
                        .step()
                        .expect("a convex program");
                    let end = [here[0] + step.by[0], here[1] + step.by[1]];
                    let range = |k: usize| {
                        let reach = radius * spans[k];
                        [(here[k] - reach).max(bounds[k].low), (here[k] + reach).min(bounds[k].high)]
                    };
                    let [across, along] = [range(0), range(1)];
                    let place = |[low, high]: [f64; 2], i: usize| low + (high - low) * i as f64 / 500.0;
                    let all = (0..=500).flat_map(|i| (0..=500).map(move |j| [place(across, i), place(along, j)]));
                    let best = all.map(|x| merit(x, spans, &objective, &limits, of)).fold(f64::INFINITY, f64::min);
                    let got = merit(end, spans, &objective, &limits, of);
                    assert!(got < best + 1e-4, "{of:?} within {radius}: {got} at {end:?}, {best} is to be had");
                    assert!((got - step.predicted_merit).abs() < 1e-6, "{got} for {}", step.predicted_merit);
                    for (k, [low, high]) in [across, along].into_iter().enumerate() {
                        assert!(end[k] > low - 1e-6 && end[k] < high + 1e-6, "{end:?}");
                    }
                }
            }
        }
    }

    /// The way to go is straight against one row of four hundred, and the best place stands against several.
    #[test]
    fn rows_that_are_left_out_at_first_change_nothing() {
        let mut random = StdRng::seed_from_u64(1);
        for unknowns in [2, 5, 12] {
            let unit = |i: usize, j: usize| if i == j { 1.0 } else { 0.0 };
            let quadratic: Vec<Vec<f64>> = (0..unknowns).map(|i| (0..unknowns).map(|j| unit(i, j)).collect()).collect();
            let linear: Vec<f64> = (0..unknowns).map(|_| random.random_range(-9.0..9.0)).collect();
            let of_box = |sign: f64| move |i: usize| ((0..unknowns).map(|j| sign * unit(i, j)).collect(), 10.0);
            let mut rows: Vec<Row> = (0..unknowns).map(of_box(1.0)).chain((0..unknowns).map(of_box(-1.0))).collect();
            rows.extend((0..400).map(|_| {
                let row = (0..unknowns).map(|_| random.random_range(-1.0..1.0)).collect();
                (row, random.random_range(0.5..1.5))
            }));
            let all = solve_with(&quadratic, &linear, &rows.iter().collect::<Vec<_>>()).expect("a convex program");
            let some = solve(&quadratic, &linear, &rows, 2 * unknowns).expect("a convex program");
            let apart = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            assert!(apart(&all.unknowns, &some.unknowns) < 1e-6, "{:?} {:?}", all.unknowns, some.unknowns);
            assert!(apart(&all.multipliers, &some.multipliers) < 1e-4 && some.multipliers.len() == rows.len());
            let standing = some.multipliers.iter().filter(|multiplier| **multiplier > 1e-4).count();
            assert!(standing > 1, "{standing} rows");
        }
    }

    /// Two misses that each stop at the end of one variable's range: only the larger one counts, and it falls by its slope.
    #[test]
    fn one_more_millimetre_of_the_range_that_holds_the_worst_back_is_worth_its_slope() {
        let bounds: Bounds = vec![Interval { low: -2.0, high: 3.0 }, Interval { low: -1.0, high: 4.0 }];
        let target = |value, gradient| residual(value, Interval::single(0.0), 2.0, gradient);
        for (objective, end, expected) in [
            ([target(5.0, [-1.0, 0.0]), target(1.0, [0.0, 0.5])], [3.0, -1.0], [(2.0, 0.0), (0.0, 0.0)]),
            ([target(1.0, [-0.5, 0.0]), target(5.0, [0.0, 1.5])], [3.0, -1.0], [(0.0, 0.0), (0.0, 3.0)]),
        ] {
            let got = bound_multipliers(&iterate(end, &objective, &[]), &bounds).expect("a convex program");
            assert_eq!(got.len(), expected.len());
            for (got, expected) in got.into_iter().zip(expected) {
                assert!(
                    (got.0 - expected.0).abs() < 1e-4 && (got.1 - expected.1).abs() < 1e-4,
                    "{got:?} for {expected:?}"
                );
            }
        }
    }

    /// A limit stops the first variable inside its range: only the end of the other's, which the limit knows nothing of, holds
    /// the miss back.
    #[test]
    fn a_limit_that_some_variables_do_not_act_on_stands_in_the_way_of_the_others() {
        let bounds: Bounds = vec![Interval { low: -2.0, high: 3.0 }, Interval { low: -1.0, high: 4.0 }];
        let objective = [residual(8.0, Interval::single(0.0), 2.0, [-1.0, -0.5])];
        let limit = residual(0.0, Interval { low: -5.0, high: 0.1 }, 2.0, [0.1, 0.0]);
        let end = iterate([1.0, 4.0], &objective, &[limit]);
        let got = bound_multipliers(&end, &bounds).expect("a convex program");
        assert!(got[0].0.abs() < 1e-4 && got[0].1.abs() < 1e-4, "{got:?}");
        assert!((got[1].0 - 1.0).abs() < 1e-4 && got[1].1.abs() < 1e-4, "{got:?}");
    }
}
