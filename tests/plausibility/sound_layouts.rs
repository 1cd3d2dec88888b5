//! Layouts that are rare and sound, and what is told of cars with two different sides.

use crate::told::told;

const CAR: &str = include_str!("five-links.toml");

fn with(rows: &[[&str; 2]]) -> String {
    let put = |text: String, [row, other]: &[&str; 2]| {
        assert!(text.contains(row), "{row}");
        text.replacen(row, other, 1)
    };
    rows.iter().fold(CAR.to_owned(), put)
}

#[test]
fn an_upper_arm_on_one_inner_pivot_raises_no_doubt() {
    let car = with(&[
        ["[150.0, 400.0, 400.0]", "[10.0, 395.0, 398.0]"],
        ["[-140.0, 390.0, 395.0]", "[10.0, 395.0, 398.0]"],
        ["[-45.0, 650.0, 428.0]", "[-145.0, 650.0, 428.0]"],
    ]);
    assert_eq!(told(&car), Vec::<String>::new());
}

/// The upper links cross each other too, which no slip of a lower one does.
#[test]
fn links_that_cross_above_each_other_raise_no_doubt() {
    let car = r#"schema = 1
name = "crossed"
[wheel]
centre = [0.0, 740.0, 315.0]
tyre_radius = 315.0
camber = -1.0
[[link]]
name = "lower fwd leading"
chassis = [280.0, 380.0, 190.0]
upright = [-40.0, 670.0, 165.0]
[[link]]
name = "lower trans"
chassis = [-30.0, 320.0, 215.0]
upright = [60.0, 680.0, 215.0]
[[link]]
name = "uf"
chassis = [160.0, 450.0, 440.0]
upright = [-10.0, 670.0, 460.0]
[[link]]
name = "ur"
chassis = [-60.0, 430.0, 400.0]
upright = [50.0, 670.0, 410.0]
[[link]]
name = "toe"
chassis = [-170.0, 350.0, 230.0]
upright = [-140.0, 665.0, 235.0]
"#;
    assert_eq!(told(car), Vec::<String>::new());
}

#[test]
fn a_spring_that_is_pulled_and_one_that_lies_level_raise_no_doubt() {
    for ends in [
        "chassis = [-20.0, 250.0, 130.0]\nmount = [-30.0, 640.0, 420.0]",
        "chassis = [-20.0, 250.0, 440.0]\nmount = [-30.0, 650.0, 450.0]",
    ] {
        assert_eq!(told(&format!("{CAR}[spring]\n{ends}\n")), Vec::<String>::new());
    }
}

#[test]
fn a_toe_that_some_cars_are_set_to_raises_no_doubt() {
    assert_eq!(told(&with(&[["toe = 0.1", "toe = 0.8"]])), Vec::<String>::new());
    assert_eq!(told(&with(&[["toe = 0.1", "toe = 1.0"]])).len(), 1);
}

/// Two upper ends above the tyre; of one alone a slip is looked for.
#[test]
fn upper_ends_above_the_tyre_raise_no_doubt() {
    let tall = [
        ["[150.0, 400.0, 400.0]", "[140.0, 400.0, 640.0]"],
        ["[40.0, 655.0, 430.0]", "[10.0, 610.0, 660.0]"],
        ["[-140.0, 390.0, 395.0]", "[-120.0, 400.0, 635.0]"],
        ["[-45.0, 650.0, 428.0]", "[-10.0, 610.0, 660.0]"],
        ["tyre_radius = 308.0", "tyre_radius = 308.0\nrim_radius = 205.0"],
    ];
    assert_eq!(told(&with(&tall)), Vec::<String>::new());
    let one = told(&with(&tall[1..2]));
    assert!(one.iter().any(|doubt| doubt.starts_with("uf upright, left")), "{one:#?}");
}

#[test]
fn a_right_side_that_stands_elsewhere_as_a_whole_is_one_question() {
    let right = r#"[right.wheel]
centre = [6.0, -700.0, 300.0]
tyre_radius = 300.0
toe = 0.0
camber = 2.0
[[right.link]]
name = "uf"
chassis = [150.0, -390.0, 400.0]
upright = [46.0, -610.0, 424.0]
[[right.link]]
name = "ur"
chassis = [-140.0, -380.0, 395.0]
upright = [-39.0, -605.0, 422.0]
[[right.link]]
name = "lf"
chassis = [190.0, -320.0, 190.0]
upright = [36.0, -635.0, 174.0]
[[right.link]]
name = "lr"
chassis = [-150.0, -310.0, 195.0]
upright = [-54.0, -631.0, 176.0]
[[right.link]]
name = "toe"
chassis = [-220.0, -350.0, 262.0]
upright = [-124.0, -623.0, 264.0]
"#;
    let of_side = told(&format!("{CAR}{right}"));
    let begins =
        "The right side: its wheel and upright stand 45.0 mm further in, its brackets 10.0 mm further in, as a whole";
    assert!(of_side.len() == 1 && of_side[0].starts_with(begins), "{of_side:#?}");
    // A bracket that is wrong by itself is told beside it.
    let other = right.replacen("[-150.0, -310.0, 195.0]", "[-150.0, -310.0, 225.0]", 1);
    let of_both = told(&format!("{CAR}{other}"));
    assert!(of_both.len() == 2 && of_both[1].starts_with("lr chassis"), "{of_both:#?}");
}
