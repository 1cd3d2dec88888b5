//! Parts that are too near as drawn and that no answer parts as far as the file asks: how far they can be parted.

use super::clearance::LostGaps;
use super::descent::Descent;
use super::given_up::{KEPT, nearest};
use super::problem::TuneProblem;
use super::search::{LIMIT_TOLERANCE, SearchOptions, SearchResult, search_also_from};
use crate::geometry::Quantity;

/// Ends of a search from which it is asked, the same for every seed, beside the drawn car.
const MAX_STARTS: usize = 4;

fn starts(problem: &TuneProblem, found: &SearchResult) -> Vec<Vec<f64>> {
    let mut starts: Vec<Vec<f64>> =
        found.common_ends.iter().take(MAX_STARTS).map(|end| end.iterate.design_vector.clone()).collect();
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
    let is_drawn = !problem.variables.places_links();
    let best = found.ends.first().filter(|end| is_drawn && end.evaluation().worst_violation() > LIMIT_TOLERANCE)?;
    let options = &SearchOptions { progress: &|| {}, ..*options };
    let starts = starts(problem, found);
    let (fewer, _) = fewest_let_go(problem, best, &starts, options)?;
    let searched = |problem: TuneProblem<'g>, also: Vec<Vec<f64>>| {
        let found = search_also_from(&problem, options, also);
        let keeps_limits = found.ends.first()?.evaluation().worst_violation() <= LIMIT_TOLERANCE;
        keeps_limits.then_some((problem, found))
    };
    let parted = parted(&fewer, &starts, LIMIT_TOLERANCE, options);
    let apart = parted.and_then(|end| Some((fewer.holding_gaps_of(&end.iterate.design_vector)?, end)));
    apart
        .and_then(|(problem, end)| searched(problem, vec![end.iterate.design_vector]))
        .or_else(|| searched(fewer, Vec::new()))
}

/// Where the gaps that were let go are as far apart as the limits leave them, each kept to so much; `None` where nothing limits the toe
/// curve, which would pay for it.
fn parted(problem: &TuneProblem, starts: &[Vec<f64>], tolerance: f64, options: &SearchOptions) -> Option<Descent> {
    problem.limit_of_file(Quantity::BumpSteer)?;
    let end = nearest(&problem.asking_for_gaps(), starts, options)?;
    (end.evaluation().worst_violation() <= tolerance).then_some(end)
}

/// The same question with the fewest of those gaps let go that an end leaves too near, and the end that comes nearest to it; `None`
/// where none is. A pair that nothing parts would level every other with itself: those go first that the free room does not open by
/// themselves, whatever becomes of the rest. Of pairs that can be opened, and not together, that one goes without which the rest is kept,
/// or all of them.
pub(super) fn fewest_let_go<'g>(
    problem: &TuneProblem<'g>,
    end: &Descent,
    starts: &[Vec<f64>],
    options: &SearchOptions,
) -> Option<(TuneProblem<'g>, Descent)> {
    let asked = |problem: &TuneProblem<'g>| nearest(&problem.asking_for(Quantity::Clearance), starts, options);
    let is_open = |end: &Descent| end.evaluation().worst_residual().max(end.evaluation().worst_violation()) <= KEPT;
    let mut let_go: Option<(TuneProblem<'g>, Descent)> = None;
    loop {
        let (problem, end) = let_go.as_ref().map_or((problem, end), |(problem, end)| (problem, end));
        let Some(lost) = problem.lost_gaps(&end.iterate.design_vector) else { break let_go };
        let each = lost.one_by_one();
        let stays = |of: &&LostGaps| {
            let without = problem.without_gaps(of);
            let alone = without.gaps.uncleared.last().map(|pair| without.asking_for_gap_alone(pair));
            !alone.and_then(|alone| nearest(&alone, starts, options)).is_some_and(|end| is_open(&end))
        };
        let beyond: Vec<&LostGaps> = each.iter().filter(stays).collect();
        let fewer = match LostGaps::all_of(&beyond) {
            Some(beyond) => problem.without_gaps(&beyond),
            None => {
                let without = each.iter().map(|of| problem.without_gaps(of));
                let kept = without.filter_map(|fewer| asked(&fewer).filter(is_open).map(|end| (fewer, end)));
                let violation = |(_, end): &(TuneProblem, Descent)| {
                    let there = problem.evaluate(&end.iterate.design_vector);
                    there.map_or(f64::INFINITY, |there| there.worst_violation())
                };
                match kept.min_by(|a, b| violation(a).total_cmp(&violation(b))) {
                    Some(kept) => break Some(kept),
                    None => problem.without_gaps(&lost),
                }
            }
        };
        let Some(end) = asked(&fewer) else { break let_go };
        let_go = Some((fewer, end));
    }
}

/// The search with pairs that were let go of a car that has nothing drawn held as far apart as the limits leave them, or where nothing
/// limits the toe curve as far apart as they are; `None` where there is none.
pub(super) fn with_gaps_parted<'g>(
    problem: &TuneProblem<'g>,
    found: &SearchResult,
    options: &SearchOptions,
) -> Option<(TuneProblem<'g>, SearchResult)> {
    if !problem.gaps.has_pairs_held_nowhere() || (options.stop)() {
        return None;
    }
    let options = &SearchOptions { progress: &|| {}, ..*options };
    let best = found.ends.first()?;
    let parted = parted(problem, &starts(problem, found), KEPT, options);
    let place = parted.as_ref().unwrap_or(best).iterate.design_vector.clone();
    let held = problem.holding_gaps_of(&place)?;
    let found = search_also_from(&held, options, vec![place]);
    found.ends.first().is_some_and(|end| end.evaluation().worst_violation() <= KEPT).then_some((held, found))
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
