//! Arguments → library call → text and exit code; one file per command.

mod check;
mod failure;
mod layout;
mod load;
mod new;
mod options;
mod results;
mod sweep;
mod terminal;
mod tolerance;
mod tune;

use std::process::ExitCode;

use clap::{Parser, Subcommand};

use hubtrace::geometry::Side;
use hubtrace::studies::JudgedCar;

/// Rear five-link suspension for a one-off car: move it, read it, tune it before a bracket is welded.
///
/// Exit codes: 0 done and inside the limits, 1 done but a limit of the file is broken, 2 wrong input or usage, 3 the
/// mechanism cannot do what was asked, 4 the output could not be written.
#[derive(Parser)]
#[command(version)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    New(new::NewArgs),
    Check(check::CheckArgs),
    Sweep(sweep::SweepArgs),
    Tune(tune::TuneArgs),
    Tolerance(tolerance::ToleranceArgs),
}

/// How a command that did its work ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    InsideLimits,
    LimitBroken,
}

impl Outcome {
    /// Of a car, as far as the sides shown and the axle go.
    fn of(car: &JudgedCar, sides: &[Side]) -> Self {
        if car.breaks_a_limit(sides) { Outcome::LimitBroken } else { Outcome::InsideLimits }
    }
}

pub fn run() -> ExitCode {
    let outcome = match Cli::parse().command {
        Command::New(args) => new::run(&args),
        Command::Check(args) => check::run(&args),
        Command::Sweep(args) => sweep::run(&args),
        Command::Tune(args) => tune::run(&args),
        Command::Tolerance(args) => tolerance::run(&args),
    };
    match outcome {
        Ok(Outcome::InsideLimits) => ExitCode::SUCCESS,
        Ok(Outcome::LimitBroken) => ExitCode::from(1),
        Err(failure) => {
            terminal::note(&failure.to_string());
            failure.exit_code()
        }
    }
}
