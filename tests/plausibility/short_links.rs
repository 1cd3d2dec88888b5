//! A car of short links whose upright counts from the face of its hub: one slip each, and what is told of it.

use crate::told::{changed, told};

const CAR: &str = include_str!("short-links.toml");

/// The only doubt about the car with another piece in the place of one.
fn only(piece: &str, other: &str) -> String {
    let mut told = told(&changed(CAR, &[(piece, other)]));
    assert_eq!(told.len(), 1, "{other}: {told:#?}");
    told.remove(0)
}

fn assert_begins(piece: &str, other: &str, begins: &str) {
    let told = only(piece, other);
    assert!(told.starts_with(begins), "{other}: {told}");
}

#[test]
fn the_car_of_these_tests_is_sound() {
    assert_eq!(told(CAR), Vec::<String>::new());
}

/// A rod end that is nearer to the wheel's seat than its own half and the head of its bolt.
#[test]
fn a_hole_at_the_face_on_which_the_wheel_seats_is_told() {
    for (link, piece, other, meant) in [
        ("UF", "[35.0, -90.0,", "[35.0, -9.0,", "-9.0 is probably -90.0: the decimal point is shifted"),
        ("LF", "[30.0, -72.0,", "[30.0, -7.2,", "-7.2 is probably -72.0: the decimal point is shifted"),
        ("LR", "[-45.0, -70.0,", "[-45.0, -7.0,", "-7.0 is probably -70.0: the decimal point is shifted"),
    ] {
        let told = only(piece, other);
        assert!(told.starts_with(&format!("{link} upright, left: y = {meant}")), "{told}");
        assert!(told.contains("inboard of the face on which the wheel seats"), "{told}");
    }
    // A steering axis in the wheel's centre plane, 25 mm inboard of that face.
    let in_plane = [("[30.0, -72.0,", "[30.0, -40.0,"), ("[-45.0, -70.0,", "[-45.0, -40.0,")];
    assert_eq!(told(&changed(CAR, &in_plane)), Vec::<String>::new());
}

#[test]
fn a_track_that_no_car_on_small_tyres_has_is_told() {
    let expected = "wheel centre, left: y = 960.0 makes a track of 1929.9 mm, and no car on tyres of 284.0 mm radius has that; probably \
                    690.0: two digits are swapped.";
    assert_eq!(only("centre = [0.0, 690.0,", "centre = [0.0, 960.0,"), expected);
}

/// The other leg of what may be one arm lies across the car, level with it at both ends.
#[test]
fn a_long_link_along_the_car_beside_its_pair_is_told() {
    let begins = "UF chassis, left: x = 1400.0 is probably 140.0: the decimal point is shifted";
    assert_begins("chassis = [140.0, 350.0, 372.0]", "chassis = [1400.0, 350.0, 372.0]", begins);
    // A bulkhead has its brackets where it has room.
    let trailing = changed(CAR, &[("chassis = [140.0, 350.0, 372.0]", "chassis = [1400.0, 470.0, 330.0]")]);
    assert_eq!(told(&trailing), Vec::<String>::new());
}

#[test]
fn a_number_whose_last_zero_was_left_out_is_offered_beside_inches() {
    let begins = "LF upright, left: x = 3.0 is probably 76.2: it is in inches, and the file in mm; or 30.0: the decimal point is shifted;";
    assert_begins("[30.0, -72.0,", "[3.0, -72.0,", begins);
}

#[test]
fn an_offset_of_no_wheel_is_told_and_not_the_axes() {
    for (offset, meant) in [("125.0", "25.0: 100 mm off"), ("200.0", "20.0: the decimal point is shifted")] {
        let told = only("offset = 25.0", &format!("offset = {offset}"));
        let begins = format!(
            "offset, left: {offset} mm is no wheel's, and the upright points stand nowhere near it; probably {meant}"
        );
        assert!(told.starts_with(&begins), "{told}");
    }
}

/// Of two links that cross either may be wrong.
#[test]
fn a_link_that_is_crossed_is_named_beside_the_one_that_lies_across_it() {
    for (x, meant) in [("157.0", "T chassis: x = 157.0 is probably"), ("75.0", "T chassis: x = 75.0 is probably 175.0")]
    {
        let told = only("chassis = [175.0, 345.0, 262.0]", &format!("chassis = [{x}, 345.0, 262.0]"));
        assert!(told.starts_with("LF chassis, left: x = 260.0") && told.contains(&format!("; or {meant}")), "{told}");
    }
}

/// It lies along the car as written, and has more links to be compared with when it lies across.
#[test]
fn a_link_that_was_meant_to_lie_across_is_told_first() {
    let begins = "T chassis, left: x = 715.0 is probably 175.0: two digits are swapped;";
    assert_begins("chassis = [175.0, 345.0, 262.0]", "chassis = [715.0, 345.0, 262.0]", begins);
}
