//! What every screen keeps to: 80 columns, and the shop's words instead of those of the inside of the program.

use textwrap::core::display_width;

const COLUMNS: usize = 80;
const ROWS: usize = 40;
const NEVER: [&str; 9] =
    ["posture", "residual", "condition number", "prior", "nan", "inf ", "multiplier", "gradient", "iteration"];

pub fn assert_fits_the_width(screen: &str) {
    for line in screen.lines() {
        assert!(display_width(line) <= COLUMNS, "{} columns: {line}", display_width(line));
    }
    let lower = screen.to_lowercase();
    NEVER.iter().for_each(|word| assert!(!lower.contains(word), "{word} in\n{screen}"));
}

pub fn assert_fits_one_screen(screen: &str) {
    assert_fits_the_width(screen);
    assert!(screen.lines().count() <= ROWS, "{screen}");
}
