//! What is told in inches, and of a side that has numbers of its own: the same mistakes as in the demo car, elsewhere.

use hubtrace::file::{GeometryFile, StarterRequest, starter_text};
use hubtrace::geometry::LengthUnit;
use hubtrace::studies::plausibility::doubts;

const DEMO: &str = include_str!("../../geometries/first-cut.toml");
const SEMI_TRAILING: &str = include_str!("../../geometries/semi-trailing.toml");

fn replaced(text: &str, piece: &str, other: &str) -> String {
    assert!(text.contains(piece), "{piece}");
    text.replacen(piece, other, 1)
}

fn doubts_of(text: &str) -> Vec<String> {
    let file = GeometryFile::parse("rear.toml", text).unwrap_or_else(|error| panic!("{error}"));
    doubts(&file.geometry).into_iter().map(String::from).collect()
}

/// Twenty threads to the inch are 0.05 in from crest to crest, sixteen 0.0625.
#[test]
fn a_pitch_of_another_thread_is_told_in_inches() {
    let starter = starter_text(&StarterRequest::new(None, None).expect("a car"), LengthUnit::Inch);
    let told = |pitch: &str| {
        let upright = "upright = [-4.724, 26.299, 9.999]\n";
        let adjust =
            format!("{upright}adjust = {{ length = {{ kind = \"sleeve\", pitch = {pitch}, range = [-4.0, 4.0] }} }}\n");
        doubts_of(&(replaced(&starter, upright, &adjust) + "\n[rod_end]\nthread = \"1/2-20\"\n"))
    };
    assert_eq!(told("0.05"), Vec::<String>::new());
    assert_eq!(
        told("0.0625"),
        [
            "Link \"toe link\" on the left: `pitch` = 0.0625 in, and the thread of its rod ends, 1/2-20, has 0.05 in from crest to crest."
        ]
    );
}

/// Taped as drawn, 293.5 mm. With its bracket 100 mm further out it is √(30² + 192² + 1²) = 194.3 mm between its points, 100 mm
/// further in √(30² + 392² + 1²) = 393.1 mm.
#[test]
fn a_bracket_that_its_tape_denies_is_told_with_the_way_in_which_the_link_is_off() {
    let upright = "upright = [-120.0, 668.0, 254.0]\n";
    let taped = replaced(DEMO, upright, &format!("{upright}taped = 293.5\n"));
    let told = |y: &str| {
        let bracket = format!("chassis = [-150.0, {y}, 255.0]");
        doubts_of(&replaced(&taped, "chassis = [-150.0, 376.0, 255.0]", &bracket))
    };
    assert_eq!(told("376.0"), Vec::<String>::new());
    for (y, off) in [("476.0", "99.2 mm shorter"), ("276.0", "99.6 mm longer")] {
        let told = told(y);
        let [told] = &told[..] else { panic!("{told:?}") };
        assert!(told.starts_with(&format!("toe link chassis, left: y = {y} is probably 376.0: 100 mm off")), "{told}");
        assert!(told.ends_with(&format!("as written it is {off} than its tape says.")), "{told}");
    }
}

/// The right wheel has a link of its own, so that its halfshaft is looked at too: it runs to the same housing.
#[test]
fn a_final_drive_that_is_100_mm_high_is_told_once_for_both_shafts() {
    let right = "\n[[right.link]]\nname = \"inner pivot, lower tube\"\nchassis = [335.0, -275.0, 300.0]\n\
                 upright = [-40.0, -682.0, 165.0]\n";
    let car = format!("{SEMI_TRAILING}{right}");
    assert_eq!(doubts_of(&car), Vec::<String>::new());
    let told = doubts_of(&replaced(&car, "origin = [-22.0, 0.0, 279.0]", "origin = [-22.0, 0.0, 379.0]"));
    let [told] = &told[..] else { panic!("{told:?}") };
    assert!(told.starts_with("final_drive origin: z = 379.0 is probably 279.0: 100 mm off"), "{told}");
}

/// A number of 2.1 mm in a file in inches: nobody meant 0.083 in.
#[test]
fn no_number_is_told_to_be_in_the_other_unit_that_is_next_to_none() {
    let car = r#"schema = 1
name = "trailing"
units = "in"
[wheel]
centre = [0.0, 29.10, 12.15]
tyre_radius = 12.15
camber = -0.5
[[link]]
name = "upper trailing"
chassis = [24.50, 20.00, 14.60]
upright = [1.10, 24.60, 15.10]
[[link]]
name = "lower trailing"
chassis = [25.00, 21.20, 8.20]
upright = [0.90, 25.10, 5.80]
[[link]]
name = "upper lateral"
chassis = [-0.60, 12.40, 15.90]
upright = [-0.70, 24.80, 16.55]
[[link]]
name = "lower front lateral"
chassis = [-2.10, 10.70, 8.10]
upright = [2.00, 25.60, 7.60]
[[link]]
name = "lower rear lateral"
chassis = [-3.90, 10.60, 8.25]
upright = [-3.80, 25.60, 7.70]
"#;
    let file = GeometryFile::parse("car.toml", car).unwrap_or_else(|error| panic!("{error}"));
    let told: Vec<String> = doubts(&file.geometry).into_iter().map(String::from).collect();
    assert!(told.len() == 1 && told[0].contains("x = -2.1 is probably 2.1") && !told[0].contains("in mm"), "{told:#?}");
}
