//! `hubtrace correct` of a car whose links set its wheels fore and aft: what one wheel may do depends on the other and on the rounds
//! before. The readings are of a car that other equations moved (`tests/correct/two-wheels/car.toml` says which).

use std::fs;

use serde_json::Value;

use crate::car::replaced;
use crate::program::{Folder, Ran, number};

fn data(name: &str) -> String {
    fs::read_to_string(format!("tests/correct/two-wheels/{name}")).expect("the readings of two wheels")
}

/// The car, its first round and the readings of the second; the right wheel went 3.4 mm rearward between them.
fn after_one_round(bump_steer: &str, setback: &str) -> Folder {
    let car = replaced(data("car.toml"), "bump_steer = 0.08", &format!("bump_steer = {bump_steer}"));
    let folder = Folder::with(replaced(car, "setback = 3.0", &format!("setback = {setback}")));
    let rounds = data("rounds.toml");
    let first = rounds.find("[[round]]").expect("a round") + "[[round]]".len();
    let second = first + rounds[first..].find("[[round]]").expect("two rounds");
    folder.write("rounds.toml", &rounds[..second]);
    folder.write("read.csv", rounds[second..].split("'''").nth(1).expect("readings").trim_start());
    folder
}

/// The two sides of the car differ by more than welding explains, on purpose.
fn corrected(folder: &Folder) -> Ran {
    folder.run("correct car.toml read.csv --rounds rounds.toml").doubted(2)
}

/// Setback, mm, of the car as it stands, by `sweep`.
fn setback_mm(folder: &Folder, ran: &Ran) -> f64 {
    folder.write("stands.toml", ran.text("as-built.toml"));
    let swept = folder.run("sweep stands.toml --out swept").summary();
    let limits = swept["limits"].as_array().expect("verdicts").clone();
    let setback = limits.iter().find(|limit| limit["quantity"] == "setback (at design)").expect("setback");
    number(setback, "/high")
}

/// The same when the advice is followed: each wheel centre goes where it is told to go.
fn followed_mm(folder: &Folder, ran: &Ran) -> f64 {
    let summary = ran.summary();
    let [left, right] =
        ["left", "right"].map(|side| number(&summary, &format!("/correct/{side}/wheel_moves/forward_mm")));
    setback_mm(folder, ran) + left - right
}

fn advice(summary: &Value, side: &str) -> String {
    summary["correct"][side]["advice"].as_str().expect("advice").to_owned()
}

/// 95 of 100 cars that fit are inside the limit in both rounds.
#[test]
fn a_wheel_that_is_inside_is_left_alone() {
    let ran = corrected(&after_one_round("0.08", "3.0")).ends_with(0);
    for side in ["left", "right"] {
        assert_eq!(advice(&ran.summary(), side), "nothing_to_do");
        assert_eq!(ran.summary()["correct"][side]["changes"], serde_json::json!([]));
    }
    ran.assert_shows(&["Left: nothing need be done about bump steer: it is inside its limit, and is best"]);
}

/// The other wheel stands where its own round put it, not as drawn: 1.4 mm of ±3 are used up already.
#[test]
fn changes_of_one_wheel_hold_setback_with_the_other_where_it_was_put() {
    let folder = after_one_round("0.03", "3.0");
    let held = corrected(&folder);
    assert_eq!(advice(&held.summary(), "left"), "change");
    let held_mm = followed_mm(&folder, &held);
    assert!(held_mm.abs() <= 3.0 && setback_mm(&folder, &held) > 1.0, "{held_mm} mm");
    held.assert_shows(&["Changes that leave less bump steer are left out, for with them FAIL setback (at design): 3."]);
    assert_eq!(held.summary()["left_out_for"][0]["quantity"], "setback (at design)");

    // Without that limit the wheel goes further, and is flatter.
    let free_folder = after_one_round("0.03", "30.0");
    let free = corrected(&free_folder);
    assert!(followed_mm(&free_folder, &free) > 3.2);
    let left = |ran: &Ran| ran.number("/correct/left/worst_bump_steer_deg/expected_p95");
    assert!(left(&free) < left(&held));
    assert_eq!(free.summary()["left_out_for"], serde_json::json!([]));
}

/// 4.8 mm by the equations that moved the car.
#[test]
fn a_setback_that_the_car_breaks_as_it_stands_is_told_and_ends_with_1() {
    let folder = Folder::with(data("car.toml"));
    folder.write("rounds.toml", data("rounds.toml"));
    folder.write("read.csv", data("third.csv"));
    let ran = corrected(&folder).ends_with(1);
    assert!((setback_mm(&folder, &ran) - 4.8).abs() < 0.05);
    ran.assert_shows(&["FAIL setback (at design): 4.8 mm, limit ±3.0 mm, already as the car stands."]);
    assert!(ran.text("correction-sheet.html").contains("<p>FAIL setback (at design): 4.8 mm"), "not on the sheet");
    let summary = ran.summary();
    let broken = &summary["limits_broken"][0];
    assert_eq!((&broken["quantity"], &broken["is_new"]), (&"setback (at design)".into(), &false.into()));
    assert!((number(broken, "/margin") + 1.8).abs() < 0.05, "{broken}");
}

/// What moves a wheel is told with the direction: a longer front link pushes it rearward.
#[test]
fn how_far_a_wheel_moves_is_told() {
    let folder = after_one_round("0.08", "3.0");
    let rounds = data("rounds.toml");
    folder.write("first.csv", rounds.split("'''").nth(1).expect("readings").trim_start());
    let ran = folder.run("correct car.toml first.csv");
    let forward_mm = ran.number("/correct/right/wheel_moves/forward_mm");
    assert!((-4.5..-1.0).contains(&forward_mm), "{forward_mm}");
    ran.assert_shows(&[&format!("the wheel moves {:.1} mm rearward", -forward_mm)]);
    assert!(ran.text("correction-sheet.html").contains("The wheel moves"));
}
