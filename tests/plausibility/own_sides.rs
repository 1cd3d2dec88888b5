//! A right side of its own: what it says of the left one, and the left one of it.

use crate::told::{changed, last_changed, told};

const CAR: &str = include_str!("own-sides.toml");

/// `y` of the right side has the other sign, and is left out.
fn both_told(left: [&str; 2], right: [&str; 2]) -> [Vec<String>; 2] {
    [told(&changed(CAR, &[(left[0], left[1])])), told(&last_changed(CAR, right))]
}

#[test]
fn the_car_of_these_tests_is_sound() {
    assert_eq!(told(CAR), Vec::<String>::new());
}

/// A bracket 100 mm too high steers the wheel, and another number that stands on both sides turned would undo that.
#[test]
fn a_number_that_stands_on_both_sides_is_not_accused_where_another_one_differs() {
    for (about, [left, right]) in [
        (
            "TL chassis: z = ",
            [["[-9.0, 14.9, 11.0]", "[-9.0, 14.9, 14.937]"], ["[-9.05, -14.85, 11.06]", "[-9.05, -14.85, 14.937]"]],
        ),
        (
            "LR chassis: z = ",
            [["[-7.0, 13.4, 8.1]", "[-7.0, 13.4, 7.1]"], ["[-7.0, -13.4, 8.1]", "[-7.0, -13.4, 7.1]"]],
        ),
        (
            "UR upright: z = ",
            [["[-2.4, 26.8, 19.1]", "[-2.4, 26.8, 15.163]"], ["[-2.4, -26.8, 19.1]", "[-2.4, -26.8, 15.163]"]],
        ),
    ] {
        for told in both_told(left, right) {
            assert!(told.len() == 1 && told[0].starts_with(about), "{about}: {told:#?}");
            assert!(told[0].contains("apart, more than welding explains"), "{told:#?}");
        }
    }
}

/// The row of LF in the place of that of UF.
#[test]
fn a_row_that_was_copied_accuses_no_other_number_of_its_link() {
    let told = told(&changed(CAR, &[("[7.0, 16.5, 17.9]", "[9.2, 13.6, 8.3]")]));
    assert!(
        told.len() == 1 && told[0].starts_with("UF chassis: z = 8.3 on the left and 17.95 on the right"),
        "{told:#?}"
    );
    let copied = "; LF chassis and UF chassis both have [9.2, 13.6, 8.3]: was one row copied?";
    assert!(told[0].ends_with(copied), "{told:#?}");
}

/// The right side has a mistake too, and neither is sound.
#[test]
fn a_number_that_stands_on_both_sides_is_not_accused_where_both_sides_have_a_mistake() {
    for (about, [piece, other]) in [
        ("LR chassis", ["[-7.0, 13.4, 8.1]", "[-7.0, 13.4, 7.1]"]),
        ("UR upright", ["[-2.4, 26.8, 19.1]", "[-2.4, 26.8, 15.163]"]),
        ("UF chassis", ["[7.0, 16.5, 17.9]", "[9.2, 13.6, 8.3]"]),
    ] {
        let left = changed(CAR, &[(piece, other)]);
        let told = told(&last_changed(&left, ["[-9.05, -14.85, 11.06]", "[-9.05, -14.85, 15.06]"]));
        assert_eq!(told.len(), 2, "{told:#?}");
        assert!(told.iter().any(|told| told.starts_with(about)), "{about}: {told:#?}");
        assert!(told.iter().any(|told| told.starts_with("TL chassis")), "{told:#?}");
        let sound = ["x = -7.0", "x = -2.4", "x = -6.0", "y = 28.6", "z = 19.2"];
        assert!(told.iter().all(|told| !sound.iter().any(|sound| told.contains(sound))), "{told:#?}");
    }
}
