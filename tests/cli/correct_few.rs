//! `hubtrace correct` of wheels that one or two changes bring inside, where more of them would leave a little less on a way over a
//! far worse car: the screen, the sheet and the files of two cars, one in mm and one in inches, whose right wheels give no `adjust`.

use std::fs;

use serde_json::Value;

use crate::program::{Folder, Ran, number};
use crate::screen::assert_fits_the_width;

fn data(name: &str) -> String {
    fs::read_to_string(format!("tests/correct/few-changes/{name}")).expect("the car and its readings")
}

fn folder(car: &str, readings: &str) -> Folder {
    let folder = Folder::with(data(car));
    folder.write("read.csv", readings);
    folder
}

fn corrected(car: &str, readings: &str) -> Ran {
    folder(car, readings).run("correct car.toml read.csv")
}

fn changes<'s>(summary: &'s Value, side: &str) -> &'s Vec<Value> {
    summary["correct"][side]["changes"].as_array().expect("a list")
}

/// What 95 of 100 cars stay below before the first and after each step: changes that belong together are one.
fn left_deg(summary: &Value, side: &str) -> Vec<f64> {
    let now = number(summary, &format!("/correct/{side}/worst_bump_steer_deg/now_p95"));
    let steps = changes(summary, side).iter().filter(|change| change["with_next"] == false);
    std::iter::once(now).chain(steps.map(|change| number(change, "/expected_p95_deg"))).collect()
}

fn assert_falls(summary: &Value, side: &str, limit_deg: f64) {
    let left_deg = left_deg(summary, side);
    assert!(left_deg.windows(2).all(|pair| pair[1] <= pair[0]), "{left_deg:?}");
    assert!(left_deg.last().is_some_and(|last| *last <= limit_deg), "{left_deg:?}");
}

/// Four changes went by 0.24 deg on their way to 0.018, of a limit of 0.05; and three by 0.037 to 0.016, where the first left 0.018.
#[test]
fn the_fewest_changes_are_told_and_none_on_the_way_makes_it_worse() {
    let ran = corrected("mm.toml", &data("mm.csv"));
    let summary = ran.summary();
    assert!((1..=2).contains(&changes(&summary, "right").len()), "{ran}");
    assert_falls(&summary, "right", 0.05);

    let ran = corrected("mm.toml", &data("mm-shim.csv"));
    let summary = ran.summary();
    assert_eq!(changes(&summary, "right").len(), 1, "{ran}");
    assert_falls(&summary, "right", 0.05);

    let ran = corrected("inch.toml", &data("inch.csv"));
    let summary = ran.summary();
    assert!((1..=2).contains(&changes(&summary, "right").len()), "{ran}");
    assert_falls(&summary, "right", 0.08);
    assert_falls(&summary, "left", 0.08);
}

/// M12x1.75 makes 0.875 mm of half a turn, 1/2-20 0.635 mm; 1.25 mm was taken for both.
#[test]
fn half_turns_are_those_of_the_thread_of_the_file() {
    for (car, readings, half_turn_mm) in [("mm.toml", "mm.csv", 0.875), ("inch.toml", "inch.csv", 0.635)] {
        let ran = corrected(car, &data(readings));
        let summary = ran.summary();
        let both = ["left", "right"].map(|side| changes(&summary, side).clone()).concat();
        for change in both.iter().filter(|change| change["what"] == "length") {
            let turns = number(change, "/turns");
            assert!((number(change, "/by_mm") - 2.0 * turns * half_turn_mm).abs() < 1e-9, "{change}");
        }
        assert!(!ran.text("rounds.toml").contains("by_mm = 0.625"), "{ran}");
    }
}

/// Of the wheel whose links have it nothing was assumed.
#[test]
fn what_is_assumed_of_one_wheel_is_told_of_that_wheel_alone() {
    let ran = corrected("inch.toml", &data("inch.csv"));
    ran.assert_shows(&["Right: no link has `adjust`, which says what can be changed at it. Taken: shims of"]);
    assert!(!ran.out.contains("Left: no link has"), "{ran}");
    let sheet = ran.text("correction-sheet.html");
    let (left, right) = sheet.split_once("<h2>Right wheel</h2>").expect("two wheels");
    assert!(!left.contains("`adjust`") && right.contains("<p>No link has `adjust`"), "{sheet}");
}

/// 0.13 of the height 20 mm down is typed as 1.32: play would show at every height.
#[test]
fn one_reading_that_was_mistyped_is_named_and_is_no_play() {
    let mistyped = data("inch.csv").replacen("left,-20,0.13", "left,-20,1.32", 1);
    let ran = corrected("inch.toml", &mistyped);
    assert_eq!(ran.code, Some(2), "{ran}");
    ran.assert_tells(&["read.csv, line 7, column 1: lines 7 and 24 are of one height and", "read that height again"]);
    assert!(!ran.out.contains("something is loose") && !ran.err.contains("something is loose"), "{ran}");
}

/// 2.5 in of droop and 2.25 of bump, every half inch between.
#[test]
fn the_sheet_has_a_row_for_every_height_to_gauge_next_in_the_unit_of_the_file() {
    let ran = corrected("inch.toml", &data("inch.csv"));
    let sheet = ran.text("correction-sheet.html");
    let heights = sheet.lines().filter_map(|line| line.strip_prefix("<tr><td class=\"number\">"));
    let heights: Vec<&str> = heights.filter_map(|row| row.split('<').next()).collect();
    let told = ["-2.500", "-2.000", "-1.500", "-1.000", "-0.500", "0.000", "0.500", "1.000", "1.500", "2.000", "2.250"];
    assert_eq!(heights, told, "{sheet}");
    assert!(sheet.contains("Gauge both wheels again at these heights"), "{sheet}");
    // A table that is wider than a phone scrolls in its own box.
    assert!(sheet.contains("width=device-width") && sheet.contains(".wide { overflow-x: auto; }"), "{sheet}");
    assert_eq!(sheet.matches("<table>").count(), sheet.matches("<div class=\"wide\">\n<table>").count(), "{sheet}");
    // Shims that are assumed are those of a shop in inches.
    ran.assert_shows(&["Taken: shims of 0.02 in"]);
    assert!(!ran.out.contains("0.5 mm") && !ran.out.contains("0.0197"), "{ran}");
    assert_fits_the_width(&ran.out);
    let mm = corrected("mm.toml", &data("mm.csv")).text("correction-sheet.html");
    for height in ["-60.0", "-50.0", "0.0", "60.0"] {
        assert!(mm.contains(&format!("<tr><td class=\"number\">{height}<td")), "{height}\n{mm}");
    }
}
