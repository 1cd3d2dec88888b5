//! Everything that `locate` tells of a survey.

use serde::Serialize;

use super::extra_reading::ExtraReading;
use super::misreading::Misreading;
use super::seating::SeatedPart;
use crate::geometry::MeasuredPoint;

/// Everything that `locate` tells of a survey.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LocateFindings {
    /// What the survey is called.
    pub name: String,
    /// Where everything is.
    #[serde(rename = "locate")]
    pub located: Located,
}

/// Where everything is, and how well that is known.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Located {
    /// Those of the survey in its order, then those of seated parts.
    pub points: Vec<LocatedPoint>,
    /// Datums that have a standard deviation.
    pub datums: Vec<AdjustedDatum>,
    /// Every reading that was taken, in the order of the survey.
    pub readings: Vec<ReadingFinding>,
    /// Datums that are not where the survey has them: they were sought like points, and several readings fit for it.
    pub wrong_datums: Vec<WrongDatum>,
    /// All taped distances are long or short alike; the places are those with it put right.
    pub tape_zero: Option<TapeZero>,
    /// Readings and datums that do not fit the others and were left out.
    pub suspects: Vec<Suspect>,
    /// Readings that cannot all be right; they were used, and the standard deviations of their points are widened.
    pub contradictions: Vec<Contradiction>,
    /// Points that the readings do not place.
    pub not_determined: Vec<NotDetermined>,
    /// How the readings scatter against what was said of them.
    pub noise: Noise,
    /// What would help the point that is known worst.
    pub extra_reading: Option<ExtraReading>,
    /// Parts on their mounting points.
    pub parts: Vec<SeatedPart>,
    /// Readings of the survey that are still to be taken.
    pub not_taken: usize,
}

/// A point with its place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LocatedPoint {
    /// What the builder calls it.
    pub point: String,
    /// The part that carries it, when it was not sought itself.
    pub part: Option<String>,
    /// x, y, z in the car; `None` when the readings do not place it.
    pub at_mm: Option<[f64; 3]>,
    /// Standard deviations of these.
    pub sd_mm: Option<[f64; 3]>,
    /// Standard deviations along the axes of its ellipsoid, the largest first.
    pub ellipsoid: Option<[PrincipalSd; 3]>,
    /// Readings that were used and reach it.
    pub readings: usize,
}

/// A standard deviation in one direction.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PrincipalSd {
    /// One standard deviation.
    pub sd_mm: f64,
    /// Unit vector, car axes.
    pub along: [f64; 3],
}

/// A datum that was sought with the points.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AdjustedDatum {
    /// What the builder calls it.
    pub datum: String,
    /// Where the survey says that it is.
    pub given_mm: [f64; 3],
    /// Where the readings put it.
    pub at_mm: [f64; 3],
    /// Standard deviations of these.
    pub sd_mm: [f64; 3],
}

/// What became of one reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadingFinding {
    /// Its place in the measuring sheet.
    pub number: usize,
    /// Its line in the file.
    pub line: usize,
    /// `distance`, `height`, `offset` or `fore_aft`.
    pub kind: &'static str,
    /// Both ends; a plumbed reading begins at its plane.
    pub from: String,
    /// The other end.
    pub to: String,
    /// What the tape showed.
    pub read_mm: f64,
    /// What it would have shown at the places found.
    pub fitted_mm: f64,
    /// Read less fitted.
    pub residual_mm: f64,
    /// Standard deviation of the reading.
    pub sd_mm: f64,
    /// The residual over its own standard deviation (no unit); `None` when nothing else controls the reading, or it was left out.
    pub standardised: Option<f64>,
    /// The share of its error that shows in its residual, 0 to 1; `None` as above.
    pub redundancy: Option<f64>,
    /// It does not fit the others, or contradicts one of them.
    pub suspect: bool,
}

/// A datum that is elsewhere.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WrongDatum {
    /// What the builder calls it.
    pub datum: String,
    /// Its line in the file.
    pub line: usize,
    /// Where the survey says that it is.
    pub given_mm: [f64; 3],
    /// Where the readings put it.
    pub at_mm: [f64; 3],
    /// Standard deviations of these.
    pub sd_mm: [f64; 3],
    /// From the one to the other.
    pub off_mm: f64,
    /// Readings that fit for it, by their numbers.
    pub explains: Vec<usize>,
}

/// A tape whose zero is off, or a hook that is counted wrongly.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TapeZero {
    /// By which every taped distance is too long, the hook of the survey counted; negative when too short.
    pub long_mm: f64,
    /// Standard deviation of that.
    pub sd_mm: f64,
    /// `hook` of the survey.
    pub hook_mm: f64,
    /// `hook` with which the readings fit.
    pub fitting_hook_mm: f64,
    /// Readings that fit for it, by their numbers.
    pub explains: Vec<usize>,
}

/// What does not fit the rest, and was left out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Suspect {
    /// The reading by its number; `None` for a coordinate of a datum.
    pub number: Option<usize>,
    /// Its line in the file.
    pub line: usize,
    /// `distance`, `height`, `offset`, `fore_aft`, or `datum x`, `datum y`, `datum z`.
    pub kind: String,
    /// Both ends.
    pub from: String,
    /// The other end, or the datum.
    pub to: String,
    /// As it was read, or given.
    pub read_mm: f64,
    /// What it should be by all others.
    pub should_be_mm: f64,
    /// Standard deviation of that with its own.
    pub sd_mm: f64,
    /// What it probably was.
    pub probably: Option<Misreading>,
    /// Readings that could be the wrong ones as well, by their numbers.
    pub or: Vec<usize>,
}

/// Readings that cannot all be right.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Contradiction {
    /// By their numbers; one of them is wrong.
    pub numbers: Vec<usize>,
    /// Their lines in the file.
    pub lines: Vec<usize>,
    /// Points whose standard deviations were widened.
    pub points: Vec<String>,
}

/// A point that the readings do not place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NotDetermined {
    /// What the builder calls it.
    pub point: String,
    /// Its line in the file.
    pub line: usize,
    /// Why.
    pub why: WhyNot,
    /// Readings that reach it.
    pub readings: usize,
    /// The two places that fit alike.
    pub either_mm: Option<[[f64; 3]; 2]>,
    /// What to measure.
    pub extra_reading: Option<ExtraReading>,
}

/// Why a point is not placed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WhyNot {
    /// No reading reaches it.
    NoReading,
    /// It can move without changing any reading.
    Free,
    /// It fits as well on the other side of what it was taped from.
    EitherSide,
}

/// How the readings scatter against what was said of them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Noise {
    /// Readings beyond those that are needed.
    pub redundancy: usize,
    /// Root mean square of what is left of them, over their standard deviations; about 1 (no unit).
    pub factor: f64,
    /// They are noisier than chance explains, and the standard deviations of all points were multiplied by the factor.
    pub widened: bool,
}

impl Located {
    /// The points that have a place.
    pub fn measured(&self) -> Vec<MeasuredPoint> {
        let measured = |point: &LocatedPoint| {
            Some(MeasuredPoint { name: point.point.clone(), at: point.at_mm?.into(), sd_mm: point.sd_mm? })
        };
        self.points.iter().filter_map(measured).collect()
    }
}

impl LocatedPoint {
    /// Standard deviation in its worst direction, mm.
    pub fn worst_sd_mm(&self) -> Option<f64> {
        self.ellipsoid.map(|[largest, ..]| largest.sd_mm)
    }
}
