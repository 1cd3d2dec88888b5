//! Readings with a sign turned or in inches, of cars that were welded and gauged: told so, and sound ones never.

use std::path::Path;

use hubtrace::file::GeometryFile;
use hubtrace::gauge::{GaugeNoise, GaugeReading, GaugeReadings, Instrument, Read};
use hubtrace::geometry::Geometry;
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
