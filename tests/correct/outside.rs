//! The most likely car against the same problem solved by general-purpose least squares (`tests/outside/correct_reference.py`).

use std::path::Path;

use hubtrace::file::GeometryFile;
use hubtrace::gauge::{Beam, Change, GaugeNoise, GaugeReading, GaugeReadings, Instrument, Read, ReadSide, Round, What};
use hubtrace::geometry::{End, Geometry, PerSide, Side, Weld};
use hubtrace::studies::correct::{CorrectFindings, CorrectRequest, WheelCorrection};
use nalgebra::Vector3;
use toml::{Table, Value};

/// The wheel that was gauged.
pub fn car() -> Geometry {
    let file = GeometryFile::read(Path::new("tests/outside/static-set.toml")).expect("a sound file");
    let mut geometry = file.geometry;
    geometry.weld = Some(Weld { upright_sd_mm: Some(0.1), ..Weld::new(1.0) });
    geometry.left.links[4].sets_toe = true;
    geometry
}

struct Case(Table);

impl Case {
    fn read(name: &str) -> Self {
        let text = std::fs::read_to_string(format!("tests/outside/correct/{name}.toml")).expect("a table");
        Self(text.parse().expect("TOML"))
    }

    fn numbers(&self, key: &str) -> Vec<f64> {
        self.0[key].as_array().expect("a list").iter().map(number).collect()
    }

    fn number(&self, key: &str) -> f64 {
        number(&self.0[key])
    }

    fn rounds(&self) -> Vec<Round> {
        self.0["round"].as_array().expect("rounds").iter().map(round).collect()
    }

    fn found(&self) -> WheelCorrection {
        let mut rounds = self.rounds();
        let last = rounds.pop().expect("a round");
        let request = CorrectRequest { earlier: rounds, readings: last.readings, noise: last.noise, seed: 1 };
        CorrectFindings::of(&car(), &request).wheels.left.expect("a wheel that can be found")
    }
}

fn number(value: &Value) -> f64 {
    value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64)).expect("a number")
}

fn round(table: &Value) -> Round {
    let instrument = match table["instrument"].as_str() {
        Some("angle") => Instrument::Angle,
        Some("plate") => Instrument::Plate { width_mm: number(&table["width_mm"]), zeroed: true },
        _ => Instrument::Wall { distance_mm: number(&table["distance_mm"]), beam: Beam::Forward },
    };
    let rows = table["reading"].as_array().expect("readings");
    let readings = rows.iter().enumerate().map(|(index, row)| reading(index, row)).collect();
    let changes = table["change"].as_array().expect("changes").iter().map(change).collect();
    Round {
        readings: GaugeReadings { instrument, readings, sessions: vec!["first".into(), "second".into()] },
        noise: GaugeNoise::default(),
        changes: PerSide { left: changes, right: Vec::new() },
    }
}

fn reading(index: usize, row: &Value) -> GaugeReading {
    let of = |key: &str| row.get(key).map(number);
    let read = match (of("toe_deg"), of("wall_mm")) {
        (Some(toe_deg), _) => {
            Read::Angles { toe_rad: toe_deg.to_radians(), camber_rad: of("camber_deg").map(f64::to_radians) }
        }
        (_, Some(wall_mm)) => Read::Spot { wall_mm },
        _ => Read::Dials { front_mm: number(&row["front_mm"]), rear_mm: number(&row["rear_mm"]) },
    };
    GaugeReading {
        line: index + 2,
        session: number(&row["session"]) as usize,
        side: ReadSide::One(Side::Left),
        bump_mm: number(&row["bump_mm"]),
        read,
    }
}

fn change(row: &Value) -> Change {
    let what = match row["what"].as_str() {
        Some("length") => What::Length,
        _ => What::Shim { end: End::Chassis, along: Vector3::z_axis() },
    };
    Change { link: number(&row["link"]) as usize, what, by_mm: number(&row["by_mm"]) }
}

const CASES: [&str; 2] = ["two-rounds", "plate"];

#[test]
fn the_most_likely_pickups_and_their_standard_deviations_are_those_of_scipy() {
    for name in CASES {
        let case = Case::read(name);
        let found = case.found();
        let (unknowns, sd) = (case.numbers("unknowns"), case.numbers("sd"));
        for (k, pickup) in found.pickups.iter().enumerate() {
            let prior = if pickup.coordinate.end == End::Chassis { 1.0 } else { 0.1 };
            assert!(
                (pickup.off_mm.value - prior * unknowns[k]).abs() < 1e-6,
                "{name}, {k}: {pickup:?} {}",
                unknowns[k]
            );
            assert!((pickup.off_mm.sd - prior * sd[k]).abs() < 1e-6, "{name}, {k}: {pickup:?} {}", sd[k]);
            assert_eq!(pickup.prior_sd_mm, prior);
        }
        // The height that was taken for design is the last round's first unknown, 1 mm of prior.
        let zero = 30 + 2 * (case.rounds().len() - 1);
        assert!((found.bump_zero_mm.value - unknowns[zero]).abs() < 1e-6, "{name}: {:?}", found.bump_zero_mm);
        assert!((found.bump_zero_mm.sd - sd[zero]).abs() < 1e-6, "{name}: {:?}", found.bump_zero_mm);
    }
}

/// The posterior is not normal and the cars are drawn as if it were; the weighted draws say how far that is off.
#[test]
fn the_cars_that_fit_scatter_as_the_posterior_does() {
    for name in CASES {
        let case = Case::read(name);
        let found = case.found();
        let (mean, sd) = (case.numbers("curve_mean_deg"), case.numbers("curve_sd_deg"));
        assert_eq!(found.curve_now.len(), mean.len());
        for ((band, mean), sd) in found.curve_now.iter().zip(mean).zip(sd) {
            assert!((band.toe_change_deg - mean).abs() <= 0.25 * sd, "{name}, {band:?}: {mean}");
            let half_width = 0.5 * (band.high_deg - band.low_deg);
            assert!((half_width - 1.96 * sd).abs() <= 0.15 * 1.96 * sd, "{name}, {band:?}: {sd}");
        }
        let worst = found.worst_bump_steer_deg;
        let (mean_deg, p95_deg) = (case.number("worst_mean_deg"), case.number("worst_p95_deg"));
        let spread_deg = p95_deg - mean_deg;
        assert!((worst.now - mean_deg).abs() < 0.2 * spread_deg, "{name}: {worst:?}, {mean_deg}");
        assert!((worst.now_p95 - p95_deg).abs() < 0.2 * spread_deg, "{name}: {worst:?}, {p95_deg}");
    }
}
