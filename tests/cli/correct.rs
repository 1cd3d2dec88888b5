//! `hubtrace correct`: what is told and written of a gauged car, and of readings that cannot be.

use std::fs;

use hubtrace::file::GeometryFile;
use hubtrace::gauge::RoundsFile;
use hubtrace::geometry::Side;
use serde_json::Value;

use crate::car::{Car, replaced};
use crate::program::{Folder, Ran, number, run};
use crate::screen::{assert_fits_one_screen, assert_fits_the_width, assert_numbers_are_known};

const CAR: &str = "geometries/double-wishbone.toml";
const READINGS: &str = "gaugings/double-wishbone.csv";
const SIDES: [&str; 2] = ["left", "right"];

fn readings() -> String {
    fs::read_to_string(READINGS).expect("the demo's readings")
}

/// The demo's car and these readings of it.
fn folder(readings: &str) -> Folder {
    let folder = Folder::with(fs::read_to_string(CAR).expect("the demo's car"));
    folder.write("read.csv", readings);
    folder
}

/// Some lines of the demo's readings below their head.
fn only(keep: impl Fn(&str) -> bool) -> String {
    let readings = readings();
    let lines = readings.lines().filter(|line| line.starts_with('#') || line.starts_with("side,") || keep(line));
    lines.map(|line| format!("{line}\n")).collect()
}

fn corrected() -> Ran {
    folder(&readings()).run("correct car.toml read.csv")
}

fn changes<'s>(summary: &'s Value, side: &str) -> &'s Vec<Value> {
    summary["correct"][side]["changes"].as_array().expect("a list")
}

#[test]
fn the_demo_is_told_on_one_screen_and_written_for_the_shop() {
    let ran = corrected().ends_with(0);
    assert_fits_one_screen(&ran.out);
    ran.assert_shows(&[
        "read.csv: 50 readings by a gauge in degrees; round 1",
        "Left, in this order",
        "inner bracket: shims ",
        "then set toe to the gauge with \"toe link\"",
        "0.05 mm of play in each rod end of \"toe link\" is ",
        " sets of 5 adjusters tried on 200 cars that fit, ",
    ]);
    assert_eq!(
        ran.written(),
        [
            "as-built.toml",
            "correction-curve.csv",
            "correction-left.svg",
            "correction-right.svg",
            "correction-sheet.html",
            "correction.csv",
            "hubtrace-correct.sha256",
            "rounds.toml",
            "summary.json"
        ]
    );
    let again = folder(&readings());
    let (quiet, json) = (again.run("correct car.toml read.csv --quiet"), again.run("correct car.toml read.csv --json"));
    assert_eq!((quiet.out.as_str(), quiet.err.as_str()), ("", ""));
    assert_eq!((json.out.as_str(), ran.text("summary.json")), (json.text("summary.json").as_str(), json.out.clone()));
}

#[test]
fn every_number_of_the_screen_is_in_the_summary() {
    let ran = corrected();
    let summary = ran.summary();
    let readings = summary["correct"]["left"]["readings"].as_array().unwrap().len() as f64;
    let per_mm = number(&summary, "/correct/left/toe_setting/deg_per_mm");
    // Readings of both wheels, 95 of 100 cars, the numbers of the lines, the limit, and 0.05 mm of play at either end.
    let others = [2.0 * readings, 100.0, 95.0, 1.0, 2.0, 3.0, 4.0, 0.05, 0.1 * per_mm];
    assert_numbers_are_known(&ran.out, &summary, &others);
}

/// The changes made to the car as built, each link again as long as its ends are apart, take the bump steer out: solved by
/// another command, which knows nothing of gauges.
#[test]
fn the_changes_flatten_the_car_as_built() {
    let ran = corrected();
    let summary = ran.summary();
    let mut car = Car::parse(&ran.text("as-built.toml"));
    let folder = Folder::with(&car);
    let as_built = folder.run("sweep car.toml --out swept");
    for side in SIDES {
        let told = number(&summary, &format!("/correct/{side}/worst_bump_steer_deg/now"));
        assert!(
            (as_built.worst_deg(side).abs() / told - 1.0).abs() < 0.15,
            "{side}: {} {told}",
            as_built.worst_deg(side)
        );
        for change in changes(&summary, side) {
            assert_eq!((&change["what"], &change["end"]), (&"shim".into(), &"chassis".into()), "{change}");
            let prefix = if side == "left" { "" } else { "right." };
            let key = format!("{prefix}{}.chassis", change["link"].as_str().unwrap());
            let at = car.numbers(&key);
            let to: Vec<String> = (0..3)
                .map(|axis| at[axis] + number(change, "/by_mm") * change["along"][axis].as_f64().unwrap())
                .map(|to| format!("{to:?}"))
                .collect();
            car = car.set(&key, &format!("[{}]", to.join(", ")));
        }
    }
    // A mount three quarters of the way out on a link does not follow it here.
    folder.write("car.toml", car.without("spring").without("right.spring"));
    let shimmed = folder.run("sweep car.toml --out shimmed");
    for side in SIDES {
        let below = number(&summary, &format!("/correct/{side}/worst_bump_steer_deg/expected_p95"));
        assert!(shimmed.worst_deg(side).abs() < below, "{side}: {} {below}", shimmed.worst_deg(side));
        assert!(shimmed.worst_deg(side).abs() < 0.5 * as_built.worst_deg(side).abs(), "{side}");
    }
}

#[test]
fn the_car_as_built_is_its_drawing_with_the_pickups_where_they_were_found() {
    let ran = corrected();
    let (text, summary) = (ran.text("as-built.toml"), ran.summary());
    assert!(text.starts_with("# As built: ") && text.contains("# upper ball joint"), "{text}");
    let drawn = GeometryFile::read(CAR.as_ref()).unwrap().geometry;
    let built = GeometryFile::parse("as-built.toml", &text).unwrap().geometry;
    for side in Side::BOTH {
        let pickups = summary["correct"][side.name()]["pickups"].as_array().unwrap();
        for (k, (link, was)) in built.corner(side).links.iter().zip(&drawn.corner(side).links).enumerate() {
            for axis in 0..3 {
                let found = &pickups[6 * k + axis];
                assert_eq!(found["point"], format!("{} chassis", link.name));
                let off_mm = number(found, "/off_mm/value");
                assert!((link.chassis[axis] - was.chassis[axis] - off_mm).abs() < 1e-4, "{found}");
            }
            assert!((link.upright - was.upright).norm() < 5.0, "{link:?}");
            assert_eq!((link.adjusters, link.sets_toe), (was.adjusters, was.sets_toe));
        }
    }
}

#[test]
fn tables_and_sheet_say_what_the_summary_says() {
    let ran = corrected();
    let (summary, sheet) = (ran.summary(), ran.text("correction-sheet.html"));
    let table = ran.table("correction.csv");
    let head =
        "side,order,link,what,end,along_x,along_y,along_z,by_mm,turns,total_mm,expected_deg,expected_p95_deg,with_next";
    assert_eq!(table.columns.join(","), head);
    let mut rows = table.rows.iter();
    let mut boxes = 3; // gauge again, did otherwise, the command
    for side in SIDES {
        for (k, change) in changes(&summary, side).iter().enumerate() {
            let row = rows.next().expect("a row");
            assert_eq!(row[..5], [side, &(k + 1).to_string(), change["link"].as_str().unwrap(), "shim", "chassis"]);
            for (column, member) in [(8, "by_mm"), (10, "total_mm"), (11, "expected_deg"), (12, "expected_p95_deg")] {
                assert_eq!(row[column].parse::<f64>().ok(), change[member].as_f64(), "{member}");
            }
            let way = if number(change, "/by_mm") < 0.0 { ("out", "down") } else { ("in", "up") };
            let by = format!("shims {} {} mm, {}", way.0, number(change, "/by_mm").abs(), way.1);
            assert!(sheet.contains(&by), "{by}\n{sheet}");
            ran.assert_shows(&[&by]);
        }
        boxes += changes(&summary, side).len() + 1; // toe
        let worst = &summary["correct"][side]["worst_bump_steer_deg"];
        assert!(sheet.contains(&format!("now {:.3} deg", worst["now"].as_f64().unwrap())), "{sheet}");
    }
    assert_eq!((rows.next(), sheet.matches('☐').count()), (None, boxes));
    let curve = ran.text("correction-curve.csv");
    assert_eq!(curve.lines().count(), 1 + 2 * 25);
    let head = "side,bump_mm,now_deg,now_low_deg,now_high_deg,after_deg,after_low_deg,after_high_deg";
    assert_eq!(curve.lines().next(), Some(head));
    for row in curve.lines().skip(1) {
        let n: Vec<f64> = row.split(',').skip(1).map(|cell| cell.parse().unwrap()).collect();
        assert!(n[2] <= n[1] && n[1] <= n[3] && n[5] <= n[4] && n[4] <= n[6], "{row}");
    }
    for side in SIDES {
        let svg = ran.text(&format!("correction-{side}.svg"));
        let read = summary["correct"][side]["readings"].as_array().unwrap().len();
        assert!(svg.matches("<circle").count() >= read, "{side}");
    }
}

#[test]
fn the_next_round_begins_with_the_rounds_before_it() {
    let folder = folder(&readings());
    let first = folder.run("correct car.toml read.csv --out one");
    let drawn = GeometryFile::read(CAR.as_ref()).unwrap().geometry;
    let rounds = RoundsFile::parse("rounds.toml", &first.text("rounds.toml"), &drawn).unwrap().rounds;
    let summary = first.summary();
    for (side, made) in Side::BOTH.into_iter().zip([&rounds[0].changes.left, &rounds[0].changes.right]) {
        let told: Vec<f64> = changes(&summary, side.name()).iter().map(|change| number(change, "/by_mm")).collect();
        assert_eq!(made.iter().map(|change| change.by_mm).collect::<Vec<_>>(), told);
    }
    // The wheel stands as the curve to expect says, its gauge exact.
    let curve = first.table("correction-curve.csv");
    let mut again = "side,bump_mm,toe_deg\n".to_owned();
    for side in SIDES {
        for (bump_mm, deg) in curve.of_side(side, "bump_mm").iter().zip(curve.of_side(side, "after_deg")) {
            again += &format!("{side},{bump_mm},{:.3}\n", 0.1 + deg);
        }
    }
    folder.write("again.csv", again);
    let second = folder.run("correct car.toml again.csv --rounds one/rounds.toml --out two").ends_with(0);
    second.assert_shows(&["again.csv: 50 readings by a gauge in degrees; round 2", "nothing need be done"]);
    assert_fits_one_screen(&second.out);
    let text = second.text("rounds.toml");
    assert!(text.starts_with(first.text("rounds.toml").trim_end()), "{text}");
    for side in SIDES {
        let pointer = format!("/correct/{side}/worst_bump_steer_deg/now_p95");
        assert!(second.number(&pointer) < first.number(&pointer), "{side}");
    }
}

#[test]
fn the_rounds_before_are_never_written_over() {
    let folder = folder(&readings());
    folder.run("correct car.toml read.csv");
    folder.write("later.csv", only(|line| line.starts_with("right,")));
    let refused = folder.run("correct car.toml later.csv --rounds hubtrace-out/rounds.toml").ends_with(4);
    refused.assert_tells(&["rounds.toml", "choose another folder with --out"]);
}

#[test]
fn what_looks_wrong_in_the_drawing_is_counted_and_listed() {
    let folder = folder(&readings());
    assert_eq!(folder.run("correct car.toml read.csv").ends_with(0).summary()["warnings"], serde_json::json!([]));
    folder.write("car.toml", Car::read(CAR).set("limits.bump_steer", "5.0"));
    let ran = folder.run("correct car.toml read.csv --force");
    assert_eq!(ran.err, "warning: 1 thing looks wrong: see `hubtrace check car.toml`\n");
    let summary = ran.summary();
    let warnings = summary["warnings"].as_array().expect("a list");
    assert!(
        warnings.len() == 1 && warnings[0].as_str().is_some_and(|told| told.contains("`bump_steer`")),
        "{warnings:?}"
    );
}

#[test]
fn readings_of_a_round_that_is_recorded_already_are_refused() {
    let folder = folder(&readings());
    folder.run("correct car.toml read.csv --out one");
    let ran = folder.run("correct car.toml read.csv --rounds one/rounds.toml --out two").ends_with(2);
    ran.assert_tells(&["read.csv has the readings that are round 1 already", "gauge the car again"]);
}

#[test]
fn a_wheel_that_was_not_read_is_told_and_the_other_one_answered() {
    let ran = folder(&only(|line| line.starts_with("right,"))).run("correct car.toml read.csv").ends_with(0);
    ran.assert_shows(&[
        "left there is no reading of the left wheel; gauge it from full droop to full bump.",
        "Right, in",
    ]);
    assert!(ran.summary()["correct"]["left"].is_null());
    ran.text("as-built.toml");
    let left =
        folder(&only(|line| line.starts_with("right,"))).run("correct car.toml read.csv --side left").ends_with(2);
    left.assert_tells(&["there is no reading of the left wheel", "gauge it from full droop to full bump"]);
}

#[test]
fn one_reading_makes_no_curve() {
    let one = only(|line| line.starts_with("left,0,"));
    let ran = folder(&one).run("correct car.toml read.csv --side left").ends_with(2);
    ran.assert_tells(&[
        "read.csv, line 5, column 1: the left wheel was read at one height alone",
        "read it at several",
    ]);
}

#[test]
fn readings_that_contradict_one_another_are_shown_and_the_other_wheel_is_answered() {
    let wrong = readings() + "left,30,1.25,morning\n";
    let ran = folder(&wrong).run("correct car.toml read.csv");
    assert_eq!(ran.code, Some(2), "{ran}");
    ran.assert_tells(&["error: read.csv, line ", "are of one height and", "read that height again"]);
    ran.assert_shows(&["Right, in this order"]);
    assert!(ran.written().contains(&"correction-right.svg".to_owned()));
}

#[test]
fn a_reading_beyond_the_stops_is_left_out_and_told() {
    let ran = folder(&(readings() + "left,75,0.3,morning\n")).run("correct car.toml read.csv").ends_with(0);
    ran.assert_shows(&[
        "Line 55: this reading at 75.0 mm bump lies beyond the travel of the file, 60.0 mm droop to 60.0 mm bump",
    ]);
    assert_eq!(ran.summary()["beyond_travel"], serde_json::json!([55]));
    let same = corrected();
    assert_eq!(same.summary()["correct"], ran.summary()["correct"]);
}

#[test]
fn dials_and_lasers_find_the_same_car() {
    let angles = corrected().summary();
    let mut dials = "side,bump_mm,front_mm,rear_mm,session\n".to_owned();
    for line in readings().lines().filter(|line| line.starts_with("left,") || line.starts_with("right,")) {
        let cells: Vec<&str> = line.split(',').collect();
        let toe_mm = 400.0 * cells[2].parse::<f64>().unwrap().to_radians().sin();
        dials += &format!("{},{},{},{},{}\n", cells[0], cells[1], 1.0 - toe_mm / 2.0, 1.0 + toe_mm / 2.0, cells[3]);
    }
    // As exact as the angles: 0.02 deg on a plate of 400 mm is 0.14 mm, of two dials together.
    let ran = folder(&dials).run("correct car.toml read.csv --plate 400 --dial-sd 0.0987").ends_with(0);
    ran.assert_shows(&["50 readings by two dials 400.0 mm apart; round 1"]);
    for side in SIDES {
        let pointer = format!("/correct/{side}/worst_bump_steer_deg/now");
        assert!((ran.number(&pointer) - number(&angles, &pointer)).abs() < 2e-3, "{side}");
    }
}

#[test]
fn an_instrument_that_the_columns_do_not_fit_is_asked_for() {
    let folder = folder(&readings());
    let plate = folder.run("correct car.toml read.csv --plate 400").ends_with(2);
    plate.assert_tells(&["\"toe_deg\" is a reading of a gauge that shows degrees", "leave --plate, --zero"]);
    let wall = folder.run("correct car.toml read.csv --wall 3000").ends_with(2);
    wall.assert_tells(&["--beam"]);
    folder.run("correct car.toml read.csv --toe-sd 0").ends_with(2).assert_tells(&["write degrees from 0.0001 to 10"]);
    folder.run("correct car.toml").ends_with(2).assert_tells(&["<READINGS>"]);
    run("correct").ends_with(2).assert_tells(&["<FILE>", "<READINGS>"]);
}

#[test]
fn mistakes_of_readings_and_rounds_are_told_together() {
    let folder = folder("side,bump_mm,toe_deg\nleft,ten,0.1\n");
    folder.write("rounds.toml", "schema = 1\n");
    let ran = folder.run("correct car.toml read.csv --rounds rounds.toml").ends_with(2);
    ran.assert_tells(&["`bump_mm` is no number: \"ten\"", "the file lacks [[round]]"]);
}

#[test]
fn without_adjusters_the_usual_ones_are_taken_and_that_is_said() {
    let text = fs::read_to_string(CAR).unwrap();
    let bare: String =
        text.lines().filter(|line| !line.starts_with("adjust")).map(|line| format!("{line}\n")).collect();
    let folder = Folder::with(bare);
    folder.write("read.csv", readings());
    let ran = folder.run("correct car.toml read.csv");
    ran.assert_shows(&["No link has `adjust`, which says what can be changed at it. Taken: shims of 0.5 mm"]);
    let sheet = ran.text("correction-sheet.html");
    assert!(sheet.contains("<p>No link has `adjust`") && sheet.contains("Taken: shims of 0.5 mm"), "{sheet}");
    assert_fits_one_screen(&ran.out);
}

#[test]
fn lengths_for_people_follow_the_file() {
    let car = in_inches();
    let folder = Folder::with(&car);
    folder.write("read.csv", only(|line| line.starts_with("left,")));
    let ran = folder.run("correct car.toml read.csv --side left");
    assert!(matches!(ran.code, Some(0 | 1)), "{ran}");
    ran.assert_shows(&["0.002 in of play in each rod end"]);
    assert_fits_the_width(&ran.out);
}

/// 1.75 in are 44.45 mm, and the wheel was read at the stop.
#[test]
fn a_reading_at_a_stop_in_inches_is_taken() {
    let car = replaced(in_inches(), "droop = 2.362205", "droop = 1.75");
    let folder = Folder::with(replaced(car, "bump = 2.362205", "bump = 2.375"));
    let kept = only(|line| line.starts_with("left,") && !line.contains(",-50") && !line.contains(",-60"));
    folder.write("read.csv", kept.replace("left,-40,", "left,-44.45,").replace("left,60,", "left,60.325,"));
    let ran = folder.run("correct car.toml read.csv --side left");
    assert!(matches!(ran.code, Some(0 | 1)), "{ran}");
    assert_eq!(ran.summary()["beyond_travel"], serde_json::json!([]));
    assert!(ran.text("summary.json").contains("-44.45"), "no reading at the stop");
}

#[test]
fn a_plate_that_is_read_in_mm_says_so_where_the_file_is_in_inches() {
    let folder = Folder::with(in_inches());
    folder.write("read.csv", "side,bump_mm,front_mm,rear_mm\nleft,-10,0.1,0.2\nleft,10,0.1,0.3\n");
    let told = folder.run("correct car.toml read.csv --plate 15.7").messages();
    assert!(told.contains("read in mm, though the file is in inches: --plate 15.7 mm"), "{told}");
    let quiet = folder.run("correct car.toml read.csv --plate 15.7 --quiet --force").messages();
    assert!(!quiet.contains("read in mm"), "{quiet}");
}

/// The demo's car with every length in inches.
fn in_inches() -> String {
    let text = fs::read_to_string(CAR).unwrap();
    let is_length = |line: &str| {
        [
            "centre",
            "tyre_radius",
            "rim_radius",
            "toe_span",
            "chassis",
            "upright",
            "inner =",
            "outer =",
            "mount",
            "plunge_window",
        ]
        .iter()
        .chain(&["wheelbase", "cg_height", "bump =", "droop =", "step =", "scrub", "recession", "roll_centre_height"])
        .any(|key| line.starts_with(key))
    };
    let converted = |line: &str| -> String {
        let (code, _) = line.split_once('#').unwrap_or((line, ""));
        let mut out = String::new();
        for piece in code.split_inclusive(['[', ' ', ',', ']']) {
            let digits = piece.trim_end_matches(['[', ' ', ',', ']']);
            match digits.parse::<f64>() {
                Ok(mm) => out += &piece.replace(digits, &format!("{:.6}", mm / 25.4)),
                Err(_) => out += piece,
            }
        }
        out
    };
    let lines = text.lines().filter(|line| !line.starts_with("adjust") && !line.starts_with("free"));
    let lines = lines.map(|line| if is_length(line) { converted(line) } else { line.to_owned() } + "\n");
    replaced(lines.collect::<String>(), "units = \"mm\"", "units = \"in\"")
}
