//! One seed and the next give answers of the same worth.

use std::path::Path;

use crate::file::GeometryFile;
use crate::geometry::{AdjustmentRange, Geometry, Side, Weld};
use crate::studies::tune::{BuildOdds, Choice, SearchOptions, tune, tuned_geometry};

/// What the written answer comes to: its worst bump steer as drawn, deg, and the share of built cars that pass.
fn written(geometry: &Geometry, seed: u64, starts: usize) -> (f64, f64) {
    let options = SearchOptions { seed, starts, ..SearchOptions::default() };
    let tuned = tune(geometry, &[Side::Left], &options, &|car| Some(car.clone())).expect("an answer").swap_remove(0);
    let answer = tuned.chosen(Choice::MostForgiving);
    let car = tuned_geometry(geometry, &[(Side::Left, answer)]);
    let odds = BuildOdds::of(&car, 10_000).expect("a car that moves");
    (answer.worst_bump_steer_deg, odds.chance.share.expect("limits").value())
}

/// Within 10 % of each other: the chance, and the worst bump steer where it is above 0.005 deg.
fn assert_seeds_agree(name: &str, geometry: &Geometry, seeds: std::ops::RangeInclusive<u64>, starts: usize) {
    let all: Vec<(f64, f64)> = seeds.map(|seed| written(geometry, seed, starts)).collect();
    println!("{name}: {all:?}");
    let ends = |values: Vec<f64>| {
        let least = values.iter().copied().fold(f64::INFINITY, f64::min);
        (least, values.into_iter().fold(0.0, f64::max))
    };
    let (least, most) = ends(all.iter().map(|(_, chance)| *chance).collect());
    assert!(most <= 1.1 * least && least > 0.0, "{name}: {least} to {most} of cars");
    let (flattest, worst) = ends(all.iter().map(|(worst, _)| *worst).collect());
    assert!(worst <= 0.005 || worst <= 1.1 * flattest, "{name}: {flattest} to {worst} deg");
}

fn first_cut() -> Geometry {
    GeometryFile::read(Path::new("geometries/first-cut.toml")).unwrap_or_else(|error| panic!("{error}")).geometry
}

fn carefully_welded() -> Geometry {
    Geometry { weld: Some(Weld::new(0.15)), ..first_cut() }
}

fn play(mm: f64) -> Option<AdjustmentRange> {
    Some(AdjustmentRange { low: -mm, high: mm, step: None })
}

/// Every bracket free all ways, and every hole of the upright up and down and sideways.
fn all_free() -> Geometry {
    let mut geometry = first_cut();
    for link in &mut geometry.adjustments.left.links {
        (link.chassis, link.upright) = ([play(25.0); 3], [None, play(10.0), play(10.0)]);
    }
    geometry
}

/// The brackets that are free, by so much.
fn wide(mm: f64) -> Geometry {
    let mut geometry = first_cut();
    for link in &mut geometry.adjustments.left.links {
        link.chassis = link.chassis.map(|range| range.and(play(mm)));
    }
    geometry
}

/// Every bracket free all ways by more than a frame has: the best answers read like mistakes in a file.
fn everywhere() -> Geometry {
    let mut geometry = first_cut();
    for link in &mut geometry.adjustments.left.links {
        (link.chassis, link.upright) = ([play(120.0); 3], [None; 3]);
    }
    geometry
}

#[test]
fn neighbouring_seeds_give_answers_of_the_same_worth() {
    assert_seeds_agree("first cut", &first_cut(), 1..=3, 4);
}

/// Of the flattest answer 7 of 100 cars pass, and more of one that is nearer to the drawn car than the best, which `check` doubts.
#[test]
fn neighbouring_seeds_agree_where_the_best_answers_are_doubted() {
    let geometry = everywhere();
    assert_seeds_agree("everywhere", &geometry, 1..=2, 3);
    let (_, chance) = written(&geometry, 1, 3);
    assert!(chance > 0.2, "{chance}");
}

#[test]
#[ignore = "takes minutes; docs/validation.md says what it found"]
fn twenty_seeds_give_answers_of_the_same_worth() {
    let careful = ("carefully welded", carefully_welded());
    let wide = [("wide, 60 mm", wide(60.0)), ("wide, 120 mm", wide(120.0)), ("everywhere", everywhere())];
    for (name, geometry) in [("first cut", first_cut()), careful, ("all free", all_free())].iter().chain(&wide) {
        assert_seeds_agree(name, geometry, 1..=20, 8);
    }
}
