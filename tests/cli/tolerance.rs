//! `hubtrace tolerance`: figures, screen, files, and what it refuses.

use std::fmt::Display;

use serde_json::Value;

use crate::car::{Car, SOUND};
use crate::program::{Folder, Ran, part};
use crate::screen::{assert_fits_one_screen, assert_numbers_are_known, numbers};

fn tolerance(car: impl Display, options: &str) -> Ran {
    Folder::with(car).run(&format!("tolerance car.toml {options}"))
}

/// The first cut with a limit it keeps.
fn kept() -> Car {
    Car::demo().set("limits.bump_steer", "0.55")
}

fn near_fold() -> Car {
    Car::read("tests/outside/near-fold.toml")
}

/// Taken for the file, or for one word too many.
#[test]
fn a_last_link_without_its_sign_of_equality_is_told_with_what_to_write() {
    for line in ["tolerance --last stub", "tolerance car.toml --last stub"] {
        let ran = Folder::with(Car::demo()).run(line).ends_with(2);
        ran.assert_tells(&["\"stub\" stands behind --last without =", "write --last=\"stub\""]);
    }
}

#[test]
fn the_summary_holds_the_pinned_figures() {
    let ran = tolerance(Car::demo(), "--cars 500 --json").ends_with(1);
    assert_eq!(ran.out, ran.text("summary.json"));
    let summary = ran.summary();
    assert_eq!(summary["schema"], 1);
    assert_eq!(summary["input_sha256"].as_str().map(str::len), Some(64));
    for side in ["left", "right"] {
        let at = |name: &str| ran.number(&format!("/tolerance/{side}/worst_bump_steer_deg/{name}"));
        assert!(at("p50") < at("p90") && at("p90") < at("p99"));
    }
    assert_eq!(ran.number("/tolerance/share_inside"), 0.0);
    let written = ran.written();
    for name in ["sensitivity.csv", "tolerance.csv", "tolerance-band.svg", "tolerance-worst.svg", "summary.json"] {
        assert!(written.iter().any(|written| written == name), "{name}");
    }
}

#[test]
fn a_drawing_that_keeps_its_limits_ends_with_zero_and_shows_the_way_out() {
    let ran = tolerance(kept(), "--cars 500").ends_with(0);
    ran.assert_shows(&["Chance that yours passes", "Last bracket last", "Jigs that hold"]);
    ran.assert_shows(&["Slots and shims seldom give more than 10.0 mm: clamp it to the gauge, then weld"]);
    assert_fits_one_screen(&ran.out);
}

/// A chart is pinned to the wall without its screen: it tells the same chances of the same cars, in the same words.
#[test]
fn both_charts_tell_the_chances_of_the_screen() {
    let uneven = || Car::read("geometries/as-built.toml").set("limits.bump_steer", "0.3");
    for (car, options) in [
        (kept(), "--cars 400"),
        (kept(), "--cars 400 --last --side right"),
        (uneven(), "--cars 400 --links cut --class B"),
        (Car::demo(), "--cars 400"),
    ] {
        let ran = tolerance(car, options);
        let screen = ran.screen();
        let car = part(&screen, "Chance that yours passes", "19 times of 20).");
        let cars = part(&screen, "400 cars, ", "seed 1");
        let of_wheels: Vec<String> =
            ran.out.lines().filter(|line| line.starts_with("bump steer")).map(last_words).collect();
        let wheel = match &of_wheels[..] {
            [one] => one.clone(),
            [left, right] => format!("left {left}, right {right}"),
            _ => panic!("{ran}"),
        };
        for name in ["tolerance-band.svg", "tolerance-worst.svg"] {
            let chart = ran.chart(name);
            let wheel = format!("Chance for one wheel inside the bump-steer limit: {wheel}.");
            for words in [car, cars, &wheel] {
                assert!(chart.contains(words), "{name}, {options}: {words:?} is missing in {chart}");
            }
            assert_eq!(
                chart.contains("gauged to 0.010 deg and welded to 0.20 mm"),
                options.contains("--last"),
                "{chart}"
            );
        }
    }
}

/// `31 %` at the end of a line.
fn last_words(line: &str) -> String {
    let words: Vec<&str> = line.split_whitespace().collect();
    words[words.len() - 2..].join(" ")
}

/// Another program reads in the summary what a builder reads on the screen.
#[test]
fn every_number_of_the_screen_is_in_the_summary() {
    for (car, options) in [
        (kept(), "--cars 400"),
        (kept(), "--cars 400 --last"),
        (kept().set("travel.ride_heights", "[-20.0]"), "--cars 400 --links cut --class B"),
        (Car::demo(), "--cars 400 --side right"),
    ] {
        let ran = tolerance(car, options);
        let summary = ran.summary();
        let known = numbers(&summary);
        let percent = known.iter().map(|share| 100.0 * share);
        let per_25_mm = known.iter().map(|per_mm| 25.0 * per_mm);
        // `5 of 10 below`, `9 of 10`, `99 %`, `95 cars of 100`; what is counted in a list of the summary.
        let words = [5.0, 9.0, 10.0, 95.0, 99.0, 100.0, 13920.0];
        let held = |set: &Value| set["held"].as_array().map_or(0, Vec::len) as f64;
        let enough = held(&summary["tolerance"]["jigs"]["enough"]);
        let others = percent.chain(per_25_mm).chain(words).chain([enough, enough - 3.0]);
        assert_numbers_are_known(&ran.out, &summary, &others.collect::<Vec<_>>());
    }
}

#[test]
fn every_car_of_the_folder_fits_the_screen_whatever_is_done_about_the_links() {
    for name in ["first-cut", "as-built", "double-wishbone", "semi-trailing"] {
        let car = Car::read(&format!("geometries/{name}.toml"));
        for links in ["--links=adjusted", "--links=cut", "--last"] {
            let ran = tolerance(&car, &format!("--cars 200 {links}"));
            assert!(matches!(ran.code, Some(0 | 1)), "{name}: {ran}");
            assert_fits_one_screen(&ran.out);
        }
    }
}

/// A jig puts a bracket where the drawing says; where a hole of the upright really is, the tape has said.
#[test]
fn jigs_that_cannot_hold_what_the_tape_missed_say_so() {
    let taped = format!("{}\n[tape]\nsd = 1.0\n", kept());
    tolerance(taped, "--cars 400").assert_shows(&[
        "Not even all dimensions jigged make 95 %: a jig holds what was measured, and",
        "the tape's error with it.",
    ]);
    assert!(!tolerance(kept(), "--cars 400").out.contains("the tape's error"));
}

/// A corner without wheelbase, halfshaft or bolts, held to these limits.
fn corner_with(limits: &str) -> String {
    format!("{}\n[limits]\n{limits}\n", Car::read("tests/good/corner.toml"))
}

#[test]
fn without_limits_there_is_nothing_to_pass() {
    let ran = tolerance(Car::read("tests/good/corner.toml"), "--cars 100").ends_with(0);
    assert!(ran.summary()["tolerance"]["share_inside"].is_null());
    ran.assert_shows(&["The file has no [limits], so there is no chance to tell: not checked."]);
}

/// A limit on what the file lacks the data for is neither passed nor broken.
#[test]
fn a_limit_without_data_is_not_checked_and_sinks_no_car() {
    let ran = tolerance(corner_with("camber_change = 20.0\nanti_squat = [0.0, 90.0]"), "--cars 100");
    ran.assert_shows(&[
        "inside 2 of the 3 limits: 100 %",
        "Not checked on built cars: anti-squat (needs wheelbase, cg_height, rear_drive_share).",
    ]);
    let study = &ran.summary()["tolerance"];
    assert_eq!(study["limits"], serde_json::json!({"checked": 2, "set": 3}));
    assert_eq!(study["not_checked"][0]["what"], "anti-squat");
    assert!(ran.text("tolerance.csv").contains("\nlimits checked (2 of 3),both,"), "{ran}");
}

#[test]
fn there_is_no_chance_where_no_limit_can_be_checked() {
    let roll = "roll_steer = 0.001\nbump_steer = 0.001\nanti_squat = [0.0, 90.0]";
    for (limits, options, set) in [
        ("anti_squat = [0.0, 90.0]", "--bump 0 --droop 0", 2),
        ("bump_steer = 0.001\nroll_steer = 0.001", "--bump 0 --droop 0", 3),
        (roll, "--bump 0 --droop 0 --roll 0", 4),
    ] {
        let ran = tolerance(corner_with(limits), &format!("--cars 100 {options}")).ends_with(0);
        let study = ran.summary()["tolerance"].clone();
        assert!(study["share_inside"].is_null() && study["share_inside_bump_steer"].is_null(), "{ran}");
        assert_eq!(study["limits"], serde_json::json!({"checked": 0, "set": set}));
        ran.assert_shows(&[&format!("held to none of the {set} limits")]);
        assert!(!ran.screen().contains("100 %") && !ran.text("tolerance.csv").contains("limits checked"), "{ran}");
    }
}

#[test]
fn a_limit_over_roll_is_not_kept_without_roll() {
    let car = corner_with("camber_change = 10.0\nroll_steer = 3.0");
    for (options, checked, said) in [("", 3, "inside all 3 limits"), ("--roll 0", 2, "inside 2 of the 3 limits")] {
        let ran = tolerance(&car, &format!("--cars 100 {options}")).ends_with(0);
        assert_eq!(ran.number("/tolerance/limits/checked"), f64::from(checked), "{ran}");
        ran.assert_shows(&[said]);
    }
}

/// Gauged and placed last, a bracket makes up for the errors of all the others.
#[test]
fn the_last_bracket_last_makes_more_cars_pass() {
    let worst = |options: &str| {
        let ran = tolerance(kept(), &format!("--cars 300 --json {options}"));
        ran.number("/tolerance/left/worst_bump_steer_deg/p90")
    };
    assert!(worst("--last=\"toe link\"") < 0.5 * worst("--links adjusted"));
}

#[test]
fn the_table_is_the_same_on_one_thread_and_on_two() {
    let run = |threads: &str| {
        let folder = Folder::with(Car::demo());
        let line = "tolerance car.toml --quiet --cars 2000 --links cut";
        let ran = folder.run_with(line, &[("RAYON_NUM_THREADS", threads)]).ends_with(1);
        ["tolerance.csv", "summary.json", "tolerance-band.svg", "tolerance-worst.svg"].map(|name| ran.text(name))
    };
    assert_eq!(run("1"), run("2"));
}

#[test]
fn wrong_numbers_are_refused_with_what_to_write() {
    for (options, words) in [
        ("--cars 0", "--cars"),
        ("--cars 1", "--cars"),
        ("--sd -0.5", "write millimetres above 0"),
        ("--sd 0", "write millimetres above 0"),
        ("--sd 5000", "write millimetres above 0"),
        ("--sd nan", "write millimetres above 0"),
        ("--gauge -1", "write degrees from 0 to 5"),
        ("--class E", "--class"),
        ("--sd 0.5 --class B", "cannot be used with"),
    ] {
        let said = tolerance(Car::demo(), options).ends_with(2).err;
        assert!(said.contains(words), "{options}: {said}");
    }
}

#[test]
fn a_last_bracket_that_is_not_there_is_named_with_those_that_are() {
    tolerance(Car::demo(), "--last=\"steering arm\"")
        .ends_with(2)
        .assert_tells(&["no link of the left side is called \"steering arm\"", "\"toe link\""]);
}

#[test]
fn a_last_bracket_goes_with_no_cut_links() {
    tolerance(Car::demo(), "--last=\"toe link\" --links cut").ends_with(2).assert_tells(&["leave one of the two out"]);
}

/// Without travel nothing steers, so there is nothing to flatten.
#[test]
fn a_last_bracket_that_can_flatten_nothing_is_refused() {
    tolerance(Car::demo(), "--last=\"toe link\" --bump 0 --droop 0")
        .ends_with(2)
        .assert_tells(&["cannot flatten the toe curve"]);
}

#[test]
fn a_drawing_that_binds_ends_with_three() {
    tolerance(near_fold(), "--bump 60").doubted(3).ends_with(3).assert_tells(&["binds as drawn"]);
}

/// The stop stands 0.3 mm before the wheel binds, so that welds make many cars bind.
#[test]
fn cars_that_bind_are_counted_and_told() {
    tolerance(near_fold(), "--cars 200")
        .assert_shows(&["do not get through their travel", "they pass no limit and are in no figure above"]);
}

#[test]
fn a_weld_class_of_the_standard_takes_the_place_of_the_files_welds() {
    tolerance(Car::demo(), "--class A --cars 100").assert_shows(&["ISO 13920 class A"]);
}

/// The same cars without that limit are the outside answer.
#[test]
fn cut_links_say_what_passes_once_toe_is_set_again() {
    let careful = Car::demo().set("limits.bump_steer", "0.8").set("weld.sd", "0.4");
    let folder = Folder::with(careful.clone());
    let ran = folder.run("tolerance car.toml --links cut --cars 2000");
    folder.write("free.toml", careful.without("limits.thrust_angle"));
    let free = folder.run("tolerance free.toml --links cut --cars 2000 --out free");
    let toe_set = ran.number("/tolerance/share_inside_with_toe_set");
    assert_eq!(toe_set, free.number("/tolerance/share_inside"));
    assert!(toe_set > 1.5 * ran.number("/tolerance/share_inside"), "{ran}");
    ran.assert_shows(&["Toe of links as cut would be set again; then"]);
    let adjusted = folder.run("tolerance car.toml --cars 200 --out adjusted");
    assert!(adjusted.summary()["tolerance"]["share_inside_with_toe_set"].is_null());
}

/// Shims of one direction, fewer than the study moves the bracket by.
#[test]
fn a_last_bracket_whose_adjust_gives_less_room_is_told_so() {
    let told = |range: &str| {
        let car = Car::read(SOUND).set("toe link.adjust.chassis.range", range);
        tolerance(car, "--cars 400 --last=\"toe link\"").screen()
    };
    let few = told("[-0.5, 1.0]");
    assert!(few.contains("`adjust` in the file gives it -0.5 to 1.0 mm up and no other way"), "{few}");
    assert!(few.contains("either way, in-out and up-down (95 cars of 100"), "{few}");
    assert!(!told("[-40.0, 40.0]").contains("no other way"));
}
