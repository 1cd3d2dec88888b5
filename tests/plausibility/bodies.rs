//! Shaft, boots, joint and plunge of a halfshaft beside each other, at an upright that was measured from the face of its hub.

use crate::told::changed;

const CAR: &str = include_str!("hub-face.toml");

fn told(changes: &[(&str, &str)]) -> Vec<String> {
    crate::told::told(&changed(CAR, changes))
}

#[test]
fn a_shaft_that_is_thicker_than_its_boots_is_told() {
    let boot = "boot_radius = 40.0";
    for (shaft, boot_is, rest) in [
        ("41.0", boot, "41.0 mm and `boot_radius` 40.0 mm; probably `shaft_radius` is 14.0: two digits are swapped."),
        (
            "32.0",
            "boot_radius = 17.0",
            "32.0 mm and `boot_radius` 17.0 mm; probably `boot_radius` is 71.0: two digits are swapped.",
        ),
        ("44.0", boot, "44.0 mm and `boot_radius` 40.0 mm; measure both again."),
    ] {
        let of = if boot_is == boot { "shaft_radius" } else { "boot_radius" };
        let sentence = format!("`{of}`: the halfshaft is thicker than the boot over its joint, `shaft_radius` {rest}");
        assert_eq!(told(&[("shaft_radius = 14.0", &format!("shaft_radius = {shaft}")), (boot, boot_is)]), [sentence]);
    }
    assert_eq!(told(&[("shaft_radius = 14.0", "shaft_radius = 40.0")]), Vec::<String>::new());
}

#[test]
fn an_outer_joint_in_the_flange_of_its_hub_is_told() {
    let with = |y: &str| {
        let lengths = [("length_min = 455.0\n", ""), ("length_max = 505.0\n", ""), ("offset = 35.0", "offset = 12.0")];
        let outer = format!("outer = [0.0, {y}, 0.0]");
        // The wheel goes out by what its offset leaves.
        let moved = ("centre = [0.0, 769.4, 302.8]", "centre = [0.0, 792.4, 302.8]");
        told(&[lengths.as_slice(), &[moved, ("outer = [0.0, -112.0, 0.0]", &outer)]].concat())
    };
    assert_eq!(
        with("-11.2"),
        [
            "halfshaft outer, left: y = -11.2 is probably -112.0: the decimal point is shifted; as written it is 11.2 mm inboard of the \
          face on which the wheel seats."
        ]
    );
    assert_eq!(with("-112.0"), Vec::<String>::new());
    assert_eq!(with("-30.0"), Vec::<String>::new());
}

#[test]
fn a_narrow_window_is_told_where_the_shaft_is_far_out_of_it_alone() {
    let with = |window: &str| told(&[("plunge_window = [-12.0, 12.0]", &format!("plunge_window = {window}"))]);
    assert_eq!(
        with("[-0.47, 0.47]"),
        [
            "`plunge_window`: [-0.47, 0.47] is probably [-11.9, 11.9]: it is in inches, and the file in mm; over the travel the shaft plunges \
          -2.7 mm, far out of it."
        ]
    );
    assert_eq!(with("[-1.2, 1.2]").len(), 1);
    // A shaft of fixed length that this one all but is.
    assert_eq!(with("[-1.5, 1.0]"), Vec::<String>::new());
    assert_eq!(
        with("[-0.012, 0.012]"),
        [
            "`plunge_window`: 0.024 mm is no halfshaft's plunge, end to end, probably 24.0: it is in metres; 0.5 mm to 200.0 mm is usual."
        ]
    );
}
