//! Gauges that were stuck, and dials in inches on a car that is all but flat: told so, with the lines, and sound ones never.

use hubtrace::gauge::{GaugeNoise, GaugeReading, GaugeReadings, Read};
use hubtrace::geometry::LengthUnit;
use hubtrace::present::{LengthFormat, correct};
use hubtrace::studies::correct::{CorrectFindings, CorrectRequest, NotCorrected, WheelCorrection};
use rand::SeedableRng;
use rand::rngs::StdRng;

use crate::misread::{each, on_plate, toe_rad};
use crate::shop::{FinishedCar, Gauge, welded};

const CARS: u64 = 4;

/// What comes of each car when its readings, on the marks of a gauge, are changed so.
fn corrected(mark_deg: f64, change: impl Fn(&mut GaugeReadings)) -> Vec<Result<WheelCorrection, NotCorrected>> {
    let file = hubtrace::file::GeometryFile::read("geometries/double-wishbone.toml".as_ref()).expect("a sound file");
    let of_car = |seed: u64| {
        let mut rng = StdRng::seed_from_u64(500 + seed);
        let car = FinishedCar::new(&file.geometry.left, welded(&mut rng, 0.5, 0.1), 4);
        let gauge = Gauge { toe_sd_deg: 0.02, offset_sd_deg: 0.05, bump_zero_sd_mm: 1.0 };
        let mut readings = car.gauged(&mut rng, &gauge).expect("a car that moves");
        each(&mut readings, |reading| {
            let on_mark_deg = (toe_rad(reading).to_degrees() / mark_deg).round() * mark_deg;
            reading.read = Read::Angles { toe_rad: on_mark_deg.to_radians(), camber_rad: None };
        });
        change(&mut readings);
        let request = CorrectRequest { earlier: Vec::new(), readings, noise: GaugeNoise::default(), seed: 1 };
        CorrectFindings::of(&file.geometry, &request).wheels.left
    };
    (0..CARS).map(of_car).collect()
}

fn told(wheels: &[Result<WheelCorrection, NotCorrected>]) -> Vec<String> {
    let first = |wheel: &WheelCorrection| {
        correct::first_of_all(LengthFormat(LengthUnit::Millimetre), wheel).unwrap_or_default()
    };
    wheels.iter().map(|wheel| wheel.as_ref().map_or_else(ToString::to_string, first)).collect()
}

fn dials(reading: &mut GaugeReading, times: f64) {
    if let Read::Dials { front_mm, rear_mm } = reading.read {
        reading.read = Read::Dials { front_mm: times * front_mm, rear_mm: times * rear_mm };
    }
}

#[test]
fn sound_readings_are_steady_by_their_gauge_alone() {
    for mark_deg in [0.001, 0.01, 0.05] {
        assert_eq!(told(&corrected(mark_deg, |_| ())), vec![String::new(); CARS as usize], "{mark_deg}");
    }
    assert_eq!(told(&corrected(0.01, |readings| on_plate(readings, 1.0))), vec![String::new(); CARS as usize]);
}

#[test]
fn a_gauge_that_was_stuck_is_told_with_its_lines() {
    let wheels = corrected(0.01, |readings| {
        let stuck = readings.readings[3].read;
        readings.readings[4..].iter_mut().for_each(|reading| reading.read = stuck);
    });
    for (wheel, told) in wheels.iter().zip(told(&wheels)) {
        let wheel = wheel.as_ref().expect("an estimate");
        let stuck = wheel.stuck.expect("a run");
        let [first, last] = stuck.lines;
        // The reading before may have been the same one by chance.
        assert!(first <= 5 && last == 14, "{stuck:?}");
        assert!(told.starts_with(&format!("lines {first} to 14 have the same reading at {}", stuck.heights)), "{told}");
    }
}

#[test]
fn dials_in_inches_on_a_flat_car_are_told() {
    for told in told(&corrected(0.001, |readings| on_plate(readings, 25.4))) {
        assert!(told.contains("they are probably in inches, and the columns are in mm"), "{told}");
    }
}

#[test]
fn dials_that_are_in_inches_on_the_way_down_are_told_with_their_lines() {
    let wheels = corrected(0.001, |readings| {
        on_plate(readings, 1.0);
        let up = readings.readings.clone();
        readings.readings.extend(up.iter().rev().skip(1).zip(15..).map(|(reading, line)| {
            let mut down = GaugeReading { line, ..*reading };
            dials(&mut down, 1.0 / 25.4);
            down
        }));
    });
    for told in told(&wheels) {
        assert!(told.contains("lines 15 to 26 are probably in inches"), "{told}");
    }
}
