//! Gaps, rod ends and other ride heights of built wheels against a sweep: a wheel built with its links adjusted is the drawing with its
//! points moved, and the sweep looks at every pair at every posture and between them.

use std::collections::BTreeMap;

use nalgebra::{Point3, Unit, Vector3};

use crate::file::GeometryFile;
use crate::geometry::{Boots, Coordinate, End, Geometry, Interval, PerSide, Quantity, Side, SpringMount, Tube, Weld};
use crate::mechanism::LinkSetting;
use crate::studies::errors::model::pickup_errors;
use crate::studies::errors::{ErrorModel, ErrorSource};
use crate::studies::tolerance::Finish;
use crate::studies::tolerance::model::WheelModel;
use crate::studies::tolerance::monte_carlo::{MonteCarlo, Watch};
use crate::studies::tolerance::study::ToleranceStudy;
use crate::studies::verdicts::State;
use crate::studies::{JudgedCar, Rig};

fn demo() -> Geometry {
    let file = GeometryFile::parse("demo", include_str!("../../../geometries/first-cut.toml"));
    file.expect("a sound car").geometry
}

/// Fore and aft through a place.
fn tube(at: Point3<f64>) -> Tube {
    let end = |x_mm: f64| at + Vector3::new(x_mm, 0.0, 0.0);
    let (name, od_mm) = ("rail".to_owned(), Some(20.0));
    Tube { name, from: end(-300.0), to: end(300.0), od_mm, wall_mm: None, material: None }
}

/// With every kind of body, rod ends that take different angles, and two more ride heights.
fn crowded() -> Geometry {
    let mut car = demo();
    car.clearance.boots = Some(Boots { radius_mm: 38.0, length_mm: 90.0 });
    car.clearance.spring_radius_mm = Some(30.0);
    car.travel.ride_heights_mm = vec![-15.0, 0.0, 20.0];
    let at = car.left.links[4].chassis;
    car.tubes.push(tube(at + Vector3::new(0.0, -60.0, 75.0)));
    for side in Side::BOTH {
        let corner = car.corner_mut(side);
        (corner.wheel.rim_radius_mm, corner.wheel.tyre_width_mm) = (Some(190.0), Some(225.0));
        for (index, link) in corner.links.iter_mut().enumerate() {
            link.rod_end_limit_deg = Some([14.0, 22.0, 18.0, 14.0, 9.0][index]);
            let tilted = |bolt: Option<Unit<Vector3<f64>>>, by: f64| {
                bolt.map(|bolt| Unit::new_normalize(*bolt + Vector3::new(0.0, 0.05 * by, 0.03 * index as f64)))
            };
            (link.chassis_bolt, link.upright_bolt) = (tilted(link.chassis_bolt, 1.0), tilted(link.upright_bolt, -1.0));
        }
    }
    car
}

fn moved(drawn: &Geometry, errors_mm: &PerSide<[f64; Coordinate::COUNT]>) -> Geometry {
    let mut car = Geometry { mirrored: false, ..drawn.clone() };
    for side in Side::BOTH {
        for (coordinate, error_mm) in Coordinate::all().zip(errors_mm[side]) {
            let link = &mut car.corner_mut(side).links[coordinate.link];
            let point = if coordinate.end == End::Chassis { &mut link.chassis } else { &mut link.upright };
            point[coordinate.axis.index()] += error_mm;
        }
    }
    car
}

const CARS: u64 = 60;

/// The demo car, the crowded one, one that stands on a spring on its link, and one of which the outer end of a link passes a tube
/// between two rows of its travel.
fn cars() -> [Geometry; 4] {
    let mut on_link = crowded();
    for side in Side::BOTH {
        let corner = on_link.corner_mut(side);
        let (inner, outer) = (corner.links[3].chassis, corner.links[3].upright);
        let spring = corner.spring.as_mut().expect("a spring");
        (spring.on, spring.mount) = (SpringMount::Link { index: 3, share: 0.7 }, inner + (outer - inner) * 0.7);
    }
    let mut passing = demo();
    let outer = passing.left.links[4].upright;
    passing.tubes.push(tube(outer + Vector3::new(0.0, 40.0, 7.0)));
    [demo(), crowded(), on_link, passing]
}

#[test]
fn the_parts_of_a_built_wheel_are_those_of_the_swept_drawing_with_its_points_moved() {
    let (mut nearest, mut off) = (Vec::new(), [0.0_f64; 3]);
    for drawn in cars() {
        let rig = Rig::new(&drawn).expect("the drawing holds its wheels");
        let models = PerSide::of(|side| WheelModel::new(&rig, side).expect("the drawing moves").with_parts(&rig));
        let shown = JudgedCar::of(rig.clone()).rod_ends.left[0].limit_deg.expect("a limit");
        for (car, sd_mm) in (0..CARS).map(|car| (car, [0.0, 0.5, 2.0][car as usize % 3])) {
            let errors = PerSide::of(|side| ErrorModel::new(&drawn, side, &weld(sd_mm), None).draw(9, car, side));
            let built_car = moved(&drawn, &errors);
            let swept = JudgedCar::of(Rig::new(&built_car).expect("it holds its wheels"));
            for (side, model) in models.iter() {
                let verdict = |quantity: Quantity| {
                    let mut all = swept.verdicts.iter();
                    all.find(|verdict| verdict.quantity == quantity && verdict.side == Some(side)).expect("a verdict")
                };
                model.build(&[pickup_errors(&errors[side])], LinkSetting::Adjusted, |_, built| {
                    let (built, _) = built.expect("the wheel moves");
                    let got = |quantity: Quantity| model.size(&built, quantity).expect("a value");
                    let gap = verdict(Quantity::Clearance);
                    let share = swept.rod_ends[side][0].worst_deg.expect("a value")
                        / swept.rod_ends[side][0].limit_deg.expect("a limit");
                    let steer = verdict(Quantity::BumpSteer).range.expect("a range").largest();
                    let expected = [gap.range.expect("a gap").low, shown * share, steer];
                    let got = [Quantity::Clearance, Quantity::RodEndAngle, Quantity::BumpSteer].map(got);
                    for k in 0..3 {
                        off[k] = off[k].max((got[k] - expected[k]).abs());
                    }
                    nearest.push(gap.part.clone().expect("a pair"));
                });
            }
        }
    }
    nearest.sort();
    nearest.dedup();
    assert!(nearest.len() > 4, "{nearest:?}");
    assert!(off[0] < 0.02 && off[1] < 1e-6 && off[2] < 1e-4, "{off:?}");
}

fn weld(sd_mm: f64) -> ErrorSource {
    ErrorSource::Weld(Weld::new(sd_mm))
}

/// The least gap and the angle of a rod end are put where some cars keep them and some do not; each car is swept.
#[test]
fn the_share_of_cars_inside_every_limit_is_that_of_swept_cars() {
    const CARS: usize = 200;
    let mut drawn = demo();
    drawn.clearance.least_mm = Some(44.3);
    drawn.travel.ride_heights_mm = vec![20.0];
    for side in Side::BOTH {
        drawn.corner_mut(side).links.iter_mut().for_each(|link| link.rod_end_limit_deg = Some(1.05));
    }
    drawn.limits.set(Quantity::BumpSteer, Some(Interval::either_way(0.8)));
    let rig = Rig::new(&drawn).expect("the drawing holds its wheels");
    let judged = JudgedCar::of(rig);
    let study = ToleranceStudy::new(&judged).expect("the drawing moves");
    let options = MonteCarlo::new(&drawn, &weld(0.5), CARS, 4, Finish::Adjusted);
    let built = study.build(&options, Watch::NONE).expect("no bracket is last");
    let (mut passing, mut broken) = (0, BTreeMap::new());
    for car in 0..CARS as u64 {
        let errors = PerSide::of(|side| options.error_models[side].draw(4, car, side));
        let built_car = moved(&drawn, &errors);
        let swept = JudgedCar::of(Rig::new(&built_car).expect("it holds its wheels"));
        let fails: Vec<_> = swept.verdicts.iter().filter(|verdict| verdict.state == State::Fail).collect();
        passing += usize::from(fails.is_empty());
        fails.iter().for_each(|verdict| *broken.entry(verdict.quantity.name()).or_insert(0) += 1);
    }
    let share = built.within_all_limits.expect("limits");
    assert_eq!((share.count, share.of), (passing, CARS), "{broken:?}");
    assert_eq!(built.limits.checked, built.limits.set);
    for name in ["bump steer", "clearance", "rod-end misalignment"] {
        assert!(broken.get(name).is_some_and(|&count| count > 20), "{broken:?}");
    }
    assert!((CARS / 10..CARS).contains(&passing), "{passing} {broken:?}");
}
