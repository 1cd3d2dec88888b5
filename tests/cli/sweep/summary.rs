//! `summary.json` and `--json`: one object, pinned members.

use serde_json::Value;

use super::{sweep, sweep_with};
use crate::car::{Car, SOUND, replaced};
use crate::program::number;
use crate::screen::assert_numbers_are_known;
use hubtrace::outputs::sha256_hex;

#[test]
fn json_prints_the_summary_that_is_written() {
    for options in ["--json", "--json --quiet"] {
        let ran = sweep_with(Car::read(SOUND), options).ends_with(0);
        assert_eq!(ran.out, ran.text("summary.json"));
    }
}

#[test]
fn the_summary_says_what_made_it_and_from_what() {
    let car = Car::read(SOUND);
    let summary = sweep(&car).summary();
    assert_eq!(summary["schema"], 1);
    assert_eq!(summary["version"], env!("CARGO_PKG_VERSION"));
    assert_eq!(summary["input_sha256"], sha256_hex(car.to_string().as_bytes()));
}

/// The hash is that of the file on the disk, with the mark that some editors put before the text.
#[test]
fn the_hash_of_the_input_covers_its_byte_order_mark() {
    let text = format!("\u{feff}{}", replaced(Car::read(SOUND), "\n", "\r\n"));
    assert_eq!(sweep(&text).summary()["input_sha256"], sha256_hex(text.as_bytes()));
}

#[test]
fn the_pinned_members_are_those_of_the_toe_column() {
    let ran = sweep(Car::read("geometries/as-built.toml"));
    let (summary, heave) = (ran.summary(), ran.table("heave.csv"));
    for side in ["left", "right"] {
        let (bump, toe) = (heave.of_side(side, "bump_mm"), heave.of_side(side, "toe_deg"));
        let design = bump.iter().position(|&bump| bump == 0.0).expect("a design row");
        let change: Vec<f64> = toe.iter().map(|now| now - toe[design]).collect();
        let worst = change.iter().fold(0.0_f64, |worst, change| worst.max(change.abs()));
        let slope = bump.iter().zip(&change).map(|(b, c)| b * c).sum::<f64>() / bump.iter().map(|b| b * b).sum::<f64>();
        let bow = bump.iter().zip(&change).map(|(b, c)| (c - slope * b).abs()).fold(0.0, f64::max);
        let at = bump[change.iter().position(|change| change.abs() == worst).expect("the worst")];
        let gradient = heave.of_side(side, "bump_steer_gradient_deg_per_mm")[design];
        for (member, expected) in [
            ("worst_bump_steer_deg", worst),
            ("worst_at_bump_mm", at),
            ("gradient_deg_per_mm", gradient),
            ("slope_deg_per_mm", slope),
            ("bow_deg", bow),
        ] {
            let got = ran.number(&format!("/heave/{side}/{member}"));
            assert!((got - expected).abs() < 1e-12, "{side} {member} is {got}, expected {expected}");
        }
        assert_eq!(summary["heave"][side]["binds"], Value::Array(Vec::new()));
    }
}

#[test]
fn a_bind_is_listed_with_its_travel_and_links() {
    let summary = sweep_with(Car::demo(), "--droop 300").summary();
    for side in ["left", "right"] {
        let binds = summary["heave"][side]["binds"].as_array().expect("a list");
        assert_eq!(binds.len(), 1);
        assert!((number(&binds[0], "/at_bump_mm") + 248.7).abs() <= 0.1, "{binds:?}");
        let links = binds[0]["links"].as_array().expect("a list");
        assert!(links.contains(&"toe link".into()) && links.len() < 5, "{links:?}");
    }
}

#[test]
fn one_side_alone_has_one_member() {
    let summary = sweep_with(Car::read(SOUND), "--side right").summary();
    assert!(summary["heave"]["left"].is_null() && summary["heave"]["right"].is_object());
}

#[test]
fn a_limit_that_is_not_in_the_file_is_not_checked() {
    let summary = sweep(Car::read(SOUND)).summary();
    let limits = summary["limits"].as_array().expect("a list");
    for limit in limits {
        let given = !limit["limit_low"].is_null() || !limit["limit_high"].is_null();
        assert_eq!(limit["state"] == "not checked", !given, "{limit}");
    }
    assert!(limits.len() > 20);
}

/// Nothing is worked out while the screen is printed: what it says is in the summary.
#[test]
fn every_number_of_the_screen_is_in_the_summary() {
    let demo = Car::demo().set("travel.ride_heights", "[-15.0, 10.0]").set("travel.roll", "6.0");
    for car in [format!("{demo}\n[tape]\nsd = 0.7\n"), Car::read("geometries/as-built.toml").to_string()] {
        let ran = sweep(&car);
        let slope = |side| 25.0 * ran.number(&format!("/heave/{side}/slope_deg_per_mm"));
        assert_numbers_are_known(&ran.out, &ran.summary(), &["left", "right"].map(slope));
    }
}

#[test]
fn the_cure_and_the_band_of_the_tape_are_members_of_each_wheel() {
    let ran = sweep(format!("{}\n[tape]\nsd = 0.7\n", Car::demo()));
    for side in ["left", "right"] {
        let toe = &ran.summary()["heave"][side];
        let cure = &toe["cure"];
        assert_eq!((&cure["mostly"], &cure["link"]), (&"slope".into(), &"toe link".into()));
        let moves = cure["moves"].as_array().expect("a list");
        assert_eq!(moves.iter().map(|made| &made["axis"]).collect::<Vec<_>>(), ["y", "z"]);
        // Told on the screen as 16.5 mm inboard and 2.7 mm up.
        let [inboard, up] = [number(&moves[0], "/by_mm"), number(&moves[1], "/by_mm")];
        assert!((inboard + 16.5).abs() < 0.05 && (up - 2.7).abs() < 0.05, "{cure}");
        assert!(number(cure, "/leaves_deg") < 0.0045, "{cure}");
        let (worst, band) = (number(toe, "/worst_bump_steer_deg"), &toe["tape_band"]);
        assert_eq!(number(band, "/tape_sd_mm"), 0.7);
        let [low, high] = ["/band_deg/low", "/band_deg/high"].map(|end| number(band, end));
        assert!(low < worst && worst < high, "{band}");
    }
    let sound = sweep(Car::read(SOUND)).summary();
    assert!(sound["heave"]["left"]["cure"].is_null() && sound["heave"]["left"]["tape_band"].is_null());
    assert_eq!(sound["warnings"], Value::Array(Vec::new()));
}

/// Against plunge in the table, from the length that Pythagoras gives at design.
#[test]
fn the_halfshaft_is_as_long_as_its_joints_are_apart() {
    let ran = sweep(Car::demo());
    let plunge = ran.table("heave.csv").of_side("left", "shaft_plunge_mm");
    let design_mm = (4.1_f64.powi(2) + 454.0_f64.powi(2) + 0.1_f64.powi(2)).sqrt();
    let least = plunge.iter().copied().fold(f64::INFINITY, f64::min);
    let most = plunge.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    assert!(least < -0.5 || most > 0.5, "it plunges: {plunge:?}");
    for (member, expected_mm) in
        [("design_mm", design_mm), ("over_travel_mm/low", design_mm + least), ("over_travel_mm/high", design_mm + most)]
    {
        let told_mm = ran.number(&format!("/halfshaft/left/{member}"));
        assert!((told_mm - expected_mm).abs() < 1e-9, "{member}: {told_mm} {expected_mm}");
    }
    ran.assert_shows(&["Halfshaft, joint to joint: 454.0 mm at design, "]);
}

/// Kept from the screen of `check`, which tells it as a warning.
#[test]
fn what_to_look_at_again_is_listed() {
    let summary = sweep(Car::demo().set("toe link.taped", "400.0")).summary();
    let warnings = summary["warnings"].as_array().expect("a list");
    assert!(warnings.iter().any(|text| text.as_str().is_some_and(|text| text.contains("by tape"))), "{warnings:?}");
}
