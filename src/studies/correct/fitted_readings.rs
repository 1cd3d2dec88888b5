//! The readings of the last round, each beside what the estimate makes of it.

use super::estimate::{Estimate, Fitted};
use super::finding::FittedReading;
use super::finished_wheel::ByPosture;
use super::in_inches::{from_inches, is_length};
use super::instrument::Shows;
use super::problem::seen;
use crate::gauge::ReadSide;
use crate::geometry::Side;

/// The readings of the last round that have to do with a wheel.
pub(super) fn fitted_readings(estimate: &Estimate<'_>, wheel: usize) -> Option<Vec<FittedReading>> {
    let side = estimate.problem.wheels[wheel].drawn.corner.side;
    of_last_round(estimate, side).map(|fitted| fitted_reading(estimate, wheel, fitted)).collect()
}

pub(super) fn of_last_round<'e>(estimate: &'e Estimate<'_>, side: Side) -> impl Iterator<Item = &'e Fitted> {
    let last = estimate.problem.rounds() - 1;
    let of_round = estimate.fitted.iter().filter(move |fitted| fitted.observation.round == last);
    of_round.filter(move |fitted| [ReadSide::One(side), ReadSide::Both].contains(&fitted.observation.reading.side))
}

/// A number that is far off as it stands, and no further than noise had it been read in inches.
fn fits_as_inches(fitted: &Fitted) -> bool {
    const NEAR_SDS: f64 = 4.0;
    let number = fitted.observation.number;
    let by_others = number.value - fitted.residual * number.sd;
    let off_sds = (from_inches(number.value) - by_others) / number.sd;
    fitted.is_suspect && is_length(number.shows) && off_sds.abs() < NEAR_SDS
}

/// A reading beside the estimate, as the wheel `of` is concerned by it.
fn fitted_reading(estimate: &Estimate<'_>, of: usize, fitted: &Fitted) -> Option<FittedReading> {
    let (problem, observation) = (&estimate.problem, &fitted.observation);
    let number = observation.number;
    let (mut fitted_deg, mut per_deg) = (0.0, 1.0);
    let (mut at_bump_mm, mut change_deg, mut wheels) = (0.0, 0.0, 0.0);
    for wheel in problem.seen_by(observation) {
        let unknowns = problem.wheel(&estimate.unknowns, wheel, observation.round);
        let bump_mm = observation.reading.bump_mm + unknowns.bump_zero_mm;
        let prior = &problem.wheels[wheel];
        let changes = &prior.changes[observation.round];
        let finished = prior.drawn.finished(&unknowns.errors_mm, changes, unknowns.toe_off_deg, &[bump_mm])?;
        let seen = seen(&finished, &finished.at(bump_mm)?);
        wheels += 1.0;
        if wheel == of {
            (at_bump_mm, change_deg) = (bump_mm, seen.toe_deg - finished.toe_deg(&finished.at(0.0)?));
        }
        let ByPosture { toe, camber, .. } = number.shows.by(&seen);
        let is_camber = number.shows == Shows::Camber;
        fitted_deg += if is_camber { seen.camber_deg } else { seen.toe_deg };
        per_deg = if is_camber { camber } else { toe };
    }
    let off_deg = fitted.residual * number.sd / per_deg;
    Some(FittedReading {
        line: observation.reading.line,
        of_both: observation.reading.side == ReadSide::Both,
        of: if number.shows == Shows::Camber { "camber" } else { "toe" },
        bump_mm: observation.reading.bump_mm,
        at_bump_mm,
        toe_change_deg: (number.shows != Shows::Camber).then_some(change_deg + off_deg / wheels),
        read_deg: fitted_deg + off_deg,
        fitted_deg,
        standardised: fitted.standardised,
        is_suspect: fitted.is_suspect,
        fits_as_inches: fits_as_inches(fitted),
    })
}
