//! A tape that does not fit its link.

use hubtrace::file::GeometryFile;
use hubtrace::studies::plausibility::doubts;

const CAR: &str = r#"schema = 1
name = "rare"
[wheel]
centre = [0.0, 745.0, 308.0]
tyre_radius = 308.0
toe = 0.1
camber = -1.5
[[link]]
name = "uf"
chassis = [150.0, 400.0, 400.0]
upright = [40.0, 655.0, 430.0]
[[link]]
name = "ur"
chassis = [-140.0, 390.0, 395.0]
upright = [-45.0, 650.0, 428.0]
[[link]]
name = "lf"
chassis = [190.0, 330.0, 190.0]
upright = [30.0, 680.0, 180.0]
[[link]]
name = "lr"
chassis = [-150.0, 320.0, 195.0]
upright = [-60.0, 676.0, 182.0]
[[link]]
name = "toe"
chassis = [-220.0, 360.0, 262.0]
upright = [-130.0, 668.0, 270.0]
"#;

/// 10 mm of a tape are some digit of a point, and as well one of the tape.
#[test]
fn a_tape_that_alone_denies_a_link_is_told_too() {
    let toe = "upright = [-130.0, 668.0, 270.0]";
    let text = CAR.replacen(toe, &format!("{toe}\ntaped = 331.0"), 1);
    let file = GeometryFile::parse("car.toml", &text).unwrap_or_else(|error| panic!("{error}"));
    let taped: Vec<String> = doubts(&file.geometry).into_iter().map(String::from).collect();
    assert!(taped.len() == 1 && taped[0].contains("`taped` is 321.0: measure it again"), "{taped:#?}");
}
