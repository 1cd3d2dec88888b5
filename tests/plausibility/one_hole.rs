//! Two ends of links that were meant to share one hole, and one number of one of them.

use crate::told::last_changed;

/// Wishbones of two links on one ball each; upright points from the face of the hub.
const ONE_BALL: &str = r#"schema = 1
name = "one ball"
upright_axes = "hub face"
[wheel]
centre = [0.0, 565.0, 252.0]
tyre_radius = 252.0
toe = 0.05
camber = -1.0
offset = 20.0
[[link]]
name = "lower wishbone front"
chassis = [330.0, 190.0, 128.0]
upright = [12.0, -62.0, -118.0]
[[link]]
name = "lower wishbone rear"
chassis = [-60.0, 170.0, 125.0]
upright = [12.0, -62.0, -118.0]
[[link]]
name = "top front"
chassis = [240.0, 235.0, 318.0]
upright = [15.0, -85.0, 105.0]
[[link]]
name = "top rear"
chassis = [-80.0, 215.0, 312.0]
upright = [15.0, -85.0, 105.0]
[[link]]
name = "toe link"
chassis = [-115.0, 172.0, 160.0]
upright = [-105.0, -70.0, -80.0]
"#;

fn told(car: &str, change: [&str; 2]) -> Vec<String> {
    crate::told::told(&last_changed(car, change))
}

#[test]
fn this_car_is_sound() {
    assert_eq!(told(ONE_BALL, ["schema", "schema"]), Vec::<String>::new());
}

/// The other two numbers are to the last digit those of the hole that the two links share.
#[test]
fn of_two_ends_that_agree_in_two_numbers_the_third_is_told() {
    let row = "[15.0, -85.0, 105.0]";
    for (other, begins) in [
        ("[15.0, -8.5, 105.0]", "top rear upright, left: y = -8.5 is probably -85.0"),
        ("[15.0, -58.0, 105.0]", "top rear upright, left: y = -58.0 is probably -85.0"),
        ("[15.0, -95.0, 105.0]", "top rear upright, left: y = -95.0 is probably -85.0"),
        ("[15.0, -85.0, 115.0]", "top rear upright, left: z = 115.0 is probably 105.0"),
        ("[15.0, -85.0, 10.5]", "top rear upright, left: z = 10.5 is probably 105.0"),
    ] {
        let told = told(ONE_BALL, [row, other]);
        assert!(told.len() == 1 && told[0].starts_with(begins), "{other}: {told:#?}");
        assert!(!told[0].contains("x = "), "{told:#?}");
    }
    let told = told(ONE_BALL, [row, "[15.0, -70.0, 105.0]"]);
    assert!(told.len() == 1 && told[0].contains("top rear upright: y = -70.0 is probably -85.0"), "{told:#?}");
}

/// A hole that would stand in the hub's bearing was not meant.
#[test]
fn of_two_ends_the_one_that_stands_in_the_hub_is_told_alone() {
    let told = told(ONE_BALL, ["[15.0, -85.0, 105.0]", "[15.0, -85.0, 10.5]"]);
    assert!(told.len() == 1 && !told[0].contains("top front upright: z ="), "{told:#?}");
}
