//! Cars of which both wheels are tuned, each with points of its own: what the axle keeps is kept by both.

use crate::file::GeometryFile;
use crate::geometry::{Corner, Geometry, Interval, Quantity, Side};
use crate::studies::tune::{Choice, SearchOptions, TunedSide, tune, tuned_geometry};
use crate::studies::verdicts::State;
use crate::studies::{JudgedCar, Rig};

const ROLL_STEER_DEG: f64 = 0.02;

/// The first cut, its right side welded 0.2 mm further out; as drawn it steers by 0.2 deg in roll.
fn first_cut_of_two_sides() -> Geometry {
    let text = include_str!("../../../../geometries/first-cut.toml");
    let mut geometry = GeometryFile::parse("rear.toml", text).unwrap_or_else(|error| panic!("{error}")).geometry;
    geometry.mirrored = false;
    let mut right = Corner { side: Side::Right, ..geometry.left.clone() };
    right.links.iter_mut().for_each(|link| link.chassis.y += 0.2);
    geometry.right = right;
    geometry.limits.set(Quantity::RollSteer, Some(Interval::either_way(ROLL_STEER_DEG)));
    geometry
}

fn tuned(geometry: &Geometry, starts: usize) -> Vec<TunedSide> {
    let options = SearchOptions { starts, ..SearchOptions::default() };
    tune(geometry, &Side::BOTH, &options, &|car| Some(car.clone())).expect("two tuned sides")
}

/// Least and greatest roll steer of a car, deg, and what of its limits fails.
fn roll_steer_and_failures(car: &Geometry) -> (Option<f64>, Vec<Quantity>) {
    let judged = JudgedCar::of(Rig::new(car).expect("a sound design"));
    let of = |quantity: Quantity| judged.verdicts.iter().find(|verdict| verdict.quantity == quantity);
    let failures = judged.verdicts.iter().filter(|verdict| verdict.state == State::Fail);
    (of(Quantity::RollSteer).and_then(|of| of.worst()), failures.map(|verdict| verdict.quantity).collect())
}

/// Each wheel beside the other one as drawn could but make up for it: the answer steered 0.044 deg in roll and in bump, and the limit
/// was told as one that cannot be kept.
#[test]
fn two_wheels_keep_a_limit_of_the_axle_that_the_drawn_car_breaks() {
    let geometry = first_cut_of_two_sides();
    let (drawn, _) = roll_steer_and_failures(&geometry);
    assert!(drawn.is_some_and(|deg| deg.abs() > 5.0 * ROLL_STEER_DEG), "{drawn:?} deg as drawn");
    let sides = tuned(&geometry, 8);
    let answers: Vec<_> = sides.iter().map(|side| (side.side, side.chosen(Choice::MostForgiving))).collect();
    let (roll_steer, failures) = roll_steer_and_failures(&tuned_geometry(&geometry, &answers));
    assert!(roll_steer.is_some_and(|deg| deg.abs() <= ROLL_STEER_DEG), "{roll_steer:?} deg");
    assert_eq!(failures, []);
    for side in &sides {
        assert!(side.given_up.is_empty() && side.answers[0].worst_bump_steer_deg < 0.005, "{:?}", side.given_up);
    }
}

/// A left wheel that can do away with half its fault, and the right one makes up for the rest: beside the left one as drawn for twice that.
#[test]
fn the_second_wheel_is_tuned_beside_the_answer_of_the_first() {
    let mut geometry = first_cut_of_two_sides();
    geometry.limits.set(Quantity::BumpSteer, None);
    let room = &mut geometry.adjustments.left.links;
    for link in room.iter_mut() {
        (link.chassis, link.upright) = ([None; 3], [None; 3]);
    }
    room[4].chassis[2] = Some(crate::geometry::AdjustmentRange { low: -2.0, high: 2.0, step: None });
    let sides = tuned(&geometry, 4);
    let answers: Vec<_> = sides.iter().map(|side| (side.side, side.chosen(Choice::MostForgiving))).collect();
    let (roll_steer, _) = roll_steer_and_failures(&tuned_geometry(&geometry, &answers));
    assert!(roll_steer.is_some_and(|deg| deg.abs() <= ROLL_STEER_DEG), "{roll_steer:?} deg");
    assert!(sides[0].answers[0].worst_bump_steer_deg > 0.15, "the left wheel can do half");
}
