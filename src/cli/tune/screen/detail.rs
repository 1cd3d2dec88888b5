//! What is left out of a full screen, and where it stands instead.

use std::fmt::Write;

use crate::cli::layout::wrapped;
use crate::present::words;

/// Limits, parts and doubts that are told each by itself where the rest would not fit.
const MAX_LISTED: usize = 2;

/// What a builder can do without on a full screen, and finds in a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Detail {
    Strongest,
    Unchecked,
    Ends,
    Others,
    Rooms,
    /// What is left of the moves is one line a point, of both sides and with the length of its link.
    Before,
    LongLists,
    Changes,
    Settings,
    Lengths,
    Moves,
}

impl Detail {
    /// In this order they are left out.
    pub(super) const ALL: [Self; 11] = [
        Self::Strongest,
        Self::Unchecked,
        Self::Ends,
        Self::Others,
        Self::Rooms,
        Self::Before,
        Self::LongLists,
        Self::Changes,
        Self::Settings,
        Self::Lengths,
        Self::Moves,
    ];

    pub(super) fn words(self) -> &'static str {
        match self {
            Self::Strongest => "what toe depends on",
            Self::Unchecked => "all that is not checked",
            Self::Ends => "ends of rooms",
            Self::Lengths => "new link lengths",
            Self::Changes => "changes with no limit",
            Self::Others => "other answers",
            Self::Rooms => "what more room would gain",
            Self::Settings => "what to set",
            Self::Before => "where points come from",
            Self::Moves => "moves",
            Self::LongLists => "the rest of what is not held",
        }
    }
}

/// What was left out for want of room, by the file that has it; nothing of nothing.
pub(super) fn not_on_this_screen(left_out: &[Detail]) -> String {
    let is_of_moves = |detail: &&Detail| matches!(detail, Detail::Before | Detail::Moves);
    let in_summary = left_out.iter().filter(|detail| !is_of_moves(detail));
    let all: Vec<String> = in_summary.map(|detail| detail.words().to_owned()).collect();
    let summary = (!all.is_empty()).then(|| format!("Only in summary.json: {}.", words::listed(&all)));
    let moves = left_out.iter().rfind(is_of_moves).map(|detail| format!("In moves.csv: {}.", detail.words()));
    let said: Vec<String> = summary.into_iter().chain(moves).collect();
    if said.is_empty() { String::new() } else { format!("{}\n", wrapped("", &said.join(" "))) }
}

/// A sentence in its own lines each; of a long list on a full screen the first, and how many more there are.
pub(super) fn listed(out: &mut String, sentences: Vec<String>, left_out: &[Detail]) -> std::fmt::Result {
    let most = if left_out.contains(&Detail::LongLists) { MAX_LISTED } else { usize::MAX };
    for sentence in sentences.iter().take(most) {
        writeln!(out, "{}", wrapped("  ", sentence))?;
    }
    let more = sentences.len().saturating_sub(most);
    if more > 0 { writeln!(out, "  … and {more} more of these.") } else { Ok(()) }
}

#[cfg(test)]
mod tests {
    use super::{Detail, not_on_this_screen};

    #[test]
    fn what_is_left_out_is_looked_for_in_the_file_that_has_it() {
        assert_eq!(not_on_this_screen(&[]), "");
        assert_eq!(not_on_this_screen(&[Detail::Moves]), "In moves.csv: moves.\n");
        assert_eq!(
            not_on_this_screen(&[Detail::Lengths, Detail::Moves]),
            "Only in summary.json: new link lengths. In moves.csv: moves.\n"
        );
    }
}
