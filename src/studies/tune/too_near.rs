//! Parts that are too near as drawn and that no answer parts as far as the file asks: how far they can be parted.

use super::given_up::nearest;
use super::problem::TuneProblem;
use super::search::{LIMIT_TOLERANCE, SearchOptions, SearchResult, search_also_from};
use crate::geometry::Quantity;

/// Ends of a search from which it is asked, beside the drawn car.
const MAX_STARTS: usize = 4;

fn starts(problem: &TuneProblem, found: &SearchResult) -> Vec<Vec<f64>> {
    let mut starts: Vec<Vec<f64>> =
        found.ends.iter().take(MAX_STARTS).map(|end| end.iterate.design_vector.clone()).collect();
    starts.push(vec![0.0; problem.variables.list.len()]);
    starts
}

/// The search again with the gaps that its best answer does not open held at less, when that keeps every other limit: a gap that
/// cannot be kept would draw the answer away from what can. They are held as far apart as the other limits leave them, or where
/// nothing limits the toe curve, which would pay for it, no nearer than they are drawn.
pub(super) fn without_lost_gaps<'g>(
    problem: &TuneProblem<'g>,
    found: &SearchResult,
    options: &SearchOptions,
) -> Option<(TuneProblem<'g>, SearchResult)> {
    // Of a car that has nothing drawn no gap is let go before it was tried by itself.
    let is_drawn = !problem.variables.unplaced.contains(&true);
    let best = found.ends.first().filter(|end| is_drawn && end.evaluation().worst_violation() > LIMIT_TOLERANCE)?;
    let fewer = problem.without_lost_gaps(&best.iterate.design_vector)?;
    let options = &SearchOptions { progress: &|| {}, ..*options };
    let searched = |problem: TuneProblem<'g>, also: Vec<Vec<f64>>| {
        let found = search_also_from(&problem, options, also);
        let keeps_limits = found.ends.first()?.evaluation().worst_violation() <= LIMIT_TOLERANCE;
        keeps_limits.then_some((problem, found))
    };
    let is_toe_limited = problem.limit_of_file(Quantity::BumpSteer).is_some();
    let parted = is_toe_limited.then(|| nearest(&fewer.asking_for_gaps(), &starts(problem, found), options)).flatten();
    let parted = parted.filter(|end| end.evaluation().worst_violation() <= LIMIT_TOLERANCE);
    let apart = parted.and_then(|end| Some((fewer.holding_gaps_of(&end.iterate.design_vector)?, end)));
    apart
        .and_then(|(problem, end)| searched(problem, vec![end.iterate.design_vector]))
        .or_else(|| searched(fewer, Vec::new()))
}

/// Finds the most that the free room makes of each gap that is held at less.
pub(super) fn with_most_told<'g>(
    problem: TuneProblem<'g>,
    found: &SearchResult,
    options: &SearchOptions,
) -> TuneProblem<'g> {
    if (options.stop)() {
        return problem;
    }
    let mut told = problem.gaps.uncleared.clone();
    for of in &mut told {
        let asking = problem.asking_for_gap_alone(of);
        let end = nearest(&asking, &starts(&problem, found), options);
        of.most_mm = end.map(|end| {
            let gaps = end.evaluation().objective.iter().map(|residual| residual.value);
            gaps.fold(problem.gaps.least_mm, f64::min).max(of.gap_mm.unwrap_or(f64::NEG_INFINITY))
        });
    }
    let mut problem = problem;
    problem.gaps.uncleared = told;
    problem
}
