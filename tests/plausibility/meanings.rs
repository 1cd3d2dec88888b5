//! What was meant by a number of a part: of several units the one that makes a usual part.

use crate::told::changed;
use hubtrace::file::GeometryFile;
use hubtrace::geometry::LengthUnit;
use hubtrace::studies::plausibility::doubts;

const HUB_FACE: &str = include_str!("hub-face.toml");

fn told(car: &str, piece: &str, other: &str) -> Vec<String> {
    crate::told::told(&changed(car, &[(piece, other)]))
}

#[test]
fn a_tube_in_cm_is_told_as_one() {
    let told = told(HUB_FACE, "od = 25.0, wall = 2.5", "od = 2.5, wall = 0.25");
    assert!(told.len() == 1 && told[0].ends_with("probably od = 25.0, wall = 2.5: it is in cm."), "{told:#?}");
}

#[test]
fn a_rod_end_of_no_car_is_told_once() {
    let told = told(HUB_FACE, "rod_end_limit = 16.0", "rod_end_limit = 61.0");
    assert_eq!(told, ["`rod_end_limit`: 61 deg is no rod end's; 4 deg to 45 deg is usual."]);
}

/// The spring of most cars is longer than 165 mm.
#[test]
fn a_free_length_in_inches_is_told_as_one() {
    let told = told(HUB_FACE, "free_length = 420.0", "free_length = 16.5");
    assert!(told.len() == 1 && told[0].contains("probably 419.1: it is in inches"), "{told:#?}");
}

/// On a gauge in mm, or with its point elsewhere.
#[test]
fn a_toe_of_no_wheel_is_told_with_both_numbers_that_may_be_meant() {
    let told = told(HUB_FACE, "toe = 0.12", "toe = 1.2");
    assert!(told.len() == 1 && told[0].contains("probably 0.15") && told[0].contains("or 0.12"), "{told:#?}");
}

/// With its sign turned the joint would be as far behind the pinion as a shaft is long.
#[test]
fn a_joint_of_the_propeller_shaft_is_meant_ahead_of_the_pinion() {
    let text = include_str!("../../geometries/semi-trailing.toml");
    let mut car = GeometryFile::parse("car.toml", text).unwrap_or_else(|error| panic!("{error}")).geometry;
    car.units = LengthUnit::Inch;
    car.propshaft.as_mut().expect("a shaft").joints[0].at.x = 4.4 * LengthUnit::Inch.in_mm();
    let told: Vec<String> = doubts(&car).into_iter().map(String::from).collect();
    assert!(
        told.iter().any(|told| told.contains("x = 4.4 is probably 44.0: the decimal point is shifted")),
        "{told:#?}"
    );
}

/// Half of 921.1 is a radius of large tyres, whose wheel would stand 170 mm in the ground.
#[test]
fn a_radius_of_no_tyre_was_meant_to_stand_on_the_floor() {
    let car = include_str!("two-wishbones.toml");
    for (other, why) in
        [("921.1", "two digits are swapped"), ("582.2", "that is the diameter"), ("791.1", "one digit is another")]
    {
        let told = told(car, "tyre_radius = 291.1", &format!("tyre_radius = {other}"));
        assert!(told.len() == 1 && told[0].ends_with(&format!("probably 291.1: {why}.")), "{told:#?}");
    }
}
