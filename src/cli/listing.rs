//! Mistakes of a file as a terminal shows them: each with its line of the file, and with what to do.

use std::io;

use super::layout::quoted;
use super::open_files::{OUT_OF_HANDLES, is_out_of_handles};
use crate::file::{Problem, ReadError};

/// Everything that is wrong with a file, with the line of each mistake and advice behind a bar; no newline at the end.
pub fn listing(error: &ReadError) -> String {
    let advice = match error {
        ReadError::Problems { problems, left_out } => return list(problems, *left_out),
        ReadError::Directory { .. } => "name the file inside it",
        ReadError::Unreadable { cause, .. } => unreadable_advice(cause),
        ReadError::TooLarge { .. } => "it should be a few kilobytes of text; check that this is the right file",
        ReadError::NotUtf8 { .. } => "save the file as UTF-8 in the editor, or check that this is the right file",
        ReadError::Empty { .. } => "`hubtrace new` writes a commented file to start from",
    };
    format!("error: {error}\n{}", quoted(advice))
}

fn unreadable_advice(cause: &io::Error) -> &'static str {
    if is_out_of_handles(cause) {
        return OUT_OF_HANDLES;
    }
    match cause.kind() {
        io::ErrorKind::NotFound => "check the path; `hubtrace new` writes a commented file to start from",
        io::ErrorKind::PermissionDenied => "allow reading of the file, or copy it to where you may read it",
        _ => "check the path and the disk, or copy the file elsewhere and try again",
    }
}

fn list(problems: &[Problem], left_out: usize) -> String {
    let mut lines: Vec<String> = problems.iter().map(shown).collect();
    if left_out > 0 {
        lines.push(format!("error: {left_out} more problems; correct these first"));
    }
    lines.join("\n")
}

fn shown(problem: &Problem) -> String {
    let Problem { line, snippet, advice, .. } = problem;
    let advice: Vec<String> = advice.lines().map(quoted).collect();
    format!("error: {problem}\n{line:>5} | {snippet}\n{}", advice.join("\n"))
}
