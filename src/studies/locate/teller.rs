//! From a survey to all that is told of it.

use nalgebra::{Matrix3, Point3};

use super::adjustment::Adjustment;
use super::common::{CommonError, Corrected};
use super::extra_reading::{for_an_unknown, for_the_worst};
use super::findings::{
    AdjustedDatum, Contradiction, LocateFindings, Located, LocatedPoint, Noise, NotDetermined, PrincipalSd,
    ReadingFinding, Suspect, TapeZero, WhyNot, WrongDatum,
};
use super::misreading::probable;
use super::observation::{Source, index_of};
use super::seating::seated;
use crate::survey::{ReadingKind, Station, Survey};

impl LocateFindings {
    /// Adjusts a survey and seats its parts.
    pub fn of(survey: &Survey) -> Self {
        let corrected = Corrected::of(survey);
        let adjustment = Adjustment::of(&corrected.survey);
        let teller = Teller { given: survey, survey: &corrected.survey, errors: &corrected.errors, adjustment };
        Self { name: survey.name.clone(), located: teller.located() }
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
