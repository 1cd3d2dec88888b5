//! Readings and known places as numbers that depend on places, with exact derivatives.

use nalgebra::{Point3, Vector3};

use crate::geometry::Axis;
use crate::survey::{ReadingKind, Station, Survey};

/// Two places nearer than this have no direction from one to the other, mm.
const SAME_PLACE_MM: f64 = 1e-9;

/// The number of a place among all: datums first, then points.
pub(super) fn index_of(survey: &Survey, station: Station) -> usize {
    match station {
        Station::Datum(index) => index,
        Station::Point(index) => survey.datums.len() + index,
    }
}

/// The same the other way round.
pub(super) fn station_of(survey: &Survey, index: usize) -> Station {
    match index.checked_sub(survey.datums.len()) {
        None => Station::Datum(index),
        Some(point) => Station::Point(point),
    }
}

/// What is observed of places, which go by their number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Observed {
    Distance([usize; 2]),
    Coordinate { of: usize, axis: Axis },
}

impl Observed {
    pub(super) fn of(survey: &Survey, kind: ReadingKind) -> Self {
        match kind {
            ReadingKind::Distance(ends) => Observed::Distance(ends.map(|station| index_of(survey, station))),
            ReadingKind::Plumbed { axis, of } => Observed::Coordinate { of: index_of(survey, of), axis },
        }
    }

    /// What it is when the places are these, mm.
    pub(super) fn value_mm(self, places: &[Point3<f64>]) -> f64 {
        match self {
            Observed::Distance([from, to]) => (places[to] - places[from]).norm(),
            Observed::Coordinate { of, axis } => places[of][axis.index()],
        }
    }

    /// Its derivatives by the places that it depends on (no unit). Tested by `derivatives_are_those_of_differences`.
    pub(super) fn derivatives(self, places: &[Point3<f64>]) -> impl Iterator<Item = (usize, Vector3<f64>)> {
        let (first, second) = match self {
            Observed::Distance([from, to]) => {
                let along = (places[to] - places[from]).try_normalize(SAME_PLACE_MM).unwrap_or_else(Vector3::z);
                ((to, along), Some((from, -along)))
            }
            Observed::Coordinate { of, axis } => ((of, axis.direction()), None),
        };
        std::iter::once(first).chain(second)
    }

    pub(super) fn stations(self) -> impl Iterator<Item = usize> {
        let (first, second) = match self {
            Observed::Distance([from, to]) => (from, Some(to)),
            Observed::Coordinate { of, .. } => (of, None),
        };
        std::iter::once(first).chain(second)
    }
}

/// Where an observation comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Source {
    /// Index into `Survey::readings`.
    Reading(usize),
    /// A datum whose coordinates have a standard deviation.
    Datum { index: usize, axis: Axis },
}

/// One number that was observed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Observation {
    pub(super) source: Source,
    pub(super) of: Observed,
    pub(super) value_mm: f64,
    pub(super) sd_mm: f64,
}

/// Every reading that was taken, and every coordinate of a datum that is not exact.
pub(super) fn observations(survey: &Survey) -> Vec<Observation> {
    let readings = survey.readings.iter().enumerate().filter_map(|(index, reading)| {
        let value_mm = survey.measured_mm(reading)?;
        let of = Observed::of(survey, reading.kind);
        Some(Observation { source: Source::Reading(index), of, value_mm, sd_mm: reading.sd_mm })
    });
    let measured = survey.datums.iter().enumerate().filter(|(_, datum)| datum.sd_mm > 0.0);
    let datums = measured.flat_map(|(index, datum)| {
        Axis::ALL.map(|axis| Observation {
            source: Source::Datum { index, axis },
            of: Observed::Coordinate { of: index, axis },
            value_mm: datum.at[axis.index()],
            sd_mm: datum.sd_mm,
        })
    });
    readings.chain(datums).collect()
}

#[cfg(test)]
mod tests {
    use nalgebra::Point3;

    use super::Observed;
    use crate::geometry::Axis;

    #[test]
    fn derivatives_are_those_of_differences() {
        const STEP_MM: f64 = 1e-3;
        let places = [Point3::new(10.0, -20.0, 30.0), Point3::new(-400.0, 250.0, 120.0)];
        for observed in [Observed::Distance([0, 1]), Observed::Coordinate { of: 1, axis: Axis::Y }] {
            let exact: Vec<_> = observed.derivatives(&places).collect();
            for station in 0..2 {
                for axis in 0..3 {
                    let value = |by: f64| {
                        let mut moved = places;
                        moved[station][axis] += by;
                        observed.value_mm(&moved)
                    };
                    let difference = (value(STEP_MM) - value(-STEP_MM)) / (2.0 * STEP_MM);
                    let by = exact.iter().find(|(of, _)| *of == station).map_or(0.0, |(_, along)| along[axis]);
                    assert!((by - difference).abs() < 1e-9, "{observed:?} {station} {axis}: {by} {difference}");
                }
            }
        }
    }
}
