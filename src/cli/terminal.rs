//! The two streams. A reader that has gone away (`hubtrace sweep | head -1`) is no error.

use std::io::{ErrorKind, Write, stderr, stdout};

use super::failure::Failure;

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
