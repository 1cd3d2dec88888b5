//! Limits that no answer within the free boxes keeps: found, told, and no longer paid for with the others.
//!
//! A limit that cannot be kept would be the largest violation everywhere, and the search would give every other limit and
//! the toe curve for a little less of it. So the limits that the best end breaks are taken one by one, first those that the
//! drawn car keeps: what can be kept beside those before it is held, the rest is held at its nearest value, or where that
//! would take the toe curve, which has no limit then, no worse than the drawn car has it. A toe curve that alone cannot keep
//! its limit is held at its own nearest.

use rayon::iter::{IntoParallelRefIterator, ParallelIterator};

use super::descent::{Descent, descend};
use super::held_back::{HeldBack, held_back};
use super::iterate::Objective;
use super::problem::TuneProblem;
use super::residual::{Evaluation, ResidualOf};
use super::search::{LIMIT_TOLERANCE, SearchOptions, SearchResult, bounds_of, search_also_from};
use super::too_near::fewest_let_go;
use crate::geometry::{Interval, Quantity};

/// A limit that was let go.
#[derive(Debug, Clone, PartialEq)]
pub struct GivenUp {
    /// What is limited.
    pub quantity: Quantity,
    /// As the file has it; `None` of rod ends, which have one each.
    pub limit: Option<Interval>,
    /// The value furthest outside, where it is least outside; of rod ends the size of the angle, as it is told elsewhere.
    pub nearest: f64,
    /// The same beside the other limits.
    pub nearest_beside: f64,
    /// It could be kept alone, but not beside the other limits.
    pub beside_others: bool,
    /// It could be kept beside them between the whole steps of what is free.
    pub by_steps: bool,
    /// The end of a room that is most in the way of one that alone cannot be kept.
    pub room: Option<HeldBack>,
}

impl GivenUp {
    /// The nearest is no further than this value, which a car has.
    pub(super) fn met_by(&mut self, value: f64) {
        for nearest in [&mut self.nearest, &mut self.nearest_beside] {
            if outside(self.limit, value) < outside(self.limit, *nearest) {
                *nearest = value;
            }
        }
    }
}

/// How far a value is outside a limit; of rod ends, which have one each, the angle itself.
fn outside(limit: Option<Interval>, value: f64) -> f64 {
    limit.map_or(value.abs(), |limit| (limit.low - value).max(value - limit.high).max(0.0))
}

/// A limit that is not held as the file has it: in a wider band, or not at all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Relaxed {
    pub quantity: Quantity,
    pub band: Option<Interval>,
}

/// A violation below this, scaled, is what solver and margins leave over: the limit of the file holds to a shop's digits.
pub(super) const KEPT: f64 = 0.01;

/// Beside the nearest value a search has this share of its band to find the rest in.
pub(super) const ROOM_AT_NEAREST: f64 = 0.02;

/// Times that limits are let go: each begins where the one before it ended.
const ROUNDS: usize = 3;
/// An end of a search that is nearer than what was told as the nearest by this share of it is worth another round.
const NEARER: f64 = 0.05;

/// A search in which limits were let go, and those limits.
type LetGo<'g> = (TuneProblem<'g>, SearchResult, Vec<GivenUp>);

/// A search in which every limit that is held can be kept, and the limits that were let go for it; `None` when the best end of
/// the search keeps all of them, or breaks what is no limit of the file. Where that search itself comes nearer to a limit than what was
/// found as its nearest, the nearest was none, and is looked for again from there.
pub(super) fn within_reach<'g>(
    problem: &TuneProblem<'g>,
    found: &SearchResult,
    options: &SearchOptions,
) -> Option<LetGo<'g>> {
    let mut starts: Vec<Vec<f64>> = found.common_ends.iter().map(|end| end.iterate.design_vector.clone()).collect();
    // A car that has nothing drawn is searched from few places, and what no end keeps another place may.
    if problem.variables.places_links() {
        starts.extend(found.common.iter().cloned());
    }
    let mut let_go: Option<LetGo> = None;
    for _ in 0..ROUNDS {
        let Some(round) = let_go_from(problem, found, &starts, options) else { break };
        let nearer: Vec<Vec<f64>> = nearer_ends(problem, &round).collect();
        let is_last = nearer.is_empty() || (options.stop)();
        let_go = Some(round);
        if is_last {
            break;
        }
        starts.extend(nearer);
    }
    let_go
}

/// Ends that keep what is held and are nearer to a limit that was let go than its nearest.
fn nearer_ends<'a>(problem: &'a TuneProblem, (_, found, given_up): &'a LetGo) -> impl Iterator<Item = Vec<f64>> {
    let kept = found.ends.iter().filter(|end| end.evaluation().worst_violation() <= KEPT);
    let is_nearer = move |design_vector: &Vec<f64>| {
        let Some(evaluation) = problem.evaluate(design_vector) else { return false };
        given_up.iter().any(|of| {
            let here = most_broken(&evaluation, of.quantity).map_or(0.0, |value| outside(of.limit, value));
            here < (1.0 - NEARER) * outside(of.limit, of.nearest_beside)
        })
    };
    kept.map(|end| end.iterate.design_vector.clone()).filter(is_nearer)
}

fn let_go_from<'g>(
    problem: &TuneProblem<'g>,
    found: &SearchResult,
    starts: &[Vec<f64>],
    options: &SearchOptions,
) -> Option<LetGo<'g>> {
    let best = found.ends.first().filter(|end| end.evaluation().worst_violation() > KEPT)?;
    // Where a search was stopped, nothing shows that a limit cannot be kept.
    if (options.stop)() {
        return None;
    }
    let drawn = problem.as_drawn();
    let mut broken = broken(best.evaluation());
    let is_kept = |of: &Quantity| drawn.as_ref().is_some_and(|drawn| most_broken(drawn, *of).is_none());
    broken.sort_by_key(|quantity| !is_kept(quantity));
    let mut starts = starts.to_vec();
    starts.extend(drawn.is_some().then(|| vec![0.0; problem.variables.list.len()]));
    let nearest = |problem: &TuneProblem, of: Quantity| nearest(&problem.asking_for(of), &starts, options);

    let mut held = broken.iter().fold(problem.clone(), |problem, &of| problem.without_limit(of));
    let mut reached = None;
    let mut lost: Vec<(Quantity, Descent)> = Vec::new();
    for &quantity in &broken {
        let asked = held.holding(quantity);
        let near = nearest(&asked, quantity).filter(|end| end.evaluation().worst_violation() <= KEPT)?;
        let is_of_gaps = quantity == Quantity::Clearance && near.evaluation().worst_residual() > KEPT;
        let fewer = is_of_gaps.then(|| fewest_let_go(&asked, &near, &starts, options)).flatten();
        let (asked, near) = fewer.unwrap_or((asked, near));
        if near.evaluation().worst_residual() <= KEPT {
            held = asked;
            // What was lost before is told beside this one too.
            for (lost, nearest_yet) in &mut lost {
                let beside = nearest(&held.holding(*lost), *lost);
                if let Some(beside) = beside.filter(|end| end.evaluation().worst_violation() <= KEPT) {
                    *nearest_yet = beside;
                }
            }
        } else {
            lost.push((quantity, near.clone()));
        }
        reached = Some(near);
    }
    let (mut given_up, mut places) = (Vec::new(), Vec::new());
    for (quantity, near) in lost {
        let asked_alone = problem.holding_only(quantity);
        let alone = nearest(&asked_alone, quantity)?;
        let beside_others = alone.evaluation().worst_residual() <= KEPT;
        let nearest_beside = most_broken(near.evaluation(), quantity)?;
        let nearest = if beside_others { nearest_beside } else { most_broken(alone.evaluation(), quantity)? };
        let limit = problem.limit_of_file(quantity);
        let ends = || held_back(&asked_alone, &bounds_of(problem), &alone.iterate).into_iter();
        let room = ends().find(|end| !beside_others && end.subject == ResidualOf::Limit(quantity));
        given_up.push(GivenUp { quantity, limit, nearest, nearest_beside, beside_others, by_steps: false, room });
        places.push((near.iterate.design_vector.clone(), problem.evaluate(&near.iterate.design_vector)?));
    }
    let reached_at = reached?.iterate.design_vector.clone();
    let reached = problem.evaluate(&reached_at)?;
    let relaxed = |places: &[&Evaluation]| {
        given_up.iter().fold(held.clone(), |problem, of| problem.reaching(of.quantity, places, 0.0))
    };
    let options = &SearchOptions { progress: &|| {}, ..*options };
    let searched = |problem: TuneProblem<'g>, also: Vec<Vec<f64>>| {
        let found = search_also_from(&problem, options, also);
        found.ends.first().is_some_and(|end| end.evaluation().worst_violation() <= KEPT).then_some((problem, found))
    };
    // A toe curve without a limit of its own would pay for what is nearest; where it alone is let go, it is what is nearest.
    let lets_toe_go = given_up.iter().any(|of| of.quantity == Quantity::BumpSteer);
    let may_be_nearest = problem.limit_of_file(Quantity::BumpSteer).is_some() && (!lets_toe_go || given_up.len() == 1);
    // No answer is further away than what is told as the nearest, which is one place from which it is searched.
    let mut also: Vec<Vec<f64>> = places.iter().map(|(start, _)| start.clone()).collect();
    also.extend((!also.contains(&reached_at)).then(|| reached_at.clone()));
    let at_nearest = || {
        let near = |problem: TuneProblem<'g>, (of, (_, place)): (&GivenUp, &(Vec<f64>, Evaluation))| {
            problem.reaching(of.quantity, &[place], ROOM_AT_NEAREST)
        };
        searched(given_up.iter().zip(&places).fold(held.clone(), near), also.clone())
    };
    let as_drawn = || drawn.as_ref().and_then(|drawn| searched(relaxed(&[drawn]), also.clone()));
    let reached_it = may_be_nearest.then(at_nearest).flatten().or_else(as_drawn);
    let (problem, found) = reached_it.or_else(|| {
        let places: Vec<&Evaluation> = drawn.iter().chain([&reached]).collect();
        searched(relaxed(&places), also.clone())
    })?;
    Some((problem, found, given_up))
}

/// The limits of the file that an evaluation breaks, in the order in which they are held.
pub(super) fn broken(evaluation: &Evaluation) -> Vec<Quantity> {
    let of_limit = |subject| match subject {
        ResidualOf::Limit(quantity) => Some(quantity),
        _ => None,
    };
    evaluation.broken_by(KEPT).into_iter().filter_map(of_limit).collect()
}

/// The value of a quantity that breaks its limit most.
pub(super) fn most_broken(evaluation: &Evaluation, of: Quantity) -> Option<f64> {
    let limits = evaluation.limits.iter().chain(&evaluation.objective);
    let own = limits.filter(|residual| residual.subject == ResidualOf::Limit(of) && residual.scaled().abs() > KEPT);
    let value = own.max_by(|a, b| a.scaled().abs().total_cmp(&b.scaled().abs())).map(|residual| residual.value)?;
    // Held with a sign, which is that of a bolt's direction and nobody's.
    Some(if of == Quantity::RodEndAngle { value.abs() } else { value })
}

/// The descent that breaks what is asked for least, of those that keep the rest when one does.
pub(super) fn nearest(problem: &TuneProblem, starts: &[Vec<f64>], options: &SearchOptions) -> Option<Descent> {
    let bounds = bounds_of(problem);
    let descend = |start: &Vec<f64>| descend(problem, &bounds, start, Objective::Worst, options.stop).ok();
    let mut ends: Vec<Descent> = starts.par_iter().filter_map(descend).collect();
    let size = |end: &Descent| {
        let violation = end.evaluation().worst_violation();
        (if violation <= LIMIT_TOLERANCE { 0.0 } else { violation }, end.evaluation().worst_residual())
    };
    ends.sort_by(|a, b| {
        let (a, b) = (size(a), size(b));
        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    ends.into_iter().next()
}
