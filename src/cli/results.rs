//! What became of the output folder, for the end of a screen.

use crate::outputs::{OtherResults, Written};
use crate::plain_text::plain_path;

use super::layout::wrapped;

/// Where the results are, what of earlier runs is gone or left, and whose results lie beside them.
pub fn text(written: &Written, geometry: &str) -> String {
    let Written { folder, names, removed, left, others } = written;
    let folder = plain_path(folder);
    let mut lines = vec![format!("Written to {folder}: {}", names.join(", "))];
    if !removed.is_empty() {
        lines.push(format!("Removed, of an earlier run: {}", removed.join(", ")));
    }
    if !left.is_empty() {
        lines.push(format!("Left, of an earlier run and changed by you since: {}", left.join(", ")));
    }
    if !others.is_empty() {
        let others: Vec<String> = others.iter().map(|other| other_results(other, geometry)).collect();
        lines.push(format!("Note: {folder} holds results of another input too: {}.", others.join("; ")));
    }
    lines.iter().map(|line| wrapped("", line) + "\n").collect()
}

fn other_results(other: &OtherResults, geometry: &str) -> String {
    match &other.geometry {
        None => format!("of {}", other.command),
        Some(name) if name == geometry => format!("of {}, made from {name} as it was then", other.command),
        Some(name) => format!("of {}, made from {name}", other.command),
    }
}
