//! One universal joint against catalogues and its definition.

use hubtrace::shafts::{UniversalJoint, largest_lead_rad, peak_to_peak};

/// Derived from the definition in 30 digits: deg, highest ratio, highest less lowest, largest lead in deg.
const TABLE: [(f64, f64, f64, f64); 8] = [
    (1.0, 1.000152, 0.0003046, 0.00436),
    (2.0, 1.000610, 0.0012187, 0.01746),
    (5.0, 1.003820, 0.0076251, 0.10922),
    (8.0, 1.009828, 0.0195595, 0.28016),
    (12.0, 1.022341, 0.0441930, 0.63295),
    (15.0, 1.035276, 0.0693504, 0.99312),
    (20.0, 1.064178, 0.1244852, 1.78168),
    (30.0, 1.154701, 0.2886751, 4.11719),
];

#[test]
fn ripple_and_lead_are_those_of_the_table() {
    for (deg, highest, between, lead_deg) in TABLE {
        let bend = f64::to_radians(deg);
        let joint = UniversalJoint::new(bend);
        assert!((joint.speed_ratio(0.0) - highest).abs() < 1e-6, "{deg}");
        assert!((peak_to_peak(bend) - between).abs() < 1e-7, "{deg}");
        assert!((largest_lead_rad(bend).to_degrees() - lead_deg).abs() < 1e-5, "{deg}");
        // The same from the turns alone, a hundredth of a degree apart.
        let turns = (0..9000).map(|k| f64::from(k) * 1e-2_f64.to_radians());
        let leads = turns.map(|turn| joint.output_turn_rad(turn) - turn);
        let most = leads.fold(0.0, f64::max).to_degrees();
        assert!((most - lead_deg).abs() < 1e-5, "{deg}: {most}");
    }
}

/// At 3 deg makers draw their line: 0.0027 for 2.9765 deg (Elbe, calculation data 3).
#[test]
fn the_limit_of_makers_is_that_of_three_degrees() {
    assert!((peak_to_peak(3_f64.to_radians()) - 0.002_742_8).abs() < 1e-7);
    assert!((peak_to_peak(2.9765_f64.to_radians()) - 0.0027).abs() < 1e-6);
}

/// Largest fluctuation of 100 rpm about 1200 rpm: a joint of 16.423 deg, 1251.04 and 1151.04 rpm.
#[test]
fn a_joint_at_twelve_hundred_turns_may_be_bent_by_sixteen_degrees() {
    let joint = UniversalJoint::new(16.423_f64.to_radians());
    assert!((1200.0 * joint.speed_ratio(0.0) - 1251.04).abs() < 0.05);
    assert!((1200.0 * joint.speed_ratio(90_f64.to_radians()) - 1151.04).abs() < 0.05);
}

/// Fork in the plane of both shafts: fast. Square to it: slow.
#[test]
fn the_output_is_fast_with_the_input_fork_in_the_plane_of_the_shafts() {
    let joint = UniversalJoint::new(30_f64.to_radians());
    assert!((joint.speed_ratio(0.0) - 1.154_700_538).abs() < 1e-9);
    assert!((joint.speed_ratio(90_f64.to_radians()) - 0.866_025_404).abs() < 1e-9);
}

/// Stock Drive Products, catalogue D200, page T62: 10 deg at 250 rpm, 0.0306 of the speed squared, 21.0 rad/s² two times a
/// turn; a disc of 0.0233 in lb s² is then driven by 0.489 in lb.
#[test]
fn the_largest_acceleration_is_that_of_the_catalogue() {
    let joint = UniversalJoint::new(10_f64.to_radians());
    let slope = |k: i32| joint.speed_ratio_slope(f64::from(k).to_radians() / 100.0).abs();
    let at = (0..9000).max_by(|a, b| slope(*a).total_cmp(&slope(*b))).expect("a turn");
    assert!((f64::from(at) / 100.0 - 44.12).abs() < 0.02, "{at}");
    let most = slope(at) * 26.18_f64.powi(2);
    assert!((slope(at) - 0.030_626).abs() < 1e-6 && (most - 21.0).abs() < 0.1, "{most}");
    assert!((0.0233 * most - 0.489).abs() < 0.005 * 0.489);
}

#[test]
fn the_slope_is_that_of_the_speed_and_the_speed_that_of_the_turn() {
    let joint = UniversalJoint::new(20_f64.to_radians());
    for k in 0..36 {
        let (turn, h) = (f64::from(10 * k).to_radians() - 3.1, 1e-5);
        let by = |value: &dyn Fn(f64) -> f64| (value(turn + h) - value(turn - h)) / (2.0 * h);
        assert!((by(&|turn| joint.output_turn_rad(turn)) - joint.speed_ratio(turn)).abs() < 1e-8 || k == 0);
        assert!((by(&|turn| joint.speed_ratio(turn)) - joint.speed_ratio_slope(turn)).abs() < 1e-8);
    }
}
