//! Dials and spots in inches on a car that is all but flat, as they are written down: told so, and sound ones never.

use hubtrace::gauge::{Beam, GaugeNoise, GaugeReadings, Instrument, Read};
use hubtrace::geometry::{Geometry, Interval, LengthUnit, Quantity};
use hubtrace::present::{LengthFormat, correct};
use hubtrace::studies::correct::{CorrectFindings, CorrectRequest, NotCorrected, Quiet, WheelCorrection};

use crate::misread::{each, flat, gauged, toe_rad};

const CARS: u64 = 8;
const PLATE_MM: f64 = 600.0;
const WALL_MM: f64 = 3000.0;

fn on_mark(mm: f64, unit_mm: f64, mark: f64) -> f64 {
    (mm / unit_mm / mark).round() * mark
}

/// Both dials, in units of so many mm, on marks as coarse as this in that unit.
fn dials(readings: &mut GaugeReadings, unit_mm: f64, mark: f64) {
    readings.instrument = Instrument::Plate { width_mm: PLATE_MM, zeroed: false };
    each(readings, |reading| {
        let rear = on_mark(PLATE_MM * toe_rad(reading).sin() / 2.0, unit_mm, mark);
        reading.read = Read::Dials { front_mm: -rear, rear_mm: rear };
    });
}

/// The same of a spot along the spindle; what the wheel moves along the car is nothing here.
fn spots(readings: &mut GaugeReadings, unit_mm: f64, mark: f64) {
    readings.instrument = Instrument::Wall { distance_mm: WALL_MM, beam: Beam::Spindle };
    each(readings, |reading| {
        reading.read = Read::Spot { wall_mm: on_mark(WALL_MM * toe_rad(reading).tan(), unit_mm, mark) };
    });
}

fn corrected(
    geometry: &Geometry,
    seed: u64,
    write: impl Fn(&mut GaugeReadings),
) -> Result<WheelCorrection, NotCorrected> {
    let mut readings = gauged(geometry, seed);
    write(&mut readings);
    let request = CorrectRequest { earlier: Vec::new(), readings, noise: GaugeNoise::default(), seed: 1 };
    CorrectFindings::of(geometry, &request).wheels.left
}

/// Cars of which it is told that they are probably in inches, refused or first of all, and those that are told anything of the kind.
fn told(cars: u64, write: impl Fn(&mut GaugeReadings) + Sync) -> [usize; 2] {
    use rayon::prelude::*;
    let of = |seed: u64| match corrected(&flat(), seed, &write) {
        Ok(wheel) => [wheel.quiet.is_some_and(|quiet| quiet.is_probable), wheel.quiet.is_some()],
        Err(why) => [why.to_string().contains("probably in inches"); 2],
    };
    let each: Vec<[bool; 2]> = (0..cars).into_par_iter().map(of).collect();
    [0, 1].map(|which| each.iter().filter(|told| told[which]).count())
}

fn first_of_all(wheel: &WheelCorrection) -> String {
    correct::first_of_all(LengthFormat(LengthUnit::Millimetre), wheel).unwrap_or_default()
}

#[test]
fn readings_on_the_marks_of_a_gauge_in_inches_are_told() {
    for mark in [0.0005, 0.001] {
        assert_eq!(told(CARS, |readings| dials(readings, 25.4, mark))[0], CARS as usize, "{mark}");
    }
    for mark in [0.001, 0.01] {
        assert_eq!(told(CARS, |readings| spots(readings, 25.4, mark))[0], CARS as usize, "{mark}");
    }
}

#[test]
fn readings_on_the_marks_of_a_gauge_in_mm_are_not() {
    for mark in [0.001, 0.01, 0.05] {
        assert_eq!(told(CARS, |readings| dials(readings, 1.0, mark)), [0, 0], "{mark}");
    }
    for mark in [0.1, 1.0] {
        assert_eq!(told(CARS, |readings| spots(readings, 1.0, mark)), [0, 0], "{mark}");
    }
}

/// What the curve would be is told, as of the same readings in mm.
#[test]
fn the_worst_change_of_toe_in_inches_is_that_of_the_same_readings_in_mm() {
    for seed in 0..3 {
        let in_mm = corrected(&flat(), seed, |readings| dials(readings, 1.0, 0.0254)).expect("an estimate");
        let in_inches = corrected(&flat(), seed, |readings| dials(readings, 25.4, 0.001)).expect("an estimate");
        let Some(Quiet { worst_as_inches_deg: Some(worst_deg), .. }) = in_inches.quiet else {
            panic!("{:?}", in_inches.quiet)
        };
        let likely_deg = in_mm.curve_now.iter().map(|row| row.toe_change_deg.abs()).fold(0.0, f64::max);
        assert!((worst_deg - likely_deg).abs() < 0.01, "{worst_deg} {likely_deg}");
        let told = first_of_all(&in_inches);
        assert!(told.contains(&format!("makes the worst change of toe {worst_deg:.3} deg")), "{told}");
    }
}

/// Too few heights to tell how much they scatter: in thousandths they may be in inches, and that is told where it would be over the
/// limit; in hundredths a dial in mm wrote them.
#[test]
fn of_few_readings_it_is_told_what_they_would_be_in_inches_where_that_matters() {
    let few = |mark: f64, limit_deg: f64| {
        let mut car = flat();
        car.limits.set(Quantity::BumpSteer, Some(Interval::either_way(limit_deg)));
        corrected(&car, 0, |readings| {
            readings.readings.truncate(13);
            readings.readings.retain(|reading| reading.bump_mm.rem_euclid(30.0) == 0.0);
            dials(readings, 25.4, mark);
        })
        .expect("an estimate")
    };
    let doubted = few(0.001, 0.001);
    let told = first_of_all(&doubted);
    assert!(
        told.contains("nothing else tells whether they are in mm: in inches the worst change of toe is "),
        "{told}"
    );
    assert!(doubted.quiet.is_some_and(|quiet| !quiet.is_probable && quiet.share.is_none()), "{:?}", doubted.quiet);
    assert_eq!(few(0.001, 2.0).quiet, None);
    assert_eq!(few(0.01, 0.001).quiet, None);
}

/// `CARS` of each kind, 1000 without it: `cargo test --release --test correct of_thousands_in_mm -- --ignored --nocapture`.
#[test]
#[ignore = "thousands of cars: minutes in a release build"]
fn of_thousands_in_mm_none_is_told_to_be_in_inches() {
    let cars: u64 = std::env::var("CARS").ok().and_then(|cars| cars.parse().ok()).unwrap_or(1000);
    for (mark_mm, mark_in) in [(0.001, 0.0005), (0.01, 0.001)] {
        let mm = told(cars, |readings| dials(readings, 1.0, mark_mm));
        let inches = told(cars, |readings| dials(readings, 25.4, mark_in));
        println!("dials: {mm:?} in {mark_mm} mm, {inches:?} in {mark_in} in, of {cars}");
        assert_eq!(mm, [0, 0]);
    }
    for (mark_mm, mark_in) in [(0.1, 0.001), (0.5, 0.01)] {
        let mm = told(cars, |readings| spots(readings, 1.0, mark_mm));
        let inches = told(cars, |readings| spots(readings, 25.4, mark_in));
        println!("spots: {mm:?} in {mark_mm} mm, {inches:?} in {mark_in} in, of {cars}");
        assert_eq!(mm, [0, 0]);
    }
}
