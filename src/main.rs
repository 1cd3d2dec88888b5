//! The program: the command line of the library around the streams of the process.

use std::env::args_os;
use std::ffi::OsString;
use std::io::{IsTerminal, stderr, stdout};
use std::process::ExitCode;

use hubtrace::cli::{Terminal, guarded, run};

fn main() -> ExitCode {
    let words: Vec<OsString> = args_os().collect();
    let (out, err, err_is_terminal) = (&mut stdout(), &mut stderr(), stderr().is_terminal());
    let terminal = &mut Terminal { out, err, err_is_terminal, owns_process: true };
    ExitCode::from(guarded(&words, || run(&words, terminal)))
}
