//! Rails that carry brackets, with one number of an end mistaken: the end is told, not a bracket and not a hole that two legs share.

use crate::told::{changed, told};

const CAR: &str = include_str!("on-rails.toml");
const LOWER: [&str; 2] = ["from = [-350.0, 345.0, 150.0]", "to = [400.0, 345.0, 160.0]"];
const UPPER: [&str; 2] = ["from = [-350.0, 360.0, 440.0]", "to = [400.0, 360.0, 440.0]"];

fn assert_told(piece: &str, other: &str, begins: &str) {
    let told = told(&changed(CAR, &[(piece, other)]));
    let is_of_tube = |told: &str| told.starts_with(begins) && !told.contains("copied");
    assert!(told.len() == 1 && is_of_tube(&told[0]), "{other}: {told:#?}");
}

#[test]
fn the_car_of_these_tests_is_sound() {
    assert_eq!(told(CAR), Vec::<String>::new());
}

#[test]
fn a_rail_with_the_sign_of_an_end_turned_is_told_at_that_end() {
    let turned = |end: &str| format!("tube {end} is probably");
    assert_told(LOWER[0], "from = [350.0, 345.0, 150.0]", &turned("\"lower rail\" from: x = 350.0"));
    assert_told(LOWER[1], "to = [-400.0, 345.0, 160.0]", &turned("\"lower rail\" to: x = -400.0"));
    assert_told(UPPER[0], "from = [350.0, 360.0, 440.0]", &turned("\"upper rail\" from: x = 350.0"));
    assert_told(UPPER[1], "to = [-400.0, 360.0, 440.0]", &turned("\"upper rail\" to: x = -400.0"));
}

/// One bracket is past the end, and the other rail ends where this one was meant to.
#[test]
fn a_rail_that_a_slip_made_short_is_told_and_not_the_bracket_past_its_end() {
    let sentence = "tube \"upper rail\" to: x = 40.0 is probably 400.0: the decimal point is shifted; as written it is 121.3 mm from a \
                    bracket that it carries.";
    assert_told(UPPER[1], "to = [40.0, 360.0, 440.0]", sentence);
    let shifted = |end: &str, x: &str| format!("tube {end} is probably {x}: the decimal point is shifted;");
    assert_told(UPPER[0], "from = [-35.0, 360.0, 440.0]", &shifted("\"upper rail\" from: x = -35.0", "-350.0"));
    assert_told(LOWER[1], "to = [40.0, 345.0, 160.0]", &shifted("\"lower rail\" to: x = 40.0", "400.0"));
    assert_told(LOWER[0], "from = [-35.0, 345.0, 150.0]", &shifted("\"lower rail\" from: x = -35.0", "-350.0"));
}

/// As it was meant it goes as far behind the axle as ahead of it. Of its two brackets one alone is off it.
#[test]
fn a_rail_that_ends_as_far_behind_the_axle_as_ahead_of_it_is_told_at_its_short_end() {
    let both = |from: &str| format!("{}\nto = [330.0, 360.0, 440.0]", UPPER[0].replace("-350.0", from));
    let written = UPPER.join("\n");
    assert_eq!(told(&changed(CAR, &[(&written, &both("-330.0"))])), Vec::<String>::new());
    assert_told(&written, &both("-33.0"), "tube \"upper rail\" from: x = -33.0 is probably -330.0: the decimal point");
}

/// With its sign turned it would end ahead of the front axle.
#[test]
fn a_rail_ten_times_as_long_is_no_rail_with_its_sign_turned() {
    let began = "tube \"upper rail\" from: x = -3500.0 is probably -350.0: the decimal point is shifted";
    assert_told(UPPER[0], "from = [-3500.0, 360.0, 440.0]", began);
}

/// As it was meant it is level with its other end.
#[test]
fn a_rail_that_leans_by_a_slip_is_told_and_not_the_bracket_beside_it() {
    for (piece, other, begins) in [
        (
            UPPER[0],
            "from = [-350.0, 260.0, 440.0]",
            "tube \"upper rail\" from: y = 260.0 is probably 360.0: 100 mm off",
        ),
        (UPPER[1], "to = [400.0, 260.0, 440.0]", "tube \"upper rail\" to: y = 260.0 is probably 360.0: 100 mm off"),
        (UPPER[1], "to = [400.0, 360.0, 540.0]", "tube \"upper rail\" to: z = 540.0 is probably 440.0: 100 mm off"),
    ] {
        assert_told(piece, other, begins);
    }
}

/// The rails are as they were: the bracket is told.
#[test]
fn a_bracket_that_is_off_a_sound_rail_is_told() {
    let begins = "top wishbone rear leg chassis, left: x = -1500.0 is probably -150.0";
    assert_told("chassis = [-150.0, 400.0, 404.0]", "chassis = [-1500.0, 400.0, 404.0]", begins);
}

#[test]
fn a_hole_that_two_legs_share_is_not_doubted_where_a_leg_names_another_rail() {
    let piece = "chassis = [220.0, 345.0, 205.0]\nupright = [0.0, 678.0, 178.0]\nchassis_tube = \"lower rail\"";
    let begins = "The chassis point of link \"bottom wishbone front leg\" on the left is 235.5 mm from frame tube \"upper rail\"";
    assert_told(piece, &piece.replace("lower rail", "upper rail"), begins);
}

#[test]
fn a_hole_that_two_legs_share_is_not_doubted_where_a_bracket_is_in_its_rail() {
    let begins =
        "The chassis point of link \"top wishbone rear leg\" on the left is inside frame tube \"upper rail\": 5.0 mm";
    assert_told("chassis = [-150.0, 400.0, 404.0]", "chassis = [-150.0, 365.0, 440.0]", begins);
}
