//! The finished weld study: how built cars spread, what a bracket welded last or jigs would gain, and which limits were not
//! checked.

use std::error::Error;
use std::fmt;

use nalgebra::Vector3;

use super::bump_steer::BumpSteerOdds;
use super::jigs::{JigBudget, TARGET_YIELD, jig_budget};
use super::last_bracket::{LastBracket, NoLastBracket, last_brackets};
use super::model::NoWheelModel;
use super::monte_carlo::{Finish, MonteCarlo, Watch};
use super::placing::plane_of;
use super::results::Tolerance;
use super::study::ToleranceStudy;
use super::tried::{LimitCount, NotTried};
use crate::geometry::{Axis, BracketAdjuster, Geometry, PerSide, Side, Travel};
use crate::studies::curves::Curves;
use crate::studies::errors::ErrorSource;
use crate::studies::errors::Proportion;
use crate::studies::judged_car::JudgedCar;
use crate::studies::plausibility::{Doubt, doubts};
use crate::studies::sensitivity::Sensitivity;

/// At most so many cars are built to tell what jigs would gain: their chances are then good to two per cent.
const JIGGED_CARS: usize = 2000;
/// Cars that are built with each bracket welded last to see which does best.
const TRIAL_CARS: usize = 400;

/// Cars of a weld study, and how well a toe reading, a last bracket and a jig hold (one standard deviation), where nothing
/// else is asked.
pub const USUAL_CARS: u32 = 10_000;
/// deg.
pub const USUAL_GAUGE_SD_DEG: f64 = 0.01;
/// mm.
pub const USUAL_PLACING_SD_MM: f64 = 0.2;
/// mm.
pub const USUAL_JIG_SD_MM: f64 = 0.1;

/// What is asked of a weld study.
#[derive(Debug, Clone, PartialEq)]
pub struct ToleranceRequest {
    /// How many cars are built.
    pub cars: usize,
    /// The same seed gives the same cars.
    pub seed: u64,
    /// Errors of the pickups; the same spread on both wheels.
    pub errors: ErrorSource,
    /// What is done about the links after welding.
    pub links: LinksAfterWelding,
    /// One standard deviation of a toe reading while the last bracket is placed, deg.
    pub gauge_sd_deg: f64,
    /// One standard deviation of where the last bracket ends up by its own weld, mm.
    pub placing_sd_mm: f64,
    /// One standard deviation of what a jig holds, mm.
    pub jig_sd_mm: f64,
}

/// What is done about the links once the brackets are welded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LinksAfterWelding {
    /// Every link keeps its drawn length.
    Cut,
    /// Every link is adjusted until the wheel stands as drawn.
    Adjusted,
    /// The same, and the chassis bracket of one link is welded last, where the gauged toe curve comes flat; the best link
    /// when none is named.
    LastBracket(Option<String>),
}

/// Why there is no weld study.
#[derive(Debug, Clone, PartialEq)]
pub enum NoTolerance {
    /// A wheel cannot be moved through its travel as drawn.
    NotMovable(NoWheelModel),
    /// The bracket of a link cannot be the last.
    NoLastBracket {
        /// Name of the link.
        link: String,
        /// What is against it.
        why: NoLastBracket,
    },
    /// No bracket can be the last: moving any of them hardly changes toe.
    NothingFlattens,
    /// The steps make more rows of bump and droop than a weld study takes.
    TooManyRows {
        /// That the steps make.
        rows: usize,
        /// That a weld study takes.
        most: usize,
    },
    /// More cars than a weld study of so many rows takes.
    TooManyCars {
        /// That the steps make.
        rows: usize,
        /// That a weld study takes then.
        most: usize,
    },
}

impl fmt::Display for NoTolerance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoTolerance::NotMovable(why) => why.fmt(f),
            NoTolerance::NoLastBracket { link, why } => write!(f, "the bracket of {link:?} cannot be the last: {why}"),
            NoTolerance::NothingFlattens => {
                f.write_str("no bracket can flatten the toe curve; leave the links adjusted, without a last bracket")
            }
            NoTolerance::TooManyRows { rows, most } => write!(
                f,
                "these steps make {rows} rows of bump and droop, and a weld study takes {most}; take a longer step"
            ),
            NoTolerance::TooManyCars { rows, most } => write!(
                f,
                "these steps make {rows} rows of bump and droop, and a weld study of so many takes {most} cars; \
                 build fewer or take a longer step"
            ),
        }
    }
}

impl Error for NoTolerance {
    fn source(&self) -> Option<&(dyn Error + 'static)> {
        match self {
            NoTolerance::NotMovable(why) => Some(why),
            NoTolerance::NoLastBracket { why, .. } => Some(why),
            NoTolerance::NothingFlattens | NoTolerance::TooManyRows { .. } | NoTolerance::TooManyCars { .. } => None,
        }
    }
}

/// Rows of bump and droop that a weld study may have: its toe curves are then counted in 0.2 GB, and in as much again for
/// each car with a bracket welded last.
const MAX_ROWS: usize = 10_000;
/// Rows of all cars of a weld study together: some minutes of work.
const MAX_ROWS_OF_CARS: usize = 1_000_000_000;

/// A finished weld study of a car.
#[derive(Debug, Clone)]
pub struct ToleranceFindings<'g> {
    /// What was asked.
    pub request: ToleranceRequest,
    /// As drawn.
    pub car: JudgedCar<'g>,
    /// The drawn car for charts.
    pub curves: Curves,
    /// The wheels asked for, left before right.
    pub sides: Vec<Side>,
    /// Change of toe and of the rest with one millimetre of each pickup coordinate.
    pub sensitivities: PerSide<Sensitivity>,
    /// The built cars.
    pub study: Tolerance,
    /// Told to stop: the cars may be fewer than were asked for, and what a last bracket or jigs would gain may be missing.
    pub stopped_early: bool,
    /// What a bracket welded last gains, or would gain; `None` with links cut to length, when enough cars pass without it, or
    /// when no bracket can flatten both wheels.
    pub last_bracket: Option<LastBracketGain>,
    /// `None` when enough cars pass without jigs, and where jigs cannot help.
    pub jigs: Option<JigBudget>,
    /// A wheel is outside the bump-steer limit before anything is welded.
    pub drawing_breaks_bump_steer: bool,
    /// Limits of the file that no built car is held to.
    pub not_checked: Vec<NotTried>,
    /// What a builder should look at again in the drawing; empty for a sound car.
    pub warnings: Vec<Doubt>,
}

/// Bump steer of built cars with and without a bracket that is welded last. Cars of the same number have the same pickup
/// errors in both.
#[derive(Debug, Clone, PartialEq)]
pub struct LastBracketGain {
    /// Which bracket, and how well it is placed.
    pub bracket: LastBracket,
    /// True when the cars of the study itself had this bracket welded last. Otherwise `without` is the study, and `with` the same
    /// cars built once more, to tell the gain.
    pub in_study: bool,
    /// All brackets welded at once, the links then adjusted.
    pub without: BumpSteerOdds,
    /// This bracket welded last.
    pub with: BumpSteerOdds,
    /// Cars that then keep every limit that is tried: placing a bracket for toe moves camber too. `None` without limits.
    pub within_all_limits: Option<Proportion>,
    /// How many limits that are.
    pub limits: LimitCount,
    /// How far this bracket is moved to flatten the curve, mm: median and 95th percentile over the cars.
    pub moves_mm: PerSide<(f64, f64)>,
    /// Axes of its plane, in which it is moved: the nearest one to each of the two directions.
    pub in_plane: [Axis; 2],
    /// What `adjust` of its link says of this bracket; the study takes no notice of it.
    pub adjuster: Option<BracketAdjuster>,
}

impl<'g> ToleranceFindings<'g> {
    /// Of a drawn car, for these wheels.
    pub fn of(car: JudgedCar<'g>, sides: &[Side], request: ToleranceRequest) -> Result<Self, NoTolerance> {
        Self::watched(car, sides, request, Watch::NONE)
    }

    /// The same with a watch on it: after a stop it tells of the cars that are built by then.
    pub fn watched(
        car: JudgedCar<'g>,
        sides: &[Side],
        request: ToleranceRequest,
        watch: Watch<'_>,
    ) -> Result<Self, NoTolerance> {
        refuse_endless(&car.geometry().travel, request.cars)?;
        let weld_study = ToleranceStudy::new(&car).map_err(NoTolerance::NotMovable)?;
        let beside = Watch { built: &|_| {}, ..watch };
        let finish = finish(&weld_study, &request, beside)?;
        let options = MonteCarlo::new(car.geometry(), &request.errors, request.cars, request.seed, finish);
        let study = weld_study.build(&options, watch).map_err(|why| useless(&options.finish, why))?;
        let last_bracket = last_bracket_gain(&weld_study, &options, &study, &request, beside)?;
        let jigs = jigs(&weld_study, &options, &study, &request, beside)?;
        Ok(Self {
            sides: sides.to_vec(),
            study,
            stopped_early: (watch.stop)(),
            last_bracket,
            jigs,
            drawing_breaks_bump_steer: weld_study.breaks_bump_steer_as_drawn(),
            not_checked: weld_study.limits.not_tried.clone(),
            warnings: doubts(car.geometry()),
            sensitivities: weld_study.sensitivities,
            curves: Curves::of(&car.rig),
            request,
            car,
        })
    }
}

/// A study ends in reasonable time and memory.
fn refuse_endless(travel: &Travel, cars: usize) -> Result<(), NoTolerance> {
    let rows = travel.heave_rows() as usize;
    let most = MAX_ROWS_OF_CARS / rows.max(1);
    if rows > MAX_ROWS {
        return Err(NoTolerance::TooManyRows { rows, most: MAX_ROWS });
    }
    if cars > most { Err(NoTolerance::TooManyCars { rows, most }) } else { Ok(()) }
}

fn finish(weld_study: &ToleranceStudy, request: &ToleranceRequest, watch: Watch<'_>) -> Result<Finish, NoTolerance> {
    match &request.links {
        LinksAfterWelding::Cut => Ok(Finish::Cut),
        LinksAfterWelding::Adjusted => Ok(Finish::Adjusted),
        LinksAfterWelding::LastBracket(Some(link)) => Ok(Finish::Last(bracket_of(request, link.clone()))),
        LinksAfterWelding::LastBracket(None) => {
            best_bracket(weld_study, request, watch).map(Finish::Last).ok_or(NoTolerance::NothingFlattens)
        }
    }
}

fn bracket_of(request: &ToleranceRequest, link: String) -> LastBracket {
    LastBracket { link, gauge_sd_deg: request.gauge_sd_deg, placing_sd_mm: request.placing_sd_mm }
}

/// Of the brackets that first order lets go last, the one with which most of a few hundred cars keep every limit; the first
/// of those that do equally well.
fn best_bracket(weld_study: &ToleranceStudy, request: &ToleranceRequest, watch: Watch<'_>) -> Option<LastBracket> {
    let options = MonteCarlo::new(weld_study.geometry, &request.errors, TRIAL_CARS, request.seed, Finish::Adjusted);
    let (sensitivity, corner) = (&weld_study.sensitivities.left, weld_study.models.left.corner);
    let trial = bracket_of(request, String::new());
    let ranked = last_brackets(sensitivity, corner, &options.error_models.left, request.seed, &trial);
    let mut best: Option<(f64, LastBracket)> = None;
    for bracket in ranked.into_iter().map(|link| bracket_of(request, link)) {
        let built = weld_study.build(&MonteCarlo { finish: Finish::Last(bracket.clone()), ..options.clone() }, watch);
        let inside = built.ok().and_then(|built| Some(built.within_all_limits?.value())).unwrap_or(0.0);
        if best.as_ref().is_none_or(|(most, _)| inside > *most) {
            best = Some((inside, bracket));
        }
    }
    best.map(|(_, bracket)| bracket)
}

fn useless(finish: &Finish, why: NoLastBracket) -> NoTolerance {
    match finish {
        Finish::Last(bracket) => NoTolerance::NoLastBracket { link: bracket.link.clone(), why },
        Finish::Cut | Finish::Adjusted => NoTolerance::NothingFlattens,
    }
}

fn last_bracket_gain(
    weld_study: &ToleranceStudy,
    options: &MonteCarlo,
    study: &Tolerance,
    request: &ToleranceRequest,
    watch: Watch<'_>,
) -> Result<Option<LastBracketGain>, NoTolerance> {
    match &options.finish {
        _ if (watch.stop)() => Ok(None),
        Finish::Last(bracket) => {
            let without = weld_study.unplaced(options, bracket, watch).map_err(|why| useless(&options.finish, why))?;
            let gain = LastBracketGain::of(bracket, without, study, weld_study.geometry, true);
            Ok(gain.filter(|_| !(watch.stop)()))
        }
        Finish::Adjusted if !is_enough(weld_study, study) => {
            let Some(bracket) = best_bracket(weld_study, request, watch) else { return Ok(None) };
            // Of the same cars as when the bracket is asked for, so that both tell the same room.
            let with = MonteCarlo { finish: Finish::Last(bracket.clone()), ..options.clone() };
            // A bracket that can flatten the left wheel only gains nothing for the car.
            let with = weld_study.build(&with, watch).ok();
            let without = BumpSteerOdds::of(study);
            let gain = with.and_then(|with| LastBracketGain::of(&bracket, without, &with, weld_study.geometry, false));
            Ok(gain.filter(|_| !(watch.stop)()))
        }
        Finish::Adjusted | Finish::Cut => Ok(None),
    }
}

fn jigs(
    weld_study: &ToleranceStudy,
    options: &MonteCarlo,
    study: &Tolerance,
    request: &ToleranceRequest,
    watch: Watch<'_>,
) -> Result<Option<JigBudget>, NoTolerance> {
    if options.finish != Finish::Adjusted || is_enough(weld_study, study) {
        return Ok(None);
    }
    let fewer = MonteCarlo { cars: options.cars.min(JIGGED_CARS), ..options.clone() };
    jig_budget(weld_study, &fewer, request.jig_sd_mm, watch).map_err(|why| useless(&options.finish, why))
}

/// Whether there is nothing to gain from a last bracket or jigs: enough cars keep the bump-steer limit, or the drawing
/// itself breaks it and must be tuned first, or it is not tried.
fn is_enough(weld_study: &ToleranceStudy, study: &Tolerance) -> bool {
    study.within_bump_steer.is_none_or(|share| share.value() >= TARGET_YIELD) || weld_study.breaks_bump_steer_as_drawn()
}

impl LastBracketGain {
    fn of(
        bracket: &LastBracket,
        without: BumpSteerOdds,
        with: &Tolerance,
        geometry: &Geometry,
        in_study: bool,
    ) -> Option<Self> {
        let moves_mm = with.last_moves_mm?;
        let within_all_limits = with.within_all_limits;
        let corner = &geometry.left;
        let link = corner.links.iter().position(|link| link.name == bracket.link)?;
        let nearest = |way: Vector3<f64>| Axis::ALL[way.iamax()];
        Some(Self {
            bracket: bracket.clone(),
            in_study,
            without,
            with: BumpSteerOdds::of(with),
            within_all_limits,
            limits: with.limits,
            moves_mm,
            in_plane: plane_of(corner, link).map(nearest),
            adjuster: corner.links[link].adjusters.chassis,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::{NoTolerance, refuse_endless};
    use crate::geometry::Travel;

    /// 25 rows a wheel leave room for forty million cars.
    #[test]
    fn more_cars_than_can_be_built_are_refused() {
        let travel = Travel::default();
        assert!(refuse_endless(&travel, 1).is_ok() && refuse_endless(&travel, 40_000_000).is_ok());
        for cars in [40_000_001, 1_000_000_000] {
            let refused = refuse_endless(&travel, cars);
            assert!(matches!(refused, Err(NoTolerance::TooManyCars { rows: 25, most: 40_000_000 })), "{refused:?}");
        }
    }
}
