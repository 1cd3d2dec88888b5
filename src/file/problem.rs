//! One mistake in a file.

use std::error::Error;
use std::fmt;

/// One mistake: where it stands, what is wrong, what to write instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Name of the file as it was given.
    pub source: String,
    /// Counted from 1.
    pub line: usize,
    /// In characters, counted from 1.
    pub column: usize,
    /// The line as it stands in the file, cut when it is very long.
    pub snippet: String,
    /// What was found there.
    pub what: String,
    /// What to write instead.
    pub advice: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, line {}, column {}: {}", self.source, self.line, self.column, self.what)
    }
}

impl Error for Problem {}
