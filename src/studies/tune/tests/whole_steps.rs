//! Freedoms that move by whole steps, against every one of their steps.

use nalgebra::Vector3;

use super::answers::lowest;
use crate::file::GeometryFile;
use crate::geometry::{AdjustmentRange, Geometry, Interval, Quantity, Side};
use crate::studies::design_variables::DesignVariables;
use crate::studies::tolerance::Watch;
use crate::studies::tune::problem::TuneProblem;
use crate::studies::tune::search::search;
use crate::studies::tune::whole_steps::flattest_on_steps;
use crate::studies::tune::{AsWritten, BuildOdds, Choice, GivenUp, SearchOptions, tune, tuned_geometry};
use crate::studies::{JudgedCar, Rig, State};

/// The first cut of which nothing is free.
fn first_cut() -> Geometry {
    let text = include_str!("../../../../geometries/first-cut.toml");
    let mut geometry = GeometryFile::parse("rear.toml", text).unwrap_or_else(|error| panic!("{error}")).geometry;
    geometry.adjustments.left.links = Default::default();
    geometry.adjustments.right.links = Default::default();
    geometry
}

fn free(mm: f64, step: Option<f64>) -> Option<AdjustmentRange> {
    Some(AdjustmentRange { low: -mm, high: mm, step })
}

#[test]
fn steps_are_searched_as_well_as_by_trying_every_one() {
    let mut geometry = Geometry { limits: Default::default(), ..first_cut() };
    let links = &mut geometry.adjustments.left.links;
    links[0].chassis[2] = free(9.0, Some(3.0));
    links[3].chassis[1] = free(6.0, None);
    links[4].chassis[2] = free(10.0, Some(2.0));
    let problem = TuneProblem::new(&geometry, Side::Left, DesignVariables::of(&geometry, Side::Left), None);
    let worst =
        |design_vector: [f64; 3]| problem.evaluate(&design_vector).expect("a car that moves").worst_bump_steer_deg;
    let grid = (-3..=3).flat_map(|a| (-5..=5).map(move |c| (3.0 * f64::from(a), 2.0 * f64::from(c))));
    let tried = grid.map(|(a, c)| lowest(-6.0, 6.0, |b| worst([a, b, c]))).fold(f64::INFINITY, f64::min);
    let options = SearchOptions::default();
    let between = search(&problem, &options);
    let (_, found, given_up) = flattest_on_steps(problem.clone(), between, Vec::new(), &options);
    let found = &found.ends[0].iterate;
    assert!(found.design_vector[0] % 3.0 == 0.0 && found.design_vector[2] % 2.0 == 0.0, "{:?}", found.design_vector);
    let ours = found.evaluation.worst_bump_steer_deg;
    assert!(ours <= tried * 1.001 + 1e-6 && given_up.is_empty(), "{ours} deg, by trying every one {tried} deg");
}

/// The toe link's bracket goes in and out, and up and down in holes of 6 mm. Between the holes there is a place that keeps the
/// limits of toe and roll steer; of the holes none does, each judged as a car of its own.
#[test]
fn a_limit_that_only_the_steps_break_is_told_and_costs_no_other() {
    let mut geometry = first_cut();
    geometry.adjustments.left.links[4].chassis[1] = free(20.0, Some(10.0));
    geometry.adjustments.left.links[4].chassis[2] = free(12.0, Some(6.0));
    let worst_deg = |y_mm: f64, z_mm: f64| {
        let mut car = geometry.clone();
        for corner in [&mut car.left, &mut car.right] {
            corner.links[4].chassis.y += y_mm;
            corner.links[4].chassis.z += z_mm;
        }
        JudgedCar::of(Rig::new(&car).expect("a sound design")).toe.left.worst_bump_steer_deg
    };
    let holes = (-2..=2).flat_map(|i| (-2..=2).map(move |j| (10.0 * f64::from(i), 6.0 * f64::from(j))));
    let tried_deg = holes.map(|(y, z)| worst_deg(y, z)).fold(f64::INFINITY, f64::min);
    let limit = Interval { low: -0.5 * tried_deg, high: 0.5 * tried_deg };
    geometry.limits.set(Quantity::BumpSteer, Some(limit));
    let options = SearchOptions::default();
    let side = tune(&geometry, &[Side::Left], &options, &|car| Some(car.clone())).expect("a tuned side").swap_remove(0);
    let [GivenUp { quantity: Quantity::BumpSteer, nearest, beside_others: true, by_steps: true, .. }] =
        side.given_up[..]
    else {
        panic!("{:?}", side.given_up)
    };
    assert!((nearest.abs() - tried_deg).abs() < 1e-3 * tried_deg, "{nearest} deg, by trying every one {tried_deg} deg");
    assert!((side.answers[0].worst_bump_steer_deg - tried_deg).abs() < 1e-3 * tried_deg);
    let car = Geometry { left: side.answers[0].corner.clone(), ..geometry.clone() };
    let found = JudgedCar::of(Rig::new(&car).expect("a sound design"));
    let failed = |verdict: &&crate::studies::Verdict| verdict.state == State::Fail && verdict.side == Some(Side::Left);
    let failed: Vec<Quantity> = found.verdicts.iter().filter(failed).map(|verdict| verdict.quantity).collect();
    assert_eq!(failed, [Quantity::BumpSteer]);
}

/// Brackets in rows of holes 10 mm apart. These holes keep every limit, two of them a hole away from where the search put each by itself;
/// it told bump steer as a limit that no holes keep.
#[test]
fn holes_that_keep_every_limit_are_found() {
    let text = include_str!("coarse_steps.toml");
    let geometry = GeometryFile::parse("rear.toml", text).unwrap_or_else(|error| panic!("{error}")).geometry;
    let mut by_hand = geometry.clone();
    for corner in [&mut by_hand.left, &mut by_hand.right] {
        for (link, [y_mm, z_mm]) in
            [[20.0, 0.0], [-20.0, -10.0], [0.0, 10.0], [20.0, -10.0], [-20.0, -10.0]].into_iter().enumerate()
        {
            corner.links[link].chassis += Vector3::new(0.0, y_mm, z_mm);
        }
    }
    let share = |car: &Geometry| {
        let odds = BuildOdds::beside(car, 10_000, &[], Watch::NONE).expect("a car that moves");
        odds.chance.share.expect("limits").value()
    };
    let (options, as_written): (_, AsWritten) = (SearchOptions::default(), &|car| Some(car.clone()));
    let side = tune(&geometry, &[Side::Left], &options, as_written).expect("a tuned side").swap_remove(0);
    let tuned = tuned_geometry(&geometry, &[(Side::Left, side.chosen(Choice::MostForgiving))]);
    assert!(side.given_up.is_empty(), "{:?}", side.given_up);
    let (ours, theirs) = (share(&tuned), share(&by_hand));
    assert!(theirs > 0.1 && ours > 0.95 * theirs, "{ours} of the cars, by hand {theirs}");
}
