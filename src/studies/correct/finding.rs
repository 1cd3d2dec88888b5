//! Everything that `correct` tells.

use serde::Serialize;
use serde::ser::{SerializeStruct, Serializer};

use super::in_inches::Quiet;
use super::limits_held::BrokenLimit;
use super::mirrored::MirroredToe;
use super::refusal::NotCorrected;
use super::steadiness::Stuck;
use crate::gauge::{Change, GaugeNoise};
use crate::geometry::{Coordinate, Corner, Geometry, PerSide, Side};
use crate::studies::plausibility::Doubt;

/// Everything that `correct` tells of a car.
#[derive(Debug, Clone, PartialEq)]
pub struct CorrectFindings {
    /// What the car is called.
    pub name: String,
    /// What a builder should look at again in the drawing, one sentence each.
    pub warnings: Vec<Doubt>,
    /// Of each wheel, or why nothing can be told of it.
    pub wheels: PerSide<Result<WheelCorrection, NotCorrected>>,
    /// Limits other than that of bump steer which the most likely car breaks with the changes made: of each wheel that was
    /// gauged, and of the axle.
    pub limits_broken: Vec<BrokenLimit>,
    /// What the set of changes with the least bump steer would break, where it was left out for that.
    pub left_out_for: Vec<BrokenLimit>,
    /// How well the last readings were taken to be.
    pub noise: GaugeNoise,
    /// Of the cars that were drawn.
    pub seed: u64,
}

impl CorrectFindings {
    /// Whether the car, the changes of these wheels made, breaks a limit of the file: that of bump steer where not 95 of 100 cars
    /// that fit the readings stay inside, or another of these wheels or of the axle; or whether that is not known, for readings that
    /// are no measure of a wheel.
    pub fn breaks_a_limit(&self, car: &Geometry, sides: &[Side]) -> bool {
        let limit_deg = car.bump_steer_limit_deg().unwrap_or(f64::INFINITY);
        let mut wheels = sides.iter().filter_map(|&side| self.wheels[side].as_ref().ok());
        wheels.any(|wheel| wheel.worst_bump_steer_deg.expected_p95 > limit_deg || wheel.is_misread())
            || self.limits_broken.iter().any(|broken| broken.is_of(sides))
    }
}

impl Serialize for CorrectFindings {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let wheels = self.wheels.as_ref();
        let mut out = serializer.serialize_struct("CorrectFindings", 8)?;
        out.serialize_field("name", &self.name)?;
        out.serialize_field("warnings", &self.warnings)?;
        out.serialize_field("correct", &wheels.map(|wheel| wheel.as_ref().ok()))?;
        out.serialize_field("not_corrected", &wheels.map(|wheel| wheel.as_ref().err().map(ToString::to_string)))?;
        out.serialize_field("limits_broken", &self.limits_broken)?;
        out.serialize_field("left_out_for", &self.left_out_for)?;
        out.serialize_field("noise", &self.noise)?;
        out.serialize_field("seed", &self.seed)?;
        out.end()
    }
}

impl WheelCorrection {
    /// Its readings are no measure of it: they stand still, are in another unit, or something is loose.
    fn is_misread(&self) -> bool {
        self.stuck.is_some() || self.quiet.is_some() || self.lash.as_ref().is_some_and(Lash::is_more_than_noise)
    }
}

/// What is known of one wheel, and what to do about it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WheelCorrection {
    /// Of the car as it stands and after all changes.
    pub worst_bump_steer_deg: NowAndAfter,
    /// What to do, in an order in which no step leaves the wheel worse than it was before it; toe is set to the gauge after the
    /// last. Empty when nothing need or can be done.
    pub changes: Vec<PrescribedChange>,
    /// What it comes to.
    pub advice: Advice,
    /// Name of the link that toe is set with.
    pub toe_link: String,
    /// How it is set.
    pub toe_setting: ToeSetting,
    /// Static camber, deg; set by other links than the toe link.
    pub camber_deg: CamberNowAndAfter,
    /// Where the changes take the wheel.
    pub wheel_moves: WheelMove,
    /// The file gives nothing that can be adjusted: shims of 0.5 mm (0.02 in of a file in inches) under the toe link's bracket on
    /// the frame and half turns of the other links were taken.
    pub adjusters_assumed: bool,
    /// How far the choices were searched.
    pub search: SearchEffort,
    /// What the readings tell of the pickups.
    pub told_apart: ToldApart,
    /// Every reading of the last gauging that has to do with this wheel, in its order.
    pub readings: Vec<FittedReading>,
    /// Toe at design height that tells their sign turned, where they fit as well that way.
    pub mirrored_toe: Option<MirroredToe>,
    /// One reading in more lines than noise leaves it; `None` where there is no such run.
    pub stuck: Option<Stuck>,
    /// Dials or a spot that are probably in inches, or may be where that would matter; `None` where they are in mm.
    pub quiet: Option<Quiet>,
    /// Readings going up against those coming down, without those that fit as inches; `None` when no height was read both ways.
    pub lash: Option<Lash>,
    /// What a millimetre of play at a rod end of each link does to toe at design height, deg/mm, in the order of the links.
    pub toe_by_play_deg_per_mm: [f64; 5],
    /// Height above which the builder took design height, mm, as the readings have it, with its standard deviation.
    pub bump_zero_mm: Estimated,
    /// Where the pickups are, all thirty in the order of [`Coordinate::all`].
    pub pickups: Vec<PickupEstimate>,
    /// Over the rows of bump and droop, of the car as it stands.
    #[serde(skip)]
    pub curve_now: Vec<ToeBand>,
    /// The same after all changes.
    #[serde(skip)]
    pub curve_after: Vec<ToeBand>,
    /// The same at the heights to gauge next.
    #[serde(skip)]
    pub to_gauge: Vec<ToeBand>,
    /// The most likely wheel as it stands, pickups where the estimate has them.
    #[serde(skip)]
    pub as_built: Box<Corner>,
}

/// Of the worst change of toe over bump and droop, deg: means and what 95 of 100 cars that fit the readings stay below.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct NowAndAfter {
    /// Mean as the car stands.
    pub now: f64,
    /// 95th percentile as the car stands.
    pub now_p95: f64,
    /// Mean after the changes.
    pub expected: f64,
    /// 95th percentile after the changes.
    pub expected_p95: f64,
}

/// Static camber, deg, top outboard positive.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CamberNowAndAfter {
    /// As drawn, which is taken as set.
    pub now: f64,
    /// After the changes.
    pub after: f64,
    /// How far it may go from `now` either way.
    pub limit: f64,
}

/// How far the wheel centre moves, toe set after all changes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WheelMove {
    /// Forward positive, mm.
    pub forward_mm: f64,
    /// Outboard positive, mm.
    pub outboard_mm: f64,
}

/// What it comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Advice {
    /// Make the changes, set toe, gauge again.
    Change,
    /// The same for who wants less: as the car stands 95 of 100 cars that fit the readings are inside the limit, and changes of which
    /// every one makes it better take a third off.
    Optional,
    /// As the car stands 95 of 100 cars that fit the readings are inside the limit, and there are no such changes.
    NothingToDo,
    /// Outside the limit, and nothing that can be adjusted makes it better without breaking another.
    NothingHelps,
    /// Outside the limit, and the readings tell no more of the pickups than the drawing: nothing is prescribed on them.
    NotSeen,
}

/// One line of the prescription.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PrescribedChange {
    /// Name of the link.
    pub link: String,
    /// `shim`, `slot` or `length`.
    pub what: &'static str,
    /// `chassis` or `upright`; `None` of a length.
    pub end: Option<&'static str>,
    /// Unit direction in car axes; `None` of a length.
    pub along: Option<[f64; 3]>,
    /// How much, as in [`Change`].
    pub by_mm: f64,
    /// Turns of a thread, longer positive; `None` of a shim or slot.
    pub turns: Option<f64>,
    /// What it then comes to over all rounds, from the stack or length as drawn, mm.
    pub total_mm: f64,
    /// It belongs together with the next: this one alone leaves the car worse than it was.
    pub with_next: bool,
    /// Mean of the worst change of toe with this line and those before it, deg.
    pub expected_deg: f64,
    /// 95th percentile of the same, deg.
    pub expected_p95_deg: f64,
    /// The curve to expect with this line and those before it.
    #[serde(skip)]
    pub curve: Vec<ToeBand>,
    /// The same for the program.
    #[serde(skip)]
    pub change: Change,
}

/// How toe is set.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ToeSetting {
    /// The file says `sets_toe` of its link; else it is the one whose length moves toe most.
    pub said_in_file: bool,
    /// What a millimetre of its length does to toe, deg/mm.
    pub deg_per_mm: f64,
    /// The smallest step of toe that its thread allows, deg; `None` when it takes every length.
    pub step_deg: Option<f64>,
    /// That step is so coarse that toe cannot be set to the gauge.
    pub is_coarse: bool,
}

/// How far the choices were searched.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SearchEffort {
    /// Sets of changes that were tried, each on every drawn car, to first order about the most likely one.
    pub sets_tried: usize,
    /// Of these, solved exactly for every drawn car.
    pub sets_solved: usize,
    /// Cars that fit the readings, drawn by chance.
    pub cars: usize,
    /// Adjusters that were open.
    pub adjusters: usize,
}

/// What the readings tell of the pickups.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ToldApart {
    /// Independent combinations of the pickup errors that the readings know at least twice as well as before.
    pub known: usize,
    /// What is left of the standard deviation of each combination that the readings see, the best known first (no unit, 0 to 1).
    pub sd_left: Vec<f64>,
    /// Pairs of coordinates that do the same to the readings, so that these cannot tell one from the other; those that do most first.
    pub alike: Vec<[String; 2]>,
}

/// A reading beside what the estimate makes of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FittedReading {
    /// Of the file.
    pub line: usize,
    /// Of this side alone, or the total of both.
    pub of_both: bool,
    /// `toe` or `camber`.
    pub of: &'static str,
    /// As the builder set it.
    pub bump_mm: f64,
    /// Where the wheel then really stood, mm, by [`WheelCorrection::bump_zero_mm`].
    pub at_bump_mm: f64,
    /// Change of toe from design height that was read, cleared of what the gauge is off, deg; what a total does not fit by is
    /// shared by the two wheels. `None` of camber.
    pub toe_change_deg: Option<f64>,
    /// As an angle, deg; a plate's or laser's by its trigonometry, with the wheel's travel.
    pub read_deg: f64,
    /// What the estimate makes of it, deg.
    pub fitted_deg: f64,
    /// The residual over its own standard deviation (no unit); `None` where nothing else controls it.
    pub standardised: Option<f64>,
    /// It does not fit the others and was left out.
    pub is_suspect: bool,
    /// It does not fit as it stands, and would as inches; of dials and a spot.
    pub fits_as_inches: bool,
}

/// Readings going up against those coming down.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lash {
    /// Mean of toe going up less toe coming down at the same height, deg; a few heights far off the others do not count.
    pub up_less_down_deg: f64,
    /// One standard deviation of that by the noise of the gauge.
    pub sd_deg: f64,
    /// Heights that were read both ways and count.
    pub heights: usize,
    /// It is more than noise: something is loose.
    pub is_loose: bool,
    /// Largest difference from that mean at one height, deg.
    pub widest_deg: f64,
    /// Bump travel there, mm.
    pub widest_at_bump_mm: f64,
    /// The differences lie further from their mean than noise puts them: readings that are not of the heights beside them.
    pub is_scattered: bool,
    /// Lines of one way that agree with those of the other as inches; empty where there are none.
    pub in_inches: Vec<usize>,
}

impl Lash {
    /// The readings say nothing of the wheel before it is gauged again.
    pub fn is_more_than_noise(&self) -> bool {
        self.is_loose || self.is_scattered
    }
}

/// A number with its standard deviation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Estimated {
    /// The most likely.
    pub value: f64,
    /// One standard deviation.
    pub sd: f64,
}

/// One coordinate of one pickup.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PickupEstimate {
    /// `toe link chassis`.
    pub point: String,
    /// `x`, `y` or `z`.
    pub axis: &'static str,
    /// Built less drawn, side axes (y outboard), mm.
    pub off_mm: Estimated,
    /// Before any reading.
    pub prior_sd_mm: f64,
    /// Which one.
    #[serde(skip)]
    pub coordinate: Coordinate,
}

/// The toe curve at one bump travel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToeBand {
    /// Bump positive.
    pub bump_mm: f64,
    /// Mean change of toe from design, deg, toe-in positive.
    pub toe_change_deg: f64,
    /// 19 of 20 cars that fit the readings lie above this and below the next, deg.
    pub low_deg: f64,
    /// See above.
    pub high_deg: f64,
}
