//! What a builder can move: where the points go, and that the derivatives are those of the moved car.

use std::path::Path;

use crate::file::GeometryFile;
use crate::geometry::{
    AdjustmentRange, Adjustments, Corner, End, Geometry, Interval, Quantity, Side, SpringMount, Tube, TubeAdjustment,
};
use crate::measures::{Measure, gradient};
use crate::mechanism::{PostureSensitivity, WheelPath};
use crate::studies::design_variables::DesignVariables;
use crate::studies::tune::problem::TuneProblem;
use crate::studies::tune::residual::ResidualOf;
use crate::studies::tune::{TubeWay, VariableKind};
use crate::studies::{JudgedCar, Rig};
use nalgebra::{Point3, Unit, Vector3};

fn read(path: &str) -> Geometry {
    GeometryFile::read(Path::new(path)).unwrap_or_else(|error| panic!("{error}")).geometry
}

fn play(size: f64) -> Option<AdjustmentRange> {
    Some(AdjustmentRange { low: -size, high: size, step: None })
}

/// A car in which everything that can move does; its toe link rides on a tube, the spring on the upright.
fn all_free() -> Geometry {
    let mut car = read("tests/good/every_key.toml");
    car.car.rear_brake_share = Some(0.4);
    (car.car.wheelbase_mm, car.car.cg_height_mm, car.car.rear_drive_share) = (Some(2450.0), Some(380.0), Some(1.0));
    let axis = |x: f64, y: f64, z: f64| Some(Unit::new_normalize(Vector3::new(x, y, z)));
    for link in &mut car.left.links {
        (link.chassis_bolt, link.upright_bolt) = (axis(0.8, 0.5, -0.2), axis(0.3, -0.4, 0.9));
    }
    let may = &mut car.adjustments.left;
    for link in &mut may.links {
        (link.upright, link.upright_bolt, link.length) = ([play(9.0); 3], play(9.0), play(9.0));
        if link.tube.is_none() {
            (link.chassis, link.chassis_bolt) = ([play(9.0); 3], play(9.0));
        }
    }
    (may.halfshaft_inner, may.spring_chassis, may.spring_mount) = ([play(9.0); 3], [play(9.0); 3], [play(9.0); 3]);
    car
}

/// Links and wheel alone, nothing free.
fn bare() -> Geometry {
    let mut car = all_free();
    (car.left.halfshaft, car.left.spring) = (None, None);
    car.adjustments.left = Adjustments::default();
    car
}

fn with_spring_on_a_link(mut car: Geometry) -> Geometry {
    let (from, to) = (car.left.links[1].chassis, car.left.links[1].upright);
    car.left.spring.iter_mut().for_each(|spring| {
        (spring.on, spring.mount) = (SpringMount::Link { index: 1, share: 0.6 }, from + (to - from) * 0.6);
    });
    car.adjustments.left.spring_mount = [None; 3];
    car
}

/// A wishbone: both upper links end in one hole of the upright, which was measured twice.
fn with_a_shared_hole(mut car: Geometry) -> Geometry {
    car.left.links[1].upright = car.left.links[0].upright + Vector3::new(0.0, 0.4, 0.0);
    car
}

/// Every measure of a car with a design vector applied, at one bump travel.
fn values(car: &Geometry, variables: &DesignVariables, design_vector: &[f64], bump_mm: f64) -> Vec<f64> {
    let moved = variables.apply(design_vector);
    let path = WheelPath::follow(&moved.linkage(), &[bump_mm]).expect("a sound design");
    let posture = path.at(bump_mm).expect("inside the reach");
    Measure::differentiable().map(|m| m.at(&moved.corner, &car.car, &posture).expect("a full set of data")).collect()
}

fn slopes(car: &Geometry, variables: &DesignVariables, design_vector: &[f64], bump_mm: f64) -> Vec<Vec<f64>> {
    let moved = variables.apply(design_vector);
    let linkage = moved.linkage();
    let path = WheelPath::follow(&linkage, &[bump_mm]).expect("a sound design");
    let posture = path.at(bump_mm).expect("inside the reach");
    let sensitivity = PostureSensitivity::new(&linkage, &posture).expect("a sound posture");
    let slopes = |m| {
        let gradient = gradient(m, &moved.corner, &car.car, &posture, &sensitivity).expect("a derivative");
        variables.by_variable(design_vector, &moved, &gradient)
    };
    Measure::differentiable().map(slopes).collect()
}

#[test]
fn every_freedom_has_the_derivatives_of_the_moved_car() {
    const STEP: f64 = 1e-3; // mm or deg: rounding and the third derivative meet
    for car in [all_free(), with_spring_on_a_link(all_free()), with_a_shared_hole(all_free())] {
        let variables = DesignVariables::of(&car, Side::Left);
        // Away from the drawn place in everything at once, so that no order of moves can hide.
        let at: Vec<f64> = (0..variables.list.len()).map(|k| 1.5 * (1.0 + k as f64).sin()).collect();
        let exact = slopes(&car, &variables, &at, 23.0);
        let largest: Vec<f64> = exact.iter().map(|row| row.iter().fold(0.0, |a: f64, b| a.max(b.abs()))).collect();
        for (k, variable) in variables.list.iter().enumerate() {
            let stepped = |by: f64| {
                let mut to = at.clone();
                to[k] += by;
                values(&car, &variables, &to, 23.0)
            };
            let (above, below) = (stepped(STEP), stepped(-STEP));
            for (m, measured) in Measure::differentiable().enumerate() {
                let difference = (above[m] - below[m]) / (2.0 * STEP);
                let off = (exact[m][k] - difference).abs() / largest[m];
                assert!(off < 1e-6, "{measured:?} by {:?}: {} against {difference}", variable.kind, exact[m][k]);
            }
        }
    }
}

/// They were put 1.5 mm apart, where no two rod ends have room.
#[test]
fn links_in_one_hole_stay_in_it() {
    let mut car = with_a_shared_hole(all_free());
    let narrower = AdjustmentRange { low: -2.0, high: 5.0, step: None };
    car.adjustments.left.links[1].upright[2] = Some(narrower);
    let variables = DesignVariables::of(&car, Side::Left);
    let of = |link: usize| {
        let all = variables.list.iter().filter(
            |variable| matches!(variable.kind, VariableKind::Pickup { link: of, end: End::Upright, .. } if of == link),
        );
        all.map(|variable| variable.range).collect::<Vec<_>>()
    };
    assert_eq!(of(1), []);
    assert_eq!(of(0), [play(9.0), play(9.0), Some(narrower)].map(Option::unwrap));
    let design_vector: Vec<f64> = (0..variables.list.len()).map(|k| 1.5 * (1.0 + k as f64).sin()).collect();
    // Spacers on bolts of their own part them.
    let is_spacer = |k: &usize| matches!(variables.list[*k].kind, VariableKind::Bolt { .. } | VariableKind::Clock);
    let design_vector: Vec<f64> =
        design_vector.iter().enumerate().map(|(k, by)| if is_spacer(&k) { 0.0 } else { *by }).collect();
    let moved = variables.apply(&design_vector).corner;
    let apart = moved.links[1].upright - moved.links[0].upright;
    let went = moved.links[0].upright - car.left.links[0].upright;
    assert!((apart - Vector3::new(0.0, 0.4, 0.0)).norm() < 1e-12 && went.norm() > 0.5, "{apart} {went}");
    let left = variables.room_left(&car.adjustments.left, &design_vector).links;
    for k in 0..2 {
        assert_eq!(left[0].upright[k], left[1].upright[k], "room that is left");
    }
    let low_mm = |link: usize| left[link].upright[2].expect("room").low;
    assert!((low_mm(0) - (-9.0 - went.z)).abs() < 1e-12 && (low_mm(1) - (-2.0 - went.z)).abs() < 1e-12);
}

/// Limits on what is read from no measure: every rod end, and the axle in roll. Both sides alike and each of its own.
fn limited(mirrored: bool) -> Geometry {
    let mut car = all_free();
    car.left.links.iter_mut().for_each(|link| link.rod_end_limit_deg = Some(14.0));
    car.limits.set(Quantity::RollSteer, Some(Interval::either_way(0.1)));
    car.limits.set(Quantity::TrackChange, Some(Interval::either_way(1.0)));
    car.mirrored = mirrored;
    car.adjustments.right = Adjustments::default();
    car.right = Corner { side: Side::Right, ..car.left.clone() };
    car
}

fn figures_of(car: &Geometry, quantity: Quantity, design_vector: &[f64]) -> Vec<(f64, Vec<f64>)> {
    let problem = TuneProblem::new(car, Side::Left, DesignVariables::of(car, Side::Left), None);
    let limits = problem.evaluate(design_vector).expect("a car that moves").limits;
    let of = limits.into_iter().filter(|residual| residual.subject == ResidualOf::Limit(quantity));
    of.map(|residual| (residual.value, residual.gradient)).collect()
}

fn assert_gradients_are_differences(car: &Geometry, quantity: Quantity, at_least: usize) {
    const STEP: f64 = 1e-3;
    let variables = DesignVariables::of(car, Side::Left).list;
    let at: Vec<f64> = (0..variables.len()).map(|k| 1.5 * (1.0 + k as f64).sin()).collect();
    let exact = figures_of(car, quantity, &at);
    assert!(exact.len() >= at_least, "{quantity:?}, mirrored {}: {}", car.mirrored, exact.len());
    let largest = exact.iter().flat_map(|(_, gradient)| gradient).fold(0.0, |most: f64, by| most.max(by.abs()));
    for (k, variable) in variables.iter().enumerate() {
        let stepped = |by: f64| {
            let mut to = at.clone();
            to[k] += by;
            figures_of(car, quantity, &to)
        };
        for (row, ((_, gradient), (above, below))) in
            exact.iter().zip(stepped(STEP).iter().zip(&stepped(-STEP))).enumerate()
        {
            let difference = (above.0 - below.0) / (2.0 * STEP);
            let off = (gradient[k] - difference).abs() / largest;
            assert!(off < 1e-6, "{quantity:?}, row {row}, {:?}: {} against {difference}", variable.kind, gradient[k]);
        }
    }
}

#[test]
fn rod_ends_have_the_derivatives_of_the_moved_car() {
    assert_gradients_are_differences(&limited(true), Quantity::RodEndAngle, 100);
}

/// Where a wheel stands in roll changes with the car too.
#[test]
fn figures_of_the_axle_have_the_derivatives_of_the_moved_car() {
    for mirrored in [true, false] {
        assert_gradients_are_differences(&limited(mirrored), Quantity::RollSteer, 3);
        assert_gradients_are_differences(&limited(mirrored), Quantity::TrackChange, 10);
    }
}

/// What tuning holds is what the sweep of the car judges.
#[test]
fn roll_steer_and_rod_ends_are_those_of_the_sweep() {
    for mirrored in [true, false] {
        let car = limited(mirrored);
        let judged = JudgedCar::of(Rig::new(&car).expect("a sound design"));
        let none = vec![0.0; DesignVariables::of(&car, Side::Left).list.len()];
        for quantity in [Quantity::RollSteer, Quantity::RodEndAngle, Quantity::TrackChange] {
            let held =
                figures_of(&car, quantity, &none).iter().fold(0.0, |most: f64, (value, _)| most.max(value.abs()));
            let verdict = judged.verdicts.iter().find(|verdict| verdict.quantity == quantity).expect("a verdict");
            let told = verdict.range.expect("a range").largest();
            assert!((held - told).abs() < 1e-9 && told > 0.01, "{quantity:?}: {held} against {told}");
        }
    }
}

/// A mirrored car whose final drive sits off the middle: the right shaft is shorter and its flange lower.
fn lopsided() -> Geometry {
    let mut car = limited(true);
    car.adjustments.left.halfshaft_inner = [None; 3];
    for corner in [&mut car.left, &mut car.right] {
        let shaft = corner.halfshaft.as_mut().expect("a halfshaft");
        (shaft.inner_limit_deg, shaft.outer_limit_deg) = (Some(20.0), Some(20.0));
        shaft.plunge_window_mm = Some(Interval::either_way(30.0));
    }
    car.right.halfshaft.as_mut().expect("a halfshaft").inner += Vector3::new(-9.0, 40.0, -14.0);
    assert!(car.mirrored && !car.looks_alike());
    car
}

const OF_SHAFTS: [Quantity; 3] = [Quantity::Plunge, Quantity::InnerJointAngle, Quantity::OuterJointAngle];

/// Both shafts of a lopsided car are held, each as the sweep judges it, and gaps about them; of a car whose sides are alike one.
#[test]
fn a_lopsided_final_drive_has_both_its_shafts_held() {
    let car = lopsided();
    let judged = JudgedCar::of(Rig::new(&car).expect("a sound design"));
    let none = vec![0.0; DesignVariables::of(&car, Side::Left).list.len()];
    let alike = Geometry { right: Corner { side: Side::Right, ..car.left.clone() }, ..car.clone() };
    for quantity in OF_SHAFTS {
        let held: Vec<f64> = figures_of(&car, quantity, &none).into_iter().map(|(value, _)| value).collect();
        let of_one = figures_of(&alike, quantity, &none).len();
        assert_eq!(held.len(), 2 * of_one, "{quantity:?}");
        for (side, held) in Side::BOTH.into_iter().zip(held.chunks(of_one)) {
            let verdict = judged.verdicts.iter().find(|of| of.quantity == quantity && of.side == Some(side));
            let told = verdict.expect("a verdict").range.expect("a range");
            let (low, high) = held.iter().fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(*v), high.max(*v)));
            assert!(
                (low - told.low).abs() < 1e-9 && (high - told.high).abs() < 1e-9,
                "{quantity:?}: {low} {high} {told:?}"
            );
        }
    }
    let gaps = |car: &Geometry| figures_of(car, Quantity::Clearance, &none).len();
    assert!(gaps(&car) > gaps(&alike), "{} {}", gaps(&car), gaps(&alike));
}

#[test]
fn figures_of_the_other_shaft_have_the_derivatives_of_the_moved_car() {
    for quantity in OF_SHAFTS {
        assert_gradients_are_differences(&lopsided(), quantity, 20);
    }
}

#[test]
fn every_kind_of_place_is_among_them() {
    let car = all_free();
    let list = DesignVariables::of(&car, Side::Left).list;
    let any = |is: &dyn Fn(&VariableKind) -> bool| assert!(list.iter().any(|variable| is(&variable.kind)));
    for at in [End::Chassis, End::Upright] {
        any(&|place| matches!(place, VariableKind::Pickup { end, .. } if *end == at));
        any(&|place| matches!(place, VariableKind::Bolt { end, .. } if *end == at));
    }
    for on in [TubeWay::Slide, TubeWay::StandOff, TubeWay::Turn] {
        any(&|place| matches!(place, VariableKind::OnTube { way, .. } if *way == on));
    }
    any(&|place| matches!(place, VariableKind::Length { .. }));
    any(&|place| matches!(place, VariableKind::Clock));
    any(&|place| matches!(place, VariableKind::SpringChassis { .. }));
    any(&|place| matches!(place, VariableKind::SpringMount { .. }));
    any(&|place| matches!(place, VariableKind::FinalDrive { .. }));
}

/// `tests/outside/tube_reference.py` made the table with a geometry library.
#[test]
fn brackets_on_tubes_stand_where_a_geometry_library_puts_them() {
    let mut table = csv::Reader::from_path("tests/outside/tubes.csv").expect("the table of tubes");
    let rows: Vec<Vec<f64>> = table.deserialize().map(|row| row.expect("a row of numbers")).collect();
    assert!(rows.len() >= 20);
    for row in rows {
        let point = |k: usize| Point3::new(row[k], row[k + 1], row[k + 2]);
        let mut car = bare();
        car.tubes = vec![Tube {
            name: "brace".into(),
            from: point(0),
            to: point(3),
            od_mm: None,
            wall_mm: None,
            material: None,
        }];
        car.left.links[4].chassis = point(6);
        let room = play(400.0);
        let ride = TubeAdjustment { tube: 0, slide: room, stand_off: room, turn: room };
        car.adjustments.left.links[4].tube = Some(ride);
        let moved = DesignVariables::of(&car, Side::Left).apply(&row[9..12]).corner.links[4].chassis;
        assert!((moved - point(14)).norm() < 1e-9, "{moved} against {}", point(14));
        assert!((car.tubes[0].off_mm(&point(6)) - row[12]).abs() < 1e-9);
        assert!((car.tubes[0].along_mm(&point(6)) - row[13]).abs() < 1e-9);
    }
}

#[test]
fn clocking_takes_the_top_forward_and_leaves_the_spindle() {
    let mut car = bare();
    car.adjustments.left.clock = play(90.0);
    let corner = &mut car.left;
    corner.wheel.spin_axis = Vector3::y_axis();
    let centre = corner.wheel.centre;
    corner.links[0].upright = centre + Vector3::new(0.0, -90.0, 100.0);
    corner.links[1].upright = centre + Vector3::new(0.0, -90.0, 0.0);
    let clocked = DesignVariables::of(&car, Side::Left).apply(&[90.0]).corner;
    let corner = &car.left;
    assert!((clocked.links[0].upright - centre - Vector3::new(100.0, -90.0, 0.0)).norm() < 1e-12);
    assert!((clocked.links[1].upright - corner.links[1].upright).norm() < 1e-12);
    assert_eq!(clocked.links[0].chassis, corner.links[0].chassis);
}

#[test]
fn a_spacer_moves_its_eye_along_the_bolt_and_a_turnbuckle_moves_none() {
    let mut car = bare();
    car.left.links[0].chassis_bolt = Some(Unit::new_normalize(Vector3::new(3.0, 0.0, 4.0)));
    let may = &mut car.adjustments.left.links;
    (may[0].chassis_bolt, may[1].length) = (play(9.0), play(9.0));
    let moved = DesignVariables::of(&car, Side::Left).apply(&[5.0, 1.5]);
    let corner = &car.left;
    let by = moved.corner.links[0].chassis - corner.links[0].chassis;
    assert!((by - Vector3::new(3.0, 0.0, 4.0)).norm() < 1e-12);
    assert_eq!(moved.longer_mm, [0.0, 1.5, 0.0, 0.0, 0.0]);
    assert_eq!(moved.corner.links[1], corner.links[1]);
}

/// A link whose length may change turns the wheel: toe and camber at design height are held at those of the file, a
/// hundredth of a degree either way.
#[test]
fn toe_and_camber_stay_as_the_file_has_them_when_a_link_may_change_its_length() {
    let mut car = read("geometries/as-built.toml");
    car.adjustments.left.links[4].length = play(5.0);
    let problem = TuneProblem::new(&car, Side::Left, DesignVariables::of(&car, Side::Left), None);
    let held = |turned_mm: f64| {
        let limits = problem.evaluate(&[turned_mm]).expect("a car that moves").limits;
        [(Measure::Toe, 0.10), (Measure::Camber, -1.50)].map(|(measure, deg)| {
            let residual = limits.iter().find(|residual| residual.subject == ResidualOf::AsSet(measure));
            let residual = residual.expect("it is held").clone();
            assert!(
                (residual.band.low - (deg - 0.01)).abs() < 1e-4 && (residual.band.high - (deg + 0.01)).abs() < 1e-4
            );
            residual.scaled()
        })
    };
    assert_eq!(held(0.0), [0.0, 0.0]);
    // A millimetre at 120 mm behind the wheel centre is about half a degree of toe.
    let [toe, _] = held(1.0);
    assert!(toe.abs() > 20.0, "{toe}");
}
