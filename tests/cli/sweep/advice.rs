//! What `hubtrace sweep` adds from the same derivatives: the cure, the tape's band, other ride heights.

use std::fmt::Display;

use super::sweep;
use crate::car::Car;
use crate::screen::assert_fits_the_width;

fn screen(car: impl Display) -> String {
    let ran = sweep(car);
    assert_fits_the_width(&ran.out);
    assert!(ran.err.is_empty(), "{ran}");
    ran.screen()
}

#[test]
fn the_cure_is_told_when_bump_steer_fails_and_not_otherwise() {
    let cure = "Cure by one bracket (the curve is mostly slope): the \"toe link\" inner bracket";
    assert!(screen(Car::demo()).contains(cure));
    assert!(!screen(Car::demo().set("limits.bump_steer", "0.9")).contains("Cure"));
    assert!(!screen(Car::demo().without("limits.bump_steer")).contains("Cure"));
}

/// The sentence is followed to the letter: the bracket goes where it says, and what it says is left.
#[test]
fn the_cure_leaves_what_it_says() {
    let said = screen(Car::demo());
    assert!(said.contains("16.5 mm inboard and 2.7 mm up leaves 0.004 deg"), "{said}");
    let ran = sweep(Car::demo().set("toe link.chassis", "[-150.0, 359.5, 257.7]")).ends_with(0);
    let worst: f64 = ran
        .screen()
        .split("worst bump steer ")
        .nth(1)
        .and_then(|rest| rest.split(' ').next()?.parse().ok())
        .expect("a number");
    // The tenths of a millimetre that were told are worth 0.05 mm times 0.134 deg per mm.
    assert!(worst.abs() < 0.004 + 0.0075, "{worst}");
}

/// What the screen advises and what the file lets move are of one frame. A coordinate that is not free has no room where another one has.
#[test]
fn a_cure_says_how_far_it_is_beyond_the_free_room() {
    let beyond = |free: &str| {
        let ran = sweep(Car::demo().set("toe link.free.chassis", free));
        let said = ran.screen();
        assert!(said.contains("16.5 mm inboard and 2.7 mm up leaves 0.004 deg"), "{said}");
        let told = said.split_once(" That is ").and_then(|(_, rest)| rest.split_once(" beyond its free room."));
        let count = ran.summary()["heave"]["left"]["cure"]["beyond_room"].as_array().map(Vec::len);
        (told.map(|(mm, _)| mm.to_owned()), count)
    };
    let told = |words: &str| Some(words.to_owned());
    assert_eq!(beyond("{ y = [-25.0, 25.0], z = [-25.0, 25.0] }"), (None, Some(0)));
    assert_eq!(beyond("{ y = [-10.0, 25.0], z = [-25.0, 25.0] }"), (told("6.5 mm inboard"), Some(1)));
    assert_eq!(beyond("{ y = [-10.0, 25.0] }"), (told("6.5 mm inboard and 2.7 mm up"), Some(2)));
    let said = screen(Car::demo().without("toe link.free"));
    assert!(said.contains("Cure by one bracket") && !said.contains("beyond its free room"), "{said}");
}

#[test]
fn the_tape_has_a_band_that_widens_with_its_error() {
    let band = |sd: &str| {
        let said = screen(format!("{}\n[tape]\nsd = {sd}\n", Car::demo()));
        let band = said.split(&format!("of one wheel with your tape error ({sd}0 mm one sd): ")).nth(1);
        let (band, rest) = band.and_then(|band| band.split_once(" deg, 19 times of 20; ")).expect("the band");
        let numbers: Vec<f64> = band.split(" to ").filter_map(|word| word.parse().ok()).collect();
        assert!(rest.starts_with("0.52 deg without errors.") && numbers[0] < 0.52 && numbers[1] > 0.52, "{said}");
        numbers[1] - numbers[0]
    };
    assert!(band("1.5") > 2.0 * band("0.5"));
    assert!(!screen(Car::demo()).contains("tape error"));
}

#[test]
fn other_ride_heights_have_a_line_each() {
    let said = screen(Car::demo().set("travel.ride_heights", "[-15.0, 0.0, 10.0]"));
    for height in ["-15.0", "0.0", "10.0"] {
        assert!(said.contains(&format!("about ride height {height} mm: worst")), "{said}");
    }
}

/// A limit that no single bracket reaches: the best move is told, and is no cure. The length is that of the moved link.
#[test]
fn a_move_that_leaves_the_limit_broken_is_no_cure() {
    for (limit, head) in [
        ("0.05", "Cure by one bracket (the curve"),
        ("0.0005", "No single bracket cures it beside the other limits; the best"),
    ] {
        let car = Car::demo().set("limits.bump_steer", limit);
        let ran = sweep(car.clone());
        ran.assert_shows(&[head, "Link 293.5 ->"]);
        let cure = &ran.summary()["heave"]["left"]["cure"];
        assert_eq!(cure["cures"], limit == "0.05", "{cure}");
        let link = cure["link"].as_str().expect("a name");
        let (mut chassis, upright) = (car.numbers(&format!("{link}.chassis")), car.numbers(&format!("{link}.upright")));
        for moved in cure["moves"].as_array().expect("a list") {
            let axis = ["x", "y", "z"].iter().position(|axis| moved["axis"] == *axis).expect("an axis");
            chassis[axis] += moved["by_mm"].as_f64().expect("a number");
        }
        let length_mm = chassis.iter().zip(&upright).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt();
        assert!((cure["new_length_mm"].as_f64().expect("a number") - length_mm).abs() < 1e-9, "{cure}");
    }
}
