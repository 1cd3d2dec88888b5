//! The whole life of many cars: taped, located, tuned, welded, gauged, corrected; beside the same builders with the rule of
//! thumb: `cargo run --release --example whole_life -- --cars 500`.
//!
//! Every car is one wheel. Its ten pickups stand in a frame that is tacked together; nobody knows where exactly. They are taped
//! with 1.5 mm a reading, `locate` says where they are, `tune` says where the brackets on the frame should be, and they are welded
//! there with 0.5 mm. The toe link's bracket is welded last, where the gauged curve comes flat. Then the finished wheel is gauged every
//! 10 mm with 0.02° a reading, a gauge that is 0.05° off in each session and a design height that is 1 mm off, and shimmed and
//! turned in 0.5 mm and half turns.

mod rounds;
mod shop;
mod taped;

use std::env;
use std::error::Error;
use std::path::Path;

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{AdjustmentRange, Geometry};
use rand::SeedableRng;
use rand::rngs::StdRng;
use rayon::prelude::*;

use rounds::{Life, by_rule_of_thumb, corrected, toe_link, with_shims_and_half_turns};
use shop::Gauge;
use taped::built;

const CORNERS: [&str; 3] = ["first-cut", "double-wishbone", "as-built"];
const GAUGE: Gauge = Gauge { toe_sd_deg: 0.02, offset_sd_deg: 0.05, bump_zero_sd_mm: 1.0 };
const FLAT_DEG: f64 = 0.05;
const ROUNDS: usize = 2;
const SEED: u64 = 2026;

fn main() -> Result<(), Box<dyn Error>> {
    let cars = cars_asked_for()?;
    println!("| corner, {cars} cars | below 0.05° as welded | one round | two rounds | median, two rounds | moved |");
    println!("|---|---|---|---|---|---|");
    for corner in CORNERS {
        let geometry = corner_with_room(corner)?;
        let (ours, thumb) = lives(&geometry, cars);
        for (builder, lives) in [("`correct`", &ours), ("rule of thumb", &thumb)] {
            println!("{}", line(&format!("{corner}, {builder}"), lives));
        }
    }
    Ok(())
}

/// `--cars N`; a few when it is not given.
fn cars_asked_for() -> Result<u64, Box<dyn Error>> {
    let mut arguments = env::args().skip_while(|argument| argument != "--cars");
    match (arguments.next(), arguments.next()) {
        (Some(_), Some(cars)) => Ok(cars.parse()?),
        _ => Ok(20),
    }
}

/// A corner of the shipped files whose brackets on the frame may all be moved in y and z, with shims and threads.
fn corner_with_room(name: &str) -> Result<Geometry, Box<dyn Error>> {
    let mut geometry = GeometryFile::read(Path::new(&format!("geometries/{name}.toml")))?.geometry;
    let room = Some(AdjustmentRange { low: -25.0, high: 25.0, step: None });
    for link in &mut geometry.adjustments.left.links {
        link.chassis = [None, room, room];
    }
    with_shims_and_half_turns(&mut geometry.left);
    geometry.mirrored = true;
    geometry.right = hubtrace::geometry::Corner { side: hubtrace::geometry::Side::Right, ..geometry.left.clone() };
    geometry.adjustments.right = geometry.adjustments.left.clone();
    Ok(geometry)
}

fn lives(geometry: &Geometry, cars: u64) -> (Vec<Life>, Vec<Life>) {
    let life = |number: u64| {
        let mut rng = StdRng::seed_from_u64(SEED + number);
        let (drawn, errors) = built(geometry, &GAUGE, &mut rng)?;
        let car = shop::FinishedCar::new(&drawn.left, errors, toe_link(&drawn.left));
        let ours = corrected(&drawn, car.clone(), &GAUGE, ROUNDS, &mut rng)?;
        let thumb = by_rule_of_thumb(&drawn, car, &GAUGE, ROUNDS, &mut rng)?;
        Some((ours, thumb))
    };
    (0..cars).into_par_iter().filter_map(life).unzip()
}

fn line(name: &str, lives: &[Life]) -> String {
    let below = |round: usize| {
        let flat = lives.iter().filter(|life| life.worst_deg[round] < FLAT_DEG).count();
        format!("{:.1} %", 100.0 * flat as f64 / lives.len() as f64)
    };
    let mut last: Vec<f64> = lives.iter().map(|life| life.worst_deg[ROUNDS]).collect();
    last.sort_by(f64::total_cmp);
    let moved_mm: f64 = lives.iter().map(|life| life.moved_mm).sum::<f64>() / lives.len() as f64;
    let median_deg = last[last.len() / 2];
    format!("| {name} | {} | {} | {} | {median_deg:.3}° | {moved_mm:.1} mm |", below(0), below(1), below(2))
}

#[test]
fn a_few_cars_come_out_flat() -> Result<(), Box<dyn Error>> {
    let (ours, thumb) = lives(&corner_with_room("first-cut")?, 4);
    assert_eq!((ours.len(), thumb.len()), (4, 4));
    assert!(ours.iter().all(|life| life.worst_deg[ROUNDS] < FLAT_DEG), "{ours:?}");
    Ok(())
}
