//! What a builder sees: one screen of 80 columns, in the shop's words, nothing when quiet.

use super::program::{ToleranceStudy, demo, demo_with_toe_link, tuned};

const COLUMNS: usize = 80;
const ROWS: usize = 40;
/// Words of the inside of the program.
const NEVER: [&str; 9] =
    ["posture", "residual", "condition number", "prior", "NaN", "inf ", "multiplier", "gradient", "iteration"];

fn fits(screen: &str) {
    for line in screen.lines() {
        assert!(line.chars().count() <= COLUMNS, "{} columns: {line}", line.chars().count());
    }
    assert!(screen.lines().count() <= ROWS, "{screen}");
    for word in NEVER {
        assert!(!screen.contains(word), "{word} in\n{screen}");
    }
}

#[test]
fn every_kind_of_answer_fits_the_screen() {
    let small = demo(&[("[-25.0, 25.0]", "[-1.0, 1.0]"), ("[-8.0, 8.0]", "[-1.0, 1.0]")]);
    let torn = demo(&[("roll_centre_height = [40.0, 110.0]", "roll_centre_height = [150.0, 160.0]")]);
    let list = demo(&[]) + "\n[targets]\ncamber_gain = -0.8\nroll_centre_height = 70.0\nanti_squat = [50.0, 90.0]\n";
    let clock = demo_with_toe_link("", &[("toe = 0.10 ", "clock = [-3.0, 3.0]\ntoe = 0.10 ")]);
    for text in [demo(&[]), small, torn, list, clock] {
        let (_shop, ran) = tuned(&text);
        assert!(matches!(ran.code, Some(0 | 1)), "{}", ran.err);
        fits(&ran.out);
    }
}

#[test]
fn long_names_fit_the_screen() {
    let name = "N".repeat(80);
    let link = format!("\"{}\"", "T".repeat(80));
    let (_shop, ran) = tuned(&demo(&[("Teasel hillclimb special, rear, first cut", &name), ("\"toe link\"", &link)]));
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert!(ran.out.lines().all(|line| line.chars().count() <= COLUMNS), "{}", ran.out);
}

#[test]
fn the_screen_says_what_a_builder_acts_on() {
    let (_shop, ran) = tuned(&demo(&[]));
    ran.assert_says(&[
        "per wheel (left and right alike): 0.518 deg -> 0.000 deg",
        "moves, mm",
        "toe link chassis -150.0 376.0 255.0 -150.0",
        "9 of 10 cars below",
        "chance yours passes",
        "--robust writes the most forgiving",
        "toe depends most on \"toe link\" inner bracket up-down (0.134 deg per mm)",
        "It hardly depends on",
        "Cure by one bracket",
        "flatter than can be measured and welded",
        "a failed link can kill",
    ]);
}

#[test]
fn a_file_name_is_never_broken_across_lines() {
    let (_shop, ran) = tuned(&demo(&[]));
    for name in ["toe-before-after.svg", "sensitivity.csv", "tuned-2.toml"] {
        assert!(ran.out.contains(name), "{name} in\n{}", ran.out);
    }
}

#[test]
fn quiet_prints_nothing_at_all() {
    let shop = ToleranceStudy::with("");
    let ran = shop.run("tune --quiet");
    assert_eq!((ran.code, ran.out.as_str(), ran.err.as_str()), (Some(0), "", ""));
    assert!(!ran.text("tuned.toml").is_empty());
}
