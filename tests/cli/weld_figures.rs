//! The figures of `hubtrace tolerance` against a sweep of the drawing, against each other and against what their names mean.

use crate::car::Car;
use crate::program::{Folder, Ran};
use crate::table::Table;

/// Two different sides, held to all that built cars are held to.
fn as_built() -> Car {
    let limits = [("anti_lift", "[0.0, 90.0]"), ("track_change", "90.0"), ("bump_steer", "0.3")];
    limits
        .iter()
        .fold(Car::read("geometries/as-built.toml"), |car, (key, value)| car.set(&format!("limits.{key}"), value))
}

fn folder() -> Folder {
    Folder::with(as_built())
}

/// Cells of a row as numbers; an empty one is NaN.
fn cells(table: &Table, row: usize, names: [&str; 4]) -> [f64; 4] {
    names.map(|name| table.column(name)[row].parse().unwrap_or(f64::NAN))
}

/// What the weld study starts from is the drawing as a sweep judges it.
#[test]
fn a_nominal_figure_is_that_of_the_swept_drawing() {
    let folder = folder();
    let swept = folder.run("sweep car.toml --out swept");
    let table = folder.run("tolerance car.toml --cars 100").table("tolerance.csv");
    let limits = swept.summary()["limits"].as_array().expect("a list").clone();
    let mut compared = 0;
    for row in 0..table.rows.len() {
        let [name, side] = ["quantity", "side"].map(|column| table.column(column)[row]);
        let told = |member: &str| swept.number(&format!("/heave/{side}/{member}"));
        let expected = match name {
            "slope" => told("slope_deg_per_mm").abs(),
            "bow" => told("bow_deg"),
            _ => {
                let side = (side != "axle").then_some(side);
                let is_it = |title: &str| title.starts_with(&format!("{name} ("));
                let mut found = limits
                    .iter()
                    .filter(|limit| limit["quantity"].as_str().is_some_and(is_it) && limit["side"].as_str() == side);
                let Some(verdict) = found.next() else { continue };
                let [low, high] = ["low", "high"].map(|end| verdict[end].as_f64().expect("a value"));
                low.abs().max(high.abs())
            }
        };
        let nominal = table.number_at("nominal", row).abs();
        assert!((nominal - expected).abs() < 1e-7, "{name} of {side}: {nominal} for {expected}");
        compared += 1;
    }
    // Eleven quantities of each wheel, four of the axle.
    assert!(compared >= 26, "{compared} of {:?}", table.column("quantity"));
}

/// Both studies have the same cars.
#[test]
fn the_odds_with_and_without_a_last_bracket_are_those_of_the_two_studies() {
    let folder = folder();
    let last = folder.run("tolerance car.toml --cars 400 --last=\"toe link\" --out last");
    let adjusted = folder.run("tolerance car.toml --cars 400 --out adjusted");
    for (which, study) in [("with", &last), ("without", &adjusted)] {
        let odds = |member: &str| last.number(&format!("/tolerance/last_bracket/{which}/{member}"));
        for side in ["left", "right"] {
            let worst = |member: &str| study.number(&format!("/tolerance/{side}/worst_bump_steer_deg/{member}"));
            assert_eq!(odds(&format!("{side}_wheel")), worst("chance"), "{which} {side}");
            let (got, expected) = (odds(&format!("{side}_p50_deg")), worst("p50"));
            assert!((got - expected).abs() < 1e-9, "{which} {side}: {got} for {expected}");
        }
        let both = odds("both_wheels");
        assert_eq!(both, study.number("/tolerance/share_inside_bump_steer"));
        // The wheels err by themselves: the share of cars is the product of those of wheels, within four standard errors.
        let product = odds("left_wheel") * odds("right_wheel");
        assert!((both - product).abs() <= 4.0 * (product * (1.0 - product) / 400.0).sqrt(), "{both} for {product}");
    }
    // The right wheel steers more, so that a figure of the wrong side is another number.
    let of = |side: &str, member: &str| adjusted.number(&format!("/tolerance/{side}/worst_bump_steer_deg/{member}"));
    assert!(of("left", "chance") > 1.1 * of("right", "chance") && of("left", "p50") < 0.9 * of("right", "p50"));
    for side in ["left", "right"] {
        let moved = |end: &str| last.number(&format!("/tolerance/last_bracket/{side}/{end}"));
        assert!(moved("p50") < moved("p95"));
    }
}

/// The ends of Wilson's interval are the shares of which the counted one is 1.96 standard deviations away.
#[track_caller]
fn assert_score_interval([chance, low, high]: [f64; 3], cars: f64) {
    assert!(low <= chance && chance <= high, "{low} {chance} {high}");
    for end in [low, high].into_iter().filter(|end| *end > 0.0 && *end < 1.0) {
        let deviations = (chance - end).abs() / (end * (1.0 - end) / cars).sqrt();
        assert!((deviations - 1.959_964).abs() < 1e-4, "{deviations} at {end}");
    }
}

#[test]
fn limits_and_chances_stand_with_their_low_end_first() {
    let ran = folder().run("tolerance car.toml --cars 300");
    let table = ran.table("tolerance.csv");
    let mut intervals = 0;
    for row in 0..table.rows.len() {
        let [chance, low, high, cars] = cells(&table, row, ["chance", "chance_low", "chance_high", "cars"]);
        let [limit_low, limit_high, ..] = cells(&table, row, ["limit_low", "limit_high", "p50", "p90"]);
        assert!(limit_low.is_nan() || limit_low < limit_high, "{:?}", table.rows[row]);
        if !chance.is_nan() {
            assert_score_interval([chance, low, high], cars);
            intervals += usize::from(chance > 0.0 && chance < 1.0);
        }
    }
    assert!(intervals > 0, "every chance is 0 or 1");
    assert_of_summary(&ran);
}

fn assert_of_summary(ran: &Ran) {
    let at = |member: &str| ran.number(&format!("/tolerance/{member}"));
    let cars = at("cars");
    assert_score_interval(["", "_low", "_high"].map(|end| at(&format!("share_inside{end}"))), cars);
    assert_score_interval(["", "_low", "_high"].map(|end| at(&format!("share_inside_bump_steer{end}"))), cars);
    assert_score_interval(["", "_low", "_high"].map(|end| at(&format!("left/worst_bump_steer_deg/chance{end}"))), cars);
    assert_eq!([at("left/anti_squat_pct/limit_low"), at("left/anti_squat_pct/limit_high")], [10.0, 40.0]);
}

/// Built cars are held to bump steer about the drawn height alone, and that is said where the file has other heights.
#[test]
fn bump_steer_about_other_ride_heights_is_told_as_not_checked() {
    for (heights, told) in [(None, false), (Some("[-20.0]"), true)] {
        let car = heights.into_iter().fold(as_built(), |car, heights| car.set("travel.ride_heights", heights));
        let ran = Folder::with(car).run("tolerance car.toml --cars 50");
        let summary = ran.summary();
        let not_checked = summary["tolerance"]["not_checked"].as_array().expect("a list");
        let is_it =
            |entry: &serde_json::Value| entry["what"].as_str().is_some_and(|what| what.contains("other ride heights"));
        assert_eq!(not_checked.iter().any(is_it), told, "{not_checked:?}");
    }
}
