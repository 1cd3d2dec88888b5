//! The command line of hubtrace.

mod cli;

use std::process::ExitCode;

fn main() -> ExitCode {
    cli::run()
}
