//! Arrow keys along a tube or in the plane of a room.

use serde_json::{Value, json};

use crate::chromium::Chromium;
use crate::program::{Answer, FIRST_CUT, Live, place, point, revision};

const POINT: &str = "toe link chassis";
const RAIL: &str = r#"
[[tube]]
name = "lower rail"
from = [-300.0, 340.0, 225.0]
to = [100.0, 420.0, 225.0]
"#;

/// The demo car with its toe link on a tube.
fn on_tube() -> String {
    let free = "free = { chassis = { y = [-25.0, 25.0], z = [-25.0, 25.0] }, upright = { z = [-8.0, 8.0] } }";
    let ride = "chassis_tube = \"lower rail\"\nfree = { chassis = { slide = [-40.0, 40.0], turn = [-30.0, 30.0] } }";
    let text = FIRST_CUT.replace(free, ride);
    assert_ne!(text, FIRST_CUT);
    format!("{text}{RAIL}")
}

fn walk(live: &Live, revision: u64, towards: [f64; 3], step_mm: f64) -> Answer {
    let asked = json!({
        "revision": revision, "right": false, "point": POINT, "towards": towards, "step_mm": step_mm, "show": {},
    });
    live.post("/api/walk", &asked)
}

fn apart(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [0, 1, 2].map(|k| a[k] - b[k])
}

/// The rail runs 80 mm outboard on 400 mm forward: 5 of 5.099 mm of a step go forward, 1 outboard.
#[test]
fn a_step_goes_along_the_tube_and_tune_keeps_the_room_that_is_left() {
    let live = Live::on(&on_tube());
    let start = live.state();
    assert_eq!(point(&start, POINT)["rides_on"], "on its tube \"lower rail\"");
    // Two free coordinates are no plate.
    assert_eq!(point(&start, "upper front chassis")["rides_on"], "in the plane of its room");
    let step_mm = 26.0_f64.sqrt();
    let view = walk(&live, 0, [0.9, 0.1, 0.2], 2.0 * step_mm).ok();
    let by = apart(place(&view, POINT), place(&start, POINT));
    assert!((by[0] - 10.0).abs() < 1e-9 && (by[1] - 2.0).abs() < 1e-9 && by[2].abs() < 1e-9, "{by:?}");
    assert_eq!(view["undo"], "toe link chassis 10.0 mm forward, 2.0 mm outboard");
    let told: Vec<&str> =
        point(&view, POINT)["told"].as_array().expect("lines").iter().filter_map(Value::as_str).collect();
    assert_eq!(told[0], "room left: 29.8 mm towards `to` of its tube, 50.2 mm towards `from` of its tube");
    // What is left of the room is what the saved file gives.
    let saved = live.save(revision(&view), None).ok();
    assert!(live.text("car.toml").contains("slide = [-50.19"), "{}", live.text("car.toml"));
    let back = live.step("undo", revision(&saved)).ok();
    assert_eq!(place(&back, POINT), place(&start, POINT));
    assert_eq!(point(&back, POINT)["told"], point(&start, POINT)["told"]);
}

/// The bolt turns with a bracket that goes round its tube, and back with it: then the car is the one in the file again.
#[test]
fn undo_brings_back_a_bracket_that_went_round_its_tube_with_its_bolt() {
    let live = Live::on(&on_tube());
    let start = live.state();
    assert_eq!(start["changed"], false);
    let view = walk(&live, 0, [-0.2, 1.0, -0.2], 5.0).ok();
    let by = apart(place(&view, POINT), place(&start, POINT));
    assert!(by[1] > 4.0 && by[0].abs() < 2.0 && view["changed"] == true, "{by:?}");
    let back = live.step("undo", revision(&view)).ok();
    assert_eq!((place(&back, POINT), &back["changed"]), (place(&start, POINT), &json!(false)));
}

#[test]
fn a_bracket_that_left_the_room_on_its_tube_says_so_and_one_that_does_not_go_that_way_stays() {
    let live = Live::on(&on_tube());
    let start = live.state();
    let out = walk(&live, 0, [-1.0, 0.0, 0.0], 41.5).ok();
    assert_eq!(point(&out, POINT)["told"][0], "1.5 mm towards `from` of its tube out of its room");
    let up = walk(&live, revision(&out), [0.0, 0.0, 1.0], 1.0);
    assert_eq!(up.status, 422);
    assert_eq!(up.json()["what"], "it keeps to its tube \"lower rail\", which does not go that way");
    let back = walk(&live, revision(&out), [1.0, 0.0, 0.0], 41.5).ok();
    let by = apart(place(&back, POINT), place(&start, POINT));
    assert!(by.iter().all(|mm| mm.abs() < 1e-9), "{by:?}");
}

/// The rail is 407.9 mm long, and the bracket stands 154.1 mm from its end `from`.
#[test]
fn a_bracket_past_the_end_of_its_tube_or_away_from_it_is_told_at_the_point() {
    let live = Live::on(&on_tube());
    let start = live.state();
    assert_eq!(point(&start, POINT)["wrong"], false);
    let told = |view: &Value| point(view, POINT)["told"].to_string();
    let out = walk(&live, 0, [-1.0, 0.0, 0.0], 180.0).ok();
    let past = "25.9 mm past the end `from` of tube \\\"lower rail\\\": there is nothing to weld it to";
    assert!(told(&out).contains(past), "{}", told(&out));
    let inside = walk(&live, revision(&out), [1.0, 0.0, 0.0], 30.0).ok();
    assert!(!told(&inside).contains("past the end"), "{}", told(&inside));
    let [x, y, z] = place(&start, POINT);
    let away = live.nudge(revision(&inside), POINT, [x, y, z + 170.0], 0).ok();
    // 5.9 mm beside the rail and 30 mm above it, that is 30.6 mm from it; 200 mm above it 200.1 mm.
    let words = "169.5 mm away from its tube, counted from its place in the file, which lets it move no such way";
    assert!(told(&away).contains(words), "{}", told(&away));
    assert_eq!(point(&away, POINT)["wrong"], true);
}

#[test]
fn arrow_keys_keep_a_bracket_on_its_tube_until_the_hand_lets_it_go() {
    let live = Live::on(&on_tube());
    let Some(mut page) = Chromium::start() else { return };
    page.size(1600, 1000);
    page.open(&format!("http://{}/", live.address));
    page.pick(POINT);
    let [x, y, z] = place(&live.state(), POINT);
    page.click("[data-view=side]");
    page.value("document.querySelector('#picture').focus()");
    // The front is on the left of the side view.
    for _ in 0..3 {
        page.key("ArrowRight");
    }
    let gone = 3.0 / 26.0_f64.sqrt();
    // The box shows hundredths of a millimetre, the car has all.
    let off = |axis: &str, at: f64| format!("Number(document.querySelector('#at-{axis}').value) === Number({at:.2})");
    page.until(&off("x", x - 5.0 * gone));
    page.until(&off("y", y - gone));
    let apart = apart(place(&live.state(), POINT), [x - 5.0 * gone, y - gone, z]);
    assert!(apart.iter().all(|mm| mm.abs() < 1e-9), "{apart:?}");
    page.key("ArrowUp");
    page.until("document.querySelector('#at-point').textContent.includes('does not go that way')");
    page.click("#ride");
    page.value("document.querySelector('#picture').focus()");
    page.key("ArrowUp");
    page.until(&format!("Number(document.querySelector('#at-z').value) === {}", z + 1.0));
    assert!((place(&live.state(), POINT)[1] - (y - gone)).abs() < 1e-9);
    // The refusal above is told by the browser too.
    assert!(page.errors.iter().all(|error| error.contains("422")), "{:?}", page.errors);
}
