//! What to doubt: warnings, starter numbers, and what the file leaves open.

use crate::file::{StarterRequest, untouched_points};
use crate::geometry::Geometry;
use crate::present;
use crate::studies::CheckFindings;

use super::super::layout::wrapped;

/// Every doubt on lines of its own, the sharpest first.
pub fn lines(found: &CheckFindings, geometry: &Geometry) -> Vec<String> {
    let warnings = found.warnings.iter().map(|doubt| format!("warning: {}", doubt.sentence));
    let open = found.lacking.iter().map(|open| format!("not checked: {}", present::lacking(open)));
    let keys = &found.limits_not_set;
    let limits = (!keys.is_empty()).then(|| format!("not in [limits], so never passed or failed: {}", keys.join(", ")));
    let all = warnings.chain(starter_numbers(geometry)).chain(open).chain(limits);
    all.map(|text| wrapped("", &text)).collect()
}

fn starter_numbers(geometry: &Geometry) -> Option<String> {
    if let Err(error) = geometry.starter.as_deref()?.parse::<StarterRequest>() {
        return Some(format!("warning: `starter`: {error}"));
    }
    present::starter_numbers(untouched_points(geometry).as_ref())
}
