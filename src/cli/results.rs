//! What became of the output folder, for the end of a screen.

use crate::outputs::{OtherResults, Written};
use crate::plain_text::plain_path;
use crate::present::words;

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
        lines.push(format!("Note: {folder} holds results of another input too: {}.", other_results(others, geometry)));
    }
    lines.iter().map(|line| wrapped("", line) + "\n").collect()
}

/// The commands of each input together: `of sweep and tune, made from rear.toml`.
fn other_results(others: &[OtherResults], geometry: &str) -> String {
    let inputs = words::gathered(others.iter().map(|other| (&other.geometry, other.command.to_string())));
    let told = inputs.iter().map(|(input, commands)| {
        let commands = words::listed(commands);
        match input {
            None => format!("of {commands}"),
            Some(name) if name == geometry => format!("of {commands}, made from {name} as it was then"),
            Some(name) => format!("of {commands}, made from {name}"),
        }
    });
    told.collect::<Vec<_>>().join("; ")
}
