//! What to doubt: warnings, starter numbers, and what the file leaves open.

use crate::file::{GeometryFile, StarterRequest, untouched_points};
use crate::geometry::Side;
use crate::present;
use crate::studies::CheckFindings;
use crate::studies::plausibility::Doubt;

use super::super::layout::wrapped;

/// Every doubt on lines of its own, the sharpest first.
pub fn lines(found: &CheckFindings, file: &GeometryFile) -> Vec<String> {
    let warnings = found.warnings.iter().map(|doubt| format!("warning: {}{}", place(doubt, file), doubt.sentence));
    let open = found.lacking.iter().map(|open| format!("not checked: {}", present::lacking(open)));
    let limits = present::quantities_without_limit(&found.limits_not_set);
    let all = warnings.chain(starter_numbers(file)).chain(open).chain(limits);
    all.map(|text| wrapped("", &text)).collect()
}

/// `rear.toml, line 33: `, of what is probably wrong first of all; nothing of what the file leaves to a default.
fn place(doubt: &Doubt, file: &GeometryFile) -> String {
    let about = doubt.suspects.first().map(|suspect| suspect.about.as_str());
    let line = about.and_then(|about| file.line_of(doubt.side.unwrap_or(Side::Left), about));
    at_line(file, line)
}

fn at_line(file: &GeometryFile, line: Option<usize>) -> String {
    line.map_or(String::new(), |line| format!("{}, line {line}: ", file.source))
}

fn starter_numbers(file: &GeometryFile) -> Option<String> {
    let geometry = &file.geometry;
    if let Err(error) = geometry.starter.as_deref()?.parse::<StarterRequest>() {
        let place = at_line(file, file.line_of(Side::Left, "starter"));
        return Some(format!("warning: {place}`starter`: {error}"));
    }
    present::starter_numbers(untouched_points(geometry).as_ref(), geometry.tuned)
}
