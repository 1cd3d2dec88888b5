//! The two streams. A reader that has gone away (`hubtrace sweep | head -1`) is no error.

use std::io::{ErrorKind, Write, stderr, stdout};

use textwrap::{Options, WordSplitter, fill};

use super::failure::Failure;

const COLUMNS: usize = 80;

/// Results, to stdout.
pub fn print(text: &str) -> Result<(), Failure> {
    let mut out = stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            Err(Failure::output(format!("cannot print the result: {error}"), "send it to a place that has room"))
        }
        _ => Ok(()),
    }
}

/// Remarks and errors, to stderr; when even that is closed there is nobody left to tell.
pub fn note(text: &str) {
    let _ = stderr().lock().write_all(text.as_bytes());
}

/// A paragraph broken to the width of the screen, further lines set in by two; file names stay whole at their hyphens.
pub fn wrapped(indent: &str, text: &str) -> String {
    let further = format!("{indent}  ");
    let options = Options::new(COLUMNS).initial_indent(indent).subsequent_indent(&further);
    fill(text, options.word_splitter(WordSplitter::NoHyphenation))
}
