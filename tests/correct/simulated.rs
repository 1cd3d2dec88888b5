//! Cars whose pickups are known, gauged and corrected.

use std::path::Path;
use std::sync::OnceLock;

use hubtrace::file::{GeometryFile, rewrite};
use hubtrace::gauge::{GaugeNoise, Round};
use hubtrace::geometry::{Geometry, LinkAdjusters, PerSide, Side, Weld};
use hubtrace::mechanism::PickupErrors;
use hubtrace::studies::correct::{Advice, CorrectFindings, CorrectRequest};
use hubtrace::studies::tune::{Choice, SearchOptions, tune, tuned_geometry};
use rand::SeedableRng;
use rand::rngs::StdRng;
use rayon::prelude::*;

use crate::rounds::{Life, by_rule_of_thumb, corrected, toe_link, with_shims_and_half_turns};
use crate::shop::{FinishedCar, Gauge, welded};

/// A corner that is flat on paper, with shims and threads at every link.
fn flat(weld_sd_mm: f64) -> Geometry {
    static FLAT: OnceLock<Geometry> = OnceLock::new();
    let mut geometry = FLAT.get_or_init(tuned).clone();
    geometry.weld = Some(Weld { upright_sd_mm: Some(0.1), ..Weld::new(weld_sd_mm) });
    geometry
}

/// The first cut, tuned.
fn tuned() -> Geometry {
    let file = GeometryFile::read(Path::new("geometries/first-cut.toml")).expect("a sound file");
    let options = SearchOptions { starts: 1, ..SearchOptions::default() };
    let read_back =
        |changed: &Geometry| Some(GeometryFile::parse("tuned.toml", &rewrite(&file, changed).ok()?).ok()?.geometry);
    let tuned = tune(&file.geometry, &[Side::Left], &options, &read_back).expect("a car that can be tuned");
    let mut geometry = tuned_geometry(&file.geometry, &[(Side::Left, tuned[0].chosen(Choice::Flattest))]);
    with_shims_and_half_turns(&mut geometry.left);
    geometry
}

struct Tally {
    ours: Vec<Life>,
    thumb: Vec<Life>,
}

impl Tally {
    fn of(geometry: &Geometry, cars: u64, weld_sd_mm: f64, gauge: &Gauge) -> Self {
        let car = |number: u64| {
            let mut rng = StdRng::seed_from_u64(1000 + number);
            let errors = welded(&mut rng, weld_sd_mm, 0.1);
            let car = FinishedCar::new(&geometry.left, errors, toe_link(&geometry.left));
            let ours = corrected(geometry, car.clone(), gauge, 2, &mut rng).expect("a car that moves");
            let thumb = by_rule_of_thumb(geometry, car, gauge, 2, &mut rng).expect("a car that moves");
            (ours, thumb)
        };
        let (ours, thumb) = (0..cars).into_par_iter().map(car).unzip();
        Self { ours, thumb }
    }
}

fn share_below(lives: &[Life], round: usize, limit_deg: f64) -> f64 {
    lives.iter().filter(|life| life.worst_deg[round] < limit_deg).count() as f64 / lives.len() as f64
}

fn median(lives: &[Life], round: usize) -> f64 {
    let mut worst: Vec<f64> = lives.iter().map(|life| life.worst_deg[round]).collect();
    worst.sort_by(f64::total_cmp);
    worst[worst.len() / 2]
}

fn told(lives: &[Life], round: usize) -> f64 {
    lives.iter().filter(|life| life.worst_deg[round + 1] <= life.told_p95_deg[round]).count() as f64
        / lives.len() as f64
}

/// The gauge of the shop.
fn gauge(toe_sd_deg: f64) -> Gauge {
    Gauge { toe_sd_deg, offset_sd_deg: 0.05, bump_zero_sd_mm: 1.0 }
}

fn tell(tally: &Tally, name: &str) {
    for (builder, lives) in [("correct", &tally.ours), ("rule of thumb", &tally.thumb)] {
        let shares: Vec<String> =
            (0..3).map(|round| format!("{:.1}", 100.0 * share_below(lives, round, 0.05))).collect();
        let medians: Vec<String> = (0..3).map(|round| format!("{:.4}", median(lives, round))).collect();
        let parts = lives.iter().map(|life| life.parts).sum::<usize>() as f64 / lives.len() as f64;
        println!(
            "{name}, {builder}: below 0.05 {} %, median {}, parts {parts:.1}",
            shares.join(" "),
            medians.join(" ")
        );
    }
    println!("{name}: truth inside the told p95 in {:.3} and {:.3}", told(&tally.ours, 0), told(&tally.ours, 1));
}

/// As many as `CARS` says, 500 without it: `cargo test --release --test correct -- --ignored --nocapture`.
#[test]
#[ignore = "five hundred cars: minutes in a release build"]
fn five_hundred_cars_come_out_flat() {
    let cars: u64 = std::env::var("CARS").ok().and_then(|cars| cars.parse().ok()).unwrap_or(500);
    let geometry = flat(1.0);
    let tally = Tally::of(&geometry, cars, 1.0, &gauge(0.02));
    tell(&tally, "gauge 0.02");
    assert!(share_below(&tally.ours, 1, 0.05) >= 0.97);
    assert!(share_below(&tally.ours, 2, 0.05) >= 0.99);
    assert!(median(&tally.ours, 0) >= 7.0 * median(&tally.ours, 2));
    assert!(median(&tally.ours, 2) <= 0.6 * median(&tally.thumb, 2));
    for round in 0..2 {
        assert!((0.90..=0.98).contains(&told(&tally.ours, round)), "round {round}");
    }
    let fine = Tally::of(&geometry, cars, 1.0, &gauge(0.005));
    tell(&fine, "gauge 0.005");
    assert!(median(&fine.ours, 2) < 0.5 * median(&tally.ours, 2));
}

/// A few of the same: none may be worse than what is told of it by more than chance allows.
#[test]
fn a_few_cars_come_out_flat() {
    let tally = Tally::of(&flat(1.0), 6, 1.0, &gauge(0.02));
    assert!(share_below(&tally.ours, 0, 0.05) < 0.7, "nothing had to be done");
    assert_eq!(share_below(&tally.ours, 2, 0.05), 1.0);
    assert!(told(&tally.ours, 1) >= 0.6);
    assert!(tally.ours.iter().all(|life| life.parts > 0 && life.moved_mm > 0.0));
}

/// Only the toe link's bracket can be shimmed, and it is what is off: the cure is known.
#[test]
fn a_bracket_that_is_two_millimetres_too_high_is_shimmed_down_by_two() {
    let mut geometry = flat(1.0);
    for link in &mut geometry.left.links[..4] {
        link.adjusters = LinkAdjusters::default();
    }
    let mut errors = PickupErrors::default();
    errors.chassis[4].z = 2.0;
    let mut car = FinishedCar::new(&geometry.left, errors, 4);
    let exact = Gauge { toe_sd_deg: 1e-9, offset_sd_deg: 1e-9, bump_zero_sd_mm: 1e-9 };
    let mut rng = StdRng::seed_from_u64(1);
    let request = |car: &FinishedCar<'_>, rng: &mut StdRng, earlier: Vec<Round>| CorrectRequest {
        earlier,
        readings: car.gauged(rng, &exact).expect("a car that moves"),
        noise: GaugeNoise { toe_sd_deg: 0.002, ..GaugeNoise::default() },
        seed: 1,
    };
    let first = request(&car, &mut rng, Vec::new());
    let found = CorrectFindings::of(&geometry, &first).wheels.left.expect("a sound car");
    let [line] = &found.changes[..] else { panic!("{:?}", found.changes) };
    assert_eq!((line.link.as_str(), line.what, line.end, line.by_mm), ("toe link", "shim", Some("chassis"), -2.0));
    assert_eq!((line.total_mm, line.turns, found.adjusters_assumed), (-2.0, None, false));
    assert_eq!(
        (found.advice, found.toe_link.as_str(), found.toe_setting.said_in_file),
        (Advice::Change, "toe link", true)
    );
    let worst = found.worst_bump_steer_deg;
    assert!((worst.now - car.worst_bump_steer_deg()).abs() < 0.01, "{worst:?}");
    assert!(worst.expected_p95 < 0.02 && line.expected_p95_deg == worst.expected_p95, "{worst:?}");

    // Changed so, the car is good, and the next round says so.
    car.change(&[line.change]);
    let changes = PerSide { left: vec![line.change], right: Vec::new() };
    let earlier = vec![Round { readings: first.readings, noise: first.noise, changes }];
    let again = CorrectFindings::of(&geometry, &request(&car, &mut rng, earlier)).wheels.left.expect("a sound car");
    assert_eq!((again.advice, again.changes.len()), (Advice::NothingToDo, 0));
    // Shims count from the stack as drawn, over all rounds.
    assert!(again.worst_bump_steer_deg.now < 0.01, "{:?}", again.worst_bump_steer_deg);
}

#[test]
fn a_file_without_adjusters_is_told_what_was_assumed() {
    let mut geometry = flat(1.0);
    geometry.left.links.iter_mut().for_each(|link| link.adjusters = LinkAdjusters::default());
    let mut rng = StdRng::seed_from_u64(3);
    let car = FinishedCar::new(&geometry.left, welded(&mut rng, 1.0, 0.1), 4);
    let readings = car.gauged(&mut rng, &gauge(0.02)).expect("a car that moves");
    let request = CorrectRequest { earlier: Vec::new(), readings, noise: GaugeNoise::default(), seed: 1 };
    let all = CorrectFindings::of(&geometry, &request);
    let found = all.wheels.left.expect("a sound car");
    assert!(found.adjusters_assumed && found.search.adjusters == 5 && found.search.sets_tried > 100);
    for line in &found.changes {
        match line.what {
            "shim" => assert_eq!((line.link.as_str(), line.by_mm % 0.5), ("toe link", 0.0)),
            _ => assert!(line.link != "toe link" && (2.0 * line.turns.expect("turns")).fract() == 0.0, "{line:?}"),
        }
    }
    assert!((found.camber_deg.after - -1.5).abs() <= 0.15, "{:?}", found.camber_deg);
    let is_kept = |limit: &hubtrace::studies::correct::BrokenLimit| !limit.is_new;
    assert!(all.limits_broken.iter().all(is_kept), "{:?}", all.limits_broken);
}
