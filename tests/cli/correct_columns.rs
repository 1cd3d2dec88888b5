//! `hubtrace correct` on readings of which a whole column is in another unit or has its sign turned: told at the first line of each
//! wheel, with how it is written right, and nothing prescribed.

use std::fs;

use crate::car::Car;
use crate::program::{Folder, Ran};

const CAR: &str = "geometries/double-wishbone.toml";

/// The demo's gauging with heights and toe written so.
fn readings(write: impl Fn(f64, f64) -> Option<(f64, f64)>) -> String {
    let text = fs::read_to_string("gaugings/double-wishbone.csv").expect("the demo's readings");
    let rows = text.lines().filter(|line| !line.starts_with('#') && !line.starts_with("side,")).filter_map(|line| {
        let cells: Vec<&str> = line.split(',').collect();
        let number = |cell: usize| cells[cell].parse::<f64>().expect("a number");
        let (bump, toe) = write(number(1), number(2))?;
        Some(format!("{},{bump:.3},{toe:.3}\n", cells[0]))
    });
    "side,bump_mm,toe_deg\n".to_owned() + &rows.collect::<String>()
}

fn ran(droop_mm: &str, readings: &str) -> Ran {
    let folder =
        Folder::with(Car::parse(&fs::read_to_string(CAR).expect("the demo's car")).set("travel.droop", droop_mm));
    folder.write("read.csv", readings);
    folder.run("correct car.toml read.csv")
}

fn assert_refused(ran: Ran, what: &str, write: &str) {
    let ran = ran.ends_with(2);
    let told = ran.err.split_whitespace().collect::<Vec<_>>().join(" ").replace("| ", "");
    for side in ["left", "right"] {
        assert!(told.contains(&format!("{side} wheel")), "{ran}");
    }
    assert!(told.contains("error: read.csv, line 2, column 1: the "), "{ran}");
    assert_eq!(told.matches(what).count(), 2, "{ran}");
    assert!(told.contains(&format!("{write}; nothing is prescribed on readings as they stand")), "{ran}");
    assert_eq!((ran.out.as_str(), ran.written().len()), ("", 0), "{ran}");
}

#[test]
fn readings_as_they_were_taken_are_used() {
    ran("60.0", &readings(|bump, toe| Some((bump, toe)))).ends_with(0);
}

#[test]
fn toe_in_minutes_of_arc_is_no_play() {
    let refused = ran("60.0", &readings(|bump, toe| Some((bump, 60.0 * toe))));
    assert_refused(refused, "`toe_deg` is probably in minutes of arc", "write degrees: minutes divided by 60");
}

/// Over the `toe_span` of the file 0.20 deg are 1.45 mm.
#[test]
fn toe_in_mm_is_no_reading_to_take_again() {
    let mm = |deg: f64| 416.0 * deg.to_radians().sin();
    let refused = ran("60.0", &readings(|bump, toe| Some((bump, mm(toe)))));
    let write = "write degrees: 1 mm over 416 mm is 0.138 deg";
    assert_refused(refused, "`toe_deg` is probably in mm over 416 mm", write);
}

#[test]
fn heights_in_inches_are_no_gauging_at_too_few_heights() {
    let refused = ran("60.0", &readings(|bump, toe| Some((bump / 25.4, toe))));
    let what = "was gauged over 4.7 mm of its 120.0 mm of travel: `bump_mm` is probably in inches";
    assert_refused(refused, what, "write mm: inches times 25.4");
}

/// Droop ends at 50 mm: turned, the readings of full bump lie beyond it.
#[test]
fn heights_with_their_sign_turned_are_not_left_out() {
    let turned = |sign: f64| readings(|bump, toe| (bump >= -50.0).then_some((sign * bump, toe)));
    let refused = ran("50.0", &turned(-1.0));
    let what = "fit between its stops the other way round: the sign of `bump_mm` is probably turned";
    assert_refused(refused, what, "write bump positive and droop negative");
    assert_eq!(ran("50.0", &turned(1.0)).code, Some(0));
}

/// The demo's wheel goes from 60 mm of droop to 60 mm of bump: counted from an end of it, every second reading lies beyond a stop.
#[test]
fn heights_counted_from_an_end_of_the_travel_are_not_left_out_one_by_one() {
    for (from, at_mm) in [("full droop", -60.0), ("full bump", 60.0)] {
        let counted = readings(|bump, toe| Some((bump - at_mm, toe)));
        let refused = ran("60.0", &counted);
        let what = format!("travel from -60.0 to 60.0 mm: `bump_mm` is probably counted from {from}");
        let write = "count heights from design height, bump positive: take what you read there off each of them";
        assert_refused(refused, &what, write);
        let dials = counted.replace("toe_deg", "rear_mm,front_mm").replace('\n', ",0.0\n").replacen(",0.0\n", "\n", 1);
        let folder = Folder::with(Car::parse(&fs::read_to_string(CAR).expect("the demo's car")));
        folder.write("read.csv", &dials);
        assert_refused(folder.run("correct car.toml read.csv --plate 400"), &what, write);
        let spots = counted.replace("toe_deg", "wall_mm");
        folder.write("read.csv", &spots);
        assert_refused(folder.run("correct car.toml read.csv --wall 3000 --beam spindle"), &what, write);
    }
}

/// Of bump alone: within the travel, however far from full droop.
#[test]
fn a_gauging_of_bump_alone_is_used() {
    let bump = ran("60.0", &readings(|bump, toe| (bump >= 0.0).then_some((bump, toe))));
    assert!(matches!(bump.code, Some(0 | 1)), "{bump}");
}
