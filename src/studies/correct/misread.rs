//! Readings that fit far better when they are read another way: with a sign turned, or in inches.
//!
//! Each way is fitted like the readings themselves. Half the difference of two sums of squares is the logarithm of the odds of one
//! reading against the other, for all of them have the same prior.
//!
//! Tested by `tests/correct/misread.rs`.

use serde::Serialize;

use super::estimate::sum_of_squares;
use super::problem::Problem;
use crate::gauge::{GaugeReading, GaugeReadings, Instrument, Read, ReadSide, Round};
use crate::geometry::{Interval, LengthUnit, Side};

/// A sum of squares that is less by this is told: odds of 20,000 to 1.
const FAR_LESS: f64 = 20.0;
/// Readings within this of design height count as taken there, mm.
const AT_DESIGN_MM: f64 = 1.0;
/// A reading is a mirror when it is so many times nearer to the mirrored toe than to the toe, and as far from that, deg.
const MIRRORED: f64 = 3.0;
const LEAST_MIRRORED_DEG: f64 = 0.1;
/// Ways whose sums of squares differ by less leave open which it is: odds of about 1 in 90.
const AS_LIKELY: f64 = 9.0;

/// A way in which all readings of a gauging were taken or written wrongly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Misread {
    /// Toe, or what stands for it, has the other sign.
    ToeTurned,
    /// Camber has the other sign.
    CamberTurned,
    /// Bump is negative.
    HeightsTurned,
    /// Dials or the spot on the wall are in inches.
    InInches,
    /// Bump is in inches.
    HeightsInInches,
}

/// The ways in which the readings fit far better than as they stand.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FitsBetter {
    /// The likeliest first; more than one where the readings do not tell.
    pub how: Vec<Misread>,
    /// Of squares of residuals and of what the car is off its drawing, as the readings stand; no unit.
    pub sum_of_squares: f64,
    /// The same in the likeliest way.
    pub then: f64,
    /// The readings fit as well as they stand, and toe at design height tells that their sign is turned.
    pub mirrored: Option<MirroredToe>,
}

/// Toe at design height that is the mirror of the toe of the file, deg per wheel.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MirroredToe {
    /// Mean of what was read there.
    pub read_deg: f64,
    /// Of the file.
    pub file_deg: f64,
}

/// Of the last gauging, on wheels whose travel is this, mm; `problem` is made of it and of those before.
pub(super) fn fits_better<'d>(
    now: &Round,
    travel: Interval,
    problem: impl Fn(&Round) -> Problem<'d>,
) -> Option<FitsBetter> {
    let as_it_stands = problem(now);
    let as_read = sum_of_squares(&as_it_stands).unwrap_or(f64::INFINITY);
    let tried = Misread::of(&now.readings, travel).into_iter().filter_map(|how| {
        let readings = now.readings.readings.iter().map(|reading| how.undone(*reading)).collect();
        let readings = GaugeReadings { readings, ..now.readings.clone() };
        Some((how, sum_of_squares(&problem(&Round { readings, ..now.clone() }))?))
    });
    let mut tried: Vec<(Misread, f64)> = tried.collect();
    tried.sort_by(|a, b| a.1.total_cmp(&b.1));
    let turned = tried.iter().find(|(how, sum)| *how == Misread::ToeTurned && *sum < as_read + AS_LIKELY).copied();
    tried.retain(|(_, sum)| *sum < as_read - FAR_LESS);
    if let Some((how, then)) = turned.filter(|_| tried.is_empty()) {
        let mut wheels = as_it_stands.wheels.iter().map(|wheel| wheel.drawn);
        let mirrored = wheels.find_map(|drawn| mirrored(&now.readings, drawn.corner.side, drawn.toe_deg()))?;
        return Some(FitsBetter { how: vec![how], sum_of_squares: as_read, then, mirrored: Some(mirrored) });
    }
    let then = tried.first()?.1;
    let how = tried.iter().take_while(|(_, sum)| *sum < then + AS_LIKELY).map(|(how, _)| *how).collect();
    Some(FitsBetter { how, sum_of_squares: as_read, then, mirrored: None })
}

/// What was read of this wheel at design height, where that is the mirror of its toe in the file.
fn mirrored(readings: &GaugeReadings, side: Side, file_deg: f64) -> Option<MirroredToe> {
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

impl Misread {
    /// With what they fit, and how they are to be written.
    pub fn words(self) -> &'static str {
        match self {
            Misread::ToeTurned => "they fit with their sign turned: toe-in is positive, and dials and spot are outward",
            Misread::CamberTurned => "they fit with the sign of camber turned: top outboard is positive",
            Misread::HeightsTurned => "they fit with the sign of `bump_mm` turned: bump is positive",
            Misread::InInches => "they fit as inches: the columns are in mm",
            Misread::HeightsInInches => "they fit with `bump_mm` as inches: the column is in mm",
        }
    }

    /// The ways that are possible with an instrument and its readings.
    fn of(readings: &GaugeReadings, travel: Interval) -> Vec<Self> {
        let all = || readings.readings.iter();
        let has_camber = all().any(|reading| matches!(reading.read, Read::Angles { camber_rad: Some(_), .. }));
        let reaches = |how: Self| all().all(|reading| travel.holds(&Interval::single(how.undone(*reading).bump_mm)));
        let mut ways = vec![Misread::ToeTurned];
        ways.extend(has_camber.then_some(Misread::CamberTurned));
        ways.extend((readings.instrument != Instrument::Angle).then_some(Misread::InInches));
        ways.extend([Misread::HeightsTurned, Misread::HeightsInInches].into_iter().filter(|how| reaches(*how)));
        ways
    }

    /// The reading as it was meant.
    fn undone(self, reading: GaugeReading) -> GaugeReading {
        let inch_mm = LengthUnit::Inch.in_mm();
        let times = |toe: f64| match reading.read {
            Read::Angles { toe_rad, camber_rad } => Read::Angles { toe_rad: toe * toe_rad, camber_rad },
            Read::Dials { front_mm, rear_mm } => Read::Dials { front_mm: toe * front_mm, rear_mm: toe * rear_mm },
            Read::Spot { wall_mm } => Read::Spot { wall_mm: toe * wall_mm },
        };
        match self {
            Misread::ToeTurned => GaugeReading { read: times(-1.0), ..reading },
            Misread::InInches => GaugeReading { read: times(inch_mm), ..reading },
            Misread::CamberTurned => match reading.read {
                Read::Angles { toe_rad, camber_rad } => {
                    let read = Read::Angles { toe_rad, camber_rad: camber_rad.map(|camber| -camber) };
                    GaugeReading { read, ..reading }
                }
                Read::Dials { .. } | Read::Spot { .. } => reading,
            },
            Misread::HeightsTurned => GaugeReading { bump_mm: -reading.bump_mm, ..reading },
            Misread::HeightsInInches => GaugeReading { bump_mm: LengthUnit::Inch.to_mm(reading.bump_mm), ..reading },
        }
    }
}
