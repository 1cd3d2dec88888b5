//! Everything that `correct` is asked and everything that it tells.

use std::error::Error;
use std::fmt;

use nalgebra::{Unit, Vector3};
use serde::Serialize;
use serde::ser::{SerializeStruct, Serializer};

use crate::gauge::GaugeReadings;
use crate::geometry::{Coordinate, Corner, End, PerSide, Side};
use crate::mechanism::Bind;

/// How well the instruments read: one standard deviation each, common practice in the shop where nothing better is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GaugeNoise {
    /// Of one toe reading of an angle gauge; of toe plates, of the total.
    pub toe_sd_deg: f64,
    /// Of one camber reading.
    pub camber_sd_deg: f64,
    /// Of one dial.
    pub dial_sd_mm: f64,
    /// Of the place of a laser's spot.
    pub spot_sd_mm: f64,
    /// Of what all toe readings of one session and side are off by in common.
    pub toe_offset_sd_deg: f64,
    /// The same of camber readings.
    pub camber_offset_sd_deg: f64,
    /// Of the height that the builder took for design height.
    pub bump_zero_sd_mm: f64,
}

impl Default for GaugeNoise {
    fn default() -> Self {
        Self {
            toe_sd_deg: 0.02,
            camber_sd_deg: 0.05,
            dial_sd_mm: 0.1,
            spot_sd_mm: 0.5,
            toe_offset_sd_deg: 0.05,
            camber_offset_sd_deg: 0.1,
            bump_zero_sd_mm: 1.0,
        }
    }
}

/// One gauging of the car that lies behind, and what was changed after it.
#[derive(Debug, Clone, PartialEq)]
pub struct Round {
    /// What was read.
    pub readings: GaugeReadings,
    /// How well.
    pub noise: GaugeNoise,
    /// What was changed then; toe was set to the gauge after it.
    pub changes: PerSide<Vec<Change>>,
}

/// Something that was, or is to be, changed at one link.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// Index into [`Corner::links`].
    pub link: usize,
    /// What of it.
    pub what: What,
    /// How much: mm along the direction of a shim or slot; of a length, eye to eye, longer positive.
    pub by_mm: f64,
}

/// What of a link is changed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum What {
    /// A pickup is moved by shims or spacers.
    Shim {
        /// Which one.
        end: End,
        /// Unit direction, side axes; an upright's as the upright stands in the drawing.
        along: Unit<Vector3<f64>>,
    },
    /// A pickup is moved in its slot; the same as a shim to everything but the shop.
    Slot {
        /// Which one.
        end: End,
        /// As of a shim.
        along: Unit<Vector3<f64>>,
    },
    /// The link is made longer or shorter.
    Length,
}

impl What {
    /// `shim`, `slot` or `length`, as files write it.
    pub fn name(self) -> &'static str {
        match self {
            What::Shim { .. } => "shim",
            What::Slot { .. } => "slot",
            What::Length => "length",
        }
    }

    /// The pickup that is moved and which way, side axes; `None` of a length.
    pub fn moves(self) -> Option<(End, Unit<Vector3<f64>>)> {
        match self {
            What::Shim { end, along } | What::Slot { end, along } => Some((end, along)),
            What::Length => None,
        }
    }
}

/// What is asked: the gaugings in their order, the last one being of the car as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct CorrectRequest {
    /// Gaugings before the last change, the first one first.
    pub earlier: Vec<Round>,
    /// What was read of the car as it stands.
    pub readings: GaugeReadings,
    /// How well.
    pub noise: GaugeNoise,
    /// Of the cars that are drawn from what the readings leave open.
    pub seed: u64,
}

/// Everything that `correct` tells of a car.
#[derive(Debug, Clone, PartialEq)]
pub struct CorrectFindings {
    /// What the car is called.
    pub name: String,
    /// Of each wheel, or why nothing can be told of it.
    pub wheels: PerSide<Result<WheelCorrection, NotCorrected>>,
    /// How well the last readings were taken to be.
    pub noise: GaugeNoise,
    /// Of the cars that were drawn.
    pub seed: u64,
}

impl Serialize for CorrectFindings {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let wheels = self.wheels.as_ref();
        let mut out = serializer.serialize_struct("CorrectFindings", 5)?;
        out.serialize_field("name", &self.name)?;
        out.serialize_field("correct", &wheels.map(|wheel| wheel.as_ref().ok()))?;
        out.serialize_field("not_corrected", &wheels.map(|wheel| wheel.as_ref().err().map(ToString::to_string)))?;
        out.serialize_field("noise", &self.noise)?;
        out.serialize_field("seed", &self.seed)?;
        out.end()
    }
}

/// What is known of one wheel, and what to do about it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WheelCorrection {
    /// Of the car as it stands and after all changes.
    pub worst_bump_steer_deg: NowAndAfter,
    /// What to do, what gains most first; toe is set to the gauge after the last. Empty when nothing need or can be done.
    pub changes: Vec<PrescribedChange>,
    /// What it comes to.
    pub advice: Advice,
    /// Name of the link that toe is set with.
    pub toe_link: String,
    /// How it is set.
    pub toe_setting: ToeSetting,
    /// Static camber, deg; set by other links than the toe link.
    pub camber_deg: CamberNowAndAfter,
    /// The file gives nothing that can be adjusted: shims of 0.5 mm under the toe link's bracket on the frame and
    /// half turns of the other links were taken.
    pub adjusters_assumed: bool,
    /// How far the choices were searched.
    pub search: SearchEffort,
    /// What the readings tell of the pickups.
    pub told_apart: ToldApart,
    /// Every reading of the last gauging that has to do with this wheel, in its order.
    pub readings: Vec<FittedReading>,
    /// Readings going up against those coming down; `None` when no height was read both ways.
    pub lash: Option<Lash>,
    /// What a millimetre of play at a rod end of each link does to toe at design height, deg/mm, in the order of the links.
    pub toe_by_play_deg_per_mm: [f64; 5],
    /// Height above which the builder took design height, mm, as the readings have it, with its standard deviation.
    pub bump_zero_mm: Estimated,
    /// Where the pickups are, all thirty in the order of [`Coordinate::all`].
    pub pickups: Vec<PickupEstimate>,
    /// Limits of the file that the car would break after the changes and does not break now; the changes were chosen so
    /// that there are none, where any choice is.
    pub newly_broken: Vec<String>,
    /// Over the rows of bump and droop, of the car as it stands.
    #[serde(skip)]
    pub curve_now: Vec<ToeBand>,
    /// The same after all changes.
    #[serde(skip)]
    pub curve_after: Vec<ToeBand>,
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

/// What it comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Advice {
    /// Make the changes, set toe, gauge again.
    Change,
    /// As the car stands 95 of 100 cars that fit the readings are inside the limit, and no change takes a third off.
    NothingToDo,
    /// Outside the limit, and nothing that can be adjusted makes it better by a third.
    NothingHelps,
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
    /// As an angle, deg; a plate's or laser's by its trigonometry, with the wheel's travel.
    pub read_deg: f64,
    /// What the estimate makes of it, deg.
    pub fitted_deg: f64,
    /// The residual over its own standard deviation (no unit); `None` where nothing else controls it.
    pub standardised: Option<f64>,
    /// It does not fit the others and was left out.
    pub is_suspect: bool,
}

/// Readings going up against those coming down.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Lash {
    /// Mean of toe going up less toe coming down at the same height, deg.
    pub up_less_down_deg: f64,
    /// One standard deviation of that by the noise of the gauge.
    pub sd_deg: f64,
    /// Heights that were read both ways.
    pub heights: usize,
    /// It is more than noise: something is loose.
    pub is_loose: bool,
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

/// Why nothing can be told of a wheel.
#[derive(Debug, Clone, PartialEq)]
pub enum NotCorrected {
    /// The readings have none of it.
    NoReadings {
        /// This wheel.
        side: Side,
    },
    /// One reading makes no curve.
    OneHeight {
        /// This wheel.
        side: Side,
        /// Line of a reading.
        line: usize,
    },
    /// The wheel does not get there.
    BeyondReach {
        /// This wheel.
        side: Side,
        /// Line of the reading.
        line: usize,
        /// Asked for.
        bump_mm: f64,
    },
    /// Two readings at one height that cannot both be right.
    Contradiction {
        /// Their lines.
        lines: [usize; 2],
        /// How far apart they are, in standard deviations of their difference.
        sds: f64,
    },
    /// The readings do not fit the car of the file at all.
    DoesNotFit {
        /// This wheel.
        side: Side,
        /// Lines of those that fit worst, the worst first.
        lines: Vec<usize>,
        /// How far the worst one is off, in standard deviations.
        sds: f64,
    },
    /// A change of an earlier round names a link or pickup that cannot be changed so.
    ImpossibleRound {
        /// This wheel.
        side: Side,
        /// Counted from 1.
        round: usize,
    },
    /// Its links do not hold the wheel as drawn.
    Singular {
        /// This wheel.
        side: Side,
    },
    /// It binds inside its travel as drawn.
    Binds {
        /// This wheel.
        side: Side,
        /// Where.
        bind: Bind,
    },
    /// The cars that fit the readings do not all move through the travel.
    NotMoving {
        /// This wheel.
        side: Side,
    },
}

impl fmt::Display for NotCorrected {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoReadings { side } => {
                write!(f, "there is no reading of the {} wheel; gauge it from full droop to full bump", side.name())
            }
            Self::OneHeight { side, line } => write!(
                f,
                "the {} wheel was read at one height alone (line {line}); read it at several, best every 10 mm from full \
                 droop to full bump",
                side.name()
            ),
            Self::BeyondReach { side, line, bump_mm } => write!(
                f,
                "line {line}: the {} wheel does not reach {bump_mm} mm; leave this reading out, or give [travel] the \
                 wheel's real travel",
                side.name()
            ),
            Self::Contradiction { lines: [a, b], sds } => write!(
                f,
                "lines {a} and {b} are of one height and {sds:.0} standard deviations apart; read that height again and \
                 take the wrong one out"
            ),
            Self::DoesNotFit { side, lines, sds } => {
                let lines: Vec<String> = lines.iter().map(ToString::to_string).collect();
                write!(
                    f,
                    "the readings of the {} wheel do not fit the car of the file: line {} is off by {sds:.0} standard \
                     deviations; look at the sign, the instrument and its option, then at the points of the file and sd \
                     in [weld]",
                    side.name(),
                    lines.join(", ")
                )
            }
            Self::ImpossibleRound { side, round } => write!(
                f,
                "the {} wheel of round {round} cannot be moved with the changes that were made then; correct them in \
                 the file of rounds",
                side.name()
            ),
            Self::Singular { side } => write!(
                f,
                "the {} side is singular as drawn: its links do not hold the wheel; move a pickup",
                side.name()
            ),
            Self::Binds { side, bind } => {
                write!(f, "as drawn the {} wheel {bind}; reduce the travel or move one of these links", side.name())
            }
            Self::NotMoving { side } => write!(
                f,
                "cars that fit the readings of the {} wheel do not all move through its travel; reduce the travel",
                side.name()
            ),
        }
    }
}

impl Error for NotCorrected {}
