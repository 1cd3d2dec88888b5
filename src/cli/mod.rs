//! The command line: arguments → library call → text and exit code; one file per command.
//!
//! [`run_with`] runs a whole command line in process, so that other code can drive what the program does.

mod advice;
mod check;
mod correct;
mod driveline;
mod fabricate;
mod failure;
mod fault;
mod forces;
mod interrupts;
mod layout;
mod listing;
#[cfg(feature = "live")]
mod live;
mod load;
mod locate;
mod new;
mod open_files;
mod options;
mod progress;
mod report;
mod results;
mod sweep;
mod terminal;
mod tolerance;
mod tune;

use std::ffi::OsString;
use std::io::Write;

use clap::{Parser, Subcommand};

use crate::geometry::Side;
use crate::plain_text::plain;
use crate::present::{self, LengthFormat};
use crate::studies::{CarFindings, JudgedCar, SideBind};

use failure::Failure;
pub use fault::{FAULT, guarded};
pub use listing::listing;
pub use terminal::Terminal;

/// Rear five-link suspension for a one-off car: move it, read it, tune it before a bracket is welded.
///
/// Exit codes: 0 done and inside the limits, 1 done but a limit of the file is broken, 2 wrong input or usage, 3 the
/// mechanism cannot do what was asked, 4 the output could not be written, 70 a fault of the program itself, to be reported.
#[derive(Parser)]
#[command(version)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    New(new::NewArgs),
    Locate(locate::LocateArgs),
    Check(check::CheckArgs),
    Sweep(sweep::SweepArgs),
    Tune(tune::TuneArgs),
    Tolerance(tolerance::ToleranceArgs),
    Forces(forces::ForcesArgs),
    Fabricate(fabricate::FabricateArgs),
    Correct(correct::CorrectArgs),
    Driveline(driveline::DrivelineArgs),
    Report(report::ReportArgs),
    #[cfg(feature = "live")]
    Live(live::LiveArgs),
}

/// How a command that did its work ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Outcome {
    InsideLimits,
    LimitBroken,
}

impl Outcome {
    /// Of a car, as far as the sides shown and the axle go.
    fn of(car: &JudgedCar, sides: &[Side]) -> Self {
        if car.breaks_a_limit(sides) { Outcome::LimitBroken } else { Outcome::InsideLimits }
    }
}

/// What is told of the binds of the wheels asked for, with the table that holds the rows before them; a bind outweighs a
/// broken limit.
fn bind_failures(found: &CarFindings, table: &str) -> Vec<Failure> {
    let lengths = LengthFormat(found.judged.geometry().units);
    found.binds().map(|bind| bind_failure(lengths, bind, table)).collect()
}

/// The same of one bind.
fn bind_failure(lengths: LengthFormat, bind: &SideBind, table: &str) -> Failure {
    Failure::mechanism(present::bind(lengths, bind), present::bind_advice(table, bind))
}

/// Runs a command line whose first word is the name of the program, without progress and leaving Ctrl-C to the caller;
/// the exit code: 0 done and inside the limits, 1 done but a limit of the file is broken, 2 wrong input or usage, 3 the
/// mechanism cannot do what was asked, 4 the output could not be written. A fault of the program panics; [`guarded`] makes
/// exit code 70 of it.
pub fn run_with(
    args: impl IntoIterator<Item = impl Into<OsString> + Clone>,
    out: &mut (dyn Write + Send),
    err: &mut (dyn Write + Send),
) -> u8 {
    run(args, &mut Terminal { out, err, err_is_terminal: false, owns_process: false })
}

/// The same on a terminal.
pub fn run(args: impl IntoIterator<Item = impl Into<OsString> + Clone>, terminal: &mut Terminal<'_>) -> u8 {
    let args: Vec<OsString> = args.into_iter().map(Into::into).collect();
    let outcome = match (tolerance::last_without_equals(&args), Cli::try_parse_from(&args)) {
        (Some(failure), _) => Err(failure),
        (None, Ok(cli)) => obey(&cli.command, terminal),
        (None, Err(usage)) if usage.use_stderr() => Err(Failure::usage(&told_plainly(usage, &args))),
        (None, Err(help)) => terminal.print(&help.render().to_string()).map(|()| Outcome::InsideLimits),
    };
    match outcome {
        Ok(Outcome::InsideLimits) => 0,
        Ok(Outcome::LimitBroken) => 1,
        Err(failure) => {
            terminal.note(&failure.to_string());
            failure.exit_code()
        }
    }
}

/// The same mistake with what the words of the command line hide or steer written out.
fn told_plainly(usage: clap::Error, args: &[OsString]) -> clap::Error {
    let plain = args.iter().map(|word| plain(&word.to_string_lossy()).into_owned());
    Cli::try_parse_from(plain).err().unwrap_or(usage)
}

fn obey(command: &Command, terminal: &mut Terminal<'_>) -> Result<Outcome, Failure> {
    match command {
        Command::New(args) => new::run(args, terminal),
        Command::Locate(args) => locate::run(args, terminal),
        Command::Check(args) => check::run(args, terminal),
        Command::Sweep(args) => sweep::run(args, terminal),
        Command::Tune(args) => tune::run(args, terminal),
        Command::Tolerance(args) => tolerance::run(args, terminal),
        Command::Forces(args) => forces::run(args, terminal),
        Command::Fabricate(args) => fabricate::run(args, terminal),
        Command::Correct(args) => correct::run(args, terminal),
        Command::Driveline(args) => driveline::run(args, terminal),
        Command::Report(args) => report::run(args, terminal),
        #[cfg(feature = "live")]
        Command::Live(args) => live::run(args, terminal),
    }
}
