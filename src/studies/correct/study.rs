//! From a drawing and gauge readings to what is to be done about both wheels.

use rayon::prelude::*;

use super::adjuster::{toe_link, toe_setting};
use super::estimate::{Estimate, Fitted, NoEstimate};
use super::finding::{CorrectFindings, Estimated, FittedReading, Lash, WheelCorrection};
use super::finished_wheel::{ByPosture, Changes, DrawnWheel};
use super::instrument::{Shows, toe_sd_deg};
use super::lash::{contradiction, lash};
use super::misread::{FitsBetter, fits_better};
use super::prescription::{Patient, setting_sd_deg};
use super::problem::{PriorWheel, Problem, seen};
use super::refusal::NotCorrected;
use super::request::CorrectRequest;
use super::steadiness::{from_inches, is_length, quiet, stuck};
use super::told_apart::{pickups, told_apart};
use crate::gauge::{Change, GaugeReading, ReadSide, Round};
use crate::geometry::{Coordinate, Geometry, Interval, PerSide, Side};
use crate::measures::{Measure, gradient};
use crate::mechanism::{Linkage, PostureSensitivity, WheelPath};
use crate::studies::errors::ErrorModel;
use crate::studies::stations::stations;

/// What is looser than this, deg, is not corrected: play of about 0.1 mm in both ends of a toe link.
const MAX_LASH_DEG: f64 = 0.1;

impl CorrectFindings {
    /// Of a car as drawn and what was read of it since it was finished.
    pub fn of(geometry: &Geometry, request: &CorrectRequest) -> Self {
        let rounds = Rounds::new(request);
        let drawn = PerSide::of(|side| DrawnWheel::new(geometry, side));
        let ready = PerSide::of(|side| {
            drawn[side].as_ref().map_err(Clone::clone).and_then(|drawn| rounds.checked(drawn).map(|()| drawn))
        });
        let wheels = match &ready {
            PerSide { left: Ok(left), right: Ok(right) } if rounds.reads_both_at_once() => {
                let [left, right] = rounds
                    .corrected(&[left, right])
                    .try_into()
                    .unwrap_or_else(|_| Side::BOTH.map(|side| Err(NotCorrected::NoReadings { side })));
                PerSide { left, right }
            }
            _ => {
                let one = |side: Side| {
                    let drawn = ready[side].clone()?;
                    rounds.corrected(&[drawn]).pop().unwrap_or(Err(NotCorrected::NoReadings { side }))
                };
                let (left, right) = rayon::join(|| one(Side::Left), || one(Side::Right));
                PerSide { left, right }
            }
        };
        Self { name: geometry.name.clone(), wheels, noise: request.noise, seed: request.seed }
    }
}

impl<'g> DrawnWheel<'g> {
    /// One wheel of a car; refused when it cannot be moved through its travel as drawn.
    pub(super) fn new(geometry: &'g Geometry, side: Side) -> Result<Self, NotCorrected> {
        let corner = geometry.corner(side);
        let linkage = Linkage::new(corner);
        let singular = || NotCorrected::Singular { side };
        let path = WheelPath::follow(&linkage, &rows_mm(geometry)).map_err(|_| singular())?;
        if let Some(bind) = path.binds_in_bump.or(path.binds_in_droop) {
            return Err(NotCorrected::Binds { side, bind });
        }
        let design = path.at(0.0).ok_or_else(singular)?;
        let sensitivity = PostureSensitivity::new(&linkage, &design).map_err(|_| singular())?;
        let toe = gradient(Measure::Toe, corner, &geometry.car, &design, &sensitivity).ok_or_else(singular)?;
        let toe_by_length = toe.links.length;
        Ok(Self { geometry, corner, linkage, toe_link: toe_link(corner, &toe_by_length), toe_by_length })
    }
}

/// Rows of bump and droop, mm.
fn rows_mm(geometry: &Geometry) -> Vec<f64> {
    let travel = &geometry.travel;
    stations(-travel.droop_mm, travel.bump_mm, travel.step_mm)
}

/// All gaugings of a car, the last one of the car as it stands.
struct Rounds<'r> {
    all: Vec<Round>,
    request: &'r CorrectRequest,
}

impl<'r> Rounds<'r> {
    fn new(request: &'r CorrectRequest) -> Self {
        let now = Round { readings: request.readings.clone(), noise: request.noise, changes: PerSide::default() };
        Self { all: request.earlier.iter().cloned().chain([now]).collect(), request }
    }

    /// Some round has readings of both wheels together, so that both must be found together.
    fn reads_both_at_once(&self) -> bool {
        self.all.iter().flat_map(|round| &round.readings.readings).any(|reading| reading.side == ReadSide::Both)
    }

    fn now(&self) -> &Round {
        &self.all[self.all.len() - 1]
    }

    fn readings_of(&self, side: Side) -> impl Iterator<Item = &GaugeReading> {
        let of_side = move |reading: &&GaugeReading| [ReadSide::One(side), ReadSide::Both].contains(&reading.side);
        self.now().readings.readings.iter().filter(of_side)
    }

    /// Whether the readings of a wheel are fit to be used.
    fn checked(&self, drawn: &DrawnWheel<'_>) -> Result<(), NotCorrected> {
        let side = drawn.corner.side;
        let first = self.readings_of(side).next().ok_or(NotCorrected::NoReadings { side })?;
        if self.readings_of(side).all(|reading| reading.bump_mm == first.bump_mm) {
            return Err(NotCorrected::OneHeight { side, line: first.line });
        }
        let travel = &drawn.geometry.travel;
        let is_beyond = |reading: &&GaugeReading| !(-travel.droop_mm..=travel.bump_mm).contains(&reading.bump_mm);
        if let Some(GaugeReading { line, bump_mm, .. }) = self.readings_of(side).find(is_beyond) {
            return Err(NotCorrected::BeyondReach { side, line: *line, bump_mm: *bump_mm });
        }
        // At one height alone play cannot be told from a reading that is wrong.
        let loose = lash(self.now(), side).filter(|lash| lash.is_loose && lash.heights > 1);
        if let Some(Lash { up_less_down_deg, in_inches, .. }) =
            loose.filter(|lash| lash.up_less_down_deg.abs() > MAX_LASH_DEG)
        {
            return Err(NotCorrected::Loose { side, up_less_down_deg, in_inches });
        }
        let sides = [ReadSide::One(side), ReadSide::Both];
        sides.into_iter().find_map(|side| contradiction(self.now(), side)).map_or(Ok(()), Err)
    }

    /// Changes of one wheel that had been made when each round was read.
    fn changes(&self, side: Side) -> Vec<Changes> {
        let mut so_far = Changes::default();
        let of_round = |round: &Round| {
            let before = so_far;
            so_far = so_far.with(&round.changes[side]);
            before
        };
        self.all.iter().map(of_round).collect()
    }

    /// Wheels that are found together, in their order.
    fn corrected(&self, wheels: &[&DrawnWheel<'_>]) -> Vec<Result<WheelCorrection, NotCorrected>> {
        let prior = |drawn: &&'_ DrawnWheel<'_>| {
            let side = drawn.corner.side;
            ErrorModel::of_file(drawn.geometry)[side].clone()
        };
        let errors: Vec<ErrorModel> = wheels.iter().map(prior).collect();
        let prior_wheels = wheels.iter().zip(errors).map(|(drawn, errors)| PriorWheel {
            drawn,
            errors,
            changes: self.changes(drawn.corner.side),
        });
        let prior_wheels: Vec<PriorWheel<'_>> = prior_wheels.collect();
        let problem = |now: &Round| {
            let earlier = self.all[..self.all.len() - 1].iter();
            Problem::new(prior_wheels.clone(), &earlier.chain([now]).collect::<Vec<_>>())
        };
        let better = wheels.first().and_then(|drawn| {
            let travel = &drawn.geometry.travel;
            let travel = Interval { low: -travel.droop_mm, high: travel.bump_mm };
            fits_better(&self.of_wheels_now(wheels), travel, problem)
        });
        match Estimate::of(&problem(self.now())) {
            Ok(estimate) => {
                let of_wheel = |wheel: usize| {
                    let found = self.of_wheel(&estimate, wheel)?;
                    Ok(WheelCorrection { fits_better: better.clone(), ..found })
                };
                (0..wheels.len()).into_par_iter().map(of_wheel).collect()
            }
            Err(why) => wheels.iter().map(|drawn| Err(self.no_estimate(drawn, &why, better.clone()))).collect(),
        }
    }

    /// The last gauging with the readings of these wheels alone.
    fn of_wheels_now(&self, wheels: &[&DrawnWheel<'_>]) -> Round {
        let mut now = self.now().clone();
        let is_read = |side: ReadSide| match side {
            ReadSide::One(side) => wheels.iter().any(|drawn| drawn.corner.side == side),
            ReadSide::Both => true,
        };
        now.readings.readings.retain(|reading| is_read(reading.side));
        now
    }

    fn no_estimate(&self, drawn: &DrawnWheel<'_>, why: &NoEstimate, better: Option<FitsBetter>) -> NotCorrected {
        let side = drawn.corner.side;
        match why {
            NoEstimate::OutOfReach => match self.impossible_round(drawn) {
                Some(round) => NotCorrected::ImpossibleRound { side, round },
                None => NotCorrected::NotMoving { side },
            },
            NoEstimate::DoesNotFit(worst) => NotCorrected::DoesNotFit {
                side,
                lines: worst.iter().take(3).map(|fitted| fitted.observation.reading.line).collect(),
                sds: worst.first().map_or(f64::NAN, |fitted| fitted.residual.abs()),
                fits_better: better,
            },
        }
    }

    /// The first round after whose changes the drawn wheel no longer moves through its travel; counted from 1.
    fn impossible_round(&self, drawn: &DrawnWheel<'_>) -> Option<usize> {
        let moves =
            |changes: &Changes| drawn.finished(&[0.0; Coordinate::COUNT], changes, 0.0, &rows_mm(drawn.geometry));
        // What was changed in a round shows in the readings of the next.
        self.changes(drawn.corner.side).iter().position(|changes| moves(changes).is_none())
    }

    fn of_wheel(&self, estimate: &Estimate<'_>, wheel: usize) -> Result<WheelCorrection, NotCorrected> {
        let problem = &estimate.problem;
        let drawn = problem.wheels[wheel].drawn;
        let side = drawn.corner.side;
        let now = self.now();
        let earlier: Vec<Change> =
            self.request.earlier.iter().flat_map(|round| round.changes[side].iter().copied()).collect();
        let reading_sd_deg = toe_sd_deg(now.readings.instrument, &now.noise);
        let stations_mm = rows_mm(drawn.geometry);
        let patient = Patient {
            estimate,
            wheel,
            earlier: &earlier,
            stations_mm: &stations_mm,
            setting_sd_deg: setting_sd_deg(drawn, reading_sd_deg, now.noise.toe_offset_sd_deg),
            seed: self.request.seed,
        };
        let not_moving = || NotCorrected::NotMoving { side };
        let found = patient.prescription().ok_or_else(not_moving)?;
        let last = problem.rounds() - 1;
        let likely = problem.wheel(&estimate.unknowns, wheel, last);
        let [height, _] = problem.round_of(wheel, last);
        let readings = fitted_readings(estimate, wheel).ok_or_else(not_moving)?;
        let in_inches: Vec<usize> =
            readings.iter().filter(|reading| reading.fits_as_inches).map(|reading| reading.line).collect();
        Ok(WheelCorrection {
            worst_bump_steer_deg: found.worst,
            changes: found.changes,
            advice: found.advice,
            toe_link: drawn.corner.links[drawn.toe_link].name.clone(),
            toe_setting: toe_setting(drawn),
            camber_deg: found.camber,
            adjusters_assumed: found.adjusters_assumed,
            search: found.search,
            told_apart: told_apart(estimate, wheel),
            readings,
            fits_better: None,
            stuck: stuck(now, side),
            quiet: quiet(of_last_round(estimate, side)),
            lash: lash(&now.without(&in_inches), side),
            toe_by_play_deg_per_mm: drawn.toe_by_length.map(f64::abs),
            bump_zero_mm: Estimated { value: likely.bump_zero_mm, sd: estimate.sd(height) * problem.round_sd(last)[0] },
            pickups: pickups(estimate, wheel),
            newly_broken: found.newly_broken,
            curve_now: found.curve_now,
            curve_after: found.curve_after,
            as_built: Box::new(found.as_built),
        })
    }
}

/// The readings of the last round that have to do with a wheel.
fn fitted_readings(estimate: &Estimate<'_>, wheel: usize) -> Option<Vec<FittedReading>> {
    let side = estimate.problem.wheels[wheel].drawn.corner.side;
    of_last_round(estimate, side).map(|fitted| fitted_reading(estimate, wheel, fitted)).collect()
}

fn of_last_round<'e>(estimate: &'e Estimate<'_>, side: Side) -> impl Iterator<Item = &'e Fitted> {
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
