//! What a tuning reaches and what it leaves in its folder.

use std::fs;

use super::program::{Ran, TOE_LINK, ToleranceStudy, demo, number, tuned};

/// Sweeps a tuned file again: the worst value of the file must be the one that was told.
fn assert_sweeps_to_the_same(shop: &ToleranceStudy, ran: &Ran, side: &str) {
    let again = shop.run("sweep out/tuned.toml --out again");
    let summary = fs::read_to_string(shop.path("again/summary.json")).expect("a summary");
    let summary = serde_json::from_str(&summary).expect("JSON");
    let worst_deg = number(&summary, &format!("/heave/{side}/worst_bump_steer_deg"));
    assert_eq!(worst_deg, ran.worst_deg(side), "{}", again.err);
}

#[test]
fn the_demo_car_becomes_flat_inside_its_limits() {
    let shop = ToleranceStudy::with("");
    let ran = shop.run("tune");
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert_eq!(ran.err, "No geometry file given: working on the built-in demo car.\n");
    assert!(ran.worst_deg("left") <= 0.01 && ran.worst_deg("right") <= 0.01);
    for name in ["moves.csv", "sensitivity.csv", "toe-before-after.svg", "heave.csv", "summary.json", "tuned.toml"] {
        assert!(ran.out.contains(name) && !ran.text(name).is_empty(), "{name}");
    }
    assert!(ran.text("hubtrace-files.sha256").contains("tuned.toml"));
    assert_sweeps_to_the_same(&shop, &ran, "left");
}

#[test]
fn the_tuned_file_is_the_source_with_other_numbers() {
    let source = demo(&[]);
    let (_shop, ran) = tuned(&source);
    let written = ran.text("tuned.toml");
    let differ: Vec<(&str, &str)> = source.lines().zip(written.lines()).filter(|(a, b)| a != b).collect();
    assert_eq!(source.lines().count(), written.lines().count());
    assert!(!differ.is_empty() && differ.len() <= 5, "{differ:?}");
    for (before, after) in differ {
        let frame = |line: &str| line.replace(|c: char| c.is_ascii_digit() || c == '.', "");
        assert_eq!(frame(before), frame(after));
    }
}

#[test]
fn the_moves_are_those_of_the_tuned_file_and_stay_in_their_rooms() {
    let (_shop, ran) = tuned(&demo(&[]));
    let moves = ran.text("moves.csv");
    assert!(moves.starts_with("side,point,from_x_mm,from_y_mm,from_z_mm,to_x_mm,to_y_mm,to_z_mm,distance_mm\n"));
    let mut reader = csv::Reader::from_reader(moves.as_bytes());
    for row in reader.records() {
        let row = row.expect("a row");
        let n: Vec<f64> = row.iter().skip(2).map(|cell| cell.parse().expect("a number")).collect();
        let by = [n[3] - n[0], n[4] - n[1], n[5] - n[2]];
        assert_eq!(by[0], 0.0, "x of {row:?} is not free");
        assert!(by.iter().all(|mm| mm.abs() <= 25.0), "{row:?}");
        assert!((by.iter().map(|mm| mm * mm).sum::<f64>().sqrt() - n[6]).abs() < 1e-9, "{row:?}");
    }
}

#[test]
fn the_sensitivity_table_has_every_coordinate_of_the_drawn_car() {
    let (shop, ran) = tuned(&demo(&[]));
    let table = ran.text("sensitivity.csv");
    assert_eq!(table.lines().count(), 31);
    let toe_link = table.lines().find(|row| row.starts_with("left,toe link,chassis,z,")).expect("a row");
    let told: f64 = toe_link.split(',').nth(6).expect("a cell").parse().expect("a number");
    let worst_deg = |z: &str| {
        let moved = demo(&[(TOE_LINK, &format!("chassis = [-150.0, 376.0, {z}]"))]);
        fs::write(shop.path("moved.toml"), moved).expect("a writable file");
        let summary = serde_json::from_str(&shop.run("sweep moved.toml --json").out).expect("JSON");
        number(&summary, "/heave/left/worst_bump_steer_deg")
    };
    let difference = (worst_deg("255.01") - worst_deg("254.99")) / 0.02;
    assert!((told - difference).abs() < 1e-6 * difference.abs(), "{told} {difference}");
}

#[test]
fn json_has_the_pinned_members_and_the_tuning() {
    let shop = ToleranceStudy::with(&demo(&[]));
    let ran = shop.run("tune car.toml --json --quiet --seed 7 --starts 3");
    assert_eq!((ran.code, ran.out.as_str(), ran.err.as_str()), (Some(0), ran.text("summary.json").as_str(), ""));
    let summary = ran.summary();
    for side in ["left", "right"] {
        for member in ["worst_bump_steer_deg", "worst_at_bump_mm", "gradient_deg_per_mm", "slope_deg_per_mm", "bow_deg"]
        {
            number(&summary, &format!("/heave/{side}/{member}"));
        }
    }
    let tune = &summary["tune"];
    assert_eq!((&tune["seed"], &tune["starts"], &tune["stopped_early"]), (&7.into(), &3.into(), &false.into()));
    assert!((number(tune, "/sides/0/before_worst_bump_steer_deg") - 0.5175).abs() < 1e-4);
    assert!(number(tune, "/sides/0/answers/0/worst_bump_steer_deg") <= 0.01);
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    let shop = ToleranceStudy::with(&demo(&[]));
    let all = ["tuned.toml", "moves.csv", "sensitivity.csv", "toe-before-after.svg", "heave.csv", "summary.json"];
    let [one, other] = [shop.run("tune car.toml --seed 5"), shop.run("tune car.toml --seed 5 --out other")];
    assert_eq!((one.code, other.code), (Some(0), Some(0)));
    for name in all {
        assert_eq!(one.text(name), fs::read_to_string(shop.path("other").join(name)).expect("a file"), "{name}");
    }
}

#[test]
fn robust_writes_the_most_forgiving_car_and_the_flattest_beside_it() {
    let shop = ToleranceStudy::with(&demo(&[]));
    let (flat, robust) = (shop.run("tune car.toml --out flat"), shop.run("tune car.toml --robust"));
    assert_eq!((flat.code, robust.code), (Some(0), Some(0)));
    robust.assert_says(&["In tuned.toml: most forgiving.", "Other good answers: tuned-2.toml, 0.000 deg"]);
    assert_eq!(robust.text("tuned-2.toml"), fs::read_to_string(shop.path("flat/tuned.toml")).expect("a file"));
    assert!(robust.worst_deg("left") > 0.001, "forgiveness costs some flatness");
    assert_sweeps_to_the_same(&shop, &robust, "left");
}

#[test]
fn a_limit_broken_at_the_start_is_led_back() {
    let (_shop, ran) = tuned(&demo(&[("roll_centre_height = [40.0, 110.0]", "roll_centre_height = [80.0, 110.0]")]));
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    let limits = ran.summary()["limits"].clone();
    for limit in limits.as_array().expect("a list") {
        assert_ne!(limit["state"], "fail", "{limit}");
    }
    assert!(ran.worst_deg("left") <= 0.01);
}

/// An answer that stands at a limit must not break it by the rounding of the solver or of the file.
#[test]
fn an_answer_at_its_limit_passes() {
    let (_shop, ran) = tuned(&(demo(&[]) + "\n[targets]\nanti_squat = 90.0\n"));
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    ran.assert_says(&[
        "Target anti-squat: 40.0 %, MISSED (wanted 90.0 %)",
        "Held back by limits just kept: anti-squat",
    ]);
}

#[test]
fn a_limit_that_nobody_can_keep_is_told_with_what_stands_in_the_way() {
    let (_shop, ran) = tuned(&demo(&[("[-25.0, 25.0]", "[-1.0, 1.0]"), ("[-8.0, 8.0]", "[-1.0, 1.0]")]));
    assert_eq!(ran.code, Some(1), "{}", ran.out);
    ran.assert_says(&[
        "FAIL bump steer (bump and droop)",
        "is at the end of its room (-1.0 mm); one more mm would improve",
    ]);
    assert!(ran.worst_deg("left") < 0.2 && ran.text("tuned.toml").contains("schema = 1"));
    // Half a millimetre more everywhere must buy half of what was told at least, for these are only two of the clearances.
    let line = ran.said();
    let told: Vec<f64> = line.split("bump steer by about ").skip(1).map(first_number).collect();
    let (_shop, wider) = tuned(&demo(&[("[-25.0, 25.0]", "[-1.5, 1.5]"), ("[-8.0, 8.0]", "[-1.5, 1.5]")]));
    let gained = ran.worst_deg("left") - wider.worst_deg("left");
    assert_eq!(told.len(), 2, "{line}");
    assert!(gained > 0.5 * told.iter().sum::<f64>(), "{gained} {told:?}");
}

fn first_number(text: &str) -> f64 {
    text.split(' ').next().expect("a word").parse().expect("a number")
}

#[test]
fn targets_that_can_be_reached_are_told_as_reached() {
    let (_shop, ran) =
        tuned(&(demo(&[]) + "\n[targets]\nroll_centre_height = { band = [60.0, 75.0], weight = 2.0 }\n"));
    assert_eq!(ran.code, Some(0));
    let said = ran.said();
    assert!(said.contains("mm, reached (wanted 60.00 mm to 75.00 mm)"), "{said}");
}

#[test]
fn an_asymmetric_car_is_tuned_on_the_side_that_has_room() {
    let text = fs::read_to_string("geometries/as-built.toml").expect("a readable file");
    let right = "chassis = [-149.0, -369.5, 260.0]\n";
    assert!(text.contains(right));
    let free = format!("{right}free = {{ chassis = {{ y = [-20.0, 20.0], z = [-20.0, 20.0] }} }}\n");
    let text = text.replace(right, &free);
    let (shop, ran) = tuned(&text);
    assert!(ran.worst_deg("right") < 0.05 && ran.worst_deg("left") > 0.05, "{}", ran.out);
    assert_eq!(ran.code, Some(1), "the left side still fails");
    ran.assert_says(&["per wheel (right)", "FAIL bump steer (left, bump and droop)"]);
    let moves = ran.text("moves.csv");
    assert!(moves.lines().skip(1).all(|row| row.starts_with("right,toe link chassis,-149,-369.5,260,-149,-")));
    assert_sweeps_to_the_same(&shop, &ran, "right");
    assert_eq!(shop.run("tune car.toml --side right --out r").code, Some(0));
}

#[test]
fn the_toe_curve_is_tuned_about_every_ride_height() {
    let heights = ("step_roll = 0.5", "step_roll = 0.5\nride_heights = [-15.0, 0.0, 10.0]");
    let (_shop, ran) = tuned(&demo(&[heights]));
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    let about = ran.summary()["heave"]["left"]["ride_heights"].clone();
    let about = about.as_array().expect("a list");
    assert_eq!(about.len(), 3);
    assert!(about.iter().all(|height| number(height, "/worst_bump_steer_deg") <= 0.01), "{about:?}");
}
