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
/// Of all ends on steps those that are improved step by step.
const CLIMBED: usize = 3;
/// A smaller fall of the worst violation is what a descent leaves over.
const LESS: f64 = 0.99;

pub(super) fn has_steps(problem: &TuneProblem) -> bool {
    problem.variables.list.iter().any(|variable| variable.range.step.is_some())
}

/// Distinct ends of a search with everything that has steps on them, best first.
pub(super) fn on_steps(problem: &TuneProblem, ends: &[Descent], goal: Goal, options: &SearchOptions) -> Vec<Descent> {
    let stepped = |end: &Descent| put_on_steps(problem, end, goal, options);
    let ends: Vec<Descent> = apart(ends.iter(), &[], BEAM).into_par_iter().flat_map(stepped).collect();
    improved_on_steps(problem, ends, goal, options)
}

/// Ends on whole steps, the best of them improved step by step, best first.
pub(super) fn improved_on_steps(
    problem: &TuneProblem,
    mut ends: Vec<Descent>,
    goal: Goal,
    options: &SearchOptions,
) -> Vec<Descent> {
    ends.sort_by(|a, b| goal.order(a, b));
    let improved = |end: &&Descent| step_by_step(problem, (*end).clone(), goal, options);
    let best: Vec<Descent> = apart(ends.iter(), &[], CLIMBED).par_iter().map(improved).collect();
    ends.extend(best);
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

/// The design variables that move by steps, and their steps.
fn stepped(problem: &TuneProblem) -> Vec<(usize, f64)> {
    let all = problem.variables.list.iter().enumerate();
    all.filter_map(|(index, variable)| variable.range.step.map(|step| (index, step))).collect()
}

/// Puts the variables that have steps on them, one after the other: both neighbours of each are tried, the rest of the car
/// is tuned again around them, and the best few go on.
fn put_on_steps(problem: &TuneProblem, end: &Descent, goal: Goal, options: &SearchOptions) -> Vec<Descent> {
    let mut beam = vec![(end.clone(), bounds_of(problem))];
    for (index, step) in stepped(problem) {
        let neighbours = beam.par_iter().flat_map(|(end, bounds)| {
            let below = (end.iterate.design_vector[index] / step).floor();
            [below, below + 1.0].into_par_iter().filter_map(move |count| {
                held_at(problem, (&end.iterate, bounds), [(index, count * step)], goal, options)
            })
        });
        let mut next: Vec<(Descent, Bounds)> = neighbours.collect();
        next.sort_by(|a, b| goal.order(&a.0, &b.0));
        next.truncate(BEAM);
        beam = next;
    }
    beam.into_iter().map(|(end, _)| end).collect()
}

/// Each of what stands on whole steps is tried one step to either side, and where that betters nothing every two of them together.
fn step_by_step(problem: &TuneProblem, end: Descent, goal: Goal, options: &SearchOptions) -> Descent {
    let steps = stepped(problem);
    let singles: Vec<Vec<usize>> = (0..steps.len()).map(|i| vec![i]).collect();
    let pairs: Vec<Vec<usize>> = (0..steps.len()).flat_map(|i| (0..i).map(move |j| vec![i, j])).collect();
    let mut held = bounds_of(problem);
    steps.iter().for_each(|&(index, _)| held[index] = Interval::single(end.iterate.design_vector[index]));
    let mut best = (end, held);
    let better =
        |best: &(Descent, Bounds), moved: &[Vec<usize>]| better_by_steps(problem, best, (&steps, moved), goal, options);
    while let Some(next) = better(&best, &singles).or_else(|| better(&best, &pairs)).filter(|_| !(options.stop)()) {
        best = next;
    }
    best.0
}

/// The best of the cars with one of these sets of variables moved a step each to either side, where it is better.
fn better_by_steps(
    problem: &TuneProblem,
    (best, held): &(Descent, Bounds),
    (steps, moved): (&[(usize, f64)], &[Vec<usize>]),
    goal: Goal,
    options: &SearchOptions,
) -> Option<(Descent, Bounds)> {
    let all = bounds_of(problem);
    let each_way = |of: &Vec<usize>| {
        let of = of.clone();
        (0..1_usize << of.len()).into_par_iter().map(move |ways| {
            let way = |k: usize| if ways >> k & 1 == 0 { -1.0 } else { 1.0 };
            of.iter().enumerate().map(|(k, &i)| (steps[i].0, way(k) * steps[i].1)).collect::<Vec<(usize, f64)>>()
        })
    };
    let there = |by: Vec<(usize, f64)>| {
        let at = |&(index, by): &(usize, f64)| (index, best.iterate.design_vector[index] + by);
        let mut bounds = held.clone();
        by.iter().for_each(|&(index, _)| bounds[index] = all[index]);
        held_at(problem, (&best.iterate, &bounds), by.iter().map(at), goal, options)
    };
    let ends = moved.par_iter().flat_map(each_way).filter_map(there);
    ends.filter(|(end, _)| is_better(goal, end, best)).min_by(|a, b| goal.order(&a.0, &b.0))
}

/// The same car with variables held at values inside their ranges, the rest tuned again.
fn held_at(
    problem: &TuneProblem,
    (from, bounds): (&Iterate, &Bounds),
    at: impl IntoIterator<Item = (usize, f64)>,
    goal: Goal,
    options: &SearchOptions,
) -> Option<(Descent, Bounds)> {
    let mut bounds = bounds.clone();
    for (index, at) in at {
        let range = bounds[index];
        if at < range.low - 1e-9 || at > range.high + 1e-9 {
            return None;
        }
        bounds[index] = Interval::single(at);
    }
    let end = goal.descend(problem, &bounds, &from.design_vector, options).ok()?;
    Some((end, bounds))
}
