//! Why a command could not do its work: what the builder reads, and the exit code.

use std::fmt::{self, Display, Formatter};

use crate::file::{Problem, ReadError};
use crate::outputs::WriteError;

use super::advice::after_no_write;
use super::fault::FAULT;
use super::layout::{quoted, wrapped};
use super::listing::listing;

/// What happened with advice on what to do, laid out for the terminal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    cause: Cause,
    text: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Cause {
    Input,
    Mechanism,
    Output,
    Program,
}

impl Failure {
    /// Wrong input or usage; `advice` may have several lines.
    pub fn input(what: impl Display, advice: impl Display) -> Self {
        Self::new(Cause::Input, what, advice)
    }

    /// The mechanism cannot do what was asked: it binds.
    pub fn mechanism(what: impl Display, advice: impl Display) -> Self {
        Self::new(Cause::Mechanism, what, advice)
    }

    /// A result could not be written.
    pub fn output(what: impl Display, advice: impl Display) -> Self {
        Self::new(Cause::Output, what, advice)
    }

    /// A fault of the program itself.
    pub fn fault(what: impl Display, advice: impl Display) -> Self {
        Self::new(Cause::Program, format!("a fault of hubtrace itself, not of your car: {what}"), advice)
    }

    /// A result that could not be put into its file's form.
    pub fn unwritable(error: impl Display) -> Self {
        Self::fault(format!("a result cannot be put down: {error}"), "report this message and send the file")
    }

    /// A command line that cannot be read, told as `clap` lays it out, its paragraphs broken to the width of the screen.
    pub fn usage(error: &clap::Error) -> Self {
        let told = error.render().to_string();
        let lines = told.lines().map(|line| {
            let text = line.trim_start();
            wrapped(&line[..line.len() - text.len()], text) + "\n"
        });
        Self { cause: Cause::Input, text: lines.collect() }
    }

    /// One failure for several of the same cause, each told in full.
    pub fn several(failures: impl Iterator<Item = Failure>) -> Self {
        failures
            .reduce(|all, next| Self { cause: all.cause, text: all.text + &next.text })
            .unwrap_or_else(|| Self { cause: Cause::Mechanism, text: String::new() })
    }

    pub fn exit_code(&self) -> u8 {
        match self.cause {
            Cause::Input => 2,
            Cause::Mechanism => 3,
            Cause::Output => 4,
            Cause::Program => FAULT,
        }
    }

    fn new(cause: Cause, what: impl Display, advice: impl Display) -> Self {
        let advice = advice.to_string().lines().map(|line| quoted(line) + "\n").collect::<String>();
        Self { cause, text: format!("{}\n{advice}", wrapped("", &format!("error: {what}"))) }
    }
}

impl Display for Failure {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl From<WriteError> for Failure {
    fn from(error: WriteError) -> Self {
        Self::output(&error, after_no_write(&error))
    }
}

impl From<Problem> for Failure {
    fn from(problem: Problem) -> Self {
        ReadError::Problems { problems: vec![problem], left_out: 0 }.into()
    }
}

impl From<ReadError> for Failure {
    fn from(error: ReadError) -> Self {
        Self { cause: Cause::Input, text: listing(&error) + "\n" }
    }
}
