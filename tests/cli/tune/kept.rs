//! Limits that no answer keeps, cars that are tuned already, and answers that `check` would doubt.

use crate::car::Car;
use crate::program::{Folder, Ran};

use super::tuned_with;

const FEW: &str = " --starts 4 --cars 200";

/// What a tuning says of the one limit that it gave up.
fn given_up(ran: &Ran) -> Option<(f64, bool)> {
    let list = ran.summary()["tune"]["sides"][0]["limits_given_up"].as_array().expect("a list").clone();
    assert!(list.len() <= 1, "{ran}");
    let of = list.first()?;
    assert_eq!(of["quantity"], "scrub", "{ran}");
    Some((of["nearest"].as_f64().expect("a number"), of["beside_others"].as_bool().expect("yes or no")))
}

fn is_of_scrub(limit: &serde_json::Value) -> bool {
    limit["quantity"].as_str().is_some_and(|name| name.starts_with("scrub"))
}

/// Largest scrub by size in one of the lists of limits, mm.
fn worst_scrub_mm(limits: &serde_json::Value) -> f64 {
    let of = limits.as_array().expect("a list").iter().find(|limit| is_of_scrub(limit)).expect("scrub");
    ["low", "high"].map(|end| of[end].as_f64().expect("a number").abs()).into_iter().fold(0.0, f64::max)
}

/// A millimetre of scrub is less than the boxes allow. Every other limit holds as without it, and scrub is as near as they leave it.
#[test]
fn a_limit_that_no_answer_keeps_is_told_and_costs_nothing_else() {
    let (_, ran) = tuned_with(Car::demo().set("limits.scrub", "1.0"), FEW);
    let ran = ran.ends_with(1);
    let (nearest_mm, beside_others) = given_up(&ran).expect("scrub");
    assert!(nearest_mm.abs() > 1.0 && !beside_others, "{ran}");
    ran.assert_shows(&["Not held: scrub ±1.0", "mm cannot be kept within the free boxes: the nearest is"]);
    let summary = ran.summary();
    let mut fails = summary["limits"].as_array().expect("a list").iter().filter(|limit| limit["state"] == "fail");
    assert!(fails.all(is_of_scrub), "{ran}");
    let [drawn_mm, tuned_mm] = [&summary["tune"]["drawn_limits"], &summary["limits"]].map(worst_scrub_mm);
    assert!(tuned_mm < 0.8 * drawn_mm, "{drawn_mm} to {tuned_mm} mm");
    assert!(ran.worst_deg("left") < 0.05, "{ran}");
    assert_eq!(summary["tune"]["sides"][0]["written"]["limits_hold"], false);
    // What was told is the edge: a little less cannot be kept either, and a little more can, for itself.
    for (share, can) in [(0.97, false), (1.03, true)] {
        let limit = format!("{:.4}", share * nearest_mm.abs());
        let (_, ran) = tuned_with(Car::demo().set("limits.scrub", &limit), FEW);
        assert_eq!(given_up(&ran).is_none_or(|(_, beside_others)| beside_others), can, "±{limit}: {ran}");
    }
}

/// With any seed: a tuned car is left for a clearly better one alone.
#[test]
fn a_tuned_car_stays_when_it_is_tuned_again() {
    let folder = Folder::with(Car::demo());
    folder.run("tune car.toml --starts 4 --cars 200");
    for seed in [1, 2] {
        let again = folder.run(&format!("tune hubtrace-out/tuned.toml --seed {seed}{FEW} --out again{seed}"));
        let again = again.ends_with(0);
        again.assert_shows(&["Already tuned: nothing moves.", "inner bracket, in-out (as tuned)"]);
        assert_eq!(again.text("moves.csv").lines().count(), 1, "{again}");
        assert!(!again.out.contains("moves, mm") && !again.out.contains("0.0 mm)"), "{again}");
        let place = |text: &str| Car::parse(text).numbers("toe link.chassis");
        assert_eq!(place(&again.text("tuned.toml")), place(&folder.text("hubtrace-out/tuned.toml")));
    }
}

/// `tuned-2.toml` and on have the chance that the weld study finds on them, whichever answer is written.
#[test]
fn every_other_answer_has_its_chance() {
    let careful = Car::demo().set("weld.sd", "0.2");
    let folder = Folder::with(&careful);
    let ran = folder.run("tune car.toml --cars 2000");
    let told = ran.summary()["tune"]["odds"]["others"].as_array().expect("a list").clone();
    assert!(!told.is_empty(), "{ran}");
    ran.assert_shows(&["Other good answers: tuned-2.toml"]);
    for (index, told) in told.iter().enumerate() {
        let other = folder.run(&format!("tolerance hubtrace-out/tuned-{}.toml --cars 2000 --out welded", index + 2));
        let told = told.as_f64().expect("a chance");
        let (low, high) = (other.number("/tolerance/share_inside_low"), other.number("/tolerance/share_inside_high"));
        assert!(low <= told && told <= high && told > 0.0, "{told}, not between {low} and {high}");
    }
    let flat = folder.run("tune car.toml --cars 2000 --flattest --out flat");
    for answer in ["flattest", "most_forgiving"] {
        let pointer = format!("/tune/odds/{answer}/chance");
        assert_eq!(flat.number(&pointer), ran.number(&pointer), "{answer}");
    }
}

/// Results of other commands and of another file lie in the folder.
#[test]
fn a_tuning_beside_the_results_of_others_fits_one_screen() {
    let folder = Folder::with(Car::demo().set("limits.scrub", "1.0"));
    folder.write("other.toml", Car::demo().set("name", "\"Another\""));
    for command in ["sweep", "forces", "driveline", "tolerance --cars 100"] {
        folder.run(&format!("{command} other.toml"));
    }
    let ran = folder.run(&format!("tune car.toml{FEW}"));
    ran.assert_shows(&["of driveline, forces, sweep and tolerance, made from other.toml."]);
    crate::screen::assert_fits_one_screen(&ran.out);
}

/// A bracket that was typed 100 mm too high comes back as a flat car, which `check` believes.
#[test]
fn a_doubt_of_the_drawn_car_that_the_tuned_one_hides_is_told() {
    const SAID: &str =
        "Tuned from a car that `check` doubts, which the tuned one hides: lower rear chassis, left: z = 272";
    let typed = Car::demo().set("lower rear.chassis", "[-70.0, 345.0, 272.0]");
    let (folder, ran) = tuned_with(&typed, FEW);
    let ran = ran.doubted(1).ends_with(1);
    ran.assert_shows(&[SAID, "correct it and tune again"]);
    let hidden = ran.summary()["tune"]["doubts_hidden"].as_array().expect("a list").clone();
    assert!(hidden.len() == 1 && hidden[0].as_str().is_some_and(|said| said.contains("z = 272")), "{ran}");
    // What looks wrong is of the file that was given, as the line above the screen counts it.
    let warnings = ran.summary()["warnings"].as_array().expect("a list").clone();
    assert!(warnings.len() == 1 && warnings[0].as_str().is_some_and(|said| said.contains("z = 272")), "{warnings:?}");
    let checked = folder.run("check hubtrace-out/tuned.toml");
    assert!(!checked.out.contains("warning:"), "{checked}");
    // What the tuned car still shows is told by `check`, and a sound car hides nothing.
    let stays = Car::demo().set("car.wheelbase", "245.0");
    for car in [stays, Car::demo()] {
        let (_, ran) = tuned_with(&car, FEW);
        assert_eq!(ran.summary()["tune"]["doubts_hidden"], serde_json::json!([]), "{ran}");
        assert!(!ran.screen().contains("hides"), "{ran}");
    }
}

/// Two standard deviations of a rod end's angle do not fit into half a degree, and hardly a built car passes: what the wheels steer is
/// not given for the few more that do.
#[test]
fn a_margin_that_no_answer_keeps_does_not_cost_the_rest() {
    let car = Car::demo().to_string().replace("rod_end_limit = 14.0", "rod_end_limit = 0.5");
    let (_, ran) = tuned_with(car, " --starts 4 --cars 4000");
    let ran = ran.doubted(1).ends_with(0);
    let odds = &ran.summary()["tune"]["odds"];
    let [flattest, forgiving] = ["flattest", "most_forgiving"].map(|answer| {
        let of = |member: &str| odds[answer].pointer(member).and_then(serde_json::Value::as_f64).expect("a number");
        (of("/chance"), of("/left/wheels_p90_deg"))
    });
    assert!(flattest.0 < 1e-3 && forgiving.0 >= flattest.0 && forgiving.0 < 1e-2, "{ran}");
    assert!(forgiving.1 < flattest.1, "{ran}");
}
