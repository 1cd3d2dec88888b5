//! `hubtrace driveline`: screen, tables, summary and exit codes.

use crate::car::Car;
use crate::program::{DEMO_NOTE, Folder, number, run};
use crate::screen::{assert_fits_the_width, assert_numbers_are_known};

/// A limit of two signed numbers is as wide as its column.
#[test]
fn cells_of_the_table_never_touch() {
    let car = Car::demo().set("halfshaft.plunge_window", "[-15.0, 10.0]");
    let page = Folder::with(car).run("driveline car.toml").ends_with(0).out;
    let plunge = page.lines().find(|line| line.trim_start().starts_with("plunge ")).expect("a line of plunge");
    assert!(plunge.contains("mm -15.0 to 10.0 "), "{plunge}");
}

/// Rows are judged there, and extremes told here.
#[test]
fn limits_say_that_they_judge_rows_and_the_driveline_that_it_solves_between_them() {
    let folder = Folder::with(Car::demo());
    folder.run("driveline car.toml --quiet").ends_with(0);
    folder.run("driveline car.toml").assert_shows(&["over all wheel travel, solved between the rows"]);
    folder.run("sweep car.toml").assert_shows(&["Limits judge the rows of bump and droop; the driveline study solves"]);
}

#[test]
fn the_demo_car_has_a_driveline_that_keeps_its_limits() {
    let ran = run("driveline").ends_with(0);
    assert_eq!(ran.err, DEMO_NOTE);
    assert_fits_the_width(&ran.out);
    ran.assert_shows(&["Propeller shaft, 6800 rpm, 560 N·m", "1 universal joint, 2 slip spline, 3 universal joint"]);
    ran.assert_shows(&[
        "Yokes phased 0.0 deg: the best there is.",
        "Balance grade G 16 leaves",
        "Have the shaft balanced",
    ]);
    let (json, quiet) = (run("driveline --json").ends_with(0), run("driveline --quiet").ends_with(0));
    assert_eq!(json.out, json.text("summary.json"));
    assert_eq!((quiet.out.as_str(), quiet.err.as_str()), ("", ""));
}

#[test]
fn every_number_of_the_screen_is_in_the_summary() {
    let car = Car::demo().set("propshaft.output_axis", "[-1.0, 0.0, 0.03]");
    let ran = Folder::with(car).run("driveline car.toml");
    let ripple = |name: &str| 100.0 * ran.number(&format!("/driveline/propshaft/{name}"));
    // The ripple in per cent, and the grade of the balance.
    let others = [ripple("ripple_peak_to_peak"), ripple("phasing/best_ripple_peak_to_peak"), 16.0];
    assert_numbers_are_known(&ran.out, &ran.summary(), &others);
}

/// The members that other tools read.
/// At design height the joints need not stand in the middle of the plunge that the travel uses.
#[test]
fn a_shaft_to_be_made_is_compared_with_its_length_at_design_height() {
    let ran = Folder::with(Car::demo().without("halfshaft.length_min").without("halfshaft.length_max"));
    let ran = ran.run("driveline car.toml");
    let [design_mm, made_mm] =
        ["length_mm", "to_make/length_mm"].map(|of| ran.number(&format!("/driveline/left/halfshaft/{of}")));
    let (by, way) = ((made_mm - design_mm).abs(), if made_mm < design_mm { "shorter" } else { "longer" });
    assert!(by > 0.05, "{made_mm} for {design_mm} mm");
    ran.assert_shows(&[&format!("with the plunging joint half-way, {by:.1} mm {way} than at design height;")]);
}

/// A limit that is typical of the joint judges on the screen, so it does in the chart.
#[test]
fn charts_of_the_halfshaft_pass_where_the_screen_does() {
    let car = Car::demo().without("halfshaft.inner_limit").set("halfshaft.inner_type", "\"plunging tripod\"");
    let ran = Folder::with(car).run("driveline car.toml");
    let line = ran.out.lines().find(|line| line.trim_start().starts_with("inner joint angle ")).expect("a line");
    assert!(line.contains("26.00*") && line.contains("pass"), "{line}");
    let map = ran.text("halfshaft-map.svg");
    assert!(map.contains("inner joint angle, up to 26.00 deg, typical of such parts: pass"), "{map}");
    let narrow = Car::demo().set("halfshaft.plunge_window", "[-0.5, 10.0]");
    let ran = Folder::with(narrow).run("driveline car.toml").ends_with(1);
    let plunge = ran.text("halfshaft-plunge.svg");
    assert!(plunge.contains("plunge, -0.5 to ") && plunge.contains(" mm: FAIL"), "{plunge}");
}

#[test]
fn the_summary_holds_the_shaft_under_its_pinned_names() {
    let summary = run("driveline").summary();
    let at = |pointer: &str| number(&summary, &format!("/driveline/propshaft/{pointer}"));
    for name in [
        "joint_angles_deg/0",
        "equivalent_angle_deg",
        "ripple_peak_to_peak",
        "residual_acceleration_rad_per_s2",
        "inertia_acceleration_rad_per_s2",
        "spans/0/critical_rpm",
        "tubes/1/torsion_mpa",
        "tubes/1/twist_deg",
        "tubes/1/mass_kg",
    ] {
        assert!(at(name).is_finite(), "{name}");
    }
    // 70 x 2 mm under 560 N·m, 835 mm long: J = 494 330 mm⁴, 4272.6e-4 kg/m.
    assert!((at("tubes/1/torsion_mpa") - 560e3 * 35.0 / 494_330.0).abs() < 0.02);
    assert!((at("tubes/1/mass_kg") - 835.1 * 3.354e-3).abs() < 0.005);
    assert!(at("joint_angles_deg/0") > 0.5 && at("joint_angles_deg/1") < 0.2);
}

/// Speeds of the table: their mean over the turn of the gearbox is what the shaft makes of an even turn, and their highest less
/// lowest the ripple of the summary.
#[test]
fn the_table_holds_one_turn_of_every_shaft() {
    let folder = Folder::with(Car::demo().set("propshaft.output_axis", "[-1.0, 0.0, 0.03]"));
    let ran = folder.run("driveline car.toml");
    assert!(matches!(ran.code, Some(0 | 1)), "{ran}");
    let text = ran.text("propshaft.csv");
    let mut lines = text.lines();
    assert_eq!(lines.next(), Some("case,after_joint,turn_deg,speed_over_mean,acceleration_rad_per_s2"));
    let rows: Vec<Vec<&str>> = lines.map(|line| line.split(',').collect()).collect();
    assert_eq!(rows.len(), 4 * 181);
    let speeds: Vec<f64> =
        rows.iter().filter(|row| row[1] == "3").map(|row| row[3].parse().expect("a number")).collect();
    let (most, least) = (speeds.iter().copied().fold(0.0, f64::max), speeds.iter().copied().fold(9.0, f64::min));
    let ripple = ran.number("/driveline/propshaft/ripple_peak_to_peak");
    assert!(ripple > 1e-4 && (most - least - ripple).abs() < 2e-3 * ripple, "{most} {least} {ripple}");
    assert!(rows.iter().filter(|row| row[1] == "0").all(|row| row[3] == "1" && row[4] == "0"));
}

#[test]
fn too_bent_a_joint_is_a_broken_limit() {
    let folder = Folder::with(Car::demo().set("propshaft.output_axis", "[-1.0, 0.0, 0.4]"));
    let ran = folder.run("driveline car.toml").ends_with(1);
    ran.assert_shows(&["angle of joint 3", "FAIL"]);
}

#[test]
fn what_is_not_in_the_file_is_not_checked() {
    let car = Car::demo().without("propshaft.rpm").without("propshaft.torque").without("propshaft.tube");
    let ran = Folder::with(car).run("driveline car.toml").ends_with(0);
    ran.assert_shows(&["not checked: no `rpm` in [propshaft]", "not checked: no [[propshaft.tube]]"]);
    assert!(
        ran.summary().pointer("/driveline/propshaft/residual_acceleration_rad_per_s2").is_some_and(|v| v.is_null())
    );
    assert!(!ran.written().contains(&"propshaft-speed.svg".to_owned()));
}

/// The rest is still made, and the code says that something is wrong with the input.
#[test]
fn a_mistake_in_the_shaft_is_told_at_its_line_and_leaves_the_rest() {
    let folder = Folder::with(Car::demo().set("propshaft.output_axis", "[0.0, 1.0, 0.0]"));
    let ran = folder.run("driveline car.toml");
    assert_eq!(ran.code, Some(2), "{ran}");
    ran.assert_tells(&["error: car.toml, line", "the shaft bends by", "check the points of the joints and both axes"]);
    assert!(ran.written().contains(&"summary.json".to_owned()));
    assert!(ran.summary().pointer("/driveline/propshaft").is_some_and(|shaft| shaft.is_null()));
    let sweep = folder.run("sweep car.toml --side left");
    sweep.assert_tells(&["warning: 1 mistake in the driveline, left out here: see `hubtrace driveline car.toml`"]);
    assert_eq!(sweep.code, Some(1));
    let check = folder.run("check car.toml");
    assert_eq!(check.code, Some(2), "{check}");
    check.assert_tells(&["error: car.toml, line", "the shaft bends by"]);
    check.assert_shows(&["well clear of binding"]);
}
