//! Many descents from seeded starts, and the good answers among their ends.

use std::cmp::Ordering;

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};
use rayon::iter::{IntoParallelIterator, IntoParallelRefIterator, ParallelIterator};

use super::answer::Choice;
use super::descent::{Descent, NoPosture, descend, descend_on};
use super::iterate::{Bounds, Objective};
use super::problem::TuneProblem;
use super::spacing::{PickupSpacing, spacings};
use crate::studies::termination::Termination;

/// How a search is run. The same seed gives the same answer on any number of threads.
pub struct SearchOptions<'a> {
    /// The same seed gives the same starts.
    pub seed: u64,
    /// Descents, the first of them from the car as drawn.
    pub starts: usize,
    /// The answer that is to be written: where each wheel has its own, the second one is tuned beside that of the first.
    pub choice: Choice,
    /// Asked between steps; true ends the search with the best so far.
    pub stop: &'a (dyn Fn() -> bool + Sync),
    /// Told after each descent, from any thread.
    pub progress: &'a (dyn Fn() + Sync),
}

/// Eight starts from seed 1 that nobody stops and nobody watches.
impl Default for SearchOptions<'_> {
    fn default() -> Self {
        Self { seed: 1, starts: 8, choice: Choice::MostForgiving, stop: &|| false, progress: &|| () }
    }
}

/// What a search has found.
#[derive(Debug, Clone)]
pub struct SearchResult {
    /// Where the descents ended, best first.
    pub ends: Vec<Descent>,
    /// Of them those that do not begin where this seed alone does.
    pub common_ends: Vec<Descent>,
    /// How the descent from each start ended, in the order of the starts.
    pub starts: Vec<Termination>,
    /// Of the starts, places all over the adjustment ranges that are the same for every seed.
    pub common: Vec<Vec<f64>>,
    /// Those of this seed alone.
    pub own: Vec<Vec<f64>>,
}

/// Limits may be violated by this, scaled, through rounding of the QP subproblems: a hundred-thousandth of their width.
pub const LIMIT_TOLERANCE: f64 = 1e-3;
/// A largest scaled residual this small is none: half a thousandth of a degree of toe. Then the smaller move is the better
/// answer.
pub(super) const FLAT: f64 = 0.05;
/// Proportion by which the largest residual must fall for the least squares to be given up.
const MIN_GAIN: f64 = 0.005;
/// Answers whose largest residuals differ by less than this proportion are equally good; the smaller move wins.
const EQUAL: f64 = 0.01;
/// Answers with every design variable closer than this, mm or deg, are the same answer.
const SAME: f64 = 2.0;
/// Further answers are kept up to this many times the largest residual of the best, or while they are within what matters.
const STILL_GOOD: f64 = 2.0;
pub(super) const MAX_ANSWERS: usize = 3;
/// Of the starts that every seed has.
const EVERY_SEED: u64 = 0;
/// Tries to find a start that moves at all.
const MAX_DRAWS: usize = 50;
/// Places that are drawn for them: of rooms with tubes in them many are none.
const MAX_PLACES: usize = 5000;

/// Descends from every start; [`distinct`] keeps the good ends. Steps are left aside.
pub fn search(problem: &TuneProblem, options: &SearchOptions) -> SearchResult {
    search_also_from(problem, options, Vec::new())
}

/// The same, from these places too.
pub(super) fn search_also_from(problem: &TuneProblem, options: &SearchOptions, also: Vec<Vec<f64>>) -> SearchResult {
    let bounds = bounds_of(problem);
    let placed = !problem.variables.places_links();
    let start = |index: usize| {
        let seed = if is_common(index) { EVERY_SEED } else { options.seed };
        let mut random = StdRng::seed_from_u64(seed.wrapping_mul(0x9E37_79B9).wrapping_add(index as u64));
        if index == 0 && placed { Ok(vec![0.0; bounds.len()]) } else { draw(problem, &bounds, &mut random) }
    };
    let mut starts: Vec<Result<Vec<f64>, NoPosture>> = (0..options.starts).into_par_iter().map(start).collect();
    starts.extend(also.into_iter().map(Ok));
    let descents: Vec<Result<Descent, NoPosture>> = starts
        .par_iter()
        .map(|start| {
            let end = Goal::Flattest.descend(problem, &bounds, start.as_ref().map_err(|_| NoPosture)?, options);
            (options.progress)();
            end
        })
        .collect();
    let places = starts.into_iter().take(options.starts).enumerate().skip(usize::from(placed));
    let (common, own): (Vec<_>, Vec<_>) = places.partition(|(index, _)| is_common(*index));
    let [common, own] = [common, own].map(|places| places.into_iter().filter_map(|(_, place)| place.ok()).collect());
    let termination =
        |end: &Result<Descent, NoPosture>| end.as_ref().map_or(Termination::NoPosture, |end| end.termination);
    let starts = descents.iter().take(options.starts).map(termination).collect();
    let is_of_every_seed = |index: usize| index >= options.starts || is_common(index);
    let of_every_seed = descents.iter().enumerate().filter(|(index, _)| is_of_every_seed(*index));
    let mut common_ends: Vec<Descent> = of_every_seed.filter_map(|(_, end)| end.as_ref().ok().cloned()).collect();
    let mut ends: Vec<Descent> = descents.into_iter().flatten().collect();
    for ends in [&mut ends, &mut common_ends] {
        ends.sort_by(|a, b| Goal::Flattest.order(a, b));
    }
    SearchResult { ends, common_ends, starts, common, own }
}

/// Every other start is the same for all seeds.
fn is_common(index: usize) -> bool {
    index.is_multiple_of(2)
}

/// What is asked of an answer, and by what answers are compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Goal {
    /// The least largest residual.
    Flattest,
    /// The least sum of squares.
    MostForgiving,
}

impl Goal {
    pub fn descend(
        self,
        problem: &TuneProblem,
        bounds: &Bounds,
        start: &[f64],
        options: &SearchOptions,
    ) -> Result<Descent, NoPosture> {
        match self {
            Goal::Flattest => squares_then_worst(problem, bounds, start, options),
            Goal::MostForgiving => descend(problem, bounds, start, Objective::Squares, options.stop),
        }
    }

    /// Held limits first; then the better answer, or for the flattest the smaller move among equals.
    pub fn order(self, a: &Descent, b: &Descent) -> Ordering {
        let cost = |end: &Descent| self.cost(end);
        violation(a).total_cmp(&violation(b)).then_with(|| match self {
            Goal::Flattest => rank(cost(a)).total_cmp(&rank(cost(b))).then(move_square(a).total_cmp(&move_square(b))),
            Goal::MostForgiving => cost(a).total_cmp(&cost(b)),
        })
    }

    pub fn cost(self, end: &Descent) -> f64 {
        match self {
            Goal::Flattest => end.evaluation().worst_residual(),
            Goal::MostForgiving => end.evaluation().half_square(),
        }
    }
}

/// The same for largest residuals that make no difference. By steps of their size, for of three in a row each may equal the next and not
/// the last, which is no order to sort by.
fn rank(cost: f64) -> f64 {
    if cost <= FLAT { 0.0 } else { 1.0 + ((cost / FLAT).ln() / EQUAL.ln_1p()).floor() }
}

/// Largest residuals that make no difference.
pub(super) fn are_equal(a: f64, b: f64) -> bool {
    a.max(b) <= FLAT || (a - b).abs() <= EQUAL * a.min(b)
}

/// The adjustment range of every design variable.
pub fn bounds_of(problem: &TuneProblem) -> Bounds {
    problem.variables.list.iter().map(|variable| variable.range.interval()).collect()
}

/// Least squares first; then the largest residual, unless it is already below anything that can be told apart.
fn squares_then_worst(
    problem: &TuneProblem,
    bounds: &Bounds,
    start: &[f64],
    options: &SearchOptions,
) -> Result<Descent, NoPosture> {
    let squares = descend(problem, bounds, start, Objective::Squares, options.stop)?;
    let violated = squares.evaluation().worst_violation() > LIMIT_TOLERANCE;
    if squares.evaluation().worst_residual() <= FLAT && !violated {
        return Ok(squares);
    }
    let worst = descend_on(problem, bounds, squares.iterate.clone(), Objective::Worst, options.stop)?;
    // Where one target is out of reach it is the largest residual, and lowering it takes no care of the others.
    let gains = worst.evaluation().worst_residual() < (1.0 - MIN_GAIN) * squares.evaluation().worst_residual();
    Ok(if gains || violated { worst } else { squares })
}

/// A random design vector that moves through the whole travel, its pickups apart and its links of a sensible length.
pub(super) fn draw(problem: &TuneProblem, bounds: &Bounds, random: &mut StdRng) -> Result<Vec<f64>, NoPosture> {
    (0..MAX_PLACES)
        .map(|_| bounds.iter().map(|bound| random.random_range(bound.low..=bound.high)).collect::<Vec<f64>>())
        .filter(|design_vector| {
            let corner = problem.variables.apply(design_vector).corner;
            spacings(&corner, &problem.variables, &problem.carrying).iter().all(PickupSpacing::is_there)
        })
        .take(MAX_DRAWS)
        .find(|design_vector| problem.with_figures(design_vector, |_| Some(())).is_some())
        .ok_or(NoPosture)
}

/// The answers are not the same.
pub(super) fn differ(a: &Descent, b: &Descent) -> bool {
    a.iterate.design_vector.iter().zip(&b.iterate.design_vector).any(|(a, b)| (a - b).abs() > SAME)
}

/// The worst violation of a limit, 0 within what rounding leaves of one.
pub(super) fn violation(end: &Descent) -> f64 {
    let size = end.evaluation().worst_violation();
    if size <= LIMIT_TOLERANCE { 0.0 } else { size }
}

/// The first of these ends that are neither the same nor known, at most so many.
pub(super) fn apart<'d>(ends: impl Iterator<Item = &'d Descent>, known: &[Descent], most: usize) -> Vec<&'d Descent> {
    let mut apart: Vec<&Descent> = Vec::new();
    for end in ends {
        let is_new = known.iter().chain(apart.iter().copied()).all(|other| differ(other, end));
        if apart.len() < most && is_new {
            apart.push(end);
        }
    }
    apart
}

fn move_square(end: &Descent) -> f64 {
    end.iterate.design_vector.iter().map(|x| x * x).sum()
}

/// The good ones of ends that are sorted, best first: only such as hold the limits when there are any, distinct, few, and
/// such as are accepted; it is asked of no more than it must be.
pub fn distinct(ends: &[Descent], mut accepts: impl FnMut(&Descent) -> bool) -> Vec<Descent> {
    let mut kept: Vec<Descent> = Vec::new();
    for end in ends {
        let good = kept.first().is_none_or(|best| {
            let limit = (STILL_GOOD * best.evaluation().worst_residual()).max(1.0);
            end.evaluation().worst_residual() <= limit
                && end.evaluation().worst_violation() <= LIMIT_TOLERANCE.max(best.evaluation().worst_violation())
        });
        if kept.len() < MAX_ANSWERS && good && kept.iter().all(|other| differ(other, end)) && accepts(end) {
            kept.push(end.clone());
        }
    }
    kept
}

/// True when a design variable acts on no target and no limit at all at the car as drawn, so that it is there by mistake.
pub fn is_idle(problem: &TuneProblem, index: usize) -> Option<bool> {
    let evaluation = problem.evaluate(&vec![0.0; problem.variables.list.len()])?;
    let residuals = evaluation.objective.iter().chain(&evaluation.limits);
    Some(residuals.into_iter().all(|residual| residual.gradient[index].abs() < 1e-12))
}

#[cfg(test)]
mod tests {
    use std::cmp::Ordering;

    use super::{Descent, Goal, Termination, distinct};
    use crate::geometry::Interval;
    use crate::studies::tune::iterate::Iterate;
    use crate::studies::tune::residual::{Evaluation, Residual, ResidualOf};

    /// An answer without a fault.
    fn end(design_vector: &[f64]) -> Descent {
        let evaluation = Evaluation { objective: Vec::new(), limits: Vec::new(), worst_bump_steer_deg: 0.0 };
        let iterate = Iterate { design_vector: design_vector.to_vec(), evaluation };
        Descent { iterate, termination: Termination::Converged }
    }

    #[test]
    fn answers_that_differ_by_more_than_two_millimetres_anywhere_are_two() {
        let kept = |ends: [&[f64]; 2]| distinct(&ends.map(end), |_| true).len();
        assert_eq!(kept([&[5.0, 1.0], &[-5.0, 1.0]]), 2);
        assert_eq!(kept([&[5.0, 1.0], &[5.5, 0.0]]), 1);
        assert_eq!(kept([&[0.0, 4.0], &[0.0, 1.5]]), 2);
    }

    fn triples(ends: &[Descent]) -> impl Iterator<Item = [&Descent; 3]> {
        let pairs = ends.iter().flat_map(move |a| ends.iter().map(move |b| [a, b]));
        pairs.flat_map(move |[a, b]| ends.iter().map(move |c| [a, b, c]))
    }

    /// Of these each equals the next, and moves less than it; a sort of many such ends went wrong.
    #[test]
    fn of_three_answers_the_order_is_one() {
        let ends: Vec<Descent> = (0..60u32)
            .map(|k| {
                let mut end = end(&[f64::from(60 - k)]);
                let (subject, band) = (ResidualOf::Spread, Interval::single(0.0));
                let value = 1.004_f64.powi(k.try_into().expect("a small number"));
                end.iterate.evaluation.objective =
                    vec![Residual { subject, value, band, scale: 1.0, gradient: Vec::new() }];
                end
            })
            .collect();
        let order = |a: &Descent, b: &Descent| Goal::Flattest.order(a, b);
        for [a, b, c] in triples(&ends) {
            assert!(!(order(a, b).is_lt() && order(b, c).is_lt()) || order(a, c).is_lt());
        }
    }

    #[test]
    fn of_equal_answers_the_shorter_move_is_the_flattest() {
        // 3 mm and 2 mm, against 1 mm and 4 mm.
        assert_eq!(Goal::Flattest.order(&end(&[3.0, -2.0]), &end(&[-1.0, 4.0])), Ordering::Less);
        assert_eq!(Goal::Flattest.order(&end(&[0.0, 0.0]), &end(&[0.0, 0.1])), Ordering::Less);
    }
}
