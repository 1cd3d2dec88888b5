//! Whether an answer is worth leaving the drawn car for.
//!
//! Two searches of one car end at answers whose chances differ by some per cent, so an answer that is better by no more than
//! that would move every bracket for nothing, again and again when a tuned car is tuned.

use super::descent::Descent;
use super::forgiveness::share_failing;
use super::given_up::KEPT;
use super::iterate::Iterate;
use super::problem::TuneProblem;
use super::search::FLAT;
use crate::studies::termination::Termination;

/// What answers of one car differ by from seed to seed, as a proportion.
pub(super) const NOISE: f64 = 0.1;
/// Of cars that nearly all pass, such a share of those that fail must come to pass.
const OF_FAILURES: f64 = 0.5;
/// A chance is not known better than this.
const ONE_CAR: f64 = 0.002;

/// The drawn car as an answer; `None` when it breaks a limit, or what is asked cannot be read from it.
pub(super) fn drawn(problem: &TuneProblem) -> Option<Descent> {
    let evaluation = problem.as_drawn().filter(|drawn| drawn.worst_violation() <= KEPT)?;
    let design_vector = vec![0.0; problem.variables.list.len()];
    Some(Descent { iterate: Iterate { design_vector, evaluation }, termination: Termination::Converged })
}

/// The toe curve and the targets are met better by more than noise.
pub(super) fn is_clearly_flatter(answer: &Descent, drawn: &Descent) -> bool {
    let (there, here) = (answer.evaluation().worst_residual(), drawn.evaluation().worst_residual());
    here > FLAT && there < (1.0 - NOISE) * here
}

/// More built cars pass, by more than noise; without a limit that cars are tried on, their toe curves are flatter by as much.
pub(super) fn is_clearly_more_forgiving(answer: &Descent, drawn: &Descent) -> bool {
    match (share_failing(answer.evaluation()), share_failing(drawn.evaluation())) {
        (Some(there), Some(here)) => fail_clearly_less(there, here),
        _ => answer.evaluation().half_square() < (1.0 - NOISE) * drawn.evaluation().half_square(),
    }
}

/// Of two shares of cars that fail, the first is smaller by more than answers of one car differ by.
pub(super) fn fail_clearly_less(there: f64, here: f64) -> bool {
    here - there > (NOISE * (1.0 - here).abs()).max(ONE_CAR).min(OF_FAILURES * here)
}
