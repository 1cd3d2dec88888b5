//! The gauging of the demo: what a car shows that was welded to its drawing with errors drawn from a seed.

use std::fmt::Write;
use std::fs;

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Geometry, Side};
use hubtrace::studies::Rig;
use nalgebra::Vector3;
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

const SEED: u64 = 7;
/// Standard deviations: brackets and upright holes, mm; the gauge in common and each reading, deg; the height taken for zero, mm.
const BRACKET_MM: f64 = 0.5;
const HOLE_MM: f64 = 0.1;
const OFFSET_DEG: f64 = 0.05;
const NOISE_DEG: f64 = 0.02;
const ZERO_MM: f64 = 1.0;

/// A normal deviate (Box and Muller).
fn normal(random: &mut StdRng, sd: f64) -> f64 {
    let (u, v): (f64, f64) = (1.0 - random.random::<f64>(), random.random());
    sd * (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

/// Every link is as long as its displaced ends are apart, so that the wheel stands as drawn.
fn welded(mut car: Geometry, random: &mut StdRng) -> Geometry {
    car.mirrored = false;
    for side in Side::BOTH {
        for link in &mut car.corner_mut(side).links {
            link.chassis += Vector3::from_fn(|_, _| normal(random, BRACKET_MM));
            link.upright += Vector3::from_fn(|_, _| normal(random, HOLE_MM));
        }
    }
    car
}

fn made() -> String {
    let drawn =
        GeometryFile::read("geometries/double-wishbone.toml".as_ref()).unwrap_or_else(|error| panic!("{error}"));
    let mut random = StdRng::seed_from_u64(SEED);
    let mut car = welded(drawn.geometry, &mut random);
    // The gauge's zero may lie beyond the stops.
    (car.travel.bump_mm, car.travel.droop_mm) = (70.0, 70.0);
    let rig = Rig::new(&car).unwrap_or_else(|_| panic!("a car that moves"));
    let mut text = "\
# An invented car: geometries/double-wishbone.toml, welded with brackets off by 0.5 mm and upright holes by 0.1 mm (one
# standard deviation, each coordinate), gauged with 0.02 deg a reading and 0.05 deg in common. Seed 7.
# Up from full droop to full bump, and down again; spring and anti-roll bar out.
side,bump_mm,toe_deg,session
"
    .to_owned();
    for side in Side::BOTH {
        let (offset_deg, zero_mm) = (normal(&mut random, OFFSET_DEG), normal(&mut random, ZERO_MM));
        let heights = (-6..=6).chain((-6..6).rev()).map(|k| f64::from(10 * k));
        for bump_mm in heights {
            let row = rig.wheel(side).level_row_at(bump_mm + zero_mm).expect("a height within reach");
            let toe_deg = row.wheel.toe_deg + offset_deg + normal(&mut random, NOISE_DEG);
            // Writing to a string cannot fail.
            let _ = writeln!(text, "{},{bump_mm},{toe_deg:.2},morning", side.name());
        }
    }
    text
}

/// `HUBTRACE_WRITE_DEMO=1` writes it anew.
#[test]
fn the_gauging_of_the_demo_is_what_its_seed_makes() {
    const PATH: &str = "gaugings/double-wishbone.csv";
    let made = made();
    if std::env::var_os("HUBTRACE_WRITE_DEMO").is_some() {
        fs::write(PATH, &made).expect("a writable file");
    }
    assert_eq!(fs::read_to_string(PATH).unwrap_or_default(), made);
}
