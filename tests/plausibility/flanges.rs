//! The two flanges of a final drive beside each other.

use hubtrace::file::GeometryFile;
use hubtrace::geometry::Side;
use hubtrace::studies::plausibility::doubts;

const SEMI_TRAILING: &str = include_str!("../../geometries/semi-trailing.toml");
const LEFT: &str = "left = { at = [25.0, 205.0, 0.0]";
const RIGHT: &str = "right = { at = [25.0, -205.0, 0.0]";

/// Every doubt of the car with these flanges, behind the line of its first suspect.
fn told(left: [f64; 3], right: [f64; 3]) -> Vec<(Option<String>, String)> {
    let changed = SEMI_TRAILING.replacen(LEFT, &format!("left = {{ at = {left:?}"), 1);
    let changed = changed.replacen(RIGHT, &format!("right = {{ at = {right:?}"), 1);
    let file = GeometryFile::parse("rear.toml", &changed).unwrap_or_else(|error| panic!("{error}"));
    let line = |about: &str| Some(changed.lines().nth(file.line_of(Side::Left, about)? - 1)?.to_owned());
    let doubts = doubts(&file.geometry);
    doubts.into_iter().map(|doubt| (line(&doubt.suspects[0].about), doubt.sentence)).collect()
}

#[test]
fn a_flange_that_is_off_the_line_of_the_other_or_many_times_as_near_is_told_at_its_line() {
    for (left, right, name, sentence) in [
        (
            [52.0, 205.0, 0.0],
            [25.0, -205.0, 0.0],
            "left = {",
            "final_drive left: x = 52.0 is probably 25.0: two digits are swapped; as written it is 27.0 mm off the line of the other \
             flange, and both flanges of a final drive turn about one line.",
        ),
        (
            [25.0, 205.0, 0.0],
            [-25.0, -205.0, 0.0],
            "right = {",
            "final_drive right: x = -25.0 is probably 25.0: the sign is turned; as written it is 50.0 mm off the line of the other \
             flange, and both flanges of a final drive turn about one line.",
        ),
        (
            [25.0, 205.0, 0.0],
            [77.0, -205.0, 0.0],
            "left = {",
            "final_drive: `left` and `right` are 52.0 mm off one line; measure both again: both flanges of a final drive turn about one \
             line.",
        ),
        (
            [25.0, 20.5, 0.0],
            [25.0, -195.0, 0.0],
            "left = {",
            "final_drive left: y = 20.5 is probably 205.0: the decimal point is shifted; as written that flange is 20.5 mm out from the \
             datum of the housing, and the other one 195.0 mm.",
        ),
        (
            [25.0, 205.0, 0.0],
            [25.0, -8.27, 0.0],
            "right = {",
            "final_drive right: y = -8.27 is probably -210.1: it is in inches, and the file in mm; as written that flange is 8.3 mm out \
             from the datum of the housing, and the other one 205.0 mm.",
        ),
    ] {
        let told = told(left, right);
        assert_eq!(told.len(), 1, "{told:?}");
        assert_eq!(told[0].1, sentence);
        assert!(told[0].0.as_ref().is_some_and(|line| line.starts_with(name)), "{told:?}");
    }
}

/// Measured on a bench: one flange further from the datum, the datum at a flange, an axis that is off by a degree.
#[test]
fn a_housing_that_is_no_mirror_image_of_itself_is_sound() {
    for [left, right] in [
        [[25.0, 205.0, 0.0], [25.0, -195.0, 0.0]],
        [[25.0, 250.0, 0.0], [25.0, -160.0, 0.0]],
        [[25.0, 205.0, 4.0], [31.0, -205.0, -5.0]],
        [[25.0, 205.0, 0.0], [38.0, -205.0, 0.0]],
    ] {
        assert_eq!(told(left, right), []);
    }
    let at_flange = SEMI_TRAILING.replacen("origin = [-22.0, 0.0", "origin = [-22.0, -205.0", 1);
    let at_flange = at_flange.replacen(LEFT, "left = { at = [25.0, 410.0, 0.0]", 1);
    let at_flange = at_flange.replacen(RIGHT, "right = { at = [25.0, 0.0, 0.0]", 1);
    let at_flange = at_flange.replacen("pinion = { at = [190.0, 12.0", "pinion = { at = [190.0, 217.0", 1);
    let moved = |y: &str| at_flange.matches(y).count();
    assert_eq!([moved("-205.0, 279.0"), moved("410.0"), moved("217.0")], [1; 3]);
    let file = GeometryFile::parse("rear.toml", &at_flange).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(doubts(&file.geometry), []);
}

/// 680 mm of half-track and flanges 205 mm out: the shaft of the right one alone is too long, its flange in the wheel, or facing the sky.
#[test]
fn the_right_flange_between_wheels_that_are_alike_is_judged_by_its_shaft() {
    let told_of = |right: &str| {
        let text = SEMI_TRAILING.replacen("right = { at = [25.0, -205.0, 0.0], axis = [0.0, -1.0, 0.0]", right, 1);
        assert_ne!(text, SEMI_TRAILING, "{right}");
        let file = GeometryFile::parse("rear.toml", &text).unwrap_or_else(|error| panic!("{error}"));
        doubts(&file.geometry).into_iter().map(|doubt| doubt.sentence).collect::<Vec<_>>()
    };
    let flange = |y: f64| format!("right = {{ at = [25.0, {y:?}, 0.0], axis = [0.0, -1.0, 0.0]");
    for y in [-195.0, -215.0] {
        assert_eq!(told_of(&flange(y)), [""; 0], "{y}");
    }
    let told = told_of(&flange(-810.0));
    let head = "final_drive right: y = -810.0 is probably -180.0: two digits are swapped; as written it is 810.0 mm out from the middle \
                of the car, and 40.0 mm to ";
    assert!(told.len() == 1 && told[0].starts_with(head), "{told:?}");
    let told = told_of("right = { at = [25.0, -205.0, 0.0], axis = [0.0, -1.0, 90.0]");
    assert!(told.len() == 1 && told[0].ends_with(" deg away from its shaft; measure it again."), "{told:?}");
}
