//! Frame tubes under brackets beside other forms of them, for report and build sheet.

use super::html::{Cell, number, paragraph, table, words};
use crate::present::LengthFormat;
use crate::present::forces::{self, TubeLine};
use crate::studies::forces::ForcesFindings;

/// Each tube as it is, two of it, and a square one as strong; nothing when no bracket stands on a known tube.
pub(super) fn tube_forms(lengths: LengthFormat, found: &ForcesFindings) -> String {
    let row = |line: TubeLine| -> Vec<Cell> {
        let numbers = [line.stiffness, line.strength, line.mass_kg].map(number);
        [words(line.tube), words(line.form)].into_iter().chain(numbers).collect()
    };
    let rows: Vec<Vec<Cell>> = forces::tube_forms(lengths, &found.frame).into_iter().map(row).collect();
    if rows.is_empty() {
        return String::new();
    }
    let columns = ["tube", "form", "stiffness", "strength", "kg"];
    table(forces::TUBE_FORMS_TITLE, &columns, &rows) + &paragraph(forces::TUBE_FORMS_NOTE)
}
