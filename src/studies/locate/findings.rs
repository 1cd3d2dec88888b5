//! Everything that `locate` tells of a survey.

use nalgebra::{Matrix3, Point3};
use serde::Serialize;

use super::adjustment::Adjustment;
use super::common::{CommonError, Corrected};
use super::extra_reading::{ExtraReading, for_an_unknown, for_the_worst};
use super::misreading::{Misreading, probable};
use super::observation::{Source, index_of};
use super::seating::{SeatedPart, seated};
use crate::geometry::MeasuredPoint;
use crate::survey::{ReadingKind, Station, Survey};

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

impl LocateFindings {
    /// Adjusts a survey and seats its parts.
    pub fn of(survey: &Survey) -> Self {
        let corrected = Corrected::of(survey);
        let adjustment = Adjustment::of(&corrected.survey);
        let teller = Teller { given: survey, survey: &corrected.survey, errors: &corrected.errors, adjustment };
        Self { name: survey.name.clone(), located: teller.located() }
    }
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

struct Teller<'s> {
    /// As the file has it.
    given: &'s Survey,
    /// Without the errors that several readings share.
    survey: &'s Survey,
    errors: &'s [(CommonError, Vec<usize>)],
    adjustment: Adjustment<'s>,
}

impl Teller<'_> {
    fn located(&self) -> Located {
        let survey = self.survey;
        let mut points: Vec<LocatedPoint> = (0..survey.points.len()).map(|i| self.point(i)).collect();
        let mut parts = Vec::new();
        for part in &survey.parts {
            let (told, seated) = seated(&self.adjustment, part);
            points.extend(part.points.iter().filter(|point| point.sits_at.is_none()).map(|point| {
                let found = seated.iter().find(|seated| seated.point.name == point.name);
                let (name, part) = (point.name.clone(), Some(part.name.clone()));
                located_point(name, part, found.map(|seated| (seated.at, seated.covariance)), 0)
            }));
            parts.push(told);
        }
        let noise = self.adjustment.noise;
        Located {
            points,
            datums: (0..survey.datums.len()).filter_map(|i| self.datum(i)).collect(),
            readings: self.readings(),
            wrong_datums: self.errors.iter().filter_map(|error| self.wrong_datum(error)).collect(),
            tape_zero: self.errors.iter().find_map(|error| self.tape_zero(error)),
            suspects: self.adjustment.suspects().iter().map(|(index, or)| self.suspect(*index, or)).collect(),
            contradictions: self.contradictions(),
            not_determined: (0..survey.points.len()).filter_map(|i| self.not_determined(i)).collect(),
            noise: Noise { redundancy: noise.redundancy, factor: noise.factor, widened: noise.is_scaled },
            extra_reading: for_the_worst(&self.adjustment),
            parts,
            not_taken: survey.readings.iter().filter(|reading| reading.read_mm.is_none()).count(),
        }
    }

    fn point(&self, index: usize) -> LocatedPoint {
        let place = index_of(self.survey, Station::Point(index));
        let adjustment = &self.adjustment;
        let found =
            adjustment.is_determined(place).then(|| (adjustment.place(place), adjustment.covariance(place, place)));
        located_point(self.survey.points[index].name.clone(), None, found, adjustment.used_of(place).len())
    }

    fn wrong_datum(&self, (error, explains): &(CommonError, Vec<usize>)) -> Option<WrongDatum> {
        let CommonError::Datum(index) = *error else { return None };
        let (datum, at) = (&self.given.datums[index], self.adjustment.place(index));
        Some(WrongDatum {
            datum: datum.name.clone(),
            line: datum.line,
            given_mm: datum.at.into(),
            at_mm: at.into(),
            sd_mm: sds(&self.adjustment.covariance(index, index)),
            off_mm: (at - datum.at).norm(),
            explains: self.reading_numbers(explains),
        })
    }

    fn tape_zero(&self, (error, explains): &(CommonError, Vec<usize>)) -> Option<TapeZero> {
        let CommonError::TapeZero { by_mm, sd_mm } = *error else { return None };
        Some(TapeZero {
            long_mm: -by_mm,
            sd_mm,
            hook_mm: self.given.hook_mm,
            fitting_hook_mm: self.given.hook_mm + by_mm,
            explains: self.reading_numbers(explains),
        })
    }

    fn reading_numbers(&self, readings: &[usize]) -> Vec<usize> {
        readings.iter().map(|&at| self.survey.readings[at].number).collect()
    }

    /// A datum that is measured itself, unless it is told as a wrong one.
    fn datum(&self, index: usize) -> Option<AdjustedDatum> {
        let datum = &self.given.datums[index];
        let is_wrong = self.errors.iter().any(|(error, _)| *error == CommonError::Datum(index));
        (datum.sd_mm > 0.0 && !is_wrong).then(|| AdjustedDatum {
            datum: datum.name.clone(),
            given_mm: datum.at.into(),
            at_mm: self.adjustment.place(index).into(),
            sd_mm: sds(&self.adjustment.covariance(index, index)),
        })
    }

    fn readings(&self) -> Vec<ReadingFinding> {
        let suspects = self.adjustment.suspects();
        let is_suspect = |index: usize| {
            let contradicts = self.adjustment.groups.iter().any(|group| group.snooped.contradiction.contains(&index));
            contradicts || suspects.iter().any(|(suspect, _)| *suspect == index)
        };
        let observations = self.adjustment.observations.iter().enumerate();
        let readings = observations.filter_map(|(index, seen)| {
            let reading = &self.survey.readings[seen.reading()?];
            let read_mm = reading.read_mm?;
            let outcome = self.adjustment.outcome(index);
            let fitted_mm = outcome.fitted_mm - self.survey.added_mm(reading.kind);
            let [from, to] = self.survey.ends(reading.kind).map(str::to_owned);
            Some(ReadingFinding {
                number: reading.number,
                line: reading.line,
                kind: reading.kind.name(),
                from,
                to,
                read_mm,
                fitted_mm,
                residual_mm: read_mm - fitted_mm,
                sd_mm: reading.sd_mm,
                standardised: outcome.tested.map(|tested| tested.standardised),
                redundancy: outcome.tested.map(|tested| tested.redundancy),
                suspect: is_suspect(index),
            })
        });
        readings.collect()
    }

    fn suspect(&self, index: usize, or: &[usize]) -> Suspect {
        let (survey, adjustment) = (self.survey, &self.adjustment);
        let (seen, outcome) = (&adjustment.observations[index], adjustment.outcome(index));
        let sd_mm = seen.sd_mm.hypot(outcome.fitted_sd_mm);
        match seen.source {
            Source::Reading(at) => {
                let reading = &survey.readings[at];
                let added_mm = survey.added_mm(reading.kind);
                let (read_mm, should_be_mm) = (seen.value_mm - added_mm, outcome.fitted_mm - added_mm);
                let [from, to] = survey.ends(reading.kind).map(str::to_owned);
                Suspect {
                    number: Some(reading.number),
                    line: reading.line,
                    kind: reading.kind.name().to_owned(),
                    from,
                    to,
                    read_mm,
                    should_be_mm,
                    sd_mm,
                    probably: probable(adjustment, reading, read_mm, should_be_mm, sd_mm),
                    or: self.numbers(or),
                }
            }
            Source::Datum { index: datum, axis } => {
                let plumbed = ReadingKind::Plumbed { axis, of: Station::Datum(datum) };
                let [from, to] = survey.ends(plumbed).map(str::to_owned);
                Suspect {
                    number: None,
                    line: survey.datums[datum].line,
                    kind: format!("datum {}", axis.name()),
                    from,
                    to,
                    read_mm: seen.value_mm,
                    should_be_mm: outcome.fitted_mm,
                    sd_mm,
                    probably: None,
                    or: self.numbers(or),
                }
            }
        }
    }

    /// The numbers of those observations that are readings.
    fn numbers(&self, observations: &[usize]) -> Vec<usize> {
        let reading = |&index: &usize| self.adjustment.observations[index].reading();
        observations.iter().filter_map(reading).map(|at| self.survey.readings[at].number).collect()
    }

    fn contradictions(&self) -> Vec<Contradiction> {
        let groups = self.adjustment.groups.iter().filter(|group| !group.snooped.contradiction.is_empty());
        let contradiction = |indices: &[usize], places: Vec<usize>| {
            let reading = |&index: &usize| self.adjustment.observations[index].reading();
            let point = |place: usize| place.checked_sub(self.survey.datums.len());
            Contradiction {
                numbers: self.numbers(indices),
                lines: indices.iter().filter_map(reading).map(|at| self.survey.readings[at].line).collect(),
                points: places.into_iter().filter_map(point).map(|i| self.survey.points[i].name.clone()).collect(),
            }
        };
        groups.map(|group| contradiction(&group.snooped.contradiction, group.unknowns.clone())).collect()
    }

    fn not_determined(&self, index: usize) -> Option<NotDetermined> {
        let (point, adjustment) = (&self.survey.points[index], &self.adjustment);
        let place = index_of(self.survey, Station::Point(index));
        if adjustment.is_determined(place) {
            return None;
        }
        let readings = adjustment.used_of(place).len();
        let either = adjustment.ambiguous(place).filter(|_| adjustment.is_fixed(place));
        let why = match (readings, either) {
            (0, _) => WhyNot::NoReading,
            (_, Some(_)) => WhyNot::EitherSide,
            (_, None) => WhyNot::Free,
        };
        Some(NotDetermined {
            point: point.name.clone(),
            line: point.line,
            why,
            readings,
            either_mm: either.map(|other| [adjustment.place(place).into(), other.into()]),
            extra_reading: for_an_unknown(adjustment, place),
        })
    }
}

fn located_point(
    point: String,
    part: Option<String>,
    found: Option<(Point3<f64>, Matrix3<f64>)>,
    readings: usize,
) -> LocatedPoint {
    LocatedPoint {
        point,
        part,
        at_mm: found.map(|(at, _)| at.into()),
        sd_mm: found.map(|(_, covariance)| sds(&covariance)),
        ellipsoid: found.map(|(_, covariance)| ellipsoid(&covariance)),
        readings,
    }
}

impl LocatedPoint {
    /// Standard deviation in its worst direction, mm.
    pub fn worst_sd_mm(&self) -> Option<f64> {
        self.ellipsoid.map(|[largest, ..]| largest.sd_mm)
    }
}

fn sds(covariance: &Matrix3<f64>) -> [f64; 3] {
    [0, 1, 2].map(|axis| covariance[(axis, axis)].max(0.0).sqrt())
}

/// The axes of the ellipsoid of one standard deviation, the longest first.
fn ellipsoid(covariance: &Matrix3<f64>) -> [PrincipalSd; 3] {
    let eigen = covariance.symmetric_eigen();
    let axis = |k: usize| PrincipalSd {
        sd_mm: eigen.eigenvalues[k].max(0.0).sqrt(),
        along: eigen.eigenvectors.column(k).into_owned().into(),
    };
    let mut axes = [0, 1, 2].map(axis);
    axes.sort_by(|a, b| b.sd_mm.total_cmp(&a.sd_mm));
    axes
}
