//! Files that cannot be worked with: one mistake gives one message, at its line.

use hubtrace::cli::listing;
use hubtrace::file::{GeometryFile, StarterRequest, starter_text};
use hubtrace::geometry::LengthUnit;
use hubtrace::studies::plausibility::{Doubt, doubts};

const HUB_FACE: &str = include_str!("hub-face.toml");

fn doubts_of(text: &str) -> Vec<Doubt> {
    doubts(&GeometryFile::parse("car.toml", text).unwrap_or_else(|error| panic!("{error}")).geometry)
}

/// What cannot be worked with, with its lines.
fn refused(text: &str) -> Vec<String> {
    let error = GeometryFile::parse("car.toml", text).map(|_| ()).expect_err("a mistake");
    error.to_string().lines().map(String::from).collect()
}

fn line_of(text: &str, piece: &str) -> String {
    let line = text.lines().position(|line| line.contains(piece)).expect("a line") + 1;
    format!("car.toml, line {line}, ")
}

/// One wheel centre in inches, and five ends of links, the joint and the damper were told.
#[test]
fn a_wheel_in_the_middle_of_the_car_is_one_mistake() {
    for (other, ends) in [("[0.0, 30.29, 11.92]", 5), ("[0.0, 76.94, 302.8]", 2)] {
        let text = HUB_FACE.replacen("[0.0, 769.4, 302.8]", other, 1);
        let told = refused(&text);
        assert!(told.len() == 1 && told[0].starts_with(&line_of(&text, other)), "{told:#?}");
        assert!(
            told[0].contains(&format!("and {ends} ends of links that count from its hub are on the other side")),
            "{told:#?}"
        );
    }
}

#[test]
fn a_number_that_is_there_is_not_missing() {
    let text = HUB_FACE.replacen("length_max = 505.0", "length_max = 5050.0", 1);
    let told = refused(&text);
    assert!(told.len() == 1 && told[0].contains("`length_max` is out of range: 5050.0 mm"), "{told:#?}");
}

/// The other tyre stands on z = 0.
#[test]
fn the_wheel_that_leaves_the_road_is_told() {
    let right = "\n[right.wheel]\ncentre = [0.0, -769.4, 302.8]\ntyre_radius = 303.0\ntoe = 0.12\ncamber = -2.0\noffset = 35.0\n";
    let own = format!("{HUB_FACE}{right}");
    assert_eq!(doubts_of(&own), []);
    let of_right = own.replacen(
        "tyre_radius = 303.0\ntoe = 0.12\ncamber = -2.0\n",
        "tyre_radius = 353.0\ntoe = 0.12\ncamber = -2.0\n",
        1,
    );
    let told = refused(&of_right);
    assert!(told.len() == 1 && told[0].starts_with(&line_of(&of_right, "tyre_radius = 353.0")), "{told:#?}");
    let of_left = own.replacen("centre = [0.0, 769.4, 302.8]", "centre = [0.0, 769.4, 327.8]", 1);
    let told = refused(&of_left);
    assert!(told.iter().any(|told| told.starts_with(&line_of(&of_left, "327.8"))), "{told:#?}");
    assert!(!told.iter().any(|told| told.starts_with(&line_of(&of_left, "[0.0, -769.4"))), "{told:#?}");
}

/// A diameter in inches is also near to a radius in cm.
#[test]
fn the_diameter_of_a_tyre_in_inches_is_told_as_one() {
    let text = starter_text(&StarterRequest::new(None, None).expect("a car"), LengthUnit::Inch);
    let line_of = |key: &str| text.lines().find(|line| line.starts_with(key)).expect("a line");
    let (centre, radius) = (line_of("centre"), line_of("tyre_radius"));
    let right = centre.replacen(", ", ", -", 1);
    let wrong = format!("{}\n[right.wheel]\n{right}\n{radius}\n", text.replacen(radius, "tyre_radius = 24.92", 1));
    let error = GeometryFile::parse("car.toml", &wrong).map(|_| ());
    let told = format!("{:?}", error.expect_err("a mistake"));
    assert!(told.contains("probably 12.46") && told.contains("that is the diameter"), "{told}");
}

/// Its other points count from the hub.
#[test]
fn an_outer_joint_in_car_axes_is_told_as_that() {
    let hub_face = include_str!("hub-face.toml");
    let at = hub_face.find("outer = [").expect("a joint");
    let end = at + hub_face[at..].find(']').expect("its end");
    let error = |outer: &str| {
        let text = format!("{}outer = [{outer}{}", &hub_face[..at], &hub_face[end..]);
        GeometryFile::parse("car.toml", &text).expect_err("a joint outside its wheel").to_string()
    };
    assert!(
        error("0.0, 690.0, 298.0").contains("in car axes those of a place in it"),
        "{}",
        error("0.0, 690.0, 298.0")
    );
    assert!(!error("0.0, 2690.0, 298.0").contains("in car axes"), "{}", error("0.0, 2690.0, 298.0"));
}

/// 26.82 in is twice 13.41 in, with which the tyre stands on z = 0, and 10.559 in where it is read as cm.
#[test]
fn a_radius_of_no_tyre_was_meant_to_stand_on_the_floor() {
    let car = include_str!("own-sides.toml");
    for (other, why) in [("26.82", "that is the diameter"), ("31.41", "two digits are swapped")] {
        let text = car.replacen("tyre_radius = 13.41", &format!("tyre_radius = {other}"), 1);
        let error = GeometryFile::parse("car.toml", &text).map(|_| ()).expect_err("a mistake");
        let told: Vec<String> = listing(&error).replace('|', " ").split_whitespace().map(String::from).collect();
        let told = told.join(" ");
        let meant = format!("probably 13.41, hub centre to the floor, car on its wheels: {why}");
        assert!(told.contains(&meant), "{told}");
    }
}
