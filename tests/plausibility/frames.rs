//! Tubes of a frame beside each other: ends that meet no other tube until one slip is undone, and tubes that touch the road.

use crate::told::changed;

const CAR: &str = include_str!("hub-face.toml");
const UPRIGHT: &str =
    "[[tube]]\nname = \"rear upright\"\nfrom = [-205.0, 338.0, 192.0]\nto = [-205.0, 345.0, 450.0]\nod = 30.0\n";

/// What is told of a car with two rails and an upright between them, with pieces of its text in place of others.
fn told(changes: &[(&str, &str)]) -> Vec<String> {
    let level = [("to = [400.0, 350.0, 455.0]", UPPER_TO), ("to = [400.0, 330.0, 192.0]", LOWER_TO)];
    let text = changed(&changed(&format!("{CAR}\n{UPRIGHT}"), &level), changes);
    crate::told::told(&text)
}

fn assert_told(piece: &str, other: &str, sentence: &str) {
    assert_eq!(told(&[(piece, other)]), [sentence], "{other}");
}

const UPPER_FROM: &str = "from = [-350.0, 345.0, 450.0]";
const UPPER_TO: &str = "to = [350.0, 345.0, 450.0]";
const LOWER_TO: &str = "to = [350.0, 330.0, 192.0]";
const UPRIGHT_FROM: &str = "from = [-205.0, 338.0, 192.0]";

#[test]
fn a_frame_whose_tubes_meet_raises_no_doubt() {
    assert_eq!(told(&[]), Vec::<String>::new());
}

#[test]
fn a_rail_across_the_car_is_told_by_the_tube_that_then_ends_on_it() {
    let why = "the sign is turned; as written the tube goes from one side of the car to the other and meets none, and with that tube \
               \"rear upright\" ends on it.";
    let sentence = |end: &str| format!("tube \"upper rail\" {end}: y = -345.0 is probably 345.0: {why}");
    assert_told(UPPER_FROM, "from = [-350.0, -345.0, 450.0]", &sentence("from"));
    assert_told(UPPER_TO, "to = [350.0, -345.0, 450.0]", &sentence("to"));
}

/// A brace in plan, a cross tube, and a tube that leans across the car in one plane.
#[test]
fn a_tube_that_crosses_the_car_by_design_is_sound() {
    for (from, to) in [
        ([-350.0, 345.0, 450.0], [350.0, -345.0, 450.0]),
        ([-350.0, 330.0, 192.0], [350.0, -330.0, 192.0]),
        ([-350.0, 330.0, 192.0], [-350.0, -330.0, 192.0]),
        ([-205.0, -330.0, 192.0], [-205.0, 345.0, 450.0]),
        ([-205.0, -330.0, 192.0], [200.0, 345.0, 450.0]),
    ] {
        let brace = format!(
            "[[tube]]\nname = \"brace\"\nfrom = {from:?}\nto = {to:?}\nod = 30.0\n[[tube]]\nname = \"rear upright\""
        );
        assert_eq!(told(&[("[[tube]]\nname = \"rear upright\"", &brace)]), Vec::<String>::new(), "{brace}");
    }
}

#[test]
fn an_end_that_stands_alone_until_one_slip_is_undone_is_told() {
    assert_told(
        UPPER_TO,
        "to = [350.0, 345.0, 45.0]",
        "tube \"upper rail\" to: z = 45.0 is probably 450.0: the decimal point is shifted; as written tube \"rear upright\" ends beside it, and \
         with that on it.",
    );
    assert_told(
        UPRIGHT_FROM,
        "from = [-205.0, 338.0, 912.0]",
        "tube \"rear upright\" from: z = 912.0 is probably 192.0: two digits are swapped; as written it is 462.1 mm from every other tube, \
         and with that it meets \"lower rail\".",
    );
    assert_told(
        UPPER_TO,
        "to = [3500.0, 345.0, 450.0]",
        "tube \"upper rail\" to: x = 3500.0 is probably 350.0: the decimal point is shifted; as written it is 3160.6 mm from every other \
         tube, and with that it ends where \"lower rail\" does.",
    );
}

/// A frame goes where its builder wants it: what one slip makes no sounder is left.
#[test]
fn an_end_that_no_slip_brings_to_another_tube_is_sound() {
    for (piece, other) in [
        (UPPER_TO, "to = [2400.0, 345.0, 450.0]"),
        (UPPER_TO, "to = [3300.0, 345.0, 450.0]"),
        (UPPER_TO, "to = [350.0, 345.0, 1050.0]"),
        (UPRIGHT_FROM, "from = [-205.0, 338.0, 904.0]"),
        (UPPER_FROM, "from = [-200.0, 345.0, 450.0]"),
    ] {
        assert_eq!(told(&[(piece, other)]), Vec::<String>::new(), "{other}");
    }
}

#[test]
fn a_tube_that_touches_the_road_is_told_with_the_height_of_the_other_end() {
    assert_told(
        UPPER_TO,
        "to = [350.0, 345.0, 17.717]",
        "tube \"upper rail\" to: z = 17.717 is probably 450.0: it is in inches, and the file in mm; as written its underside is 2.3 mm below \
         the road.",
    );
    assert_told(
        UPRIGHT_FROM,
        "from = [-205.0, 338.0, 7.559]",
        "tube \"rear upright\" from: z = 7.559 is probably 192.0: it is in inches, and the file in mm; as written its underside is 7.4 mm \
         below the road.",
    );
    assert_told(
        UPRIGHT_FROM,
        "from = [-205.0, 338.0, 24.0]",
        "tube \"rear upright\" from: z = 24.0: its underside is 9.0 mm above the road; measure it again.",
    );
    assert_eq!(told(&[(UPRIGHT_FROM, "from = [-205.0, 338.0, 26.0]")]), Vec::<String>::new());
}

#[test]
fn a_tube_as_thick_as_another_with_its_digits_swapped_is_told() {
    let thin = |od: &str| told(&[("od = 40.0\nwall", &format!("od = {od}\nwall")), ("od = 40.0\n", "od = 83.0\n")]);
    assert_eq!(
        thin("38.0"),
        [
            "tube \"upper rail\" od: 83.0 mm is probably 38.0: two digits are swapped; as written no other tube is as thick."
        ]
    );
    assert_eq!(thin("36.0"), Vec::<String>::new()); // a backbone
}
