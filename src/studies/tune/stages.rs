//! What the most forgiving answer is judged by, stage by stage, and the margins of its limits.

use super::descent::Descent;
use super::forgiveness::Forgiveness;
use super::given_up::KEPT;
use super::problem::TuneProblem;
use super::residual::{Evaluation, ResidualOf};
use super::search::SearchOptions;
use crate::studies::errors::ErrorModel;

/// Shares of a margin that are asked for in turn where the whole cannot be kept.
const SHARES: [f64; 2] = [0.5, 0.0];

/// The stages and the answer that they lead to. A margin that cannot be kept within the rooms would be the largest violation
/// everywhere, and the search would give the chance for a little less of it: half of it is asked for then, or none.
pub(super) fn with_margins_that_are_kept<'g>(
    problem: &TuneProblem<'g>,
    flattest: &Evaluation,
    options: &SearchOptions,
    search: impl Fn(&[TuneProblem<'g>]) -> Option<Descent>,
) -> (Vec<TuneProblem<'g>>, Option<Descent>) {
    let mut shares: Vec<(ResidualOf, f64)> = Vec::new();
    let mut asked = stages(problem, flattest, &shares);
    let mut found = search(&asked);
    for share in SHARES {
        let broken = found.as_ref().map_or_else(Vec::new, |end| without_margin(end.evaluation()));
        if broken.is_empty() || (options.stop)() {
            break;
        }
        shares.retain(|(of, _)| !broken.contains(of));
        shares.extend(broken.into_iter().map(|of| (of, share)));
        let less = stages(problem, flattest, &shares);
        let end = search(&less);
        // Where a search finds nothing or was stopped, the one before it is the best so far.
        if end.is_none() || (options.stop)() {
            break;
        }
        (asked, found) = (less, end);
    }
    (asked, found)
}

/// Limits that an answer which keeps them all does not keep with their margin.
fn without_margin(judged: &Evaluation) -> Vec<ResidualOf> {
    let broken = judged.broken_by(KEPT).into_iter();
    broken.filter(|subject| !matches!(subject, ResidualOf::Target(_))).collect()
}

/// A chance is first blurred so far that cars which fail by much count too, then nearly as sharp as it is, in standard
/// deviations.
const BLUR_SD: [f64; 2] = [0.6, 0.15];

/// What is forgiven in turn, from the smoothest to what decides; targets with room that the flattest answer reaches are held.
fn stages<'g>(problem: &TuneProblem<'g>, flattest: &Evaluation, shares: &[(ResidualOf, f64)]) -> Vec<TuneProblem<'g>> {
    let (geometry, side) = (problem.geometry, problem.variables.drawn().side);
    let errors = ErrorModel::of_file(geometry)[side].clone();
    let mut forgiven = vec![Forgiveness::least_square(errors.clone())];
    if !geometry.limits.is_empty() {
        forgiven.extend(BLUR_SD.map(|blur_sd| Forgiveness::largest_chance(errors.clone(), side, blur_sd)));
    }
    let reached = flattest.targets_with_room_reached();
    let held = |of: Forgiveness| of.holding(reached.clone()).with_margins(shares.to_vec());
    forgiven.into_iter().map(|forgiven| problem.forgiving(held(forgiven))).collect()
}
