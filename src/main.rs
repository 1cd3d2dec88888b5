//! The program: the command line of the library around the streams of the process.

use std::env::args_os;
use std::io::{IsTerminal, stderr, stdout};
use std::process::ExitCode;

use hubtrace::cli::{Terminal, run};

fn main() -> ExitCode {
    let (out, err, err_is_terminal) = (&mut stdout(), &mut stderr(), stderr().is_terminal());
    ExitCode::from(run(args_os(), &mut Terminal { out, err, err_is_terminal, owns_process: true }))
}
