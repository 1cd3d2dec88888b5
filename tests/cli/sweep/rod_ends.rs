//! Rod ends by name: on the screen, in the summary and in `rod-ends.csv`.

use serde_json::Value;

use super::sweep;
use crate::car::{Car, DEMO};
use crate::program::Folder;

fn text<'v>(of: &'v Value, key: &str) -> &'v str {
    of[key].as_str().unwrap_or_else(|| panic!("no text {key} in {of}"))
}

/// Of every rod end of the left wheel: link, end, what `check --bolts` finds with its own directions and its own places, and
/// what `sweep` tells.
fn tilts(car: &Car) -> Vec<(String, String, f64, Value)> {
    let folder = Folder::with(car);
    let bolts: Value = serde_json::from_str(&folder.run("check car.toml --bolts --json").out).expect("JSON");
    let summary = folder.run("sweep car.toml").summary();
    let told = summary["heave"]["left"]["rod_ends"].as_array().expect("a list").clone();
    let bolts = bolts["best_bolts"]["left"].as_array().expect("a list").clone();
    assert_eq!((bolts.len(), told.len()), (10, 10));
    let pair = |tilt: Value| {
        let (link, end) = (text(&tilt, "link").to_owned(), text(&tilt, "end").to_owned());
        let bolt = bolts.iter().find(|bolt| text(bolt, "link") == link && text(bolt, "end") == end).expect("a bolt");
        (link, end, bolt["as_drawn_deg"].as_f64().expect("an angle"), tilt)
    };
    told.into_iter().map(pair).collect()
}

#[test]
fn every_rod_end_is_told_with_the_tilt_that_its_bolt_has() {
    let mut at_an_end = 0;
    for (link, end, by_bolt_deg, tilt) in tilts(&Car::demo()) {
        let (worst_deg, at_mm) = (tilt["worst_deg"].as_f64().unwrap(), tilt["at_bump_mm"].as_f64().unwrap());
        assert!(worst_deg > 0.1 && tilt["limit_deg"] == 14.0 && tilt["state"] == "pass", "{tilt}");
        // Both look at the ends of the travel, and at places 3 and 5 mm apart between them.
        let allowed_deg = if at_mm.abs() == 60.0 { 1e-9 } else { 0.01 };
        at_an_end += usize::from(at_mm.abs() == 60.0);
        assert!((worst_deg - by_bolt_deg).abs() < allowed_deg, "{link} {end}: {worst_deg} for {by_bolt_deg}");
    }
    assert!(at_an_end >= 8, "{at_an_end}");
}

#[test]
fn the_rod_end_that_breaks_its_limit_is_named_everywhere() {
    let worst = tilts(&Car::demo());
    let of_link = worst.iter().filter(|(link, ..)| link == "lower front").map(|(_, end, deg, _)| (*deg, end.clone()));
    let (deg, end) = of_link.max_by(|a, b| a.0.total_cmp(&b.0)).expect("two rod ends");
    let ran =
        sweep(Car::demo().set("lower front.rod_end_limit", &format!("{:.3}", deg - 0.05))).doubted(1).ends_with(1);
    let part = format!("lower front {end}");
    ran.assert_shows(&[&format!("Rod ends beyond their limit: {part}"), &format!("{deg:.2} deg of")]);
    let limits = ran.summary()["limits"].as_array().expect("a list").clone();
    let verdict =
        limits.iter().find(|of| of["quantity"] == "rod-end misalignment (bump and droop)").expect("a verdict");
    assert_eq!((verdict["state"].as_str(), verdict["part"].as_str()), (Some("fail"), Some(part.as_str())));
    let table = ran.table("rod-ends.csv");
    assert_eq!(table.columns, ["side", "link", "end", "worst_deg", "at_bump_mm", "limit_deg", "state"]);
    assert_eq!((&table.rows[0][1..3], table.rows[0][6].as_str()), (&["lower front".to_owned(), end][..], "fail"));
    assert_eq!(table.rows.len(), 20);
}

/// The nearest to its own limit is the one that takes most of it, not the one that tilts most.
#[test]
fn the_nearest_to_its_limit_is_told_when_all_hold() {
    let ran = sweep(Car::demo().set("upper rear.rod_end_limit", "4.0").set("limits.bump_steer", "0.9")).ends_with(0);
    let first = &ran.summary()["heave"]["left"]["rod_ends"][0];
    assert_eq!(text(first, "link"), "upper rear");
    ran.assert_shows(&[&format!("Rod end nearest to its limit: upper rear {}", text(first, "end")), "deg of 4 deg at"]);
}

#[test]
fn a_car_without_bolts_has_no_table_of_rod_ends() {
    let bare = std::fs::read_to_string(DEMO).expect("the demo");
    let bare: String = bare
        .lines()
        .filter(|line| !line.contains("_bolt =") && !line.starts_with("rod_end_limit"))
        .map(|line| format!("{line}\n"))
        .collect();
    let ran = sweep(bare).ends_with(1);
    assert!(!ran.written().contains(&"rod-ends.csv".to_owned()) && !ran.screen().contains("Rod end"), "{ran}");
    let limited = sweep(Car::demo().without("toe link.upright_bolt")).ends_with(1);
    let rows = limited.table("rod-ends.csv").rows;
    let without: Vec<_> = rows.iter().filter(|row| row[3].is_empty()).collect();
    assert_eq!(without.len(), 2, "one a side");
    assert!(without.iter().all(|row| row[1..3] == ["toe link", "upright"] && row[6] == "not checked"), "{without:?}");
}
