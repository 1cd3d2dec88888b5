//! What a builder sees: everything within 80 columns, in the shop's words, nothing when quiet.

use super::{sweep, sweep_with};
use crate::car::{Car, SOUND};
use crate::program::{Folder, run};
use crate::screen::assert_fits_the_width;

#[test]
fn every_car_fits_the_screen_in_the_shops_words() {
    for file in ["first-cut", "as-built", "double-wishbone", "semi-trailing"] {
        assert_fits_the_width(&sweep(Car::read(&format!("geometries/{file}.toml"))).out);
    }
    for file in ["fl-a", "fl-b", "fl-c", "asymmetric", "inch-hub-axes", "near-fold", "spring-on-link", "stops"] {
        assert_fits_the_width(&sweep(Car::read(&format!("tests/outside/{file}.toml"))).out);
    }
}

#[test]
fn long_names_fit_the_screen() {
    let quoted = |letter: &str| format!("\"{}\"", letter.repeat(80));
    let car =
        Car::demo().set("name", &quoted("N")).set("upper front.name", &quoted("U")).set("toe link.name", &quoted("T"));
    let ran = sweep_with(car, "--droop 300").ends_with(3);
    assert_fits_the_width(&ran.out);
    assert_fits_the_width(&ran.err);
}

/// Letters that take two columns each.
#[test]
fn names_in_wide_scripts_fit_the_screen() {
    let quoted = |text: &str, times| format!("\"{}\"", text.repeat(times));
    let car =
        Car::demo().set("name", &quoted("後輪独立懸架の試作車", 8)).set("toe link.name", &quoted("前上リンク", 16));
    let ran = sweep_with(car, "--droop 300").ends_with(3);
    assert_fits_the_width(&ran.out);
    assert_fits_the_width(&ran.err);
}

#[test]
fn a_quote_in_a_name_is_escaped_where_the_name_is_quoted() {
    let car = Car::demo().set("toe link.name", r#"'the "toe" link'"#);
    sweep_with(car, "--droop 300").assert_tells(&[r#""the \"toe\" link" carry the bind"#]);
}

#[test]
fn a_long_path_fits_the_screen() {
    let folder = Folder::with(Car::read("geometries/as-built.toml"));
    assert_fits_the_width(&folder.run(&format!("sweep {}car.toml", "./".repeat(40))).ends_with(1).out);
}

#[test]
fn the_screen_says_what_a_builder_acts_on() {
    sweep(Car::demo()).assert_shows(&[
        "per wheel",
        "worst bump steer",
        "slope",
        "bow",
        "FAIL",
        "pass",
        "not checked",
        "roll-centre height",
        "anti-squat",
        "Solver check",
        "heave.csv",
        "a failed link",
    ]);
}

#[test]
fn quiet_prints_nothing_at_all() {
    for ran in [sweep_with(Car::read(SOUND), "--quiet"), run("sweep --quiet")] {
        assert_eq!((ran.out.as_str(), ran.err.as_str()), ("", ""));
        assert!(ran.written().contains(&"heave.csv".to_owned()));
    }
}

#[test]
fn quiet_does_not_hide_an_error() {
    let ran = sweep_with(Car::demo(), "--quiet --droop 300").ends_with(3);
    assert_eq!(ran.out, "");
    ran.assert_tells(&["binds at 248.7 mm of droop"]);
}

#[test]
fn inches_are_shown_in_inches() {
    let screen = sweep(Car::read("tests/outside/inch-hub-axes.toml")).out;
    assert!(screen.contains(" in") && !screen.contains(" mm over"), "{screen}");
}
