//! What every screen keeps to: 80 columns, and the shop's words instead of those of the inside of the program.

use serde_json::Value;
use textwrap::core::display_width;

const COLUMNS: usize = 80;
const ROWS: usize = 40;
const NEVER: [&str; 9] =
    ["posture", "residual", "condition number", "prior", "nan", "inf ", "multiplier", "gradient", "iteration"];

pub fn assert_fits_the_width(screen: &str) {
    for line in screen.lines() {
        assert!(display_width(line) <= COLUMNS, "{} columns: {line}", display_width(line));
    }
    // The name of a file is no word.
    let lower = screen.to_lowercase().replace("residuals.csv", "");
    NEVER.iter().for_each(|word| assert!(!lower.contains(word), "{word} in\n{screen}"));
}

pub fn assert_fits_one_screen(screen: &str) {
    assert_fits_the_width(screen);
    assert!(screen.lines().count() <= ROWS, "{screen}");
}

/// Every number that a screen tells is one of the summary, rounded, or one of the others given. The car's name above it and
/// the names of files below it do not count, nor do the `25` of `per 25 mm` and `19 times of 20`.
pub fn assert_numbers_are_known(screen: &str, summary: &Value, others: &[f64]) {
    let known = numbers(summary).into_iter().chain(others.iter().copied()).chain([25.0, 19.0, 20.0]).map(f64::abs);
    let known: Vec<f64> = known.collect();
    let told = screen.lines().take_while(|line| !line.starts_with("Written to")).skip(1);
    let words = told.flat_map(str::split_whitespace).filter(|word| !word.contains("e-") && !word.contains(".toml"));
    let printed: Vec<_> = words.filter_map(printed).collect();
    assert!(printed.len() > 20, "{screen}");
    for (number, half) in printed {
        let is_known = known.iter().any(|known| (known - number).abs() <= half * (1.0 + 1e-9));
        assert!(is_known, "{number} is only in\n{screen}");
    }
}

/// All numbers of a summary, at any depth.
pub fn numbers(value: &Value) -> Vec<f64> {
    match value {
        Value::Number(number) => number.as_f64().into_iter().collect(),
        Value::Array(values) => values.iter().flat_map(numbers).collect(),
        Value::Object(members) => members.values().flat_map(numbers).collect(),
        _ => Vec::new(),
    }
}

/// A number as the screen has it, with half of its last digit.
fn printed(word: &str) -> Option<(f64, f64)> {
    let digits = word.trim_matches(|c: char| !c.is_ascii_digit());
    let decimals = digits.split('.').nth(1).map_or(0, str::len);
    Some((digits.parse().ok()?, 0.5 * 0.1_f64.powi(decimals as i32)))
}
