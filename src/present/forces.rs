//! Forces in words: the caution that goes with every table of them, and where the largest come up.

use super::length::{LengthFormat, rounded};
use super::words;
use crate::geometry::Side;
use crate::studies::Lacking;
use crate::studies::forces::{Extreme, ForcesFindings, SpringFails};

/// Goes with every study of forces.
pub const CAUTION: &str = "Static forces in a rigid frame: guidance, not approval. Welds, fatigue, brackets and shock are not \
    covered; the rulebook and a licensed engineer decide. A failed link can kill: see docs/safety.md.";
/// The same in a cell of a table.
pub const TABLE_CAUTION: &str = "static rigid-frame guidance, not approval";
/// Goes with cases that the file did not give.
pub const COMMON_PRACTICE: &str = "The file has no [[load]]: these cases are common practice, not measured on any car.";

/// A force as a bathroom scale would read it: whole newtons.
pub fn newtons(n: f64) -> String {
    rounded(n, 0)
}

/// In which case, by its number in the list of [`cases`], and where: `3 right, 60.0 mm bump`; no side when the table is of one
/// wheel.
pub fn place(found: &ForcesFindings, extreme: &Extreme, of_one_wheel: bool) -> String {
    let number = found.cases.iter().position(|case| case.name == extreme.case).map_or(0, |index| index + 1);
    let side = if of_one_wheel { String::new() } else { format!(" {}", extreme.side.name()) };
    format!("{number}{side}, {}", words::travel(LengthFormat(found.geometry.units), extreme.at_bump_mm))
}

/// What the numbers of the cases stand for.
pub fn cases(found: &ForcesFindings) -> String {
    let each: Vec<String> = (1..).zip(&found.cases).map(|(number, case)| format!("{number} {}", case.name)).collect();
    format!("Cases: {}.", each.join("; "))
}

/// Cases that were not told, one sentence; `None` when all were.
pub fn not_checked(lacking: &[Lacking]) -> Option<String> {
    let each: Vec<String> = lacking.iter().map(|lacks| format!("{} (needs {})", lacks.what, lacks.needs)).collect();
    (!each.is_empty()).then(|| format!("Not checked: {}.", each.join("; ")))
}

/// A wheel that its spring does not hold.
pub fn spring_fails(lengths: LengthFormat, fails: &SpringFails) -> String {
    let at = words::travel(lengths, fails.at_bump_mm);
    format!(
        "the spring does not hold the {} wheel at {at}: bump travel hardly changes its length there",
        fails.side.name()
    )
}

/// What to do about it.
pub const SPRING_FAILS_ADVICE: &str = "forces.csv lacks these rows; move an end of the spring so that it shortens in bump, and see `damper_per_wheel` of a sweep";

/// What a file without a spring is told.
pub fn no_spring(side: Side) -> String {
    format!(
        "the {} wheel has no spring: five links alone do not carry its load, so their forces cannot be told",
        side.name()
    )
}
