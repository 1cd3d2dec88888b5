//! Freedoms that move by whole steps, such as a row of holes: the search over them, and the limits that only they break.

use rayon::iter::{IntoParallelIterator, IntoParallelRefIterator, ParallelIterator};

use super::descent::Descent;
use super::given_up::{GivenUp, KEPT, ROOM_AT_NEAREST, broken, most_broken};
use super::iterate::{Bounds, Iterate};
use super::problem::TuneProblem;
use super::search::{Goal, SearchOptions, SearchResult, apart, bounds_of, violation};
use crate::geometry::Interval;

/// Candidates kept from one stepped variable to the next, and distinct ends that are put on steps.
const BEAM: usize = 6;
/// A smaller fall of the worst violation is what a descent leaves over.
const LESS: f64 = 0.99;

pub(super) fn has_steps(problem: &TuneProblem) -> bool {
    problem.variables.list.iter().any(|variable| variable.range.step.is_some())
}

/// Distinct ends of a search with everything that has steps on them, best first.
pub(super) fn on_steps(problem: &TuneProblem, ends: &[Descent], goal: Goal, options: &SearchOptions) -> Vec<Descent> {
    let stepped = |end: &Descent| put_on_steps(problem, end, goal, options);
    let mut ends: Vec<Descent> = apart(ends.iter(), &[], BEAM).into_par_iter().filter_map(stepped).collect();
    ends.sort_by(|a, b| goal.order(a, b));
    ends
}

/// A search on whole steps, and the limits that were let go for it.
pub(super) type Stepped<'g> = (TuneProblem<'g>, SearchResult, Vec<GivenUp>);

/// What a search has found, put on steps where there are any. A limit that the ends keep between the steps and not on them is let go
/// and told, so that it does not draw the others with it.
pub(super) fn flattest_on_steps<'g>(
    problem: TuneProblem<'g>,
    found: SearchResult,
    mut given_up: Vec<GivenUp>,
    options: &SearchOptions,
) -> Stepped<'g> {
    if !has_steps(&problem) {
        return (problem, found, given_up);
    }
    let ends = on_steps(&problem, &found.ends, Goal::Flattest, options);
    let is_lost = ends.first().is_some_and(|end| !is_kept(end)) && !(options.stop)();
    let let_go = is_lost.then(|| let_go(&problem, &found.ends, &ends[0], options)).flatten();
    let (problem, ends) = match let_go {
        Some((problem, ends, by_steps)) => {
            for of in by_steps {
                match given_up.iter_mut().find(|known| known.quantity == of.quantity) {
                    Some(known) => known.nearest_beside = of.nearest_beside,
                    None => given_up.push(of),
                }
            }
            (problem, ends)
        }
        None => (problem, ends),
    };
    (problem, SearchResult { ends, ..found }, given_up)
}

fn is_kept(end: &Descent) -> bool {
    end.evaluation().worst_violation() <= KEPT
}

/// As limits are let go that no place keeps: one by one, what can be kept beside those before it is held, the rest at its nearest.
fn let_go<'g>(
    problem: &TuneProblem<'g>,
    between: &[Descent],
    best: &Descent,
    options: &SearchOptions,
) -> Option<(TuneProblem<'g>, Vec<Descent>, Vec<GivenUp>)> {
    let broken = broken(best.evaluation());
    let by_steps = between.first().is_some_and(is_kept);
    let (mut given_up, mut places) = (Vec::new(), Vec::new());
    for (index, &quantity) in broken.iter().enumerate() {
        let let_go = given_up.iter().map(|of: &GivenUp| of.quantity);
        let aside = let_go.chain(broken[index + 1..].iter().copied());
        let beside = aside.fold(problem.clone(), |problem, of| problem.without_limit(of));
        let mut ends = on_steps(&beside.asking_for(quantity), between, Goal::Flattest, options);
        let near = (!ends.is_empty()).then(|| ends.swap_remove(0)).filter(is_kept)?;
        if near.evaluation().worst_residual() > KEPT {
            let (limit, nearest) = (problem.limit_of_file(quantity), most_broken(near.evaluation(), quantity)?);
            given_up.push(GivenUp {
                quantity,
                limit,
                nearest,
                nearest_beside: nearest,
                beside_others: true,
                by_steps,
                room: None,
            });
            places.push(near);
        }
    }
    let near = |problem: TuneProblem<'g>, (of, place): (&GivenUp, &Descent)| {
        let there = problem.evaluate(&place.iterate.design_vector);
        there.map_or_else(|| problem.clone(), |there| problem.reaching(of.quantity, &[&there], ROOM_AT_NEAREST))
    };
    let problem = given_up.iter().zip(&places).fold(problem.clone(), near);
    let from: Vec<Descent> = places.iter().chain(between).cloned().collect();
    let ends = on_steps(&problem, &from, Goal::Flattest, options);
    Some((problem, ends, given_up))
}

/// It breaks limits less, or is the better answer and breaks them no more.
fn is_better(goal: Goal, end: &Descent, than: &Descent) -> bool {
    let (here, there) = (violation(end), violation(than));
    here < LESS * there || here <= there && goal.cost(end) < goal.cost(than)
}

/// Puts the variables that have steps on them, one after the other: both neighbours of each are tried, the rest of the car
/// is tuned again around them, and the best few go on. At the end each is tried one step to either side.
fn put_on_steps(problem: &TuneProblem, end: &Descent, goal: Goal, options: &SearchOptions) -> Option<Descent> {
    let bounds = &bounds_of(problem);
    let steps: Vec<(usize, f64)> = problem
        .variables
        .list
        .iter()
        .enumerate()
        .filter_map(|(index, variable)| variable.range.step.map(|step| (index, step)))
        .collect();
    let mut beam = vec![(end.clone(), bounds.clone())];
    for &(index, step) in &steps {
        let neighbours = beam.par_iter().flat_map(|(end, bounds)| {
            let below = (end.iterate.design_vector[index] / step).floor();
            [below, below + 1.0]
                .into_par_iter()
                .filter_map(move |count| held_at(problem, (&end.iterate, bounds), (index, count * step), goal, options))
        });
        let mut next: Vec<(Descent, Bounds)> = neighbours.collect();
        next.sort_by(|a, b| goal.order(&a.0, &b.0));
        next.truncate(BEAM);
        beam = next;
    }
    let (mut best, mut held) = beam.into_iter().next()?;
    let mut improved = true;
    while improved && !(options.stop)() {
        improved = false;
        for &(index, step) in &steps {
            for by in [-step, step] {
                let mut free = held.clone();
                free[index] = bounds[index];
                let at = best.iterate.design_vector[index] + by;
                if let Some((end, bounds)) = held_at(problem, (&best.iterate, &free), (index, at), goal, options)
                    && is_better(goal, &end, &best)
                {
                    (best, held, improved) = (end, bounds, true);
                }
            }
        }
    }
    Some(best)
}

/// The same car with one variable held at a value inside its range, the rest tuned again.
fn held_at(
    problem: &TuneProblem,
    (from, bounds): (&Iterate, &Bounds),
    (index, at): (usize, f64),
    goal: Goal,
    options: &SearchOptions,
) -> Option<(Descent, Bounds)> {
    let range = bounds[index];
    if at < range.low - 1e-9 || at > range.high + 1e-9 {
        return None;
    }
    let mut bounds = bounds.clone();
    bounds[index] = Interval::single(at);
    let end = goal.descend(problem, &bounds, &from.design_vector, options).ok()?;
    Some((end, bounds))
}
