//! Numbers of parts, boxes, datums, loads and drivelines that are none of a car, in the demo car, word for word where a slip explains
//! them; and sound ones beside them that raise nothing.

use hubtrace::file::GeometryFile;
use hubtrace::studies::plausibility::doubts;

const DEMO: &str = include_str!("../../geometries/first-cut.toml");

fn doubts_of(text: &str) -> Vec<String> {
    let file = GeometryFile::parse("rear.toml", text).unwrap_or_else(|error| panic!("{error}\n{text}"));
    doubts(&file.geometry).into_iter().map(String::from).collect()
}

/// Each piece of a sound addition to the demo car, what it is changed to, and how its doubt begins; without the change nothing is
/// doubted.
fn assert_told(sound: &str, changes: &[(&str, &str, &str)]) {
    assert_eq!(doubts_of(sound), Vec::<String>::new());
    for (piece, other, told) in changes {
        let at = sound.rfind(piece).unwrap_or_else(|| panic!("{piece}"));
        let found = doubts_of(&format!("{}{other}{}", &sound[..at], &sound[at + piece.len()..]));
        assert!(found.len() == 1 && found[0].starts_with(told), "{other}: {found:#?}");
    }
}

fn with(added: &str) -> String {
    format!("{DEMO}\n{added}")
}

#[test]
fn numbers_of_metals_are_those_of_metals() {
    let metal = "[[material]]\nname = \"own\"\nyield_mpa = 520.0\ne_gpa = 205.0\ndensity = 7850.0\n";
    assert_told(
        &with(metal),
        &[
            (
                "520.0",
                "52.0",
                "`yield_mpa`: 52 MPa is no metal's of a link or a frame, probably 520.0: the decimal point is shifted;",
            ),
            (
                "520.0",
                "0.52",
                "`yield_mpa`: 0.52 MPa is no metal's of a link or a frame, probably 520.0: it is in GPa;",
            ),
            ("205.0", "20.5", "`e_gpa`: 20.5 GPa is no metal's, probably 205.0: the decimal point is shifted;"),
            ("7850.0", "7.85", "`density`: 7.85 kg/m3 is no metal's, probably 7850.0: it is in g/cm3;"),
            ("7850.0", "785.0", "`density`: 785 kg/m3 is no metal's, probably 7850.0: the decimal point is shifted;"),
        ],
    );
    for (yield_mpa, e_gpa, density) in
        [(95.0, 45.0, 1780.0), (240.0, 69.0, 2700.0), (900.0, 114.0, 4430.0), (600.0, 130.0, 1550.0)]
    {
        let metal = metal.replace("520.0", &format!("{yield_mpa:?}")).replace("205.0", &format!("{e_gpa:?}"));
        assert_eq!(doubts_of(&with(&metal.replace("7850.0", &format!("{density:?}")))), Vec::<String>::new());
    }
}

#[test]
fn a_load_is_one_of_a_road() {
    let load = "[[load]]\nname = \"kerb\"\ncontact_times_static = [0.0, -1.8, 2.2]\n[[load]]\nname = \"push\"\ncontact = [0.0, 0.0, 1300.0]\n\
                moment = [0.0, 0.0, 12.0]\n";
    assert_told(
        &with(load),
        &[
            (
                "-1.8, 2.2",
                "-18.0, 2.2",
                "load \"kerb\": `contact_times_static` is 18 times the static load, and 12 is more than a kerb gives; probably 1.8",
            ),
            (
                "-1.8, 2.2",
                "-1.8, -2.2",
                "load \"kerb\": `contact_times_static` pulls the tyre down with 2.2 times its static load",
            ),
            ("1300.0", "130000.0", "load \"push\": `contact` is 130000 N, and"),
            (
                "1300.0",
                "1.3",
                "load \"push\": `contact` is 1.3 N, less than the weight of a tyre: probably it is in kN",
            ),
            ("1300.0", "-1300.0", "load \"push\": `contact` pulls the tyre down with 1300.0 N"),
            ("12.0", "12000.0", "load \"push\": `moment` is 12000.0 N m"),
        ],
    );
    // A kerb from the other side, a wheel that hangs.
    for (piece, other) in [("-1.8, 2.2", "1.8, 6.0"), ("1300.0", "-300.0"), ("1300.0", "140.0")] {
        assert_eq!(doubts_of(&with(&load.replacen(piece, other, 1))), Vec::<String>::new());
    }
}

#[test]
fn what_a_weld_and_a_drilled_hole_are_off_is_told_by_its_own_key() {
    let weld = "[weld]\nwithin = 1.0\nupright_sd = 0.2\n";
    let sound = DEMO.split("[weld]").next().expect("a car").to_owned() + weld;
    assert_told(
        &sound,
        &[
            (
                "within = 1.0",
                "within = 0.04",
                "`within`: 0.04 mm is no welder's error, probably 1.0: it is in inches, and the file in mm; 0.1 mm to 6.0 mm",
            ),
            ("0.2", "2.0", "`upright_sd`: 2.0 mm is no error of a drilled hole; 0.005 mm to 1.5 mm is usual."),
            ("0.2", "0.002", "`upright_sd`: 0.002 mm is no error of a drilled hole,"),
        ],
    );
}

#[test]
fn a_frame_tube_is_as_thick_as_tubes_are() {
    let tube =
        "[[tube]]\nname = \"rail\"\nfrom = [-300.0, 300.0, 500.0]\nto = [300.0, 300.0, 500.0]\nod = 40.0\nwall = 2.0\n";
    assert_told(
        &with(tube),
        &[
            (
                "od = 40.0",
                "od = 400.0",
                "`od`: 400.0 mm is no frame tube's, probably 40.0: the decimal point is shifted;",
            ),
            (
                "wall = 2.0",
                "wall = 20.0",
                "`wall`: 20.0 mm is no frame tube's, probably 2.0: the decimal point is shifted;",
            ),
            ("wall = 2.0", "wall = 0.2", "`wall`: 0.2 mm is no frame tube's, probably 2.0: it is in cm;"),
        ],
    );
}

#[test]
fn two_sides_of_a_frame_that_one_slip_tells_apart_are_told() {
    let datums = "[[datum]]\nname = \"hoop left\"\nat = [900.0, 450.0, 120.0]\n[[datum]]\nname = \"hoop right\"\nat = [900.0, -450.0, 120.0]\n\
                  [[datum]]\nname = \"tail left\"\nat = [-400.0, 330.0, 212.0]\n[[datum]]\nname = \"tail right\"\nat = [-400.0, -330.0, 212.0]\n\
                  [[datum]]\nname = \"node\"\nat = [300.0, 349.3, 474.3]\n";
    assert_told(
        &with(datums),
        &[
            (
                "[900.0, 450.0,",
                "[900.0, 540.0,",
                "datum \"hoop left\": y = 540.0 is probably 450.0: two digits are swapped;",
            ),
            ("474.3", "47.43", "datum \"node\": z = 47.43 is probably 474.3: the decimal point is shifted;"),
        ],
    );
    let exchanged =
        datums.replace("hoop left", "x").replace("tail left", "hoop left").replace("\"x\"", "\"tail left\"");
    let found = doubts_of(&with(&exchanged));
    assert!(found.len() == 1 && found[0].contains("are probably in each other's place"), "{found:#?}");
    // A frame that is staggered on purpose.
    for staggered in ["[900.0, 515.0,", "[900.0, 381.0,", "[787.0, 450.0,"] {
        assert_eq!(
            doubts_of(&with(&datums.replacen("[900.0, 450.0,", staggered, 1))),
            Vec::<String>::new(),
            "{staggered}"
        );
    }
}

/// The demo car with boxes in place of all chassis points, as wide as its rooms.
fn boxed() -> String {
    let mut text = DEMO.to_owned();
    for (point, room) in [
        ("[150.0, 380.0, 400.0]", "x = [60.0, 300.0], y = [320.0, 430.0], z = [340.0, 460.0]"),
        ("[240.0, 372.0, 181.0]", "x = [160.0, 330.0], y = [330.0, 410.0], z = [140.0, 230.0]"),
        ("[-150.0, 376.0, 255.0]", "x = [-230.0, -90.0], y = [330.0, 420.0], z = [235.0, 320.0]"),
    ] {
        let line = format!("chassis = {point}");
        assert!(text.contains(&line), "{line}");
        text = text.replacen(&line, &format!("within = {{ {room} }}"), 1);
    }
    let is_of_box = |line: &&str| {
        !line.starts_with("free") && !line.starts_with("chassis_tube") && !line.starts_with("chassis_bolt")
    };
    text.lines().filter(is_of_box).map(|line| format!("{line}\n")).collect()
}

#[test]
fn a_box_is_where_brackets_are() {
    let of_upper = "`within` of link \"upper front\", left: ";
    let told = |rest: &str| format!("{of_upper}{rest}");
    let z_low = told("z = [34.0, 46.0] is probably [340.0, 460.0]: the decimal point is shifted;");
    let outboard = told("every place in it is");
    let below = told("z = [-460.0, -340.0] is probably [340.0, 460.0]: the sign is turned;");
    let long = told("x = [60.0, 3000.0] is probably [60.0, 300.0]: the decimal point is shifted;");
    let inches = told("probably { x = [60.0, 300.0]");
    let near = told("y = [32.0, 43.0] is probably [320.0, 430.0]: the decimal point is shifted;");
    assert_told(
        &boxed(),
        &[
            ("z = [340.0, 460.0]", "z = [34.0, 46.0]", &z_low),
            ("y = [320.0, 430.0]", "y = [740.0, 860.0]", &outboard),
            ("z = [340.0, 460.0]", "z = [-460.0, -340.0]", &below),
            ("x = [60.0, 300.0]", "x = [60.0, 3000.0]", &long),
            ("y = [320.0, 430.0]", "y = [32.0, 43.0]", &near),
            (
                "x = [60.0, 300.0], y = [320.0, 430.0], z = [340.0, 460.0]",
                "x = [2.362, 11.811], y = [12.598, 16.929], z = [13.386, 18.11]",
                &inches,
            ),
        ],
    );
}

#[test]
fn boxes_of_two_links_in_each_others_place_are_told_once() {
    let upper = "x = [60.0, 300.0], y = [320.0, 430.0], z = [340.0, 460.0]";
    let lower = "x = [160.0, 330.0], y = [330.0, 410.0], z = [140.0, 230.0]";
    let exchanged = boxed().replace(upper, "there").replace(lower, upper).replace("there", lower);
    let found = doubts_of(&exchanged);
    let told = "`within` of link \"upper front\", left: it is probably that of \"lower front\": the two are probably in each other's place;";
    assert!(found.len() == 1 && found[0].starts_with(told), "{found:#?}");
}
