//! One mistake, and what is right is not blamed for it: no number is told that is not in the file.

use hubtrace::file::GeometryFile;
use hubtrace::studies::plausibility::{Doubt, doubts};

const DEMO: &str = include_str!("../../geometries/first-cut.toml");
/// Upright points from the face of the hub, bolts square to their links, a rim and a halfshaft of known length.
const HUB_FACE: &str = include_str!("hub-face.toml");

fn doubts_of(text: &str) -> Vec<Doubt> {
    doubts(&GeometryFile::parse("car.toml", text).unwrap_or_else(|error| panic!("{error}")).geometry)
}

fn told(car: &str, piece: &str, other: &str) -> Vec<String> {
    assert!(car.contains(piece), "{piece}");
    doubts_of(&car.replacen(piece, other, 1)).into_iter().map(String::from).collect()
}

#[test]
fn the_car_of_these_tests_is_sound() {
    assert_eq!(doubts_of(HUB_FACE), []);
}

/// The first guess moved the upright's hole, and its hole was then told to be too near to the rim.
#[test]
fn nothing_is_told_of_a_number_that_was_only_guessed() {
    let told = told(HUB_FACE, "chassis = [-125.0, 388.0, 416.0]", "chassis = [-125.0, 388.0, 516.0]");
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(told[0].starts_with("upper rear chassis, left: z = 516.0 is probably 416.0"), "{told:?}");
}

#[test]
fn one_number_of_the_wheel_is_told_where_it_explains_shaft_and_links() {
    for (piece, other, begins) in [
        ("offset = 35.0", "offset = -35.0", "offset, left: -35.0 is probably 35.0: the sign is turned"),
        (
            "centre = [0.0, 769.4,",
            "centre = [0.0, 669.4,",
            "wheel centre, left: y = 669.4 is probably 769.4: 100 mm off",
        ),
        (
            "centre = [0.0, 769.4,",
            "centre = [0.0, 869.4,",
            "wheel centre, left: y = 869.4 is probably 769.4: 100 mm off",
        ),
        (
            "centre = [0.0, 769.4,",
            "centre = [100.0, 769.4,",
            "wheel centre, left: x = 100.0 is probably 0.0: 100 mm off",
        ),
    ] {
        let told = told(HUB_FACE, piece, other);
        assert!(told.len() == 1 && told[0].starts_with(begins), "{other}: {told:#?}");
    }
}

/// Two numbers of it move the upright alike.
#[test]
fn centre_and_offset_are_both_told_where_either_explains_the_corner() {
    let told = told(HUB_FACE, "offset = 35.0", "offset = 3.5");
    let each = [
        "offset: 3.5 is probably 35.0: the decimal point is shifted",
        "wheel centre, left: y = 769.4 is probably 796.4",
    ];
    assert!(told.len() == 1 && each.iter().all(|one| told[0].contains(one)), "{told:#?}");
}

/// Either moves the upright by 27 mm: 30.0 less 3.0, and 796.4 less 769.4.
#[test]
fn the_offset_is_named_first_where_the_centre_is_no_likelier() {
    let told = told(HUB_FACE, "offset = 35.0", "offset = 3.0");
    let expected = "offset, left: 3.0 is probably 30.0: the decimal point is shifted; or wheel centre: y = 769.4 is probably 796.4: two \
                    digits are swapped";
    assert!(told.len() == 1 && told[0].starts_with(expected), "{told:#?}");
}

/// Without bolts the inner joint explains as much.
#[test]
fn wheel_and_shaft_are_both_told_where_either_explains_the_corner() {
    let is_bolt = |line: &&str| !["chassis_bolt", "upright_bolt"].iter().any(|key| line.starts_with(key));
    let bare: String = HUB_FACE.lines().filter(is_bolt).map(|line| format!("{line}\n")).collect();
    assert_eq!(doubts_of(&bare), []);
    let of_wheel = told(&bare, "centre = [0.0, 769.4,", "centre = [100.0, 769.4,");
    assert!(of_wheel.len() == 1 && of_wheel[0].contains("; or halfshaft inner: x = 6.0"), "{of_wheel:#?}");
    assert!(of_wheel[0].starts_with("wheel centre, left: x = 100.0 is probably 0.0"), "{of_wheel:#?}");
    let of_shaft = told(&bare, "inner = [6.0, 212.0, 298.0]", "inner = [106.0, 212.0, 298.0]");
    assert!(of_shaft.len() == 1 && of_shaft[0].starts_with("halfshaft inner, left: x = 106.0"), "{of_shaft:#?}");
}

/// What both sides have of one line is told once.
#[test]
fn a_number_that_both_sides_have_is_told_once() {
    let right =
        "\n[[right.link]]\nname = \"upper front\"\nchassis = [150.0, -381.0, 400.0]\nupright = [28.0, -655.0, 405.0]\n";
    let own = format!("{DEMO}{right}");
    let told = told(&own, "chassis = [-150.0, 376.0, 255.0]", "chassis = [-150.0, 37.6, 255.0]");
    assert_eq!(told.len(), 1, "{told:#?}");
}

#[test]
fn a_row_that_was_copied_is_told() {
    for (piece, other, both) in [
        (
            "upright = [-118.0, -98.0, -24.0]",
            "upright = [-38.0, -92.5, -131.5]",
            "toe link upright and lower rear upright both have [-38.0, -92.5, -131.5]: was one row copied?",
        ),
        (
            "chassis = [-125.0, 388.0, 416.0]",
            "chassis = [165.0, 395.0, 428.0]",
            "upper rear chassis and upper front chassis both have [165.0, 395.0, 428.0]: was one row copied?",
        ),
    ] {
        let told = told(HUB_FACE, piece, other);
        assert!(told.len() == 1 && told[0].contains(both), "{told:#?}");
    }
}

/// Before there are brackets, the holes of an upright have little but their names to be judged by.
#[test]
fn a_hole_that_the_name_of_its_link_denies_is_told() {
    let is_chassis =
        |line: &&str| !["chassis", "upright_bolt", "rod_end_limit", "free"].iter().any(|key| line.starts_with(key));
    let boxes = "within = { x = [-300.0, 300.0], y = [330.0, 460.0], z = [140.0, 480.0] }";
    let mut bare: String = HUB_FACE.lines().filter(is_chassis).map(|line| format!("{line}\n")).collect();
    bare = bare.replace("sets_toe = true\n", "").replace("\nupright = ", &format!("\n{boxes}\nupright = "));
    bare = bare.replacen("spring_radius", "# spring_radius", 1);
    let at = bare.find("[spring]").expect("a spring");
    let end = bare.find("[car]").expect("a car");
    bare.replace_range(at..end, "");
    assert_eq!(doubts_of(&bare), []);
    for (piece, other, begins) in [
        (
            "[36.0, -121.0, 132.5]",
            "[36.0, -121.0, -132.5]",
            "upper front upright, left: [36.0, -121.0, -132.5] is 5.6 mm below lower front upright, and the links are named the \
             other way round",
        ),
        (
            "[-52.0, -124.5, 126.0]",
            "[52.0, -124.5, 126.0]",
            "upper front upright, left: [36.0, -121.0, 132.5] is 16.0 mm behind upper rear upright",
        ),
    ] {
        let told = told(&bare, piece, other);
        assert!(told.len() == 1 && told[0].starts_with(begins), "{told:#?}");
    }
}

/// "top inboard is negative" is said of a camber, not of a link that is called *top*.
#[test]
fn a_link_that_is_called_like_a_word_of_another_doubt_is_not_taken_as_told() {
    let turned = DEMO.replacen("name = \"upper front\"", "name = \"bottom\"", 1);
    let turned = turned.replacen("name = \"lower front\"", "name = \"top\"", 1);
    let of_names = doubts_of(&turned);
    assert_eq!(of_names.len(), 2, "{of_names:#?}");
    let with_camber = doubts_of(&turned.replacen("camber = -1.50", "camber = 7.5", 1));
    assert!(with_camber.len() == 3 && with_camber[1..] == of_names[..], "{with_camber:#?}");
}
