//! The propeller shaft of a file and what is found of it.

use hubtrace::geometry::{Propshaft, ShaftJointKind};
use hubtrace::studies::State;
use hubtrace::studies::driveline::{PropshaftFindings, SpanHold};

use crate::support::car;

/// Gearbox level at z = 330, final drive level 52.4 mm below over 1000 mm: 3 deg at both ends.
const LEVEL_ENDS: &str = r#"
[propshaft]
rpm = 5000.0
torque = 500.0
input_axis = [1.0, 0.0, 0.0]
output_axis = [-1.0, 0.0, 0.0]

[[propshaft.joint]]
kind = "universal"
at = [1100.0, 0.0, 330.0]
phase = PHASE

[[propshaft.joint]]
kind = "LAST"
at = [100.0, 0.0, 277.592]
KEYS

[[propshaft.tube]]
od = 70.0
wall = 2.0
"#;

fn shaft(phase: &str, last: &str, keys: &str) -> Propshaft {
    let tables = LEVEL_ENDS.replace("PHASE", phase).replace("LAST", last).replace("KEYS", keys);
    let tables = if phase.is_empty() { tables.replace("phase = \n", "") } else { tables };
    let file = car(&tables);
    assert_eq!(file.set_aside, []);
    file.geometry.propshaft.expect("a shaft")
}

fn found(phase: &str, last: &str, keys: &str) -> PropshaftFindings {
    PropshaftFindings::of(&shaft(phase, last, keys)).expect("joints apart")
}

#[test]
fn both_axes_point_from_the_gearbox_to_the_final_drive_whichever_way_they_are_written() {
    let shaft = shaft("0.0", "universal", "");
    assert!((shaft.input_axis.x + 1.0).abs() < 1e-15 && (shaft.output_axis.x + 1.0).abs() < 1e-15);
    assert_eq!(shaft.joints[1].kind, ShaftJointKind::Universal);
    assert!((shaft.tubes[0].length_mm() - 1000.0_f64.hypot(52.408)).abs() < 1e-9);
    assert!((shaft.tubes[0].g_gpa - 205.0 / 2.6).abs() < 1e-12);
}

/// Three degrees each, parallel ends: in line nothing is left; a quarter turn off, twice the ripple of one joint of 3 deg.
#[test]
fn the_phase_decides_what_is_left() {
    let (good, bad) = (found("0.0", "universal", ""), found("90.0", "universal", ""));
    assert!(good.motion.joint_angles_deg.iter().all(|deg| (deg - 3.0).abs() < 1e-4));
    assert!(good.motion.ripple_peak_to_peak < 1e-12 && good.motion.equivalent_angle_deg < 1e-6);
    assert!((bad.motion.ripple_peak_to_peak - 2.0 * 0.002_742_8).abs() < 1e-6);
    let phasing = bad.phasing.as_ref().expect("two universal joints");
    assert!(!phasing.is_best && phasing.best_deg[0].abs() < 1e-3 && phasing.best_ripple_peak_to_peak < 1e-7);
    assert!(good.phasing.as_ref().is_some_and(|phasing| phasing.is_best));
    // Twice the 1/(1 + cos) of one joint: (ω β)² twice at 5000 rpm.
    let left = bad.motion.residual_acceleration_rad_per_s2.expect("a speed");
    assert!((left - 2.0 * (523.599 * 0.052_36_f64).powi(2)).abs() < 5.0, "{left}");
    let of = |found: &PropshaftFindings, what: &str| {
        found.checks.iter().find(|check| check.what == what).map(|check| check.state)
    };
    assert_eq!(of(&good, "acceleration left at output"), Some(State::Pass));
    assert_eq!(of(&bad, "acceleration left at output"), Some(State::Fail));
    assert_eq!(of(&good, "acceleration of the shaft"), Some(State::Pass));
}

#[test]
fn a_universal_joint_may_be_too_straight_as_well_as_too_bent() {
    let straight = LEVEL_ENDS.replace("277.592", "329.0").replace("PHASE", "0.0").replace("LAST", "universal");
    let file = car(&straight.replace("KEYS", "limit = 0.4"));
    let found = PropshaftFindings::of(file.geometry.propshaft.as_ref().expect("a shaft")).expect("joints apart");
    let first = &found.checks[0];
    assert_eq!((first.state, first.least, first.typical), (State::Fail, Some(0.5), true));
    assert!((first.margin.expect("a margin") - (0.0573 - 0.5)).abs() < 1e-4);
    assert_eq!((found.checks[1].most, found.checks[1].typical), (Some(0.4), false));
}

/// One universal joint and a coupling leave all of it. Without a centring device the shaft orbits: its critical speed is not
/// known until the coupling's stiffness is.
#[test]
fn a_coupling_beside_a_universal_joint_cancels_nothing_and_lets_the_shaft_orbit() {
    let [unknown, soft, centred] =
        ["", "radial_stiffness = 600.0", "centred = true"].map(|keys| found("", "flexible", keys));
    assert!(unknown.cannot_cancel && unknown.phasing.is_none());
    assert!((unknown.motion.ripple_peak_to_peak - 0.002_742_8).abs() < 1e-7);
    let spans = [&unknown, &soft, &centred].map(|found| found.spans[0].clone());
    assert_eq!(spans.each_ref().map(|span| span.held), [SpanHold::Unknown, SpanHold::OnCoupling, SpanHold::Centred]);
    assert_eq!(spans[0].critical_rpm, None);
    let (soft_rpm, centred_rpm) = (spans[1].critical_rpm.expect("one"), spans[2].critical_rpm.expect("one"));
    assert!(soft_rpm < 0.6 * centred_rpm && spans[1].centred_critical_rpm == centred_rpm);
    let check = unknown.checks.iter().find(|check| check.what.starts_with("critical")).expect("a line");
    assert_eq!(check.state, State::NotChecked);
    assert!(check.reason.contains("radial_stiffness"));
}

/// A beam on two pins swings `π/2 √(EI/(m L⁴))` times a second: 70 x 2 mm of steel, 205 GPa and 7850 kg/m³, over 1001.4 mm.
#[test]
fn the_critical_speed_is_in_revolutions_a_minute() {
    let found = found("0.0", "universal", "");
    let (second_moment_mm4, area_mm2) = (247_165.0, 427.257);
    let (ei_n_m2, kg_per_m) = (205e9 * second_moment_mm4 * 1e-12, 7850.0 * area_mm2 * 1e-6);
    let length_m = 1000.0_f64.hypot(52.408) * 1e-3;
    let rpm = 60.0 * std::f64::consts::FRAC_PI_2 * (ei_n_m2 / (kg_per_m * length_m.powi(4))).sqrt();
    let span = &found.spans[0];
    assert!((span.critical_rpm.expect("one") / rpm - 1.0).abs() < 1e-4, "{span:?} for {rpm}");
    assert!((span.over_highest_speed.expect("a speed") - rpm / 5000.0).abs() < 1e-3, "{span:?}");
    let check = found.checks.iter().find(|check| check.what.starts_with("critical")).expect("a line");
    assert_eq!(check.state, State::Pass);
}

/// With the wheels driving the engine the shaft turns as one that is built in the other way round and driven by the engine.
#[test]
fn the_overrun_is_the_drive_of_the_shaft_turned_end_for_end() {
    let tilted = LEVEL_ENDS.replace("output_axis = [-1.0, 0.0, 0.0]", "output_axis = [-1.0, 0.0, 0.06]");
    let file = car(&tilted.replace("PHASE", "20.0").replace("LAST", "universal").replace("KEYS", ""));
    let shaft = file.geometry.propshaft.expect("a shaft");
    let mut turned = shaft.clone();
    (turned.input_axis, turned.output_axis) = (-shaft.output_axis, -shaft.input_axis);
    turned.joints.reverse();
    turned.tubes.reverse();
    // Looking the other way along the shaft, the other yoke is ahead by as much.
    (turned.joints[0].phase_deg, turned.joints[1].phase_deg) = (20.0, 0.0);
    let [one, other] = [&shaft, &turned].map(|shaft| PropshaftFindings::of(shaft).expect("joints apart").motion);
    let [drive, overrun] = [one.inertia_acceleration_rad_per_s2, one.inertia_acceleration_overrun_rad_per_s2]
        .map(|per_s2| per_s2.expect("a speed"));
    let of_turned = other.inertia_acceleration_rad_per_s2.expect("a speed");
    assert!((overrun / of_turned - 1.0).abs() < 1e-6 && overrun > 2.0 * drive, "{drive} {overrun} {of_turned}");
}

#[test]
fn a_spline_carries_bending_and_the_span_goes_on_through_it() {
    let with_spline = LEVEL_ENDS.replace("PHASE", "0.0").replace("LAST", "universal").replace("KEYS", "").replacen(
        "[[propshaft.tube]]",
        "[[propshaft.joint]]\nkind = \"spline\"\nat = [1000.0, 0.0, 324.7592]\n\n[[propshaft.tube]]\nod = 70.0\nwall = 2.0\n\n[[propshaft.tube]]",
        1,
    );
    // The joints stand in the order of the chain, so the spline is put between the two.
    let joints: Vec<&str> = with_spline.split("[[propshaft.joint]]").collect();
    let (spline, tubes) = joints[3].split_once("[[propshaft.tube]]").expect("tubes");
    let text = format!(
        "{}[[propshaft.joint]]{}[[propshaft.joint]]{spline}[[propshaft.joint]]{}[[propshaft.tube]]{tubes}",
        joints[0], joints[1], joints[2]
    );
    let file = car(&text);
    assert_eq!(file.set_aside, []);
    let split = PropshaftFindings::of(file.geometry.propshaft.as_ref().expect("a shaft")).expect("joints apart");
    let whole = found("0.0", "universal", "");
    assert_eq!((split.spans.len(), split.spans[0].joints, split.tubes.len()), (1, [1, 3], 2));
    let [split_rpm, whole_rpm] = [&split, &whole].map(|found| found.spans[0].critical_rpm.expect("one"));
    assert!((split_rpm / whole_rpm - 1.0).abs() < 1e-6, "{split_rpm} {whole_rpm}");
    assert!((split.motion.ripple_peak_to_peak - whole.motion.ripple_peak_to_peak).abs() < 1e-12);
}

/// 70 x 2 mm under 500 N·m: J = π/32 (70⁴ − 66⁴) = 494 330 mm⁴, 35.40 MPa.
#[test]
fn tubes_are_told_with_stress_twist_mass_and_the_one_beside_them() {
    let tables = LEVEL_ENDS.replace("PHASE", "0.0").replace("LAST", "universal").replace("KEYS", "").replace(
        "od = 70.0\nwall = 2.0",
        "pieces = [{ od = 70.0, wall = 2.0, length = 600.0 }, { od = 60.0, wall = 2.5, length = 401.4 }]\n\
         beside = { od = 72.0, wall = 2.0 }",
    );
    let file = car(&tables);
    let found = PropshaftFindings::of(file.geometry.propshaft.as_ref().expect("a shaft")).expect("joints apart");
    let tube = &found.tubes[0];
    // The thinner piece decides: J = π/32 (60⁴ − 55⁴) = 373 990 mm⁴, 40.11 MPa.
    assert!((tube.torsion_mpa.expect("a torque") - 40.11).abs() < 0.05, "{tube:?}");
    let weld = tube.weld.as_ref().expect("a splice");
    assert!((weld.throat_mm - 1.4).abs() < 1e-12 && weld.throat_is_taken);
    assert!((weld.shear_mpa.expect("a torque") - 500e3 / (2.0 * std::f64::consts::PI * 900.0 * 1.4)).abs() < 1e-9);
    let other = tube.beside.as_ref().expect("another tube");
    assert!(other.torsion_mpa < tube.torsion_mpa && other.critical_rpm > found.spans[0].critical_rpm);
    assert!(
        (found.permissible_unbalance_g_mm.expect("a speed") - 16_000.0 * found.mass_kg.expect("one") / 523.5988).abs()
            < 1e-3
    );
}

#[test]
fn an_engine_that_rocks_is_a_case_of_its_own() {
    let case = "\n[[propshaft.case]]\nname = \"engine rocked\"\nfirst_by = [0.0, 0.0, -17.455]\n";
    let file = car(&(LEVEL_ENDS.replace("PHASE", "0.0").replace("LAST", "universal").replace("KEYS", "") + case));
    let found = PropshaftFindings::of(file.geometry.propshaft.as_ref().expect("a shaft")).expect("joints apart");
    let moved = &found.cases[0];
    assert!(moved.motion.joint_angles_deg.iter().all(|deg| (deg - 2.0017).abs() < 1e-3), "{:?}", moved.motion);
    assert!(found.checks.iter().any(|check| check.what == "angle of joint 2, engine rocked"));
    assert!(found.turns.iter().any(|row| row.case.as_deref() == Some("engine rocked")));
}
