//! The run of a tuning: the searches of each side, and the answers among what they find.

use super::already_tuned::{self, is_clearly_flatter, is_clearly_more_forgiving};
use super::answer::{Answer, TunedSide, answer, limits_let_go};
use super::as_built::best_as_built;
use super::clearance::UnclearedPair;
use super::descent::Descent;
use super::given_up::within_reach;
use super::held_back::{chance_held_back, targets_held_back};
use super::most_forgiving::ForgivingSearch;
use super::other_shaft::of_other_shaft;
use super::others_first::others_first;
use super::problem::{OtherWheel, TOE_DEG, TuneProblem};
use super::residual::ResidualOf;
use super::search::{
    LIMIT_TOLERANCE, MAX_ANSWERS, SearchOptions, are_equal, bounds_of, differ, distinct, is_idle, search,
};
use super::stages::with_margins_that_are_kept;
use super::through_travel::{Against, AsDrawn, AsWritten, Reader};
use super::too_near::{with_gaps_parted, with_most_told, without_lost_gaps};
use super::tune_error::TuneError;
use super::tuned_car::tuned_geometry;
use super::whole_steps::flattest_on_steps;
use crate::geometry::{Geometry, Quantity, Side, Whose};
use crate::studies::design_variables::DesignVariables;
use crate::studies::rig::RigWheel;

/// As many as a search has that is told no number.
const FIRST_STARTS: usize = 8;
/// So many times as many starts are searched next: the earlier ones are a third of all at most.
const TIMES_AS_MANY: usize = 4;

/// Tunes every side of a car that has variables of its own; a mirrored car is tuned on the left. An answer that binds
/// inside its travel once it is written down is none.
pub fn tune(
    geometry: &Geometry,
    sides: &[Side],
    options: &SearchOptions,
    as_written: AsWritten,
) -> Result<Vec<TunedSide>, TuneError> {
    if let Some(link) = geometry.without_room().into_iter().next() {
        return Err(TuneError::NoRoom { link });
    }
    let sides = if geometry.mirrored { &[Side::Left][..] } else { sides };
    let lacking = Side::BOTH.into_iter().find(|side| !sides.contains(side) && !geometry.is_placed(*side));
    if let Some(side) = lacking.filter(|_| !geometry.mirrored) {
        return Err(TuneError::OtherSideWithoutPickups { side });
    }
    let free = sides.iter().copied().filter(|&side| !DesignVariables::of(geometry, side).list.is_empty());
    match free.collect::<Vec<_>>()[..] {
        [] => Err(TuneError::NothingFree),
        [left, right] => tune_both(geometry, [left, right], options, as_written),
        [side, ..] => {
            let other = if geometry.mirrored { OtherWheel::MovesAlike } else { OtherWheel::StaysAsDrawn };
            Ok(vec![tune_side(geometry, (side, other), options, as_written)?])
        }
    }
}

/// Both wheels of a car whose sides have points of their own. What the axle keeps is kept by both: the first wheel is tuned as if the
/// other one moved like it, and that beside the answer of the first. Beside the other one as drawn, which goes away, the first would
/// make up for what that does wrong.
fn tune_both(
    geometry: &Geometry,
    [first, second]: [Side; 2],
    options: &SearchOptions,
    as_written: AsWritten,
) -> Result<Vec<TunedSide>, TuneError> {
    let beside = |side: Side, other: &TunedSide| {
        let tuned = tuned_geometry(geometry, &[(other.side, other.chosen(options.choice))]);
        let mut car = geometry.clone();
        *car.corner_mut(other.side) = tuned.corner(other.side).clone();
        car.adjustments[other.side] = tuned.adjustments[other.side].clone();
        tune_side(&car, (side, OtherWheel::StaysAsDrawn), options, as_written)
    };
    let of_first = tune_side(geometry, (first, OtherWheel::MovesAlike), options, as_written)?;
    let of_second = beside(second, &of_first)?;
    let keeps_axle = |side: &TunedSide| !side.given_up.iter().any(|of| of.quantity.definition().whose == Whose::Axle);
    if keeps_axle(&of_second) {
        return Ok(vec![of_first, of_second]);
    }
    // What the second one cannot make up for, the first one may.
    let again = beside(first, &of_second)?;
    Ok(vec![if keeps_axle(&again) { again } else { of_first }, of_second])
}

/// Of many starts the first few are searched to the end before the others, and then ever more of them: a search that is stopped has the
/// answer of all its stages from so many. Half of many descents, and none of what follows them, are no answer.
fn tune_side(
    geometry: &Geometry,
    wheel: (Side, OtherWheel),
    options: &SearchOptions,
    as_written: AsWritten,
) -> Result<TunedSide, TuneError> {
    let (mut whole, mut starts) = (None, FIRST_STARTS);
    loop {
        let is_last = starts >= options.starts;
        let options = &SearchOptions { starts: starts.min(options.starts), ..*options };
        let found = tune_side_from(geometry, wheel, options, as_written);
        if (options.stop)() {
            return whole.map_or(found, Ok);
        }
        if is_last {
            return found;
        }
        whole = found.ok().or(whole);
        starts *= TIMES_AS_MANY;
    }
}

fn tune_side_from(
    geometry: &Geometry,
    (side, other): (Side, OtherWheel),
    options: &SearchOptions,
    as_written: AsWritten,
) -> Result<TunedSide, TuneError> {
    if let Some(target) = geometry.targets.list.iter().find(|target| !geometry.has_data_for(target.quantity, side)) {
        return Err(TuneError::NotMeasurable { side, quantity: target.quantity });
    }
    let drawn = geometry.is_placed(side).then(|| RigWheel::new(geometry, side).ok()).flatten();
    let problem = TuneProblem::beside(other, geometry, (side, DesignVariables::of(geometry, side), drawn.as_ref()));
    let idle = (0..problem.variables.list.len()).find(|&index| is_idle(&problem, index) == Some(true));
    if let Some(index) = idle {
        return Err(TuneError::ChangesNothing { side, variable: problem.variables.list[index].kind });
    }
    let as_drawn = AsDrawn::of(&problem, drawn.as_ref());
    let bounds = bounds_of(&problem);
    let found = search(&problem, options);
    let (problem, found) = without_lost_gaps(&problem, &found, options).unwrap_or((problem, found));
    let (problem, found, given_up) =
        within_reach(&problem, &found, options).unwrap_or_else(|| (problem, found, Vec::new()));
    let (problem, found) = with_gaps_parted(&problem, &found, options).unwrap_or((problem, found));
    let (problem, found) = others_first(&problem, &found, &given_up, options).unwrap_or((problem, found));
    let problem = with_most_told(problem, &found, options);
    let (problem, found, given_up) = flattest_on_steps(problem, found, given_up, options);
    let reader = Reader::new(geometry, side, as_written);
    // A search that was stopped leaves many ends that are no more than starts: the best that moves is told with its doubts.
    let is_stopped = (options.stop)();
    let corner_of = |end: &Descent| problem.variables.apply(&end.iterate.design_vector).at_rest();
    let against = |end: &Descent| reader.against(&corner_of(end)?, !is_stopped);
    let (mut first_bind, mut doubts) = (None, Vec::new());
    let mut good = distinct(&found.ends, |end| match against(end) {
        None => true,
        Some(Against::Bind(bind)) => {
            first_bind.get_or_insert(bind);
            false
        }
        Some(Against::Doubts(_)) => false,
    });
    let drawn = already_tuned::drawn(&problem).filter(|_| as_drawn.worst_deg().is_some());
    if let Some(drawn) = drawn.filter(|drawn| !good.first().is_some_and(|best| is_clearly_flatter(best, drawn))) {
        good.retain(|end| differ(end, &drawn));
        good.insert(0, drawn);
    }
    if good.is_empty() {
        good = distinct(&found.ends, |end| match against(end) {
            Some(Against::Doubts(of_best)) => {
                let is_best = doubts.is_empty();
                doubts.extend(is_best.then_some(of_best).into_iter().flatten());
                is_best
            }
            _ => false,
        });
    }
    if let Some(best) = good.first().filter(|_| is_stopped)
        && let Some(Against::Doubts(of_best)) = corner_of(best).and_then(|corner| reader.against(&corner, true))
    {
        doubts = of_best;
    }
    let answers: Vec<Answer> = good.iter().filter_map(|end| answer(&problem, &bounds, end)).collect();
    if answers.is_empty() {
        let no_start = without_value(&problem)
            .map_or(TuneError::NoStart { side }, |quantity| TuneError::NoValue { side, quantity });
        return Err(first_bind.map_or(no_start, |bind| TuneError::BindsAsWritten { bind }));
    }
    // No limit may be broken that the flattest answer keeps.
    let worst_violation = good[0].evaluation().worst_violation().max(LIMIT_TOLERANCE);
    let keeps_limits = |end: &Descent| end.evaluation().worst_violation() <= worst_violation;
    // Where no end is free of doubts, the rooms of the file may ask for what is doubted: no other doubt may come with it.
    let no_worse = reader.knowing(&doubts);
    let is_sound = |end: &Descent| {
        let corner = corner_of(end);
        corner.is_none_or(|corner| no_worse.against(&corner, !is_stopped).is_none())
    };
    // Figures of the drawing, limits as the file has them.
    let accepts = |end: &Descent| end.judged_by(&problem).is_some_and(|drawn| keeps_limits(&drawn) && is_sound(&drawn));
    let (stages, forgiving) = with_margins_that_are_kept(&problem, good[0].evaluation(), options, |stages| {
        ForgivingSearch { stages, last: stages.last()?, options, accepts: &accepts }.best(&found)
    });
    let forgiving = forgiving.and_then(|end| Some((end.judged_by(&problem)?, end)));
    let stayed = already_tuned::drawn(&problem).zip(stages.last().and_then(already_tuned::drawn));
    let forgiving = match (forgiving, stayed.filter(|_| as_drawn.worst_deg().is_some())) {
        (Some((_, end)), Some((drawn, stayed))) if !is_clearly_more_forgiving(&end, &stayed) => Some((drawn, stayed)),
        (None, Some(stayed)) => Some(stayed),
        (forgiving, _) => forgiving,
    };
    let forgiving = forgiving.and_then(|(drawn, end)| {
        let answer = answer(&problem, &bounds, &drawn)?;
        let is_kept = drawn.evaluation().worst_violation() <= LIMIT_TOLERANCE && given_up.is_empty();
        let has_chance = !geometry.limits.is_empty() && is_kept;
        let by_targets = targets_held_back(&problem, &bounds, &end.iterate);
        let held_back = match has_chance {
            _ if !by_targets.is_empty() => by_targets,
            true => chance_held_back(&problem, &bounds, &end.iterate),
            false => answer.held_back,
        };
        Some(Answer { held_back, ..answer })
    });
    let let_go = |mut answer: Answer| {
        answer.limits_hold &= given_up.is_empty();
        answer.at_limits.retain(|at| given_up.iter().all(|of| *at != ResidualOf::Limit(of.quantity)));
        answer
    };
    let other_gaps = problem.other_shaft.as_ref().map(|other| &other.gaps);
    let has_uncleared = [Some(&problem.gaps), other_gaps].into_iter().flatten().any(|gaps| !gaps.uncleared.is_empty());
    let not_kept = limits_let_go(&given_up, has_uncleared);
    // A car is left for no worse one, and a sound answer for none that is doubted.
    let stayed = already_tuned::drawn(&problem).filter(|_| as_drawn.worst_deg().is_some());
    let stayed = stayed.and_then(|drawn| answer(&problem, &bounds, &drawn));
    let best = |forgiving: Answer| {
        let others = answers.iter().filter(|_| doubts.is_empty()).chain(&stayed);
        best_as_built(geometry, side, (&forgiving, &answers[0], others), as_written, &not_kept)
    };
    let (forgiving, built) = forgiving.map(best).unzip();
    let answers = match &forgiving {
        Some(forgiving) if doubts.is_empty() => with_flatter(geometry, answers, forgiving),
        _ => answers,
    };
    let forgiving_doubts = match forgiving.as_ref().map(|answer| reader.against(&answer.corner, true)) {
        Some(Some(Against::Doubts(doubts))) => doubts,
        _ => Vec::new(),
    };
    let (answers, forgiving) = (answers.into_iter().map(let_go).collect(), forgiving.map(let_go));
    let (starts, other_binds) = (found.starts, problem.other_binds);
    let mut uncleared = problem.gaps.uncleared;
    uncleared.extend(problem.other_shaft.into_iter().flat_map(|other| {
        let named = move |of: UnclearedPair| UnclearedPair { pair: of_other_shaft(&of.pair, other.side), ..of };
        other.gaps.uncleared.into_iter().map(named)
    }));
    let built = built.unwrap_or_default();
    Ok(TunedSide {
        side,
        as_drawn,
        answers,
        forgiving,
        built,
        starts,
        uncleared,
        given_up,
        doubts,
        forgiving_doubts,
        other_binds,
    })
}

/// With the most forgiving answer as the flattest one where it steers less on paper; targets are met in its place. The drawn car is left
/// for a clearly flatter one alone.
fn with_flatter(geometry: &Geometry, mut answers: Vec<Answer>, forgiving: &Answer) -> Vec<Answer> {
    let has_targets = !geometry.targets.list.is_empty() || geometry.targets.toe.is_some();
    let flattest = &answers[0];
    let is_flatter = !are_equal(flattest.worst_bump_steer_deg / TOE_DEG, forgiving.worst_bump_steer_deg / TOE_DEG)
        && forgiving.worst_bump_steer_deg < flattest.worst_bump_steer_deg;
    if is_flatter && !has_targets && !flattest.stays() && forgiving.limits_hold >= flattest.limits_hold {
        answers.insert(0, forgiving.clone());
        answers.truncate(MAX_ANSWERS);
    }
    answers
}

/// A target that has no finite value on the drawn car, though that moves.
fn without_value(problem: &TuneProblem) -> Option<Quantity> {
    let mut targets = problem.geometry.targets.list.iter().map(|target| target.quantity);
    targets.find(|&quantity| problem.has_value_as_drawn(quantity) == Some(false))
}
