//! The final drive as one body: where its flanges come to stand, what they give, and where it would sit best.

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Flange, Geometry, HousingPlace, Side};
use hubtrace::measures::{shaft, spin_axis};
use hubtrace::studies::driveline::{Driveline, DrivelineFindings, PlaceFindings, Placing, PropshaftFindings};
use hubtrace::studies::{JudgedCar, Rig};
use nalgebra::{Point3, Vector3};

const CORNER: &str = include_str!("../good/corner.toml");
const HOUSING: &str = r#"
[final_drive]
origin = [0.0, 0.0, 312.0]
left = { at = [0.0, 205.0, 0.0], axis = [0.0, 1.0, 0.0] }
right = { at = [0.0, -195.0, 4.0], axis = [0.0, -1.0, 0.0] }
pinion = { at = [160.0, 5.0, -20.0], axis = [1.0, 0.0, 0.0] }
holes = [[60.0, 80.0, 90.0], [60.0, -80.0, 90.0], [-90.0, 0.0, 100.0]]
"#;
const PROPSHAFT: &str = r#"
[propshaft]
input_axis = [-1.0, 0.0, -0.05]

[[propshaft.joint]]
kind = "universal"
at = [1100.0, 5.0, 340.0]

[[propshaft.joint]]
kind = "universal"
at = [160.0, 5.0, 292.0]
"#;

fn read(tables: &str) -> GeometryFile {
    let corner = CORNER.replace("inner = [0.0, 205.0, 312.0]\n", "");
    GeometryFile::parse("car.toml", &format!("{corner}{tables}")).unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn its_flanges_are_the_inner_joints_each_on_its_own_side() {
    let geometry = read(HOUSING).geometry;
    let [left, right] = [&geometry.left, &geometry.right].map(|corner| corner.halfshaft.clone().expect("a shaft"));
    assert!((left.inner - Point3::new(0.0, 205.0, 312.0)).norm() < 1e-12);
    assert!((right.inner - Point3::new(0.0, 195.0, 316.0)).norm() < 1e-12, "{}", right.inner);
    assert!((right.axis.into_inner() - Vector3::y()).norm() < 1e-15);
    assert!((left.outer - right.outer).norm() < 1e-12);
    assert_eq!(geometry.final_drive.as_ref().map(|housing| housing.holes.len()), Some(3));
}

/// Turned by 90 deg of yaw, x forward becomes y left; by pitch, x becomes −z; by roll, y becomes z.
#[test]
fn it_turns_by_yaw_pitch_and_roll_as_a_right_hand_does() {
    let still = HousingPlace { origin: Point3::origin(), pitch_deg: 0.0, roll_deg: 0.0, yaw_deg: 0.0 };
    let at = |place: HousingPlace, x: f64, y: f64, z: f64| place.point(&Point3::new(x, y, z));
    let yaw = HousingPlace { yaw_deg: 90.0, ..still };
    assert!((at(yaw, 1.0, 0.0, 0.0) - Point3::new(0.0, 1.0, 0.0)).norm() < 1e-15);
    let pitch = HousingPlace { pitch_deg: 90.0, ..still };
    assert!((at(pitch, 1.0, 0.0, 0.0) - Point3::new(0.0, 0.0, -1.0)).norm() < 1e-15);
    let roll = HousingPlace { roll_deg: 90.0, ..still };
    assert!((at(roll, 0.0, 1.0, 0.0) - Point3::new(0.0, 0.0, 1.0)).norm() < 1e-15);
    // Yaw first, then pitch about the turned axis: x goes to y and stays there.
    let both = HousingPlace { yaw_deg: 90.0, pitch_deg: 90.0, ..still };
    assert!((at(both, 1.0, 0.0, 0.0) - Point3::new(0.0, 0.0, -1.0)).norm() < 1e-15);
}

#[test]
fn it_gives_the_axis_of_the_propeller_shaft_behind_its_last_joint() {
    let pitched = HOUSING.replace("312.0]", "312.0]\npitch = -4.0");
    let geometry = read(&format!("{pitched}{PROPSHAFT}")).geometry;
    let axis = geometry.propshaft.expect("a shaft").output_axis;
    // The pinion points forward and, nose up by 4 deg, upwards; the shaft behind the joint goes the other way.
    assert!(
        (axis.x + 4_f64.to_radians().cos()).abs() < 1e-12 && (axis.z + 4_f64.to_radians().sin()).abs() < 1e-12,
        "{axis:?}"
    );
}

#[test]
fn a_chain_that_ends_elsewhere_does_not_connect() {
    let far = PROPSHAFT.replace("[160.0, 5.0, 292.0]", "[400.0, 5.0, 292.0]");
    let file = read(&format!("{HOUSING}{far}"));
    assert!(file.geometry.propshaft.is_none());
    assert!(
        file.set_aside.len() == 1 && file.set_aside[0].what.contains("240.0 mm from the pinion"),
        "{:?}",
        file.set_aside
    );
}

#[test]
fn a_halfshaft_without_an_inner_joint_needs_it() {
    let corner = CORNER.replace("inner = [0.0, 205.0, 312.0]\n", "");
    let told = GeometryFile::parse("car.toml", &corner).map(|_| ()).unwrap_err().to_string();
    assert!(told.contains("[halfshaft] lacks `inner`"), "{told}");
}

fn placing(free: &str, propshaft: &str) -> (GeometryFile, Placing) {
    let file = read(&format!("{HOUSING}{free}\n{propshaft}"));
    assert_eq!(file.set_aside, []);
    let placing = driveline(&file.geometry).placing.expect("room");
    (file, placing)
}

fn driveline(geometry: &Geometry) -> Driveline {
    let judged = JudgedCar::of(Rig::new(geometry).expect("a car that moves"));
    DrivelineFindings::of(judged, &Side::BOTH).driveline
}

/// The same car with the housing moved, the last joint of the propeller shaft along with its pinion.
fn moved(file: &GeometryFile, by: &[f64; 4]) -> Geometry {
    let mut geometry = file.geometry.clone();
    let housing = geometry.final_drive.as_mut().expect("a housing");
    let pinion = |place: &HousingPlace, own: &Flange| place.flange(own);
    let own = housing.pinion.expect("a pinion");
    let before = pinion(&housing.place, &own).at;
    housing.place = housing.place.moved(by);
    let now = pinion(&housing.place, &own);
    let housing = housing.clone();
    [&mut geometry.left, &mut geometry.right].into_iter().for_each(|corner| housing.seat(corner));
    if let Some(shaft) = &mut geometry.propshaft {
        shaft.joints.last_mut().expect("joints").at += now.at - before;
        shaft.output_axis = -now.axis;
    }
    geometry
}

/// Root mean square of the four angles with the housing moved, from the points alone.
fn straightness(file: &GeometryFile, by: &[f64; 4]) -> f64 {
    let geometry = moved(file, by);
    let rig = Rig::new(&geometry).expect("a car that moves");
    let squares: f64 = Side::BOTH
        .into_iter()
        .map(|side| {
            let wheel = rig.wheel(side);
            let shaft = shaft(wheel.corner, wheel.design_posture()).expect("a shaft");
            assert!(spin_axis(wheel.corner, wheel.design_posture()).y > 0.0);
            shaft.inner_angle_deg.powi(2) + shaft.outer_angle_deg.powi(2)
        })
        .sum();
    (squares / 4.0).sqrt()
}

/// No place of a grid 31 × 31 is straighter than the one that is told.
#[test]
fn the_place_told_is_the_straightest_of_its_room() {
    let (file, placing) = placing("free = { x = [-20.0, 20.0], z = [-15.0, 25.0] }", "");
    assert!(placing.trade.is_empty() && placing.best.worst_propshaft_deg.is_none());
    assert!((straightness(&file, &placing.moved_by) - placing.best.halfshaft_deg).abs() < 1e-9);
    assert!((straightness(&file, &[0.0; 4]) - placing.drawn.halfshaft_deg).abs() < 1e-9);
    assert!(placing.best.halfshaft_deg < placing.drawn.halfshaft_deg - 0.05, "{placing:?}");
    for i in 0..=30 {
        for k in 0..=30 {
            let by = [-20.0 + f64::from(i) * 40.0 / 30.0, 0.0, -15.0 + f64::from(k) * 40.0 / 30.0, 0.0];
            assert!(straightness(&file, &by) >= placing.best.halfshaft_deg - 1e-6, "{by:?}");
        }
    }
}

/// Largest and equivalent angle of the propeller shaft.
fn bent(geometry: &Geometry) -> [f64; 2] {
    let shaft = PropshaftFindings::of(geometry.propshaft.as_ref().expect("a shaft")).expect("a chain");
    let worst = shaft.motion.joint_angles_deg.iter().copied().fold(0.0, f64::max);
    [worst, shaft.motion.equivalent_angle_deg]
}

/// What straightens the halfshafts bends the propeller shaft: along the trade one falls while the other rises.
#[test]
fn the_trade_gives_one_angle_for_the_other() {
    let (_, placing) = placing("free = { x = [-20.0, 20.0], z = [-15.0, 25.0] }", PROPSHAFT);
    let trade = &placing.trade;
    assert!(trade.len() > 10, "{}", trade.len());
    for pair in trade.windows(2) {
        assert!(pair[0].halfshaft_deg <= pair[1].halfshaft_deg);
        assert!(pair[0].worst_propshaft_deg > pair[1].worst_propshaft_deg);
    }
    // A thousandth of the propeller shaft's angles is all that the place told gives away.
    let bend = |place: &PlaceFindings| place.worst_propshaft_deg.zip(place.propshaft_equivalent_deg).expect("a shaft");
    let [(worst, equivalent), (best_worst, best_equivalent)] = [&trade[0], &placing.best].map(bend);
    let given_deg = 1e-3 * (worst + equivalent - best_worst - best_equivalent);
    assert!(placing.best.halfshaft_deg - trade[0].halfshaft_deg < given_deg + 1e-6, "{placing:?}");
}

/// The pitch hardly matters to the halfshafts, so that it straightens the propeller shaft.
#[test]
fn the_pitch_serves_the_propeller_shaft() {
    let (file, placing) = placing("free = { x = [-20.0, 20.0], z = [-15.0, 25.0], pitch = [-3.0, 3.0] }", PROPSHAFT);
    let cost = |by: &[f64; 4]| straightness(&file, by) + 1e-3 * bent(&moved(&file, by)).iter().sum::<f64>();
    let best = cost(&placing.moved_by);
    let [x, y, z, pitch_deg] = placing.moved_by;
    for k in -30..=30 {
        let by = [x, y, z, 0.1 * f64::from(k)];
        assert!(cost(&by) >= best - 1e-6, "{by:?}");
    }
    let at_best = bent(&moved(&file, &placing.moved_by));
    assert!((placing.best.worst_propshaft_deg.expect("a shaft") - at_best[0]).abs() < 1e-9);
    assert!((placing.best.propshaft_equivalent_deg.expect("a shaft") - at_best[1]).abs() < 1e-9);
    assert!(pitch_deg < -2.0 && at_best[0] < 0.5 * placing.drawn.worst_propshaft_deg.expect("a shaft"), "{placing:?}");
}

/// A donor's shafts that would run out at the straightest place keep it away from there.
#[test]
fn the_place_told_keeps_what_the_shafts_allow() {
    let free = "free = { y = [-12.0, 12.0], z = [-15.0, 25.0] }";
    let text = |keys: &str| {
        let corner = CORNER.replace("inner = [0.0, 205.0, 312.0]\n", "");
        let corner =
            corner.replace("outer = [-0.16, 655.0, 305.64]\n", &format!("outer = [-0.16, 655.0, 305.64]\n{keys}"));
        GeometryFile::parse("car.toml", &format!("{corner}{HOUSING}{free}\n")).unwrap_or_else(|error| panic!("{error}"))
    };
    let (open, held) = (text(""), text("inner_limit = 9.0\nlength_min = 446.0\nlength_max = 462.0\n"));
    let placed = |file: &GeometryFile| driveline(&file.geometry).placing.expect("room");
    let (open, kept) = (placed(&open), placed(&held));
    assert!(kept.best.keeps_limits() && kept.best.plunge_left_mm.expect("a window") >= 0.0);
    assert!(kept.best.halfshaft_deg >= open.best.halfshaft_deg - 1e-9);
    for (place, by) in [(kept.drawn, [0.0; 4]), (kept.best, kept.moved_by)] {
        let [angle_deg, plunge_mm] = brute_left(&moved(&held, &by));
        let told = [place.angle_left_deg.expect("a limit"), place.plunge_left_mm.expect("a window")];
        assert!(told[0] <= angle_deg + 1e-9 && told[0] > angle_deg - 1e-3, "{told:?}, brute {angle_deg}");
        assert!(told[1] <= plunge_mm + 1e-9 && told[1] > plunge_mm - 1e-3, "{told:?}, brute {plunge_mm}");
    }
}

/// Least that is left of 9 deg and of 446 to 462 mm over 2000 postures of both wheels.
fn brute_left(geometry: &Geometry) -> [f64; 2] {
    let rig = Rig::new(geometry).expect("a car that moves");
    let mut least = [f64::INFINITY; 2];
    for side in Side::BOTH {
        let wheel = rig.wheel(side);
        let drawn_mm = wheel.corner.halfshaft.as_ref().expect("a shaft").length_mm();
        let (low_mm, high_mm) = wheel.path.reach_mm();
        for k in 0..=2000 {
            let at_mm = (low_mm + (high_mm - low_mm) * f64::from(k) / 2000.0).clamp(low_mm, high_mm);
            let shaft = shaft(wheel.corner, &wheel.path.at(at_mm).expect("there")).expect("a shaft");
            let length_mm = drawn_mm + shaft.plunge_mm;
            least[0] = least[0].min(9.0 - shaft.inner_angle_deg);
            least[1] = least[1].min((length_mm - 446.0).min(462.0 - length_mm));
        }
    }
    least
}

/// Which way the axis of a pinion points is the builder's: the shaft behind it goes on as the one before.
#[test]
fn a_propeller_shaft_is_bent_as_little_whichever_way_its_pinion_points() {
    let bent_deg = |axis: &str| {
        let housing = HOUSING.replace("axis = [1.0, 0.0, 0.0] }", axis);
        let file = read(&format!("{housing}free = {{ x = [-20.0, 20.0], z = [-15.0, 25.0] }}\n{PROPSHAFT}"));
        let placing = driveline(&file.geometry).placing.expect("a place");
        placing.drawn.worst_propshaft_deg.expect("a shaft")
    };
    let [ahead, behind] = ["axis = [1.0, 0.0, 0.0] }", "axis = [-1.0, 0.0, 0.0] }"].map(bent_deg);
    assert!(ahead < 10.0 && (ahead - behind).abs() < 1e-9, "{ahead} deg and {behind} deg");
}
