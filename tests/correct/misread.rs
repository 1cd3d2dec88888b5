//! Readings with a sign turned or in inches, of cars that were welded and gauged: told so, and sound ones never.

use std::path::Path;

use hubtrace::file::GeometryFile;
use hubtrace::gauge::{GaugeNoise, GaugeReading, GaugeReadings, Instrument, Read, ReadSide};
use hubtrace::geometry::{Geometry, Side};
use hubtrace::studies::correct::{CorrectFindings, CorrectRequest, FitsBetter, Misread, NotCorrected};
use rand::SeedableRng;
use rand::rngs::StdRng;

use crate::shop::{FinishedCar, Gauge, welded};

const CARS: u64 = 6;
const PLATE_MM: f64 = 400.0;

/// The first cut, whose toe curve no weld makes symmetric.
fn drawn() -> Geometry {
    GeometryFile::read(Path::new("geometries/first-cut.toml")).expect("a sound file").geometry
}

/// What is told of each car when its readings are changed so.
fn told(change: impl Fn(&mut GaugeReadings)) -> Vec<Option<FitsBetter>> {
    let geometry = drawn();
    let of_car = |seed: u64| {
        let mut rng = StdRng::seed_from_u64(400 + seed);
        let car = FinishedCar::new(&geometry.left, welded(&mut rng, 0.5, 0.1), 4);
        let gauge = Gauge { toe_sd_deg: 0.02, offset_sd_deg: 0.05, bump_zero_sd_mm: 1.0 };
        let mut readings = car.gauged(&mut rng, &gauge).expect("a car that moves");
        change(&mut readings);
        let request = CorrectRequest { earlier: Vec::new(), readings, noise: GaugeNoise::default(), seed: 1 };
        match CorrectFindings::of(&geometry, &request).wheels.left {
            Ok(found) => found.fits_better,
            Err(NotCorrected::DoesNotFit { fits_better, .. }) => fits_better,
            Err(other) => panic!("{other}"),
        }
    };
    (0..CARS).map(of_car).collect()
}

pub fn each(readings: &mut GaugeReadings, change: impl Fn(&mut GaugeReading)) {
    readings.readings.iter_mut().for_each(change);
}

pub fn toe_rad(reading: &GaugeReading) -> f64 {
    match reading.read {
        Read::Angles { toe_rad, .. } => toe_rad,
        Read::Dials { .. } | Read::Spot { .. } => f64::NAN,
    }
}

/// The same readings by two dials on a plate, in so many mm.
pub fn on_plate(readings: &mut GaugeReadings, unit_mm: f64) {
    readings.instrument = Instrument::Plate { width_mm: PLATE_MM, zeroed: false };
    each(readings, |reading| {
        let rear_mm = PLATE_MM * toe_rad(reading).sin() / unit_mm;
        reading.read = Read::Dials { front_mm: 0.0, rear_mm };
    });
}

#[test]
fn sound_readings_are_taken_as_they_stand() {
    assert_eq!(told(|_| ()), vec![None; CARS as usize]);
    assert_eq!(told(|readings| on_plate(readings, 1.0)), vec![None; CARS as usize]);
}

#[test]
fn a_sign_that_is_turned_is_told() {
    let turned = told(|readings| {
        each(readings, |reading| reading.read = Read::Angles { toe_rad: -toe_rad(reading), camber_rad: None });
    });
    for found in turned {
        let found = found.expect("a better way");
        assert_eq!(found.how[0], Misread::ToeTurned, "{found:?}");
        assert!(found.then + 20.0 < found.sum_of_squares, "{found:?}");
    }
    let heights = told(|readings| each(readings, |reading| reading.bump_mm = -reading.bump_mm));
    assert!(heights.iter().flatten().all(|found| found.how[0] == Misread::HeightsTurned), "{heights:?}");
    assert_eq!(heights.iter().flatten().count(), CARS as usize);
}

#[test]
fn dials_and_heights_in_inches_are_told() {
    let dials = told(|readings| on_plate(readings, 25.4));
    assert!(
        dials.iter().all(|found| found.as_ref().is_some_and(|found| found.how[0] == Misread::InInches)),
        "{dials:?}"
    );
    let heights = told(|readings| each(readings, |reading| reading.bump_mm /= 25.4));
    let is_told =
        |found: &Option<FitsBetter>| found.as_ref().is_some_and(|found| found.how[0] == Misread::HeightsInInches);
    assert!(heights.iter().all(is_told), "{heights:?}");
}

/// Toe of 0.12 deg that was set, and read with the other sign of a curve that is as good either way: the toe at design height tells.
#[test]
fn toe_that_is_the_mirror_of_the_file_is_told() {
    let file = GeometryFile::read(Path::new("tests/correct/mirrored-toe/car.toml")).expect("a sound file");
    let text = std::fs::read_to_string("tests/correct/mirrored-toe/readings.csv").expect("readings");
    let of = |sign: f64| {
        let rows = text.lines().skip(1).enumerate().map(|(k, row)| {
            let cells: Vec<&str> = row.split(',').collect();
            let number = |k: usize| cells[k].parse::<f64>().expect("a number");
            let side = if cells[0] == "left" { Side::Left } else { Side::Right };
            let read = Read::Angles { toe_rad: (sign * number(2)).to_radians(), camber_rad: None };
            GaugeReading { line: k + 2, session: 0, side: ReadSide::One(side), bump_mm: number(1), read }
        });
        let readings =
            GaugeReadings { instrument: Instrument::Angle, readings: rows.collect(), sessions: vec![String::new()] };
        let request = CorrectRequest { earlier: Vec::new(), readings, noise: GaugeNoise::default(), seed: 1 };
        let found = CorrectFindings::of(&file.geometry, &request).wheels;
        [found.left, found.right].map(|wheel| wheel.expect("a wheel").fits_better.map(|better| better.how))
    };
    assert_eq!(of(1.0), [None, None]);
    assert_eq!(of(-1.0), [Some(vec![Misread::ToeTurned]), Some(vec![Misread::ToeTurned])]);
}
