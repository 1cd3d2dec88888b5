//! How near a limit that was let go is held: as near as costs the chance of the others no more than one search differs from the next.
//!
//! What is let go comes nearest where every other limit stands at its end, and there half of the built wheels break each of them. So the
//! chance of the others is made large first, with what was let go no further away than drawn, or anywhere where nothing is; from there
//! it is drawn nearer while that chance stays.

use rayon::iter::{IntoParallelRefIterator, ParallelIterator};

use super::already_tuned::{self, is_clearly_more_forgiving};
use super::descent::Descent;
use super::forgiveness::share_failing;
use super::given_up::{GivenUp, KEPT};
use super::most_forgiving::ForgivingSearch;
use super::problem::TuneProblem;
use super::residual::{Evaluation, Residual, ResidualOf};
use super::search::{Goal, SearchOptions, SearchResult, apart, bounds_of, search_also_from};
use super::stages::with_margins_that_are_kept;
use crate::geometry::{Interval, Quantity};

/// Distinct flat ends from which it is drawn nearer, beside the best so far.
const MAX_FLAT_STARTS: usize = 2;
/// How near is known to this power of a half of the way.
const HALVINGS: usize = 4;

/// The search with what was let go held as near as the others allow, in the place of the one that holds it as near as it can be; `None`
/// where built cars are held to nothing else, or the toe curve itself was let go.
pub(super) fn others_first<'g>(
    near: &TuneProblem<'g>,
    found: &SearchResult,
    given_up: &[GivenUp],
    options: &SearchOptions,
) -> Option<(TuneProblem<'g>, SearchResult)> {
    let lets_toe_go = given_up.iter().any(|of| of.quantity == Quantity::BumpSteer);
    let lets_none_go = !lets_gaps_go(near) && given_up.is_empty();
    if near.geometry.limits.is_empty() || lets_toe_go || lets_none_go || (options.stop)() {
        return None;
    }
    let far = no_worse_than_drawn(near)?;
    let quiet = &SearchOptions { progress: &|| {}, ..*options };
    let flattest = found.ends.first()?.evaluation();
    let (stages, free) = with_margins_that_are_kept(&far, flattest, quiet, |stages| {
        ForgivingSearch { stages, last: stages.last()?, options: quiet, accepts: &|_| true }.best(found)
    });
    let (last, free) = (stages.last()?, free?);
    share_failing(free.evaluation())?;
    let stays = already_tuned::drawn(&far).and(already_tuned::drawn(last));
    let (held, from) = match stays.filter(|drawn| !is_clearly_more_forgiving(&free, drawn)) {
        Some(drawn) => (far, drawn),
        None => drawn_nearer(near, &far, last, (free, found), quiet)?,
    };
    let from = vec![from.iterate.design_vector];
    let found = search_also_from(&held, options, from);
    found.ends.first().is_some_and(|end| end.evaluation().worst_violation() <= KEPT).then_some((held, found))
}

fn lets_gaps_go(problem: &TuneProblem) -> bool {
    let of_other = problem.other_shaft.as_ref().is_some_and(|other| !other.gaps.uncleared.is_empty());
    of_other || !problem.gaps.uncleared.is_empty()
}

/// With what was let go held where the drawn car has it, and nowhere nearer; of a car that has nothing drawn, held nowhere.
fn no_worse_than_drawn<'g>(near: &TuneProblem<'g>) -> Option<TuneProblem<'g>> {
    let is_new = near.variables.places_links();
    let mut far = if is_new { held_nowhere(near) } else { reaching_to(near, &near.as_drawn()?) };
    far.gaps = far.gaps.as_drawn();
    if let Some(other) = &mut far.other_shaft {
        other.gaps = other.gaps.as_drawn();
    }
    Some(far)
}

/// With limits that were let go in no band.
fn held_nowhere<'g>(near: &TuneProblem<'g>) -> TuneProblem<'g> {
    let mut far = near.clone();
    for relaxed in &mut far.relaxed {
        relaxed.band = None;
    }
    far
}

/// With limits that were let go in bands that reach to this place too.
fn reaching_to<'g>(near: &TuneProblem<'g>, place: &Evaluation) -> TuneProblem<'g> {
    let mut far = near.clone();
    for relaxed in &mut far.relaxed {
        let of_limit = |residual: &&Residual| residual.subject == ResidualOf::Limit(relaxed.quantity);
        let there = place.limits.iter().filter(of_limit).map(|residual| residual.value);
        relaxed.band = relaxed.band.and_then(|near| Interval::of([near.low, near.high].into_iter().chain(there)));
    }
    far
}

/// From the answer that forgives most, nearer by halves.
fn drawn_nearer<'g>(
    near: &TuneProblem<'g>,
    far: &TuneProblem<'g>,
    last: &TuneProblem<'g>,
    (free, found): (Descent, &SearchResult),
    options: &SearchOptions,
) -> Option<(TuneProblem<'g>, Descent)> {
    let bounds = bounds_of(near);
    let there = &free.iterate.design_vector;
    let (mut further, gaps) = (reaching_to(near, &far.evaluate(there)?), far.holding_gaps_of(there)?.gaps);
    further.gaps = gaps;
    let far = &further;
    let place = |end: &Descent| end.iterate.design_vector.clone();
    let flat = apart(found.common_ends.iter(), &[], MAX_FLAT_STARTS);
    let (mut reached, mut best) = (0.0, free.clone());
    let (mut beyond, mut share) = (1.0, 1.0);
    for _ in 0..=HALVINGS {
        let asked = last.held_as(&between(near, far, share));
        let descend = |start: &Vec<f64>| Goal::MostForgiving.descend(&asked, &bounds, start, options).ok();
        let is_kept =
            |end: &Descent| end.evaluation().worst_violation() <= KEPT && !is_clearly_more_forgiving(&free, end);
        // Where it is nearer another place may be the best one, that of the flattest ends perhaps.
        let starts: Vec<Vec<f64>> = std::iter::once(&best).chain(flat.iter().copied()).map(place).collect();
        let kept: Vec<Descent> = starts.par_iter().filter_map(descend).filter(is_kept).collect();
        match kept.into_iter().min_by(|a, b| Goal::MostForgiving.order(a, b)) {
            Some(end) => (reached, best) = (share, end),
            None => beyond = share,
        }
        if reached == 1.0 {
            break;
        }
        share = f64::midpoint(reached, beyond);
    }
    Some((between(near, far, reached), best))
}

/// So much of the way from one to the other.
fn between<'g>(near: &TuneProblem<'g>, far: &TuneProblem<'g>, share: f64) -> TuneProblem<'g> {
    let of = |near: f64, far: f64| far + share * (near - far);
    let mut held = near.clone();
    for relaxed in &mut held.relaxed {
        let far = far.relaxed.iter().find(|other| other.quantity == relaxed.quantity).and_then(|other| other.band);
        if let (Some(near), Some(far)) = (&mut relaxed.band, far) {
            *near = Interval { low: of(near.low, far.low), high: of(near.high, far.high) };
        }
    }
    held.gaps = near.gaps.between(&far.gaps, share);
    if let (Some(held), Some(far)) = (&mut held.other_shaft, &far.other_shaft) {
        held.gaps = held.gaps.between(&far.gaps, share);
    }
    held
}
