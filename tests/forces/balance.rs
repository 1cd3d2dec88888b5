//! Equilibrium, virtual work, and what a halfshaft does with its torque.

use hubtrace::geometry::{
    Corner, Geometry, Halfshaft, Load, PerSide, Side, Spring, SpringMake, SpringMount, TorquePath, WheelLoad,
};
use hubtrace::measures::{contact_point, spin_axis, spring};
use hubtrace::mechanism::{Linkage, Posture, WheelPath};
use hubtrace::studies::Rig;
use hubtrace::studies::forces::{CaseLoad, ForcesFindings, WheelForces};
use nalgebra::{Point3, Vector3};

use super::geometry;

const CARS: [&str; 7] = [
    "geometries/first-cut.toml",
    "geometries/as-built.toml",
    "geometries/double-wishbone.toml",
    "geometries/semi-trailing.toml",
    "tests/outside/asymmetric.toml",
    "tests/outside/spring-on-link.toml",
    "tests/outside/near-fold.toml",
];

const LOAD: CaseLoad = CaseLoad {
    contact_n: Vector3::new(-900.0, -3100.0, 4200.0),
    centre_n: Vector3::new(120.0, 340.0, -80.0),
    moment_nm: Vector3::new(15.0, -40.0, 60.0),
    torque_to: Some(TorquePath::Upright),
};

/// The corners of a car with a spring, each with postures over its travel.
fn postures(path: &str) -> Vec<(Corner, Vec<Posture>)> {
    let geometry = geometry(path);
    let corners = [geometry.left.clone(), geometry.right.clone()].into_iter().filter(|corner| corner.spring.is_some());
    let followed = |corner: Corner| {
        let path =
            WheelPath::follow(&Linkage::new(&corner), &[-40.0, -20.0, 0.0, 15.0, 40.0]).expect("a corner that moves");
        (corner, path.postures().to_vec())
    };
    corners.map(followed).collect()
}

/// The work that a load does over a millimetre of bump goes into the spring, by the motion ratio of the kinematics.
#[test]
fn the_spring_takes_the_work_that_the_load_does() {
    let mut compared = 0;
    for (corner, postures) in CARS.into_iter().flat_map(postures) {
        for posture in &postures {
            let contact = contact_point(
                &posture.wheel_centre(),
                &spin_axis(&corner, posture),
                corner.wheel.tyre_radius_mm,
                &Vector3::z(),
            );
            let work_n = LOAD.contact_n.dot(&posture.velocity_at(&contact))
                + LOAD.centre_n.dot(&posture.motion.velocity)
                + 1000.0 * LOAD.moment_nm.dot(&posture.motion.angular);
            let ratio = spring(&corner, posture).expect("a spring").ratio;
            let forces = WheelForces::of(&corner, corner.spring.as_ref().unwrap(), posture, &LOAD).expect("held");
            let expected_n = -work_n / ratio;
            assert!(
                (forces.spring_n - expected_n).abs() <= 1e-9 * expected_n.abs(),
                "{} {expected_n}",
                forces.spring_n
            );
            compared += 1;
        }
    }
    assert!(compared >= 60, "{compared}");
}

/// Forces of every bracket on the frame and their moments add up to the load, wherever the spring stands.
#[test]
fn every_car_is_in_equilibrium_in_every_case() {
    for path in CARS {
        let car = geometry(path);
        let found = ForcesFindings::of(&Rig::new(&car).unwrap(), &Side::BOTH, &[]).expect("a spring");
        let error = found.worst_equilibrium_error();
        assert!(error <= 1e-9, "{path}: {error}");
        for (case, side, forces) in found.all() {
            let on_frame: Vector3<f64> = forces.brackets.iter().map(|bracket| bracket.force_n).sum();
            let load = case.wheels[&side].load;
            let off = on_frame - load.contact_n - load.centre_n;
            assert!(off.norm() <= 1e-9 * on_frame.norm().max(1.0), "{path}, {}: {off}", case.name);
        }
    }
    let demo = geometry(CARS[0]);
    let found = ForcesFindings::of(&Rig::new(&demo).unwrap(), &Side::BOTH, &[]).unwrap();
    assert_eq!(found.all().count(), 7 * 2 * 3);
}

/// Straight shaft, wheel upright: the drive force acts as at the wheel centre.
#[test]
fn drive_by_a_straight_halfshaft_acts_at_the_wheel_centre() {
    let mut corner = geometry("tests/outside/fl-c.toml").left;
    let centre = corner.wheel.centre;
    corner.halfshaft = Some(Halfshaft::new(centre - Vector3::y() * 500.0, centre - Vector3::y() * 90.0));
    let force = Vector3::new(2500.0, 0.0, 0.0);
    let by = |load: CaseLoad| at_design(&corner, &load);
    let driven = by(CaseLoad { contact_n: force, torque_to: Some(TorquePath::Halfshaft), ..CaseLoad::default() });
    let pushed = by(CaseLoad { centre_n: force, ..CaseLoad::default() });
    for (driven, pushed) in driven.links.iter().zip(&pushed.links) {
        assert!((driven.axial_n - pushed.axial_n).abs() < 1e-8, "{driven:?} {pushed:?}");
    }
    let torque = driven.halfshaft.unwrap();
    // 2500 N at 300 mm.
    assert!((torque.torque_nm - 750.0).abs() < 1e-9 && torque.couple_nm < 1e-9, "{torque:?}");
}

/// 930 N·m at 5 degrees leave 930 tan(2.5 deg) = 40.6 N·m across the spindle; about the vertical when the shaft falls to the
/// final drive. A toe link 90 mm behind four links on one upright line feels it as some 450 N.
#[test]
fn a_bent_joint_leaves_a_couple_that_loads_the_toe_link() {
    let mut corner = geometry("tests/outside/fl-c.toml").left;
    let centre = corner.wheel.centre;
    let fall = 400.0 * 5.0_f64.to_radians().tan();
    let shaft = |fall: f64| Some(Halfshaft::new(centre - Vector3::new(0.0, 490.0, fall), centre - Vector3::y() * 90.0));
    let x_n = 930_000.0 / corner.wheel.tyre_radius_mm;
    let load = CaseLoad {
        contact_n: Vector3::new(x_n, 0.0, 0.0),
        torque_to: Some(TorquePath::Halfshaft),
        ..CaseLoad::default()
    };
    corner.halfshaft = shaft(0.0);
    let straight = at_design(&corner, &load);
    corner.halfshaft = shaft(fall);
    let bent = at_design(&corner, &load);
    let torque = bent.halfshaft.unwrap();
    assert!((torque.joint_angle_deg.unwrap() - 5.0).abs() < 1e-9, "{torque:?}");
    assert!((torque.couple_nm - 40.604_5).abs() < 1e-3, "{torque:?}");
    // The shaft comes from below, so the couple points up: as the moment alone.
    let couple = CaseLoad { moment_nm: Vector3::z() * torque.couple_nm, ..CaseLoad::default() };
    let alone = at_design(&corner, &couple);
    for i in 0..5 {
        let change = bent.links[i].axial_n - straight.links[i].axial_n;
        assert!((change - alone.links[i].axial_n).abs() < 1e-7, "{i}: {change}");
    }
    assert!((300.0..600.0).contains(&alone.links[4].axial_n.abs()), "{:?}", alone.links[4]);
}

/// A right wheel with mirrored points and the same load carries what the left one carries.
#[test]
fn a_mirrored_wheel_carries_the_same() {
    let mut car = geometry("tests/outside/spring-on-link.toml");
    let on_wheel = WheelLoad {
        contact_n: Some(Vector3::new(300.0, -2000.0, 3000.0)),
        moment_nm: Some(Vector3::new(5.0, 7.0, 30.0)),
        torque_to: Some(TorquePath::Halfshaft),
        ..WheelLoad::default()
    };
    car.loads = vec![Load { case: "both".to_owned(), side: None, on_wheel }];
    let found = ForcesFindings::of(&Rig::new(&car).unwrap(), &Side::BOTH, &[25.0]).unwrap();
    let of = |side: Side| found.cases[0].wheels[&side].positions.clone();
    let both = PerSide::of(of);
    assert_eq!(both.left, both.right);
    let bumps: Vec<f64> = both.left.iter().map(|at| at.bump_mm).collect();
    assert_eq!(bumps, [-50.0, 0.0, 25.0, 50.0]);
}

/// A spring that stands square to the way of its mount holds nothing.
#[test]
fn a_spring_that_does_not_hold_is_told_and_the_other_wheel_goes_on() {
    let mut car: Geometry = geometry("geometries/as-built.toml");
    let posture = Linkage::new(&car.left).design().unwrap();
    let way = posture.velocity_at(&car.left.wheel.centre);
    let aside = way.cross(&Vector3::x()).normalize();
    let mount = car.left.wheel.centre;
    car.left.spring =
        Some(Spring { chassis: mount - aside * 300.0, mount, on: SpringMount::Upright, make: SpringMake::default() });
    let found = ForcesFindings::of(&Rig::new(&car).unwrap(), &Side::BOTH, &[]).unwrap();
    let fails: Vec<(Side, f64)> = found.spring_fails.iter().map(|fails| (fails.side, fails.at_bump_mm)).collect();
    assert_eq!(fails, [(Side::Left, 0.0)]);
    let right = found.cases.iter().map(|case| case.wheels[&Side::Right].positions.len());
    assert!(right.clone().count() > 3 && right.clone().all(|positions| positions == 3));
}

fn at_design(corner: &Corner, load: &CaseLoad) -> WheelForces {
    let posture = Linkage::new(corner).design().expect("a corner that moves");
    WheelForces::of(corner, corner.spring.as_ref().expect("a spring"), &posture, load).expect("held")
}

/// Half-way along a link 2 a long, square to it: P L / 4, half of the pull across each end.
#[test]
fn a_spring_in_the_middle_of_a_link_bends_it_as_a_beam_on_two_supports() {
    let mut corner = geometry("tests/outside/fl-c.toml").left;
    let link = corner.links[0].clone();
    let middle = link.chassis + (link.upright - link.chassis) * 0.5;
    let along = (link.upright - link.chassis).normalize();
    let square = along.cross(&Vector3::x()).normalize();
    corner.spring = Some(Spring {
        chassis: Point3::from(middle + square * 250.0),
        mount: middle,
        on: SpringMount::Link { index: 0, share: 0.5 },
        make: SpringMake::default(),
    });
    let forces = at_design(&corner, &CaseLoad { contact_n: Vector3::new(0.0, 0.0, 4000.0), ..CaseLoad::default() });
    let (bent, pull_n) = (forces.links[0], forces.spring_n.abs());
    assert!(pull_n > 1000.0);
    assert!((bent.bending_nm - pull_n * link.length_mm() / 4000.0).abs() < 1e-9, "{bent:?}");
    assert!(
        (bent.shear_n() - 0.5 * pull_n).abs() < 1e-9 && (bent.axial_chassis_n - bent.axial_n).abs() < 1e-9,
        "{bent:?}"
    );
    assert!(forces.links[1..].iter().all(|link| link.bending_nm == 0.0 && link.shear_n() == 0.0));
}
