//! The one measurement that would help most.

use nalgebra::{Matrix3, Point3, RowVector3, Vector3};
use serde::Serialize;

use super::adjustment::Adjustment;
use super::observation::{Observed, index_of, station_of};
use crate::geometry::Axis;
use crate::survey::{ReadingKind, Station, Survey};

/// A point whose weakest direction is known to less than this by one more reading is not fixed by it, in 1/mm².
const FIXES: f64 = 1e-6;

/// One measurement more.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ExtraReading {
    /// `distance`, `height`, `offset` or `fore_aft`.
    pub kind: &'static str,
    /// Both ends; a plumbed reading begins at its plane.
    pub from: String,
    /// The point that it helps, or the other end.
    pub to: String,
    /// The point that it helps.
    pub point: String,
    /// Standard deviation of that point in its worst direction now, mm; `None` while the point is not determined.
    pub worst_sd_mm: Option<f64>,
    /// The same with this reading, mm; `None` when one reading alone is not enough.
    pub then_mm: Option<f64>,
}

/// Something that could be measured of a point, with the derivative by that point and the variance of everything else.
struct Candidate {
    kind: ReadingKind,
    by: Vector3<f64>,
    variance_mm2: f64,
}

/// For the point that is known worst; `None` when there is none, or nothing left to measure.
pub(super) fn for_the_worst(adjustment: &Adjustment<'_>) -> Option<ExtraReading> {
    let survey = adjustment.survey;
    let points = (0..survey.points.len()).map(|i| index_of(survey, Station::Point(i)));
    let known = points.filter(|&point| adjustment.is_determined(point));
    let worst_of = |point: usize| worst_mm(&adjustment.covariance(point, point));
    let point = known.max_by(|&a, &b| worst_of(a).total_cmp(&worst_of(b)))?;
    let covariance = adjustment.covariance(point, point);
    let then = |candidate: &Candidate| worst_mm(&updated(&covariance, candidate));
    let best = candidates(adjustment, point).into_iter().min_by(|a, b| then(a).total_cmp(&then(b)))?;
    Some(told(survey, point, &best, Some(worst_mm(&covariance)), Some(then(&best))))
}

/// For a point that is not determined; of two places that it may be at, what tells them apart best.
pub(super) fn for_an_unknown(adjustment: &Adjustment<'_>, point: usize) -> Option<ExtraReading> {
    let survey = adjustment.survey;
    if let Some(other) = adjustment.ambiguous(point) {
        let here = adjustment.place(point);
        let apart = |candidate: &Candidate| {
            let value = |at: Point3<f64>| match Observed::of(survey, candidate.kind) {
                Observed::Coordinate { axis, .. } => at[axis.index()],
                Observed::Distance([a, b]) => (adjustment.place(if a == point { b } else { a }) - at).norm(),
            };
            (value(here) - value(other)).abs() / candidate.variance_mm2.sqrt()
        };
        let candidates = candidates(adjustment, point).into_iter();
        let best = candidates.max_by(|a, b| apart(a).total_cmp(&apart(b)))?;
        return Some(told(survey, point, &best, None, Some(worst_mm(&adjustment.covariance(point, point)))));
    }
    let known: Matrix3<f64> = adjustment
        .used_of(point)
        .iter()
        .map(|&index| &adjustment.observations[index])
        .flat_map(|seen| {
            let derivatives = seen.of.derivatives(adjustment.places());
            derivatives.filter(|(place, _)| *place == point).map(|(_, by)| by * by.transpose() / seen.sd_mm.powi(2))
        })
        .sum();
    let with = |candidate: &Candidate| known + candidate.by * candidate.by.transpose() / candidate.variance_mm2;
    let weakest = |candidate: &Candidate| with(candidate).symmetric_eigenvalues().min();
    let best = candidates(adjustment, point).into_iter().max_by(|a, b| weakest(a).total_cmp(&weakest(b)))?;
    let then_mm = (weakest(&best) > FIXES).then(|| weakest(&best).sqrt().recip());
    Some(told(survey, point, &best, None, then_mm))
}

fn told(
    survey: &Survey,
    point: usize,
    candidate: &Candidate,
    worst_sd_mm: Option<f64>,
    then_mm: Option<f64>,
) -> ExtraReading {
    let [from, to] = survey.ends(candidate.kind).map(str::to_owned);
    let point = survey.name_of(station_of(survey, point)).to_owned();
    ExtraReading { kind: candidate.kind.name(), from, to, point, worst_sd_mm, then_mm }
}

/// Everything that was not yet measured of a point: its distance from every known place, and its three coordinates.
fn candidates(adjustment: &Adjustment<'_>, point: usize) -> Vec<Candidate> {
    let survey = adjustment.survey;
    let of = station_of(survey, point);
    let places = (0..survey.datums.len() + survey.points.len()).filter(|&place| place != point);
    let distances = places
        .filter(|&place| adjustment.is_determined(place))
        .map(|place| ReadingKind::Distance([station_of(survey, place), of]));
    let plumbed = Axis::ALL.map(|axis| ReadingKind::Plumbed { axis, of });
    let is_open = |kind: &ReadingKind| {
        !survey.readings.iter().any(|reading| reading.read_mm.is_some() && reading.kind.is_same_as(*kind))
    };
    let candidate = |kind: ReadingKind| {
        let by_place = Observed::of(survey, kind).derivatives(adjustment.places());
        let mut candidate = Candidate { kind, by: Vector3::zeros(), variance_mm2: survey.tape_sd_mm.powi(2) };
        for (place, by) in by_place {
            if place == point {
                candidate.by = by;
            } else {
                let covariance = adjustment.covariance(place, place);
                candidate.variance_mm2 += (by.transpose() * covariance * by)[0];
            }
        }
        candidate
    };
    distances.chain(plumbed).filter(is_open).map(candidate).collect()
}

/// The covariance of a point when one reading more is taken, the other end of it being independent of the point.
fn updated(covariance: &Matrix3<f64>, candidate: &Candidate) -> Matrix3<f64> {
    let row: RowVector3<f64> = candidate.by.transpose() * covariance;
    covariance - row.transpose() * row / (candidate.variance_mm2 + (row * candidate.by)[0])
}

/// Standard deviation in the worst direction, mm.
pub(super) fn worst_mm(covariance: &Matrix3<f64>) -> f64 {
    covariance.symmetric_eigenvalues().max().max(0.0).sqrt()
}

#[cfg(test)]
mod tests {
    use nalgebra::{Matrix3, Vector3};

    use super::{Candidate, updated};
    use crate::geometry::Axis;
    use crate::survey::{ReadingKind, Station};

    /// Two measurements of one number weigh as the reciprocals of their variances: 1/4 and 1/12 make 1/3.
    #[test]
    fn one_reading_more_weighs_beside_what_is_known() {
        let kind = ReadingKind::Plumbed { axis: Axis::X, of: Station::Point(0) };
        let candidate = Candidate { kind, by: Vector3::x(), variance_mm2: 12.0 };
        let then = updated(&Matrix3::from_diagonal(&Vector3::new(4.0, 9.0, 1.0)), &candidate);
        let wanted = Matrix3::from_diagonal(&Vector3::new(3.0, 9.0, 1.0));
        assert!((then - wanted).norm() < 1e-12, "{then}");
    }
}
