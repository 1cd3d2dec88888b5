//! Surveys of places that are known, with errors that are drawn.

use hubtrace::geometry::{Axis, LengthUnit};
use hubtrace::survey::{Datum, Reading, ReadingKind, Station, Survey, SurveyPoint};
use nalgebra::Point3;
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

/// Four places on the floor and two high on the frame, mm.
pub const DATUMS: [[f64; 3]; 6] = [
    [-500.0, 0.0, 0.0],
    [500.0, 0.0, 0.0],
    [-500.0, 900.0, 0.0],
    [500.0, 900.0, 0.0],
    [-300.0, 300.0, 700.0],
    [400.0, 300.0, 700.0],
];

/// A standard normal number (Box and Muller).
pub fn normal(rng: &mut StdRng) -> f64 {
    let (radius, angle) = (rng.random_range(f64::EPSILON..1.0_f64), rng.random_range(0.0..std::f64::consts::TAU));
    (-2.0 * radius.ln()).sqrt() * angle.cos()
}

pub fn rng(seed: u64) -> StdRng {
    StdRng::seed_from_u64(seed)
}

/// A survey without readings as yet; datums are exact.
pub fn survey(datums: &[[f64; 3]], points: usize) -> Survey {
    let datum = |(i, at): (usize, &[f64; 3])| Datum {
        name: char::from(b'A' + i as u8).to_string(),
        at: Point3::from(*at),
        sd_mm: 0.0,
        line: i + 1,
    };
    let point = |i: usize| SurveyPoint { name: format!("point {}", i + 1), near: None, line: 100 + i };
    Survey {
        name: "simulated".into(),
        units: LengthUnit::Millimetre,
        tape_sd_mm: 1.0,
        hook_mm: 0.0,
        datums: datums.iter().enumerate().map(datum).collect(),
        points: (0..points).map(point).collect(),
        readings: Vec::new(),
        parts: Vec::new(),
    }
}

/// Adds a reading to a survey.
pub fn read(survey: &mut Survey, kind: ReadingKind, read_mm: f64) {
    let number = survey.readings.len() + 1;
    let sd_mm = survey.tape_sd_mm;
    survey.readings.push(Reading { number, kind, read_mm: Some(read_mm), sd_mm, line: 200 + number });
}

pub fn distance(from: Station, to: Station) -> ReadingKind {
    ReadingKind::Distance([from, to])
}

pub fn height(of: Station) -> ReadingKind {
    ReadingKind::Plumbed { axis: Axis::Z, of }
}

/// Every point taped from each datum and plumbed in all three ways, with normal errors of 1 mm.
pub fn taken(datums: &[[f64; 3]], truth: &[Point3<f64>], rng: &mut StdRng) -> Survey {
    let mut survey = survey(datums, truth.len());
    for (i, at) in truth.iter().enumerate() {
        let point = Station::Point(i);
        for (k, datum) in datums.iter().enumerate() {
            let mm = (at - Point3::from(*datum)).norm() + normal(rng);
            read(&mut survey, distance(Station::Datum(k), point), mm);
        }
        for axis in Axis::ALL {
            let mm = at[axis.index()] + normal(rng);
            read(&mut survey, ReadingKind::Plumbed { axis, of: point }, mm);
        }
    }
    survey
}

/// A place about a left rear corner.
pub fn somewhere(rng: &mut StdRng) -> Point3<f64> {
    Point3::new(rng.random_range(-300.0..300.0), rng.random_range(150.0..750.0), rng.random_range(100.0..600.0))
}
