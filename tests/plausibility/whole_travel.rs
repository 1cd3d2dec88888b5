//! What only the whole travel tells.

use crate::told::last_changed;

/// A wide five link: 80 mm of droop, 70 mm of bump.
const WIDE: &str = r#"schema = 1
name = "wide"
[wheel]
centre = [-2560.0, 828.0, 207.0]
tyre_radius = 325.0
toe = 0.15
camber = -1.8
[[link]]
name = "UCF"
chassis = [-2420.0, 470.0, 330.0]
upright = [-2538.0, 712.0, 352.0]
[[link]]
name = "UCR"
chassis = [-2660.0, 455.0, 322.0]
upright = [-2596.0, 706.0, 347.0]
[[link]]
name = "LCF"
chassis = [-2255.0, 430.0, 95.0]
upright = [-2525.0, 742.0, 70.0]
[[link]]
name = "LCR"
chassis = [-2620.0, 395.0, 82.0]
upright = [-2585.0, 738.0, 64.0]
[[link]]
name = "toe"
chassis = [-2730.0, 430.0, 172.0]
upright = [-2702.0, 728.0, 176.0]
[travel]
bump = 70.0
droop = 80.0
"#;

fn told(car: &str, change: [&str; 2]) -> Vec<String> {
    crate::told::told(&last_changed(car, change))
}

#[test]
fn this_car_is_sound() {
    assert_eq!(told(WIDE, ["schema", "schema"]), Vec::<String>::new());
}

/// Beside its drawn height the wheel steers as many a first cut does, and at full droop by 3 to 5 deg.
#[test]
fn a_bracket_with_which_the_wheel_steers_over_its_travel_is_told() {
    for (row, other, number) in [
        ("[-2420.0, 470.0, 330.0]", "[-2420.0, 470.0, 430.0]", "or 330.0: 100 mm off"),
        (
            "[-2420.0, 470.0, 330.0]",
            "[-2420.0, 330.0, 470.0]",
            "is probably [-2420.0, 470.0, 330.0]: y and z are exchanged",
        ),
        ("[-2660.0, 455.0, 322.0]", "[-2660.0, 455.0, 232.0]", "z = 232.0 is probably 322.0: two digits are swapped"),
    ] {
        let told = told(WIDE, [row, other]);
        assert!(told.len() == 1 && told[0].starts_with("UC") && told[0].contains(number), "{told:#?}");
        assert!(told[0].contains("deg over the travel"), "{told:#?}");
    }
}
