//! What was not seen over the whole travel, or lacks its data, is never told as kept.

use hubtrace::file::GeometryFile;
use hubtrace::geometry::Quantity;
use hubtrace::studies::{JudgedCar, Rig, State, Verdict};
use serde_json::Value;

use super::sweep_with;
use crate::car::Car;
use crate::program::Ran;

/// The first cut with every limit so wide that it keeps them all.
fn wide() -> Car {
    Car::demo().set("limits.bump_steer", "0.9").set("limits.track_change", "90.0")
}

/// States and reasons of a quantity, both wheels or the axle.
fn told(ran: &Ran, quantity: &str) -> Vec<(String, String)> {
    let limits = ran.summary()["limits"].as_array().expect("a list").clone();
    let named = |limit: &Value| limit["quantity"].as_str().is_some_and(|name| name.starts_with(quantity));
    let text = |value: &Value| value.as_str().expect("text").to_owned();
    let told: Vec<_> = limits.iter().filter(|v| named(v)).map(|v| (text(&v["state"]), text(&v["reason"]))).collect();
    assert!(!told.is_empty(), "no {quantity}");
    told
}

fn assert_not_checked(ran: &Ran, quantity: &str, reason: &str) {
    for (state, why) in told(ran, quantity) {
        assert_eq!((state.as_str(), why.as_str()), ("not checked", reason), "{quantity}: {ran}");
    }
}

fn assert_state(ran: &Ran, quantity: &str, state: &str) {
    assert!(told(ran, quantity).iter().all(|(is, _)| is == state), "{quantity}: {ran}");
}

const OVER_TRAVEL: [&str; 9] = [
    "bump steer",
    "camber change",
    "scrub",
    "recession",
    "halfshaft plunge",
    "inner joint angle",
    "rod-end misalignment",
    "clearance",
    "track change",
];

#[test]
fn without_travel_nothing_is_kept_over_travel() {
    let ran = sweep_with(wide(), "--bump 0 --droop 0").ends_with(0);
    OVER_TRAVEL.iter().for_each(|quantity| assert_not_checked(&ran, quantity, "no travel"));
    // The stops are where the wheels stand, so the body cannot roll either.
    assert_not_checked(&ran, "roll steer", "no body roll");
    assert_state(&ran, "roll-centre height", "pass");
    ran.assert_shows(&["15 limits: 4 pass, 0 fail, 11 not checked.", "bump steer, camber change, scrub"]);
    let totals = &ran.summary()["limit_totals"];
    assert_eq!(*totals, serde_json::json!({"set": 15, "pass": 4, "fail": 0, "not_checked": 11, "taken": 1}));
}

#[test]
fn travel_one_way_is_travel() {
    let ran = sweep_with(wide(), "--droop 0").ends_with(0);
    OVER_TRAVEL.iter().for_each(|quantity| assert_state(&ran, quantity, "pass"));
}

#[test]
fn without_body_roll_roll_steer_is_not_checked() {
    let ran = sweep_with(wide(), "--roll 0").ends_with(0);
    assert_not_checked(&ran, "roll steer", "no body roll");
    OVER_TRAVEL.iter().for_each(|quantity| assert_state(&ran, quantity, "pass"));
    ran.assert_shows(&["roll steer (no body roll)"]);
}

/// The right toe link is so short that its wheel binds at 53 mm of droop: what is seen until then keeps every limit over the travel,
/// and passes none.
#[test]
fn a_wheel_that_binds_passes_nothing_over_travel_and_the_other_one_does() {
    let others = ["upper front", "upper rear", "lower front", "lower rear"];
    let car = others.iter().fold(wide(), |car, link| car.set(&format!("{link}.rod_end_limit"), "40.0"));
    let car = car.set("limits.bump_steer", "40.0").set("limits.recession", "20.0").to_string();
    let short =
        "\n[[right.link]]\nname = \"toe link\"\nchassis = [-150.0, -560.0, 255.0]\nupright = [-120.0, -668.0, 254.0]\n";
    let ran = sweep_with(car + short, "");
    let open = ("not checked".to_owned(), "binds before the end of travel".to_owned());
    for quantity in OVER_TRAVEL {
        match &told(&ran, quantity)[..] {
            [left, right] => assert!(left.0 == "pass" && *right == open, "{quantity}: {left:?} {right:?}"),
            axle => assert_eq!(axle, std::slice::from_ref(&open), "{quantity}"),
        }
    }
    // The same of every rod end and every gap.
    let ends = ran.table("rod-ends.csv");
    let summary = ran.summary();
    let states = |side: &str| -> Vec<String> {
        let of_side = |row: &usize| ends.column("side")[*row] == side;
        let ends = (0..ends.rows.len()).filter(of_side).map(|row| ends.column("state")[row].to_owned());
        let pairs = summary["heave"][side]["clearance"]["pairs"].as_array().expect("a list");
        ends.chain(pairs.iter().map(|pair| pair["state"].as_str().expect("a state").to_owned())).collect()
    };
    for (side, expected) in [("left", "pass"), ("right", "not checked")] {
        assert!(
            states(side).len() > 20 && states(side).iter().all(|state| state == expected),
            "{side}: {:?}",
            states(side)
        );
    }
}

/// What is broken where the wheel stands needs no travel to be broken.
#[test]
fn a_limit_that_is_broken_without_travel_is_broken() {
    let car = wide().set("halfshaft.inner_limit", "0.1");
    let ran = sweep_with(car, "--bump 0 --droop 0").doubted(1).ends_with(1);
    assert_state(&ran, "inner joint angle", "fail");
}

#[test]
fn a_rod_end_with_a_limit_and_no_bolt_axis_is_not_checked() {
    let one_lacks = wide().without("toe link.upright_bolt");
    assert_not_checked(&sweep_with(&one_lacks, ""), "rod-end", "a rod end with a limit has no bolt axis");
    // The others are still held to theirs.
    let tight = one_lacks.set("upper front.rod_end_limit", "0.01");
    assert_state(&sweep_with(tight, "").doubted(1).ends_with(1), "rod-end", "fail");
}

#[test]
fn the_only_rod_ends_with_a_limit_may_be_those_without_bolts() {
    let links = ["upper front", "upper rear", "lower front", "lower rear"];
    let car = links.iter().fold(wide(), |car, link| car.without(&format!("{link}.rod_end_limit")));
    let car = car.without("toe link.chassis_bolt").without("toe link.upright_bolt");
    let ran = sweep_with(car, "").ends_with(0);
    assert_not_checked(&ran, "rod-end", "a rod end with a limit has no bolt axis");
    ran.assert_shows(&["14 pass, 0 fail, 1 not checked"]);
}

#[test]
fn a_value_that_is_no_number_never_passes() {
    // No file can say so: the smallest height that it may give leaves a number, however large.
    let mut geometry = GeometryFile::parse("wide", &wide().to_string()).expect("a sound car").geometry;
    for (cg_height_mm, share, state) in
        [(5e-324, 1.0, State::NotChecked), (5e-324, 0.0, State::NotChecked), (1e-9, 0.0, State::Fail)]
    {
        geometry.car.cg_height_mm = Some(cg_height_mm);
        geometry.car.rear_drive_share = Some(share);
        let car = JudgedCar::of(Rig::new(&geometry).expect("a sound design"));
        let is_it = |verdict: &&Verdict| verdict.quantity == Quantity::AntiSquat;
        let states: Vec<State> = car.verdicts.iter().filter(is_it).map(|verdict| verdict.state).collect();
        assert!(!states.is_empty() && states.iter().all(|found| *found == state), "{cg_height_mm}: {states:?}");
    }
}

/// A tyre that leans does not rise as the wheel does: one end of the travel is not quite that ride height.
#[test]
fn a_ride_height_at_which_the_wheel_cannot_stand_leaves_bump_steer_unchecked() {
    // It leans out as drawn, and stands straighter in bump; its joint stays where the spindle was.
    let car = wide().set("wheel.camber", "1.0");
    let mut reached = Vec::new();
    for height in ["-60.0", "60.0"] {
        let ran =
            sweep_with(car.clone().set("travel.ride_heights", &format!("[{height}]")), "").doubted(1).ends_with(0);
        let about = ran.summary()["heave"]["left"]["ride_heights"].as_array().expect("a list").len();
        match about {
            0 => assert_not_checked(&ran, "bump steer", "cannot stand at one of the ride heights"),
            _ => assert_state(&ran, "bump steer", "pass"),
        }
        reached.push(about);
    }
    assert!(reached.contains(&0), "{reached:?}");
}
