//! Why a geometry file could not be used.

use std::error::Error;
use std::fmt;
use std::io;
use std::str::Utf8Error;

use super::problem::Problem;

/// Why a geometry file could not be used. `Display` is the whole text for a terminal, `error:` included.
#[derive(Debug)]
pub enum ReadError {
    Directory { source: String },
    Unreadable { source: String, cause: io::Error },
    TooLarge { source: String, limit_bytes: u64 },
    NotUtf8 { source: String, line: usize, byte: usize, cause: Utf8Error },
    Empty { source: String },
    Problems { problems: Vec<Problem>, left_out: usize },
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ReadError::Directory { source } => {
                write!(f, "error: {source} is a folder, not a geometry file\n      | name the file inside it")
            }
            ReadError::Unreadable { source, cause } => {
                write!(f, "error: {source} cannot be read: {cause}\n      | {}", unreadable_advice(cause))
            }
            ReadError::TooLarge { source, limit_bytes } => write!(
                f,
                "error: {source} is larger than {} MB\n      | a geometry is a few kilobytes of text; check that this is \
                 the right file",
                limit_bytes / 1_000_000
            ),
            ReadError::NotUtf8 { source, line, byte, .. } => write!(
                f,
                "error: {source}, line {line}: byte {byte} of the file is not UTF-8 text\n      | save the file as UTF-8 \
                 in the editor, or check that this is the right file"
            ),
            ReadError::Empty { source } => write!(
                f,
                "error: {source} is empty\n      | `hubtrace new rear.toml` writes a commented file to start from"
            ),
            ReadError::Problems { problems, left_out } => list(f, problems, *left_out),
        }
    }
}

impl Error for ReadError {
    fn source(&self) -> Option<&(dyn Error + 'static)> {
        match self {
            ReadError::Unreadable { cause, .. } => Some(cause),
            ReadError::NotUtf8 { cause, .. } => Some(cause),
            _ => None,
        }
    }
}

fn unreadable_advice(cause: &io::Error) -> &'static str {
    match cause.kind() {
        io::ErrorKind::NotFound => "check the path; `hubtrace new rear.toml` writes a commented file to start from",
        io::ErrorKind::PermissionDenied => "allow reading of the file, or copy it to where you may read it",
        _ => "check the path and the disk, or copy the file elsewhere and try again",
    }
}

fn list(f: &mut fmt::Formatter<'_>, problems: &[Problem], left_out: usize) -> fmt::Result {
    for (i, problem) in problems.iter().enumerate() {
        let separator = if i == 0 { "" } else { "\n" };
        write!(f, "{separator}{problem}")?;
    }
    match left_out {
        0 => Ok(()),
        more => write!(f, "\nerror: {more} more problems; correct these first"),
    }
}
