//! From a drawing and gauge readings to what is to be done about both wheels.

use super::adjuster::{toe_link, toe_setting};
use super::both_wheels::Corrected;
use super::corrections::WheelToCorrect;
use super::finding::{CorrectFindings, Estimated, WheelCorrection};
use super::finished_wheel::DrawnWheel;
use super::fitted_readings::{fitted_readings, of_last_round};
use super::instrument::toe_sd_deg;
use super::lash::lash;
use super::likely_wheel::{LikelyAxle, LikelyWheel};
use super::limits_held::BrokenLimit;
use super::prescription::{Prescription, setting_sd_deg};
use super::refusal::NotCorrected;
use super::request::CorrectRequest;
use super::rounds::{Located, Rounds, rows_mm};
use super::steadiness::stuck;
use super::told_apart::{pickups, told_apart};
use crate::geometry::{Geometry, PerSide, Side};
use crate::measures::{Measure, gradient};
use crate::mechanism::{Linkage, PostureSensitivity, WheelPath};
use crate::studies::plausibility::doubts;

impl CorrectFindings {
    /// Of a car as drawn and what was read of it since it was finished.
    pub fn of(geometry: &Geometry, request: &CorrectRequest) -> Self {
        let rounds = Rounds::new(request);
        let drawn = PerSide::of(|side| DrawnWheel::new(geometry, side));
        let ready = rounds.ready(&drawn);
        let located = rounds.located(&ready);
        let likely = PerSide::of(|side| match (&located[side], &drawn[side]) {
            (Ok(located), _) => Some(LikelyWheel::of(&located.estimate, located.wheel)),
            (Err(_), Ok(drawn)) => rounds.unread(drawn),
            (Err(_), Err(_)) => None,
        });
        let axle = LikelyAxle { drawn: geometry, wheels: likely };
        let wheels = PerSide::of(|side| located[side].as_ref().ok().map(|found| wheel_to_correct(&rounds, found)));
        let Corrected { prescriptions, limits_broken, left_out_for } = Corrected::of(&axle, &wheels);
        let wheels = PerSide::of(|side| {
            let located = located[side].as_ref().map_err(Clone::clone)?;
            let prescription = prescriptions[side].clone().ok_or(NotCorrected::NotMoving { side })?;
            told(&rounds, located, prescription)
        });
        let of_found = |broken: &BrokenLimit| broken.verdict.side.is_none_or(|side| wheels[side].is_ok());
        let limits_broken = limits_broken.into_iter().filter(of_found).collect();
        let (name, warnings) = (geometry.name.clone(), doubts(geometry));
        let (noise, seed) = (request.noise, request.seed);
        Self { name, warnings, wheels, limits_broken, left_out_for, noise, seed }
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

/// A wheel as its corrections are looked for.
fn wheel_to_correct<'e, 'd>(rounds: &Rounds<'_>, located: &'e Located<'d>) -> WheelToCorrect<'e, 'd> {
    let (drawn, now) = (located.drawn(), rounds.now());
    let reading_sd_deg = toe_sd_deg(now.readings.instrument, &now.noise);
    WheelToCorrect {
        estimate: &located.estimate,
        wheel: located.wheel,
        earlier: rounds.made(drawn.corner.side),
        stations_mm: rows_mm(drawn.geometry),
        setting_sd_deg: setting_sd_deg(drawn, reading_sd_deg, now.noise.toe_offset_sd_deg),
        seed: rounds.request.seed,
    }
}

fn told(rounds: &Rounds<'_>, located: &Located<'_>, found: Prescription) -> Result<WheelCorrection, NotCorrected> {
    let (estimate, wheel) = (&*located.estimate, located.wheel);
    let (problem, drawn) = (&estimate.problem, located.drawn());
    let side = drawn.corner.side;
    let now = rounds.now();
    let last = problem.rounds() - 1;
    let likely = problem.wheel(&estimate.unknowns, wheel, last);
    let [height, _] = problem.round_of(wheel, last);
    let readings = fitted_readings(estimate, wheel).ok_or(NotCorrected::NotMoving { side })?;
    let in_inches: Vec<usize> =
        readings.iter().filter(|reading| reading.fits_as_inches).map(|reading| reading.line).collect();
    Ok(WheelCorrection {
        worst_bump_steer_deg: found.worst,
        changes: found.changes,
        advice: found.advice,
        toe_link: drawn.corner.links[drawn.toe_link].name.clone(),
        toe_setting: toe_setting(drawn),
        camber_deg: found.camber,
        wheel_moves: found.moves,
        adjusters_assumed: found.adjusters_assumed,
        search: found.search,
        told_apart: told_apart(estimate, wheel),
        readings,
        mirrored_toe: located.mirrored,
        stuck: stuck(now, side),
        quiet: rounds.quiet(drawn, &of_last_round(estimate, side).collect::<Vec<_>>()),
        lash: lash(&now.without(&in_inches), side),
        toe_by_play_deg_per_mm: drawn.toe_by_length.map(f64::abs),
        bump_zero_mm: Estimated { value: likely.bump_zero_mm, sd: estimate.sd(height) * problem.round_sd(last)[0] },
        pickups: pickups(estimate, wheel),
        curve_now: found.curve_now,
        curve_after: found.curve_after,
        to_gauge: found.to_gauge,
        as_built: Box::new(found.as_built),
    })
}
