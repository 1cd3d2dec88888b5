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

/// Further out the wheel leaves its joint behind, and all of its upright too; the deeper joint is then further from it than any.
#[test]
fn a_wheel_too_far_out_is_told_and_not_its_joint() {
    let shaft = "\n[halfshaft]\ninner = [0.0, 200.0, 306.0]\nouter = [-0.1, 680.0, 306.0]\n";
    let five =
        include_str!("five-links.toml").replacen("centre = [0.0, 745.0, 308.0]", "centre = [0.0, 755.0, 308.0]", 1);
    let demo = DEMO.replacen("centre = [0.0, 737.636, 281.204]", "centre = [0.0, 755.0, 281.2]", 1);
    let deep = demo.replacen("outer = [-0.1, 659.0, 279.1]", "outer = [-0.2, 660.0, 278.7]", 1);
    for car in [five + shaft, deep] {
        assert_eq!(doubts_of(&car), []);
        let told = told(&car, "centre = [0.0, 755.0,", "centre = [0.0, 855.0,");
        let is_told = |told: &str| told.replace(", left:", "").contains("wheel centre y = 855.0 is probably 755.0");
        assert!(told.len() == 1 && is_told(&told[0]), "{told:#?}");
    }
}

/// One bolt of each link, all square to theirs.
#[test]
fn the_number_of_a_bracket_is_told_that_its_only_bolt_denies() {
    let one_bolt: Vec<&str> = DEMO.lines().filter(|line| !line.starts_with("upright_bolt")).collect();
    let car = one_bolt.join("\n");
    assert_eq!(doubts_of(&car), []);
    let told_of = |piece: &str, other: &str| told(&car, piece, other);
    let of_point = told_of("chassis = [-150.0, 376.0, 255.0]", "chassis = [-50.0, 376.0, 255.0]");
    let begins = "toe link chassis, left: x = -50.0 is probably -150.0: 100 mm off";
    let or_bolt = "or `chassis_bolt` is wrong";
    assert!(of_point.len() == 1 && of_point[0].starts_with(begins) && of_point[0].contains(or_bolt), "{of_point:#?}");
    let of_bolt = told_of("chassis_bolt = [312.0, 202.0, 0.0]", "chassis_bolt = [202.0, 312.0, 0.0]");
    assert!(
        of_bolt.len() == 1 && of_bolt[0].starts_with("The bolt at the chassis end of link \"lower front\""),
        "{of_bolt:#?}"
    );
}

/// A bracket near the middle of the car makes its own link long, and the others short beside it.
#[test]
fn a_link_is_not_blamed_for_being_shorter_than_one_that_is_wrong() {
    let all = doubts_of(include_str!("short-beside-long.toml"));
    let told: Vec<String> = all.into_iter().map(String::from).collect();
    assert!(told.len() == 1 && told[0].starts_with("three chassis, left: y = 34.0 is probably 340.0"), "{told:#?}");
}

/// Its right side has points of its own, and they are as they were drawn.
#[test]
fn a_left_point_is_told_by_the_right_side_that_is_sound() {
    let right =
        "\n[[right.link]]\nname = \"lower rear\"\nchassis = [-70.0, -345.0, 172.0]\nupright = [-32.0, -680.0, 157.0]\n";
    let car = format!("{DEMO}{right}");
    assert_eq!(doubts_of(&car), []);
    let told = told(&car, "upright = [-32.0, 680.0, 157.0]", "upright = [-32.0, 680.0, 257.0]");
    let begins = "lower rear upright, left: z = 257.0 is probably 157.0: 100 mm off";
    assert!(told.len() == 1 && told[0].starts_with(begins) && !told[0].contains("chassis"), "{told:#?}");
}
