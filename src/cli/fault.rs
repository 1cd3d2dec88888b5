//! The last net: a fault of the program itself is told with what to send, and ends as one, never as a bare abort.

use std::any::Any;
use std::ffi::OsString;
use std::io::{Write, stderr};
use std::panic::{AssertUnwindSafe, PanicHookInfo, catch_unwind, set_hook};
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};

use crate::plain_text::{is_plain, plain_path};

use super::failure::Failure;

/// Exit code of a fault of the program itself.
pub const FAULT: u8 = 70;

/// Runs the command line `words` by `run`, and ends with [`FAULT`] when that panics. From then on a panic of any thread of
/// the process says on stderr what happened and which files to send, once.
pub fn guarded(words: &[OsString], run: impl FnOnce() -> u8) -> u8 {
    let (line, files) = (command_line(words), files_of(words));
    let told = AtomicBool::new(false);
    set_hook(Box::new(move |panic| {
        if !told.swap(true, Ordering::Relaxed) {
            // When even stderr is closed there is nobody left to tell.
            let _ = stderr().write_all(report(panic, &line, &files).to_string().as_bytes());
        }
    }));
    catch_unwind(AssertUnwindSafe(run)).unwrap_or(FAULT)
}

fn report(panic: &PanicHookInfo, line: &str, files: &[String]) -> Failure {
    let place = panic.location().map_or_else(String::new, |at| format!(" ({}, line {})", at.file(), at.line()));
    let files = match files {
        [] => String::new(),
        named => format!(", and send {}", named.join(" and ")),
    };
    Failure::fault(
        format!("{}{place}", message(panic.payload())),
        format!(
            "report this message with the command `{line}`{files}\n\
             nothing that this run found was written, or all of it"
        ),
    )
}

fn message(payload: &dyn Any) -> &str {
    let text = payload.downcast_ref::<&str>().copied();
    text.or_else(|| payload.downcast_ref::<String>().map(String::as_str)).unwrap_or("no message")
}

/// The words as they may be typed again: the name of the program without its folder, and quotes where a word has spaces or
/// what cannot be seen.
fn command_line(words: &[OsString]) -> String {
    let quoted = |word: &OsString| {
        let word = word.to_string_lossy();
        let stands = |c: char| is_plain(c) && !c.is_whitespace();
        if word.chars().all(stands) { word.into_owned() } else { format!("{word:?}") }
    };
    let rest = words.iter().skip(1).map(quoted);
    std::iter::once("hubtrace".to_owned()).chain(rest).collect::<Vec<_>>().join(" ")
}

/// Words that are files: the geometry and whatever else the command reads.
fn files_of(words: &[OsString]) -> Vec<String> {
    let files = words.iter().skip(1).filter(|word| Path::new(word).is_file());
    files.map(|word| plain_path(Path::new(word))).collect()
}
