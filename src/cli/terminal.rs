//! The two streams. A reader that has gone away (`hubtrace sweep | head -1`) is no error.

use std::io::{ErrorKind, Write};

use super::failure::Failure;

/// Where a command line tells its results and remarks.
pub struct Terminal<'a> {
    /// Results.
    pub out: &'a mut (dyn Write + Send),
    /// Remarks and errors.
    pub err: &'a mut (dyn Write + Send),
    /// True when a person sees `err` while the command works: it then shows progress.
    pub err_is_terminal: bool,
    /// True for the program itself: Ctrl-C then ends a search with the best so far. False leaves Ctrl-C to the caller.
    pub owns_process: bool,
}

impl Terminal<'_> {
    pub(super) fn print(&mut self, text: &str) -> Result<(), Failure> {
        match self.out.write_all(text.as_bytes()).and_then(|()| self.out.flush()) {
            Err(error) if error.kind() != ErrorKind::BrokenPipe => {
                Err(Failure::output(format!("cannot print the result: {error}"), "send it to a place that has room"))
            }
            _ => Ok(()),
        }
    }

    /// When even stderr is closed there is nobody left to tell.
    pub(super) fn note(&mut self, text: &str) {
        let _ = self.err.write_all(text.as_bytes());
    }
}
