//! What was measured, in mm and car axes: x forward, y left, z up.

use nalgebra::Point3;

use crate::geometry::{Axis, LengthUnit};

/// Everything that was measured of one car.
#[derive(Debug, Clone, PartialEq)]
pub struct Survey {
    /// What the builder calls it.
    pub name: String,
    /// Of what is written for people; every number here is in mm.
    pub units: LengthUnit,
    /// Standard deviation of a reading that has none of its own, mm.
    pub tape_sd_mm: f64,
    /// What is added to every taped distance, mm: what the hook hides, or minus what the tape was held in by.
    pub hook_mm: f64,
    /// Places that a tape starts from.
    pub datums: Vec<Datum>,
    /// Places that are sought.
    pub points: Vec<SurveyPoint>,
    /// In the order of the file, the ones that are still to be taken among them.
    pub readings: Vec<Reading>,
    /// Rigid parts with points in axes of their own.
    pub parts: Vec<Part>,
}

/// A place of the car whose coordinates are known.
#[derive(Debug, Clone, PartialEq)]
pub struct Datum {
    /// What the builder calls it.
    pub name: String,
    /// Where it is, mm.
    pub at: Point3<f64>,
    /// Standard deviation of each coordinate, mm; 0 is exact.
    pub sd_mm: f64,
    /// Of the file, counted from 1.
    pub line: usize,
}

/// A place that is sought.
#[derive(Debug, Clone, PartialEq)]
pub struct SurveyPoint {
    /// What the builder calls it.
    pub name: String,
    /// About where it is, mm: settles which of two places that fit the readings is meant.
    pub near: Option<Point3<f64>>,
    /// Of the file, counted from 1.
    pub line: usize,
}

/// An end of a reading: an index into [`Survey::datums`] or [`Survey::points`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Station {
    /// Known.
    Datum(usize),
    /// Sought.
    Point(usize),
}

/// What a reading measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ReadingKind {
    /// Taped from one place to another.
    Distance([Station; 2]),
    /// One coordinate, plumbed: x from the datum plane across the car, y from the centreline plane, z from the floor.
    Plumbed {
        /// Which coordinate.
        axis: Axis,
        /// Whose.
        of: Station,
    },
}

impl ReadingKind {
    /// As the file calls it: `distance`, `fore_aft`, `offset` or `height`.
    pub fn name(self) -> &'static str {
        match self {
            ReadingKind::Distance(_) => "distance",
            ReadingKind::Plumbed { axis: Axis::X, .. } => "fore_aft",
            ReadingKind::Plumbed { axis: Axis::Y, .. } => "offset",
            ReadingKind::Plumbed { axis: Axis::Z, .. } => "height",
        }
    }

    /// The places whose coordinates it depends on.
    pub fn stations(self) -> impl Iterator<Item = Station> {
        let (first, second) = match self {
            ReadingKind::Distance([from, to]) => (from, Some(to)),
            ReadingKind::Plumbed { of, .. } => (of, None),
        };
        std::iter::once(first).chain(second)
    }

    /// The same thing measured, from whichever end.
    pub fn is_same_as(self, other: ReadingKind) -> bool {
        match (self, other) {
            (ReadingKind::Distance([a, b]), ReadingKind::Distance([c, d])) => (a, b) == (c, d) || (a, b) == (d, c),
            _ => self == other,
        }
    }
}

/// One measurement.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Place in the measuring sheet, counted from 1.
    pub number: usize,
    /// What it measures.
    pub kind: ReadingKind,
    /// What the tape showed, mm; `None` when it is still to be taken.
    pub read_mm: Option<f64>,
    /// Standard deviation, mm.
    pub sd_mm: f64,
    /// Of the file, counted from 1.
    pub line: usize,
}

/// A rigid part that was measured on the bench or on the floor, in axes of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// What the builder calls it.
    pub name: String,
    /// Standard deviation of each coordinate of a point that has none of its own, mm.
    pub sd_mm: f64,
    /// Those with the name of a datum or of a sought point hold the part in the car; the others follow.
    pub points: Vec<PartPoint>,
    /// Of the file, counted from 1.
    pub line: usize,
}

/// A point of a part.
#[derive(Debug, Clone, PartialEq)]
pub struct PartPoint {
    /// What the builder calls it.
    pub name: String,
    /// Where it is in the axes of the part, mm.
    pub at: Point3<f64>,
    /// Standard deviation of each coordinate, mm.
    pub sd_mm: f64,
    /// The place of the survey that has this name, when there is one.
    pub sits_at: Option<Station>,
}

impl Survey {
    /// What the builder calls a place.
    pub fn name_of(&self, station: Station) -> &str {
        match station {
            Station::Datum(index) => &self.datums[index].name,
            Station::Point(index) => &self.points[index].name,
        }
    }

    /// Both ends of a reading in words; a plumbed one begins at the plane that it is measured from.
    pub fn ends(&self, kind: ReadingKind) -> [&str; 2] {
        match kind {
            ReadingKind::Distance(ends) => ends.map(|station| self.name_of(station)),
            ReadingKind::Plumbed { axis, of } => {
                let plane = match axis {
                    Axis::X => "datum plane",
                    Axis::Y => "centreline",
                    Axis::Z => "floor",
                };
                [plane, self.name_of(of)]
            }
        }
    }

    /// What the readings measure, mm: what the tape showed, and the hook on a taped distance.
    pub fn measured_mm(&self, reading: &Reading) -> Option<f64> {
        reading.read_mm.map(|read_mm| read_mm + self.added_mm(reading.kind))
    }

    /// What is added to a reading of this kind, mm.
    pub fn added_mm(&self, kind: ReadingKind) -> f64 {
        match kind {
            ReadingKind::Distance(_) => self.hook_mm,
            ReadingKind::Plumbed { .. } => 0.0,
        }
    }
}
