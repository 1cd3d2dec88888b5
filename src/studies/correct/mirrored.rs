//! Toe at design height that reads as the mirror of the toe of the file.
//!
//! Tested by `tests/correct/misread.rs`.

use serde::Serialize;

use super::estimate::sum_of_squares;
use super::misread::Misread;
use super::other_ways::AS_LIKELY;
use super::problem::Problem;
use crate::gauge::{GaugeReadings, Instrument, Read, ReadSide, Round};
use crate::geometry::Side;

/// Readings within this of design height count as taken there, mm.
const AT_DESIGN_MM: f64 = 1.0;
/// A reading is a mirror when it is so many times nearer to the mirrored toe than to the toe, and as far from that, deg.
const MIRRORED: f64 = 3.0;
const LEAST_MIRRORED_DEG: f64 = 0.1;

/// Toe at design height that is the mirror of the toe of the file, deg per wheel.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MirroredToe {
    /// Mean of what was read there.
    pub read_deg: f64,
    /// Of the file.
    pub file_deg: f64,
}

/// Of the last gauging, where its toe fits no worse with the sign turned; `problem` is made of it and of those before.
pub(super) fn mirrored_toe<'d>(now: &Round, problem: impl Fn(&Round) -> Problem<'d>) -> Option<MirroredToe> {
    let as_it_stands = problem(now);
    let mut wheels = as_it_stands.wheels.iter().map(|wheel| wheel.drawn);
    let found = wheels.find_map(|drawn| of_wheel(&now.readings, drawn.corner.side, drawn.toe_deg()))?;
    let turned = now.with_each(|reading| Misread::ToeTurned.undone(reading));
    (sum_of_squares(&problem(&turned))? < sum_of_squares(&as_it_stands)? + AS_LIKELY).then_some(found)
}

/// What was read of this wheel at design height, where that is the mirror of its toe in the file.
fn of_wheel(readings: &GaugeReadings, side: Side, file_deg: f64) -> Option<MirroredToe> {
    let at_design = readings
        .readings
        .iter()
        .filter(|reading| reading.side == ReadSide::One(side) && reading.bump_mm.abs() <= AT_DESIGN_MM);
    let toe_deg = at_design.filter_map(|reading| match (reading.read, readings.instrument) {
        (Read::Angles { toe_rad, .. }, _) => Some(toe_rad.to_degrees()),
        (Read::Dials { front_mm, rear_mm }, Instrument::Plate { width_mm, zeroed: false }) => {
            Some(((rear_mm - front_mm) / width_mm).to_degrees())
        }
        _ => None,
    });
    let all: Vec<f64> = toe_deg.collect();
    let read_deg = all.iter().sum::<f64>() / all.len() as f64;
    let off_deg = (read_deg - file_deg).abs();
    let is_mirrored = off_deg >= LEAST_MIRRORED_DEG && MIRRORED * (read_deg + file_deg).abs() <= off_deg;
    is_mirrored.then_some(MirroredToe { read_deg, file_deg })
}
