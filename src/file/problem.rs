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
    /// Other lines that take part in it, rising, counted from 1.
    pub with: Vec<usize>,
    /// What to write instead.
    pub advice: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, line {}, column {}: {}", self.source, self.line, self.column, self.what)?;
        let with: Vec<String> = self.with.iter().map(usize::to_string).collect();
        match with.split_last() {
            None => Ok(()),
            Some((only, [])) => write!(f, "; line {only} takes part"),
            Some((last, others)) => write!(f, "; lines {} and {last} take part", others.join(", ")),
        }
    }
}

impl Error for Problem {}
