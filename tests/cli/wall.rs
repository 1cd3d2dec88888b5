//! The page for the wall: its figures are those of the summary and of the commands that look at them alone.

use crate::build_sheet::{fabricate, row, sections};
use crate::car::Car;
use crate::program::{Folder, number};

/// The first sheet of a mirrored car.
fn wall(car: impl std::fmt::Display) -> String {
    sections(&fabricate(car, "").text("build-sheet.html"))[0].to_owned()
}

fn least_and_most(numbers: &[f64]) -> [f64; 2] {
    [numbers.iter().copied().fold(f64::INFINITY, f64::min), numbers.iter().copied().fold(f64::NEG_INFINITY, f64::max)]
}

/// The page for the wall holds the figures of the summary.
#[test]
fn the_page_for_the_wall_tells_the_toe_of_the_car() {
    let ran = fabricate(Car::demo(), "");
    let html = ran.text("build-sheet.html");
    let wall = sections(&html)[0].to_owned();
    let told = |words: &str, k: usize| row(&wall, words)[k].parse::<f64>().expect("a number");
    for (words, pointer, times) in [
        ("at design", "design_toe_deg", 1.0),
        ("worst bump steer", "worst_change_deg", 1.0),
        ("slope per 25 mm", "slope_deg_per_mm", 25.0),
        ("bow", "bow_deg", 1.0),
    ] {
        let of_summary = times * ran.number(&format!("/heave/left/{pointer}"));
        assert!((told(words, 0) - of_summary).abs() <= 0.000_501, "{words}");
    }
    assert!((told("bow", 1) - ran.number("/heave/left/over_span/bow_mm")).abs() <= 0.005_01);
    // Both wheels toe in by 0.1 deg, 0.73 mm over the rim.
    assert!(
        wall.contains("Total toe of both wheels at design height: 0.200 deg, 1.45 mm in all, read over 416.0 mm"),
        "{wall}"
    );
    assert!(wall.contains("class=\"fail\">FAIL"), "{wall}");
}

/// The same figures as the commands that look at them alone.
#[test]
fn the_page_for_the_wall_tells_what_runs_out_and_what_is_weakest() {
    let wall = wall(Car::demo());
    let driveline = Folder::with(Car::demo()).run("driveline car.toml").table("runs-out.csv");
    let first = driveline.numbers("at_bump_mm").into_iter().filter(|mm| *mm > 0.0).fold(f64::INFINITY, f64::min);
    assert!(wall.contains(&format!("Up, mm: {first:.1} ")), "{first} {wall}");
    let margins = Folder::with(Car::demo()).run("forces car.toml").table("margins.csv");
    // What breaks first stands first.
    let least = margins.numbers("reserve")[0];
    assert!(wall.contains("Weakest part: ") && wall.contains(&format!("reserve {least:.2}")), "{least} {wall}");
}

/// Shaft, gap and damper as `sweep` has them in its tables.
#[test]
fn the_page_for_the_wall_tells_the_shaft_the_gap_and_the_damper() {
    let wall = wall(Car::demo());
    let sweep = Folder::with(Car::demo()).run("sweep car.toml");
    let (heave, gaps) = (sweep.table("heave.csv"), sweep.table("clearance.csv"));
    for (quantity, column, decimals) in [
        ("inner joint angle, deg", "shaft_inner_angle_deg", 2),
        ("outer joint angle, deg", "shaft_outer_angle_deg", 2),
        ("halfshaft plunge, mm", "shaft_plunge_mm", 1),
    ] {
        let [low, high] = least_and_most(&heave.of_side("left", column));
        let told = &row(&wall, quantity)[0];
        let ends: Vec<f64> = told.split(" to ").map(|end| end.parse().expect("a number")).collect();
        // Between two rows an angle may be smaller than at either.
        let half = 0.5 * f64::powi(10.0, -decimals);
        assert!(ends[0] <= low + half && ends[0] > low - 0.2, "{quantity}: {told}, {low}");
        assert!(ends[1] >= high - half && ends[1] < high + 0.2, "{quantity}: {told}, {high}");
    }
    let least_mm = least_and_most(&gaps.numbers("least_mm"))[0];
    assert!(wall.contains(&format!("lower front / lower rear, {least_mm:.1} mm at")), "{least_mm} {wall}");
    let at_design = heave.numbers("bump_mm").iter().position(|mm| *mm == 0.0).expect("design height");
    let ratio = heave.number_at("damper_per_wheel", at_design);
    assert!(wall.contains(&format!(": {ratio:.3} mm per wheel mm at design height")), "{ratio} {wall}");
}

/// The chart of each link in one line: a turn of it, and a shim under its inner bracket.
#[test]
fn the_page_for_the_wall_has_the_setting_chart() {
    let ran = fabricate(Car::demo(), "");
    let wall = sections(&ran.text("build-sheet.html"))[0].to_owned();
    let chart = ran.table("setting-chart.csv");
    let of_link = |link: &str, step: &str, column: &str| {
        let is_row = |k: &usize| {
            (chart.column("side")[*k], chart.column("link")[*k], chart.column("step")[*k]) == ("left", link, step)
        };
        chart.number_at(column, (0..chart.rows.len()).find(is_row).expect("a row"))
    };
    for link in ["upper front", "upper rear", "lower front", "lower rear", "toe link"] {
        let columns = [
            ("half_turn", "toe_deg"),
            ("half_turn", "camber_deg"),
            ("half_turn", "slope_deg_per_25mm"),
            ("chassis_shim", "toe_deg"),
            ("chassis_shim", "slope_deg_per_25mm"),
        ];
        let told = row(&wall, link);
        for (k, (step, column)) in columns.into_iter().enumerate() {
            let told: f64 = told[k + 1].parse().expect("a number");
            assert!((told - of_link(link, step, column)).abs() <= 0.000_501, "{link}, {column}: {told}");
        }
    }
}

/// As `tolerance` tells them.
#[test]
fn the_page_for_the_wall_tells_what_the_welds_leave_what_to_jig_and_what_to_weld_last() {
    let car = || Car::read("geometries/double-wishbone.toml");
    let wall = wall(car());
    let study = Folder::with(car()).run("tolerance car.toml").summary();
    let of = |pointer: &str| number(&study, &format!("/tolerance/{pointer}"));
    let [half, nine] = ["p50", "p90"].map(|part| of(&format!("left/worst_bump_steer_deg/{part}")));
    let welded = format!("below {half:.2} deg on half of the wheels, below {nine:.2} deg on 9 of 10");
    assert!(wall.contains(&welded), "{welded} {wall}");
    let room_mm = of("last_bracket/left/p95").max(of("last_bracket/right/p95"));
    let last = format!("Weld the &quot;toe link&quot; inner bracket last: it must be able to move {room_mm:.1} mm");
    assert!(wall.contains(&last), "{last} {wall}");
    assert_eq!(study["tolerance"]["jigs"]["sets"][1]["held"].as_array().map(Vec::len), Some(3));
    assert!(wall.contains("The three dimensions to jig, with the share of 2000 built cars that then keep bump steer inside its limit ("), "{wall}");
    for held in study["tolerance"]["jigs"]["sets"][1]["held"].as_array().expect("dimensions") {
        let words = held.as_str().expect("a name").trim_end_matches(" z").to_owned();
        let (link, end) = words.rsplit_once(' ').expect("a link and its end");
        let bracket = if end == "chassis" { "inner bracket" } else { "outer eye" };
        assert!(wall.contains(&format!("&quot;{link}&quot; {bracket} up-down")), "{words} {wall}");
    }
}
