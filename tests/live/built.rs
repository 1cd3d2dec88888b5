//! A built car of which points are moved: a plan for it, never the car as it stands.

use serde_json::{Value, json};

use crate::program::{AS_BUILT, Live, place, revision};

const POINT: &str = "toe link chassis";

fn raised(live: &Live, view: &Value) -> Value {
    let [x, y, z] = place(view, POINT);
    live.nudge(revision(view), POINT, [x, y, z + 2.0], 0).ok()
}

#[test]
fn a_moved_built_car_is_saved_beside_its_file_as_a_plan() {
    let live = Live::on(AS_BUILT);
    let start = live.state();
    assert_eq!((&start["stage"], &start["plan"]), (&json!("as built"), &Value::Null));
    let moved = raised(&live, &start);
    assert!(moved["plan"].as_str().is_some_and(|plan| plan.contains("not the car as it stands")), "{}", moved["plan"]);
    assert_eq!(moved["file_name"], "car-plan.toml");
    // Undone it is the built car again.
    let back = live.step("undo", revision(&moved)).ok();
    assert_eq!(
        (&back["stage"], &back["plan"], &back["file_name"]),
        (&json!("as built"), &Value::Null, &json!("car.toml"))
    );
    let moved = live.step("redo", revision(&back)).ok();
    let saved = live.save(revision(&moved), None).ok();
    assert_eq!((&saved["saved"], &saved["stage"]), (&json!("car-plan.toml"), &json!("as planned")));
    assert_eq!(live.text("car.toml"), AS_BUILT);
    let odds = live.get("/api/odds").ok();
    let told = odds["cars"][0]["told"][0].as_str().expect("a sentence");
    assert!(told.starts_with("This is a plan for the built car: "), "{told}");
    // Whoever opens the file later is told too, and so is whoever reads it.
    let text = live.text("car-plan.toml");
    assert!(text.contains("\nbuilt = true") && text.contains("\nplanned = true # points were moved since"), "{text}");
    assert_eq!(Live::on(&text).state()["stage"], "as planned");
    let foot = |live: &Live| live.get("/api/state?charts=toe.svg").ok()["charts"][0]["svg"].to_string();
    assert!(foot(&Live::on(&text)).contains("the car as planned") && !foot(&Live::on(&text)).contains("as built</"));
    // Back where the car stands, the file says so.
    let back = live.step("undo", revision(&saved)).ok();
    live.save(revision(&back), None).ok();
    assert!(live.text("car-plan.toml").contains("\nplanned = false"), "{}", live.text("car-plan.toml"));
    assert_eq!(Live::on(&live.text("car-plan.toml")).state()["stage"], "as built");
}

/// Who wants the numbers of the car that stands to be gone types their name.
#[test]
fn a_plan_takes_the_place_of_the_built_car_only_by_its_name() {
    let live = Live::on(AS_BUILT);
    let moved = raised(&live, &live.state());
    let saved = live.save(revision(&moved), Some("car.toml")).ok();
    assert_eq!((&saved["saved"], &saved["stage"]), (&json!("car.toml"), &json!("as planned")));
    assert_eq!(saved["file_name"], "car.toml");
}
