//! What is done to a car: nudge, undo, pin, save.

use std::fs;

use serde_json::{Value, json};

use crate::program::{AS_BUILT, Answer, FIRST_CUT, Live, limit, patient, place, point, revision};

const POINT: &str = "toe link chassis";

/// The same place a little to the side.
fn moved(view: &Value, by: [f64; 3]) -> [f64; 3] {
    let at = place(view, POINT);
    [0, 1, 2].map(|k| at[k] + by[k])
}

/// The words of a row of `sweep` behind the name of its quantity.
fn swept(live: &Live, file: &str, quantity: &str) -> String {
    let screen = live.hubtrace(&format!("sweep {file} --side left --force"));
    let row = screen.lines().find(|line| line.starts_with(quantity)).unwrap_or_else(|| panic!("{screen}"));
    row.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn shown(view: &Value, quantity: &str) -> String {
    let row = limit(view, quantity);
    let words = ["name", "unit", "found", "limit", "verdict"].map(|key| match &row[key] {
        Value::Array(found) => found[0].as_str().unwrap_or_default().to_owned(),
        words => words.as_str().unwrap_or_default().to_owned(),
    });
    words.join(" ")
}

#[test]
fn a_nudged_and_saved_car_is_what_the_command_line_reads() {
    let live = Live::on(FIRST_CUT);
    let before = live.state();
    assert_eq!(shown(&before, "bump steer"), swept(&live, "car.toml", "bump steer"));
    let nudged = live.nudge(0, POINT, moved(&before, [0.0, 0.0, 7.3]), 0).ok();
    assert_ne!(limit(&nudged, "bump steer")["found"], limit(&before, "bump steer")["found"]);
    assert_eq!(limit(&nudged, "bump steer")["beside"], limit(&before, "bump steer")["found"]);
    assert_eq!(nudged["changed"], true);
    let saved = live.save(revision(&nudged), None).ok();
    assert_eq!((&saved["changed"], saved["saved"].as_str()), (&Value::Bool(false), Some("car.toml")));
    for quantity in ["bump steer", "camber change", "halfshaft plunge"] {
        assert_eq!(shown(&saved, quantity), swept(&live, "car.toml", quantity));
    }
    // Comments and everything but one number of one line are as they were.
    let text = live.text("car.toml");
    let differ = FIRST_CUT.lines().zip(text.lines()).filter(|(a, b)| a != b).count();
    assert_eq!(FIRST_CUT.lines().count(), text.lines().count());
    assert!((1..=2).contains(&differ), "{differ} lines differ"); // the point, and the room it has left
}

/// A mirrored car is kept as its left side, whichever wheel is taken hold of.
#[test]
fn a_point_of_the_right_wheel_is_moved_in_the_axes_of_the_car() {
    let live = Live::on(FIRST_CUT);
    let [x, y, z] = place(&live.state(), POINT);
    let asked = json!({
        "revision": 0, "right": true, "point": POINT, "to_mm": [x, -(y + 2.0), z + 1.0], "gesture": 0,
        "show": { "charts": ["toe.svg"] },
    });
    let view = live.post("/api/nudge", &asked).ok();
    assert_eq!(place(&view, POINT), [x, y + 2.0, z + 1.0]);
    assert_eq!(view["undo"], "toe link chassis 2.0 mm outboard, 1.0 mm up");
}

/// What is told of the steps that may come next is what each then gives, to the letter, and moves nothing.
#[test]
fn steps_ahead_are_told_behind_the_step_and_not_taken() {
    let live = Live::on(FIRST_CUT);
    let start = live.state();
    let places = [[0.0, 0.0, 1.0], [0.0, 0.0, 2.0], [0.0, 1.0, 2.0]].map(|by| moved(&start, by));
    let nudge = |revision: u64, to_mm: [f64; 3], then: Value, posture_only: bool| {
        let show = json!({ "charts": ["toe.svg", "camber.svg"], "posture_only": posture_only });
        live.post(
            "/api/nudge",
            &json!({
                "revision": revision, "right": false, "point": POINT, "to_mm": to_mm, "gesture": 9, "show": show, "then": then,
            }),
        )
    };
    let lines = |answer: Answer| {
        assert_eq!(answer.status, 200, "{}", answer.body);
        answer.body.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect::<Vec<Value>>()
    };
    // Where it is: nothing moves.
    let told = lines(nudge(0, place(&start, POINT), json!([places[0], [1e7, 1e7, 1e7], places[1]]), true));
    assert_eq!((revision(&told[0]), &told[0]["points"], live.state()), (0, &Value::Null, start));
    assert_eq!((told.len(), &told[2]), (4, &Value::Null));
    assert_eq!((revision(&told[1]), told[1]["undo"].as_str()), (1, Some("toe link chassis 1.0 mm up")));
    assert_eq!(lines(nudge(0, places[0], json!([]), false)), told[1..2]);
    // With a step that is taken: what comes after that one.
    let taken = lines(nudge(1, places[1], json!([places[2]]), true));
    assert_eq!((revision(&taken[0]), &taken[0]["points"]), (2, &Value::Null));
    assert_eq!(lines(nudge(2, places[2], json!([]), false)), taken[1..]);
    assert_eq!(nudge(2, places[1], json!([]), false).status, 409);
    assert_eq!(nudge(3, [1e7, 1e7, 1e7], json!([]), false).status, 422);
}

/// The step is there before what may come after it, and a newer step waits for none of that.
#[test]
fn a_newer_step_ends_what_is_told_ahead_of_an_older_one() {
    let live = Live::on(FIRST_CUT);
    let start = live.state();
    let charts = &start["chart_names"];
    let ahead: Vec<[f64; 3]> = (2..10).map(|k| moved(&start, [0.0, 0.0, f64::from(k)])).collect();
    let asked = json!({
        "revision": 0, "right": false, "point": POINT, "to_mm": moved(&start, [0.0, 0.0, 1.0]), "gesture": 9,
        "show": { "charts": charts }, "then": ahead,
    });
    let mut lines = live.lines("/api/nudge", &asked);
    let first: Value = serde_json::from_str(&lines.next().expect("the step")).expect("JSON");
    assert_eq!(first["undo"], "toe link chassis 1.0 mm up");
    live.nudge(1, POINT, moved(&start, [0.0, 0.0, 12.0]), 9).ok();
    assert!(lines.count() < ahead.len());
}

#[test]
fn undo_and_redo_go_all_the_way_and_a_drag_is_one_step() {
    let live = Live::on(FIRST_CUT);
    let start = live.state();
    let mut view = start.clone();
    for k in 1..=5 {
        view = live.nudge(revision(&view), POINT, moved(&start, [0.0, f64::from(k), 0.0]), 77).ok();
    }
    view = live.nudge(revision(&view), POINT, moved(&start, [0.0, 5.0, 2.0]), 0).ok();
    assert_eq!(view["undo"], "toe link chassis 2.0 mm up");
    let two = live.step("undo", revision(&view)).ok();
    assert_eq!(two["undo"], "toe link chassis 5.0 mm outboard");
    let none = live.step("undo", revision(&two)).ok();
    assert_eq!((&none["undo"], &none["changed"]), (&Value::Null, &Value::Bool(false)));
    assert_eq!((&none["points"], &none["limits"][0]["found"]), (&start["points"], &start["limits"][0]["found"]));
    let again = live.step("redo", revision(&none)).ok();
    let again = live.step("redo", revision(&again)).ok();
    assert_eq!((&again["points"], &again["redo"]), (&view["points"], &Value::Null));
    // A step too far changes nothing.
    assert_eq!(live.step("redo", revision(&again)).ok()["points"], again["points"]);
}

#[test]
fn a_request_on_an_older_car_changes_nothing() {
    let live = Live::on(FIRST_CUT);
    let start = live.state();
    live.nudge(0, POINT, moved(&start, [1.0, 0.0, 0.0]), 0).ok();
    let late = live.nudge(0, POINT, moved(&start, [9.0, 0.0, 0.0]), 0);
    assert_eq!(late.status, 409);
    assert_eq!(place(&live.state(), POINT), moved(&start, [1.0, 0.0, 0.0]));
}

#[test]
fn a_point_outside_its_room_says_so_at_the_point_and_can_come_back() {
    let live = Live::on(FIRST_CUT);
    let start = live.state();
    let name = "upper front chassis"; // ±25 mm in y and z
    let at = place(&start, name);
    assert_eq!(point(&start, name)["room_mm"][2][1].as_f64(), Some(at[2] + 25.0));
    let out = live.nudge(0, name, [at[0], at[1], at[2] + 27.5], 0).ok();
    let told = &point(&out, name)["told"][0];
    assert_eq!((told.as_str(), &point(&out, name)["wrong"]), (Some("2.5 mm up out of its room"), &Value::Bool(true)));
    assert_eq!(point(&out, name)["out_of_room"], serde_json::json!(["2.5 mm up out of its room"]));
    assert_eq!(point(&out, POINT)["out_of_room"], serde_json::json!([]));
    let back = live.nudge(revision(&out), name, at, 0).ok();
    assert_eq!(point(&back, name), point(&start, name));
}

#[test]
fn a_nudge_that_loses_the_wheel_is_refused_and_one_that_binds_says_so() {
    let live = Live::on(FIRST_CUT);
    let start = live.state();
    let upright = place(&start, "toe link upright");
    let refused = live.nudge(0, POINT, upright, 0);
    assert_eq!(refused.status, 422);
    assert!(refused.json()["what"].as_str().is_some_and(|what| what.contains("toe link")), "{}", refused.body);
    assert_eq!(live.state()["points"], start["points"]);
    // A toe link of a few millimetres cannot follow the wheel.
    let bound = live.nudge(0, POINT, [upright[0], upright[1] - 12.0, upright[2]], 0).ok();
    let told = point(&bound, POINT)["told"].to_string();
    assert!(told.contains("binds at"), "{told}");
}

/// Its toe link is 12 mm long, and nothing else of it may move.
fn short_toe_link() -> String {
    let kept: Vec<&str> = FIRST_CUT.lines().filter(|line| !line.starts_with("free = ")).collect();
    let text = kept.join("\n").replace(
        "chassis = [-150.0, 376.0, 255.0]",
        "chassis = [-150.0, 656.0, 255.0]\nfree = { chassis = { y = [-1.0, 1.0] } }",
    );
    assert!(text.contains("656.0"));
    text
}

/// Droop binds first, and this link carries the bind in bump alone.
#[test]
fn a_car_that_binds_says_so_at_its_head_and_at_the_point_both_ways_the_nearer_first() {
    let view = Live::on(&short_toe_link()).state();
    let totals = view["totals"].as_str().expect("totals");
    assert!(totals.starts_with("The left side binds at 12.1 mm of droop; "), "{totals}");
    assert!(totals.contains(" carry the bind. The left side binds at 14.3 mm of bump; "), "{totals}");
    assert!(totals.contains(" limits of the suspension: "), "{totals}");
    let told = &point(&view, "upper front chassis")["told"];
    assert!(
        told[0].as_str().is_some_and(|told| told.starts_with("the left side binds at 12.1 mm of droop; ")),
        "{told}"
    );
    assert!(told[1].as_str().is_some_and(|told| told.contains("14.3 mm of bump; \"upper front\"")), "{told}");
    assert!(!Live::on(FIRST_CUT).state()["totals"].to_string().contains("binds"));
}

/// In the words of the terminal.
#[test]
fn boxes_in_which_no_wheel_moves_are_told_with_what_to_write() {
    let live = Live::on(&short_toe_link());
    live.post("/api/tune", &json!({ "revision": 0 })).ok();
    let end = patient(|| {
        let tuning = live.get("/api/tune").ok();
        (tuning["running"] == false).then_some(tuning)
    });
    let told = "Not tuned: no place inside the boxes lets the left wheel move through its travel.\n\
                make the boxes larger or move them, or write less `bump` and `droop` in [travel]";
    assert_eq!(end["told"], told);
}

/// As `check` doubts it; a number put right on the page is doubted no longer.
#[test]
fn what_the_program_doubts_is_told_first() {
    let live = Live::on(&FIRST_CUT.replace("[-150.0, 376.0, 255.0]", "[-150.0, 736.0, 255.0]"));
    let odds = live.get("/api/odds").ok();
    let told = odds["cars"][0]["advice"][0].as_str().expect("a sentence");
    assert!(told.starts_with("Look again: toe link chassis, left: y = 736.0 is probably 376.0"), "{told}");
    live.nudge(0, POINT, [-150.0, 376.0, 255.0], 0).ok();
    let right = live.get("/api/odds").ok();
    assert!(!right.to_string().contains("Look again"), "{right}");
}

#[test]
fn a_place_of_no_car_is_refused_with_advice_for_a_page() {
    let live = Live::on(FIRST_CUT);
    let [x, y, _] = place(&live.state(), POINT);
    let refused = live.nudge(0, POINT, [x, y, 1e9], 0);
    assert_eq!(refused.status, 422);
    assert_eq!(refused.json()["advice"], "nothing was changed; choose a place that a car can have", "{}", refused.body);
    // In the number that was typed, not in that of a line of a file that nobody wrote.
    assert_eq!(refused.json()["what"], "z = 1000000000.0 mm is outside -100000.0 mm to 100000.0 mm");
}

#[test]
fn a_file_that_changed_on_disk_is_not_written_over() {
    let live = Live::on(FIRST_CUT);
    let start = live.state();
    let view = live.nudge(0, POINT, moved(&start, [0.0, 0.0, 1.0]), 0).ok();
    let other = format!("{FIRST_CUT}# checked on the stand\n");
    fs::write(live.path("car.toml"), &other).expect("a writable file");
    let refused = live.save(revision(&view), Some("car.toml"));
    assert_eq!((refused.status, refused.json()["other_name"].as_str()), (409, Some("car-2.toml")));
    assert_eq!(live.text("car.toml"), other);
    let saved = live.save(revision(&view), Some("car-2.toml")).ok();
    assert!(saved["saved"].as_str().is_some_and(|name| name.ends_with("car-2.toml")));
    assert_ne!(live.text("car-2.toml"), FIRST_CUT);
    // From here on this is its file; another one that stands is never written over.
    fs::write(live.path("old.toml"), "mine").expect("a writable file");
    let view = live.nudge(revision(&saved), POINT, moved(&start, [0.0, 0.0, 2.0]), 0).ok();
    assert_eq!(live.save(revision(&view), Some("old.toml")).status, 409);
    assert_eq!(live.text("old.toml"), "mine");
    for name in ["../out.toml", "/tmp/out.toml", "a/b.toml", ".toml", "car.txt", ""] {
        assert_eq!(live.save(revision(&view), Some(name)).status, 409, "{name}");
    }
    assert_eq!(live.save(revision(&view), None).status, 200);
}

#[test]
fn a_file_that_was_deleted_is_told_as_that_and_the_car_saved_under_a_free_name() {
    let live = Live::on(FIRST_CUT);
    let view = live.nudge(0, POINT, moved(&live.state(), [0.0, 0.0, 1.0]), 0).ok();
    fs::remove_file(live.path("car.toml")).expect("a file");
    let refused = live.save(revision(&view), None);
    assert_eq!(
        (refused.status, refused.json()["what"].as_str()),
        (409, Some("Not saved: car.toml is no longer there."))
    );
    assert_eq!(refused.json()["other_name"], "car-2.toml");
    live.save(revision(&view), Some("car-2.toml")).ok();
    assert!(!live.path("car.toml").exists() && live.text("car-2.toml").contains("256.0"));
}

/// The page was loaded from another start of the program, which had moved the car as often as this one.
#[test]
fn a_request_of_an_earlier_start_of_the_program_is_refused() {
    let live = Live::on(FIRST_CUT);
    let start = live.state();
    let run = start["run"].as_str().expect("a run").to_owned();
    let nudge = |run: &str| {
        let asked = json!({
            "revision": 0, "right": false, "point": POINT, "to_mm": moved(&start, [0.0, 0.0, 1.0]), "gesture": 0,
            "show": { "run": run },
        });
        live.post("/api/nudge", &asked)
    };
    assert_ne!(Live::on(FIRST_CUT).state()["run"], run);
    let refused = nudge("another");
    assert!(refused.status == 409 && refused.json()["what"].to_string().contains("started anew"), "{}", refused.body);
    let undo = live.post("/api/undo", &json!({ "revision": 0, "show": { "run": "another" } }));
    assert_eq!((undo.status, nudge(&run).status), (409, 200));
}

#[test]
fn a_file_that_changed_on_disk_is_read_again_and_one_step_brings_the_moved_points_back() {
    let live = Live::on(FIRST_CUT);
    let start = live.state();
    let view = live.nudge(0, POINT, moved(&start, [0.0, 0.0, 1.0]), 0).ok();
    let other = FIRST_CUT
        .replace("bump_steer = 0.05", "bump_steer = 2.0")
        .replace("[-150.0, 376.0, 255.0]", "[-150.0, 376.0, 250.0]");
    fs::write(live.path("car.toml"), &other).expect("a writable file");
    let refused = live.save(revision(&view), None).json();
    assert!(refused["advice"].as_str().is_some_and(|advice| advice.contains("read the file again")), "{refused}");
    let read = live.step("reread", revision(&view)).ok();
    assert_eq!(place(&read, POINT), moved(&start, [0.0, 0.0, -5.0]));
    assert_eq!((&read["changed"], &read["undo"]), (&Value::Bool(false), &json!("read again")));
    assert_eq!(limit(&read, "bump steer")["verdict"], "pass");
    // The points of before, and the limits of the file.
    let back = live.step("undo", revision(&read)).ok();
    assert_eq!((place(&back, POINT), &back["changed"]), (moved(&start, [0.0, 0.0, 1.0]), &Value::Bool(true)));
    assert_eq!(limit(&back, "bump steer")["limit"], limit(&read, "bump steer")["limit"]);
    live.save(revision(&back), None).ok();
    assert!(live.text("car.toml").contains("bump_steer = 2.0") && live.text("car.toml").contains("256.0"));
    // What cannot be read changes nothing.
    fs::write(live.path("car.toml"), "schema = 1\n").expect("a writable file");
    assert_eq!(live.step("reread", revision(&live.state())).status, 422);
    assert_eq!(place(&live.state(), POINT), moved(&start, [0.0, 0.0, 1.0]));
    assert_eq!(Live::demo().step("reread", 0).status, 409);
}

#[test]
fn a_point_that_may_not_move_says_so_when_it_did() {
    let live = Live::on(FIRST_CUT);
    let start = live.state();
    // Its bracket is on the floor rail, which is welded already; the toe link may move up and across.
    let told = |view: &Value, name: &str| (point(view, name)["wrong"].clone(), point(view, name)["told"][0].clone());
    let [x, y, z] = place(&start, "lower front chassis");
    let view = live.nudge(0, "lower front chassis", [x, y, z + 3.0], 0).ok();
    let words = json!("3.0 mm up of its place, and the file lets it move no such way");
    assert_eq!(told(&view, "lower front chassis"), (json!(true), words));
    let view = live.nudge(revision(&view), POINT, moved(&start, [2.0, 0.0, 2.0]), 0).ok();
    let words = json!("2.0 mm forward of its place, and the file lets it move no such way");
    assert_eq!(told(&view, POINT), (json!(true), words));
    let live = Live::on(AS_BUILT);
    let start = live.state();
    assert_eq!(start["stage"], "as built");
    assert_eq!(told(&start, POINT).0, json!(false));
    let view = live.nudge(0, POINT, moved(&start, [0.0, 1.5, 0.0]), 0).ok();
    assert_eq!(told(&view, POINT), (json!(true), json!("1.5 mm outboard of where the built car has it")));
}

/// Whoever opens the file later is told whose numbers these are, in the words of a starter.
#[test]
fn the_demo_car_is_called_so_and_its_numbers_are_counted_under_any_name() {
    let live = Live::demo();
    let view = live.state();
    assert_eq!(view["demo"], true);
    assert_eq!(live.save(0, None).json()["other_name"].as_str(), Some("my-car.toml"));
    let saved = live.save(0, Some("my-car.toml")).ok();
    assert_eq!(saved["demo"], false);
    let starter = "starter = \"205/50R15, track 1490 mm\"  # whose numbers are the demo car's; leave it\n";
    assert_eq!(
        live.text("my-car.toml"),
        FIRST_CUT.replacen("units = \"mm\"\n", &format!("units = \"mm\"\n{starter}"), 1)
    );
    assert_eq!(saved["starter"], json!(["Starter numbers, not yours: 15 of 15 points.", ""]));
    assert!(live.hubtrace("check my-car.toml").contains("\nstarter numbers, not yours: 15 of 15 points\n"));
    // A point that was moved is nobody else's, on the page and in `check`, saved once more or under another name.
    let nudged = live.nudge(revision(&saved), POINT, moved(&saved, [0.0, 0.0, 1.0]), 0).ok();
    let again = live.save(revision(&nudged), Some("other.toml")).ok();
    assert_eq!([&nudged, &again].map(|view| &view["starter"][0]), ["Starter numbers, not yours: 14 of 15 points."; 2]);
    let check = live.hubtrace("check other.toml").replace("\n  ", " ");
    let names = again["starter"][1].as_str().expect("names");
    assert!(check.contains(&format!("\nstarter numbers, not yours: 14 of 15 points: {names}\n")), "{names}: {check}");
}

/// A drag that comes back, by the hand or by Escape, leaves nothing to undo.
#[test]
fn a_gesture_that_ends_where_it_began_was_none() {
    let live = Live::on(FIRST_CUT);
    let start = live.state();
    let first = live.nudge(0, POINT, moved(&start, [0.0, 0.0, 1.0]), 0).ok();
    let away = live.nudge(1, POINT, moved(&first, [0.0, 3.0, 2.0]), 7).ok();
    let back = live.nudge(2, POINT, place(&first, POINT), 7).ok();
    assert_eq!((&back["points"], &back["undo"], &back["redo"]), (&first["points"], &first["undo"], &Value::Null));
    assert_ne!(away["undo"], first["undo"]);
    assert_eq!(live.step("undo", revision(&back)).ok()["points"], start["points"]);
}

/// Nothing is counted that has no line, and nothing is counted twice: a car without limits, its halfshaft without a plunge window.
#[test]
fn page_report_and_check_count_the_same_quantities_without_a_limit() {
    let (head, rest) = FIRST_CUT.split_once("[limits]").expect("limits");
    let (_, rest) = rest.split_once("\n[").expect("another table");
    let text = format!("{head}\n[{rest}");
    let kept: Vec<&str> = text.lines().filter(|line| !line.starts_with("plunge_window")).collect();
    let live = Live::on(&(kept.join("\n") + "\n"));
    let view = live.state();
    let rows = view["limits"].as_array().expect("rows").iter();
    let rows = rows.filter(|row| row["verdict"] == "no limit").count();
    let totals = view["totals"].as_str().expect("totals");
    assert!(totals.ends_with(&format!("; {rows} quantities have no limit.")), "{rows}: {totals}");
    let check = live.hubtrace("check car.toml").replace("\n  ", " ");
    let told = check.split_once(&format!("{rows} quantities have no limit, so no verdict: "));
    let (_, keys) = told.unwrap_or_else(|| panic!("{rows}: {check}"));
    let keys = keys.lines().next().expect("keys").replace(" in [limits]; ", ", ");
    assert_eq!(keys.split(", ").count(), rows, "{keys}");
    assert!(keys.ends_with("thrust_angle, setback, plunge_window in [halfshaft]"), "{keys}");
    live.hubtrace("report car.toml --cars 20 --quiet");
    let report = live.text("hubtrace-out/report.html");
    assert!(report.contains(&format!("not checked: {rows} quantities without a limit")), "{rows}");
}

#[test]
fn it_ends_when_it_is_asked_to_and_tells_what_was_not_saved() {
    let live = Live::on(FIRST_CUT);
    let start = live.state();
    live.nudge(0, POINT, moved(&start, [0.0, 0.0, 1.0]), 0).ok();
    let (code, said) = live.interrupted();
    let lost = "warning: changes made on the page were not saved\n  car.toml: toe link chassis 1.0 mm up\n";
    assert_eq!((code, said.as_str()), (Some(0), lost));
    assert_eq!(Live::on(FIRST_CUT).interrupted(), (Some(0), String::new()));
}

#[test]
fn a_tuned_car_is_one_step_that_undo_takes_back() {
    let live = Live::on(FIRST_CUT);
    let start = live.state();
    assert_eq!(start["limits"][0]["name"], "bump steer");
    assert_eq!(live.post("/api/tune", &json!({ "revision": 7 })).status, 409);
    assert_eq!(live.post("/api/tune", &json!({ "revision": 0 })).ok()["running"], true);
    let end = patient(|| {
        let tuning = live.get("/api/tune").ok();
        (tuning["running"] == false).then_some(tuning)
    });
    let lines: Vec<&str> = end["told"].as_str().expect("an end").lines().collect();
    assert_eq!((lines[0], &end["tuned"]), ("Tuned; undo takes it back.", &json!(true)), "{end}");
    let tuned = live.state();
    // Which points went how far, and what that did beside bump steer.
    let [from, to] = [&start, &tuned].map(|view| place(view, POINT));
    let by = [0, 1, 2].map(|k| (to[k] - from[k]).powi(2)).iter().sum::<f64>().sqrt();
    assert!(lines[1].starts_with("Moved: ") && lines[1].contains(&format!("{POINT} {by:.1} mm")), "{end}");
    assert_eq!(lines[2], "Now pass: bump steer.");
    let [was, now] =
        [&start, &tuned].map(|view| limit(view, "anti-lift (brakes)")["found"][0].as_str().expect("a figure"));
    assert!(lines[3].starts_with("Changed, with no limit to hold it: "), "{end}");
    assert!(lines[3].contains(&format!("anti-lift (brakes) {was} -> {now} %")), "{end}");
    assert!(!lines[3].contains(" more."), "{end}");
    // What `hubtrace tune` tells too, of files that are not here.
    let of_ends = lines.iter().find(|line| line.starts_with("At the end of its room: "));
    assert!(of_ends.is_none_or(|line| line.ends_with(").")), "{end}");
    let others = "Other good answers: ";
    let line = lines.iter().find(|line| line.starts_with(others)).unwrap_or_else(|| panic!("{end}"));
    assert!(line.contains(" deg (moves ") && line.ends_with("). `hubtrace tune` writes each as a file."), "{end}");
    // With the chance that `tune` tells of each.
    let screen = live.hubtrace("tune car.toml").split_whitespace().collect::<Vec<_>>().join(" ");
    let (_, told) = screen.split_once(others).unwrap_or_else(|| panic!("{screen}"));
    let told = told.split(". ").next().expect("a sentence");
    let by_tune: Vec<&str> = told.split("; ").filter_map(|of| of.split_once(".toml ")).map(|(_, of)| of).collect();
    let by_page = line.trim_start_matches(others).split(". ").next().expect("a sentence");
    assert!(by_page.contains(" %") && by_page.contains(" passes "), "{line}");
    assert_eq!(by_page.split("; ").collect::<Vec<_>>(), by_tune);
    assert_eq!((limit(&tuned, "bump steer")["verdict"].as_str(), &tuned["undo"]), (Some("pass"), &json!("tuned")));
    assert_eq!([&start["stage"], &tuned["stage"]], ["as drawn", "as tuned"]);
    // Saved under another name and opened again it is as tuned; one point that moved makes it a drawing.
    let saved = live.save(revision(&tuned), Some("other.toml")).ok();
    let again = Live::on(&live.text("other.toml"));
    assert_eq!(again.state()["stage"], "as tuned");
    let nudged = again.nudge(0, POINT, moved(&again.state(), [0.0, 0.0, 1.0]), 0).ok();
    again.save(revision(&nudged), None).ok();
    assert_eq!(Live::on(&again.text("car.toml")).state()["stage"], "as drawn");
    let back = live.step("undo", revision(&saved)).ok();
    assert_eq!(back["points"], start["points"]);
    assert_eq!(back["stage"], "as drawn");
}

/// Nothing of this car is free to move: that is no success.
#[test]
fn a_car_that_is_not_tuned_says_so_in_another_colour() {
    let live = Live::on(AS_BUILT);
    live.post("/api/tune", &json!({ "revision": 0 })).ok();
    let end = patient(|| {
        let tuning = live.get("/api/tune").ok();
        (tuning["running"] == false).then_some(tuning)
    });
    let told = end["told"].as_str().expect("an end");
    assert!(
        told.starts_with("Not tuned: nothing is free") && told.contains("\nsay what may move with `free`"),
        "{end}"
    );
    assert_eq!(end["tuned"], false);
}

/// A search that was stopped may be flatter on paper than one that was done.
#[test]
fn a_stopped_search_says_what_a_finished_one_has_more() {
    let live = Live::on(FIRST_CUT);
    live.post("/api/tune", &json!({ "revision": 0 })).ok();
    // Before that the best is the car as it was.
    patient(|| live.get("/api/tune").ok()["descents"].as_u64().filter(|&done| done >= 8));
    live.post("/api/tune/stop", &json!({})).ok();
    let end = patient(|| {
        let tuning = live.get("/api/tune").ok();
        (tuning["running"] == false).then_some(tuning)
    });
    let told = end["told"].as_str().expect("an end");
    let more = "A search that is done chooses the answer that leaves most room for weld errors.";
    assert!(told.starts_with("Stopped before the search was done") && told.contains(more), "{told}");
}

#[test]
fn a_chart_of_a_car_that_is_not_saved_has_no_hash_of_the_file() {
    let live = Live::on(FIRST_CUT);
    let foot = |view: &Value| {
        let svg = view["charts"][0]["svg"].as_str().expect("a chart");
        svg.lines().find(|line| line.contains(" · the car ")).expect("a foot").trim().to_owned()
    };
    let start = live.get("/api/state?charts=toe.svg").ok();
    assert!(foot(&start).contains("car.toml · SHA-256 ") && foot(&start).ends_with("the car as drawn"));
    let nudged = live.nudge(0, POINT, moved(&start, [0.0, 0.0, 1.0]), 0).ok();
    assert_eq!(foot(&nudged), "car.toml · the car changed, not saved");
    live.save(revision(&nudged), None).ok();
    let saved = live.get("/api/state?charts=toe.svg").ok();
    assert!(foot(&saved).contains("SHA-256") && foot(&saved) != foot(&start), "{}", foot(&saved));
}

/// As the report counts them, and its words.
#[test]
fn the_head_says_what_is_thin_and_how_many_things_were_not_checked() {
    let live = Live::on(&FIRST_CUT.replace("bump_steer = 0.05", "bump_steer = 0.52"));
    let view = live.state();
    let totals = view["totals"].as_str().expect("totals");
    assert!(totals.contains(", thin: bump steer ("), "{totals}");
    assert!(totals.starts_with("14 limits of the suspension: 14 pass, 0 fail, "), "{totals}");
    let rows = view["limits"].as_array().expect("rows");
    let with = |verdict: &str| {
        rows.iter().filter(|row| row["verdict"].as_str().is_some_and(|of| of.starts_with(verdict))).count()
    };
    assert_eq!([with("pass"), with("no limit"), rows.len()], [14, 2, 16]);
    assert!(totals.ends_with("; 2 quantities have no limit."), "{totals}");
    let thin = limit(&view, "bump steer");
    assert_eq!(thin["verdict"], "pass, thin");
    // What there is to spare of 0.05 deg stands in the sentence too.
    let margin = thin["margin"].as_str().expect("a margin");
    assert!(totals.contains(&format!("bump steer ({margin} deg to spare)")), "{margin}: {totals}");
    assert_eq!(limit(&view, "clearance")["limit"], "≥5 (taken)");
    assert_eq!(view["starter"], Value::Null);
}

#[test]
fn starter_numbers_are_told_and_a_file_in_inches_is_stepped_in_inches() {
    let text = |line: &str| {
        let made = Live::demo();
        made.hubtrace(line);
        made.text("new.toml")
    };
    let live = Live::on(&text("new new.toml --units in"));
    let view = live.state();
    assert_eq!(view["starter"], json!(["Starter numbers, not yours: 15 of 15 points.", ""]));
    let steps = |view: &Value, key: &str| [0, 1, 2].map(|k| view["steps"][k][key].clone());
    assert_eq!(steps(&view, "words"), ["0.005 in", "0.05 in", "0.5 in"].map(|words| json!(words)));
    assert_eq!(steps(&view, "mm")[2].as_f64(), Some(12.7));
    let nudged = live.nudge(0, POINT, moved(&view, [0.0, 0.0, 12.7]), 0).ok();
    let [count, names] = [0, 1].map(|k| nudged["starter"][k].as_str().expect("words"));
    assert_eq!(count, "Starter numbers, not yours: 14 of 15 points.");
    assert_eq!(names.split("; ").count(), 14, "{names}");
    assert_eq!(steps(&Live::demo().state(), "words"), ["0.1 mm", "1 mm", "10 mm"].map(|words| json!(words)));
}

/// A bracket that tuning placed beside an upright of nobody's car is not measured by that, nor by a nudge afterwards.
#[test]
fn points_that_were_tuned_from_starter_numbers_are_nobodys_either() {
    let made = Live::demo();
    made.hubtrace("new new.toml");
    made.hubtrace("tune new.toml --starts 1");
    let live = Live::on(&made.text("hubtrace-out/tuned.toml"));
    let view = live.state();
    let count = view["starter"][0].as_str().expect("a count");
    assert!(count.starts_with("Starter numbers, not yours: "), "{count}");
    assert!(count.ends_with(" of 15 points, and what tuning moved was tuned from them."), "{count}");
    let nudged = live.nudge(0, POINT, moved(&view, [0.0, 0.0, 1.0]), 0).ok();
    assert_eq!(nudged["starter"][0], count);
    // A file read again has its own points: nothing of a tuning before it is left.
    let live = Live::on(&made.text("new.toml"));
    let read = |name: &str| {
        fs::write(live.path("car.toml"), made.text(name)).expect("a writable file");
        live.step("reread", revision(&live.state())).ok()["starter"][0].to_string()
    };
    assert!(read("hubtrace-out/tuned.toml").contains("was tuned from them"));
    assert_eq!(read("new.toml"), json!("Starter numbers, not yours: 15 of 15 points.").to_string());
}

#[test]
fn the_car_beside_is_that_of_the_start_until_one_is_pinned() {
    let live = Live::on(FIRST_CUT);
    let view = live.nudge(0, POINT, moved(&live.state(), [0.0, 0.0, 1.0]), 0).ok();
    assert_eq!(view["beside_name"], "at start");
    assert!(view["charts"][0]["svg"].as_str().is_some_and(|svg| svg.contains("left and right, at start")));
    assert_eq!(live.step("pin", revision(&view)).ok()["beside_name"], "pinned");
}

/// Both wheels of this car break the limit: each bracket is on one side of it.
#[test]
fn a_cure_of_two_unlike_wheels_says_whose_it_is() {
    let live = Live::on(AS_BUILT);
    let odds = live.get("/api/odds").ok();
    let advice: Vec<&str> =
        odds["cars"][0]["advice"].as_array().expect("lines").iter().filter_map(Value::as_str).collect();
    assert!(advice[0].starts_with("Left wheel: ") && advice[1].starts_with("Right wheel: "), "{advice:?}");
    assert!(advice.iter().all(|line| line.starts_with("Left wheel: ") || line.starts_with("Right wheel: ")));
    let first_cut = Live::on(FIRST_CUT).get("/api/odds").ok();
    assert!(first_cut["cars"][0]["advice"][0].as_str().is_some_and(|line| !line.contains("wheel: ")), "{first_cut}");
}

/// Of a car that was changed, changed back and opened again.
#[test]
fn the_odds_are_those_of_the_car_that_is_shown() {
    let told = |live: &Live| live.get("/api/odds").ok()["cars"][0]["told"].clone();
    let live = Live::on(FIRST_CUT);
    let drawn = told(&live);
    let higher = live.nudge(0, POINT, moved(&live.state(), [0.0, 0.0, 7.0]), 0).ok();
    let of_higher = told(&live);
    assert_ne!(drawn, of_higher);
    let back = live.step("undo", revision(&higher)).ok();
    assert_eq!(told(&live), drawn);
    let again = live.step("redo", revision(&back)).ok();
    live.save(revision(&again), None).ok();
    assert_eq!(told(&Live::on(&live.text("car.toml"))), of_higher);
}

/// As `tune` tells it of the same car with as many cars: the odds come from the same study.
#[test]
fn the_chance_of_a_welded_car_is_that_of_the_weld_study() {
    let live = Live::on(FIRST_CUT);
    let odds = live.get("/api/odds").ok();
    assert_eq!(odds["revision"], 0);
    let screen = live.hubtrace("tolerance car.toml --cars 2000 --seed 1 --force");
    let words = screen.split_whitespace().collect::<Vec<_>>().join(" ");
    let chance = odds["cars"][0]["told"][0].as_str().expect("a sentence");
    assert!(chance.starts_with("Chance that yours passes") && words.contains(chance), "{chance}\n{screen}");
    assert!(
        odds["cars"][0]["told"][1].as_str().is_some_and(|band| band.contains("0.518 deg without errors")),
        "{odds}"
    );
}

/// A joint without a limit has a typical one, and welds without an error the usual one.
#[test]
fn what_the_file_does_not_say_is_marked_where_it_counts() {
    let odds = |text: &str| Live::on(text).get("/api/odds").ok()["cars"][0].clone();
    let told = |odds: &Value, list: &str| odds[list].to_string();
    let given = odds(FIRST_CUT);
    assert!(!told(&given, "told").contains("(taken)") && !told(&given, "runs_out").contains("* typical"), "{given}");
    let is_left_out = |line: &&str| ["inner_limit", "[weld]", "sd = 0.5 "].iter().any(|key| line.starts_with(key));
    let bare: Vec<&str> = FIRST_CUT.lines().filter(|line| !is_left_out(line)).collect();
    assert_eq!(bare.len() + 3, FIRST_CUT.lines().count());
    let bare = odds(&bare.join("\n").replace("plunging tripod", "cross groove"));
    assert!(told(&bare, "told").contains("0.50 mm one sd (taken), links adjusted"), "{bare}");
    assert!(told(&bare, "runs_out").contains("* typical of such parts"), "{bare}");
}
