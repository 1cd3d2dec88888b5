//! The chance that is made large is that of built cars, with their rod ends and the gaps between their parts.

use crate::file::GeometryFile;
use crate::geometry::{Geometry, Interval, Limits, Quantity, Side};
use crate::studies::design_variables::DesignVariables;
use crate::studies::errors::ErrorModel;
use crate::studies::tune::forgiveness::{Forgiveness, chance_missed};
use crate::studies::tune::problem::TuneProblem;
use crate::studies::tune::{BuildOdds, Choice, SearchOptions, tune, tuned_geometry};
use crate::studies::{JudgedCar, Rig};

/// The first cut with a camber change that every car keeps as its only limit in `[limits]`.
fn hardly_limited() -> Geometry {
    let text = include_str!("../../../../geometries/first-cut.toml");
    let mut geometry = GeometryFile::parse("rear.toml", text).unwrap_or_else(|error| panic!("{error}")).geometry;
    geometry.limits = Limits::default();
    geometry.limits.set(Quantity::CamberChange, Some(Interval::either_way(10.0)));
    geometry
}

/// Shares of cars inside all limits: as the search has it, both wheels by themselves, and of built cars.
fn shares(geometry: &Geometry) -> (f64, f64) {
    let rig = Rig::new(geometry).expect("a sound design");
    let variables = DesignVariables::of(geometry, Side::Left);
    let drawn = vec![0.0; variables.list.len()];
    let problem = TuneProblem::new(geometry, Side::Left, variables, Some(&rig.left));
    let errors = ErrorModel::of_file(geometry)[Side::Left].clone();
    let forgiving = problem.forgiving(Forgiveness::largest_chance(errors, Side::Left, 0.05));
    let missed = chance_missed(&forgiving.evaluate(&drawn).expect("a car that moves"));
    let built = BuildOdds::of(geometry, 10_000).expect("a car that moves").chance.share.expect("limits").value();
    ((1.0 - missed).powi(2), built)
}

fn assert_alike(geometry: &Geometry) {
    let (searched, built) = shares(geometry);
    assert!((searched - built).abs() < 0.06, "{searched} as it is searched, {built} as built");
    assert!((0.1..0.9).contains(&built), "{built} would tell little");
}

#[test]
fn a_rod_end_near_its_limit_counts() {
    let mut geometry = hardly_limited();
    let judged = JudgedCar::of(Rig::new(&geometry).expect("a sound design"));
    let of_link = judged.rod_ends.left.iter().filter(|end| end.link == geometry.left.links[2].name);
    let worst_deg = of_link.filter_map(|end| end.worst_deg).fold(0.0, f64::max);
    geometry.left.links[2].rod_end_limit_deg = Some(worst_deg + 0.1);
    geometry.mirror_left();
    assert_alike(&geometry);
}

#[test]
fn a_gap_near_its_limit_counts() {
    let mut geometry = hardly_limited();
    let judged = JudgedCar::of(Rig::new(&geometry).expect("a sound design"));
    let least_mm = judged.clearance.left.pairs[0].least_mm;
    geometry.clearance.least_mm = Some(least_mm - 0.4);
    assert_alike(&geometry);
}

/// A gap that cannot keep its margin took that of the rod ends with it: one stood at 16.00 of 16 deg, and 11 % of the cars passed.
#[test]
fn a_rod_end_is_not_parked_on_its_limit_for_a_gap() {
    let text = include_str!("twin_wishbones.toml");
    let geometry = GeometryFile::parse("rear.toml", text).unwrap_or_else(|error| panic!("{error}")).geometry;
    let options = SearchOptions { starts: 2, ..SearchOptions::default() };
    let side = tune(&geometry, &[Side::Left], &options, &|car| Some(car.clone())).expect("an answer").swap_remove(0);
    let car = tuned_geometry(&geometry, &[(Side::Left, side.chosen(Choice::MostForgiving))]);
    let share = BuildOdds::of(&car, 10_000).expect("a car that moves").chance.share.expect("limits").value();
    assert!(share > 0.35, "{share}");
}
