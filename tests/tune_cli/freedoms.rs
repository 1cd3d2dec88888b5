//! Everything that a file may leave free, there and back: the tuned file is the car that was found.

use std::fs;

use super::program::{Ran, TOE_LINK, TOE_LINK_FREE, ToleranceStudy, demo, demo_with_toe_link, number, numbers, tuned};

/// The tuned file, swept by itself, is as flat as was told.
fn assert_round_trip(shop: &ToleranceStudy, ran: &Ran) {
    let again = shop.run("sweep out/tuned.toml --json --out again");
    let summary = serde_json::from_str(&again.out).expect("JSON");
    let told = number(&ran.summary(), "/tune/sides/0/answers/0/worst_bump_steer_deg");
    // Four digits of a coordinate are worth less than this.
    assert!((number(&summary, "/heave/left/worst_bump_steer_deg") - told).abs() < 1e-4, "{}", again.err);
}

#[test]
fn new_pickups_are_found_in_their_boxes() {
    let within = "within = { x = [-200.0, -120.0], y = [340.0, 390.0], z = [240.0, 290.0] }";
    let text = demo_with_toe_link("", &[(TOE_LINK, within), ("chassis_bolt = [292.0, -30.0, 0.0]\n", "")]);
    let shop = ToleranceStudy::with(&text);
    let before = shop.run("sweep car.toml");
    assert_eq!((before.code, before.out.as_str()), (Some(2), ""));
    before.assert_says(&["link \"toe link\" has no chassis point yet", "hubtrace tune"]);
    let ran = shop.run("tune car.toml");
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    ran.assert_says(&["no pickups yet ->", "toe link chassis new", "As tuned, toe depends most on"]);
    let place = numbers(&ran.text("tuned.toml"), "chassis", 4);
    assert!((-200.0..=-120.0).contains(&place[0]) && (340.0..=390.0).contains(&place[1]), "{place:?}");
    assert!((240.0..=290.0).contains(&place[2]) && !ran.text("tuned.toml").contains("within"), "{place:?}");
    assert!(ran.text("moves.csv").contains("left,toe link chassis,,,,-"), "{}", ran.text("moves.csv"));
    assert_eq!(shop.run("sweep out/tuned.toml --out again").code, Some(0));
    assert_round_trip(&shop, &ran);
}

/// A longer link turns the wheel where it stands; toe and camber must be what the file asks for all the same.
#[test]
fn lengths_are_changed_without_toeing_the_wheel() {
    let length = "free = { chassis = { z = [-25.0, 25.0] }, length = [-15.0, 15.0, 0.5] }";
    let other = "free = { chassis = { y = [-25.0, 25.0], z = [-25.0, 25.0] }, length = [-5.0, 5.0] }\n";
    let bracket = "free = { chassis = { y = [-25.0, 25.0], z = [-25.0, 25.0] } }\n";
    let (shop, ran) = tuned(&demo(&[(bracket, other), (TOE_LINK_FREE, length)]));
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    let written = ran.text("tuned.toml");
    assert!((numbers(&written, "toe", 0)[0] - 0.10).abs() < 0.0102, "{written}");
    assert!((numbers(&written, "camber", 0)[0] + 1.50).abs() < 0.0102, "{written}");
    assert_round_trip(&shop, &ran);
}

#[test]
fn the_clock_angle_is_found_and_carries_every_point_of_the_upright() {
    let clock = ("toe = 0.10 ", "clock = [-3.0, 3.0]\ntoe = 0.10 ");
    let (shop, ran) = tuned(&demo_with_toe_link("free = { chassis = { y = [-25.0, 25.0] } }", &[clock]));
    ran.assert_says(&["Set: clock angle of the upright"]);
    let moved = ran.text("moves.csv").lines().filter(|row| row.contains(" upright,")).count();
    assert_eq!(moved, 5);
    let (before, after) = (demo(&[]), ran.text("tuned.toml"));
    for key in ["centre", "toe", "camber"] {
        assert_eq!(numbers(&before, key, 0), numbers(&after, key, 0), "{key}");
    }
    assert!(ran.worst_deg("left") < 0.5 * 0.5175, "{}", ran.out);
    assert_round_trip(&shop, &ran);
}

#[test]
fn a_bracket_on_a_tube_is_told_by_its_slide_and_stand_off() {
    let free = "chassis_tube = \"lower rail\"\n\
        free = { chassis = { stand_off = [-15.0, 15.0], turn = [-30.0, 30.0] } }";
    let tube = "\n[[tube]]\nname = \"lower rail\"\nfrom = [-300.0, 340.0, 230.0]\nto = [250.0, 340.0, 230.0]\n";
    let (shop, ran) = tuned(&(demo_with_toe_link(free, &[]) + tube));
    ran.assert_says(&["\"toe link\" inner bracket off its tube", "\"toe link\" inner bracket round its tube", "deg"]);
    assert!(ran.worst_deg("left") < 0.05, "{}", ran.out);
    let [_, y, z] = numbers(&ran.text("tuned.toml"), "chassis", 4)[..] else { panic!("a point") };
    let drawn_mm = (376.0_f64 - 340.0).hypot(255.0 - 230.0);
    assert!(((y - 340.0).hypot(z - 230.0) - drawn_mm).abs() <= 15.0001);
    assert_round_trip(&shop, &ran);
}

#[test]
fn stepped_rooms_are_left_in_whole_steps() {
    let free = "free = { chassis = { y = [-24.0, 24.0, 2.0], z = [-24.0, 24.0, 2.0] } }";
    let (shop, ran) = tuned(&demo_with_toe_link(free, &[]));
    let place = numbers(&ran.text("tuned.toml"), "chassis", 4);
    for (now, drawn) in place.iter().zip([-150.0, 376.0, 255.0]) {
        assert!(((now - drawn) / 2.0 - ((now - drawn) / 2.0_f64).round()).abs() < 1e-9, "{place:?}");
    }
    assert!(ran.worst_deg("left") < 0.2, "{}", ran.out);
    assert_round_trip(&shop, &ran);
}

#[test]
fn joint_limits_are_held() {
    let text = demo(&[("inner_limit = 14.0 ", "inner_limit = 7.65 ")]).replace(
        "axis = [0.0, 1.0, 0.0]",
        "free = { inner = { x = [-8.0, 8.0], z = [-8.0, 8.0] } }\naxis = [0.0, 1.0, 0.0]",
    );
    let (shop, ran) = tuned(&text);
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    shop.run("sweep car.toml --out drawn").assert_says(&["inner joint angle deg 0.54 to 7.78 0 to 7.65 FAIL"]);
}

#[test]
fn a_car_in_inches_is_told_in_inches_and_comes_back_in_inches() {
    let text = fs::read_to_string("tests/outside/inch-hub-axes.toml").expect("a readable file");
    let at = text.rfind("[[link]]").expect("links");
    let upright = text[at..].find("upright").expect("an upright point") + at;
    let free = "free = { chassis = { y = [-1.0, 1.0], z = [-1.0, 1.0] }, upright = { z = [-0.3, 0.3] } }\n";
    let (shop, ran) = tuned(&[&text[..upright], free, &text[upright..]].concat());
    assert!(matches!(ran.code, Some(0 | 1)), "{}", ran.err);
    ran.assert_says(&["moves, in", "Welded to 0.020 in (one sd)"]);
    let before = number(&ran.summary(), "/tune/sides/0/before_worst_bump_steer_deg");
    assert!(ran.worst_deg("left") < before, "{before}");
    let differ = text.lines().filter(|line| !ran.text("tuned.toml").contains(line)).count();
    assert!(differ <= 2, "only the toe link moves: {differ} lines");
    assert_round_trip(&shop, &ran);
}
