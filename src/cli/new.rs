//! `hubtrace new`: a commented starter to write the builder's own numbers over.

use std::path::PathBuf;

use clap::Args;

use crate::file::{StarterRequest, Tyre, starter_text};
use crate::outputs::write_file;
use crate::plain_text::plain_path;

use super::failure::Failure;
use super::{Outcome, Terminal};

/// Write a commented starter geometry whose numbers fit your wheel
#[derive(Debug, Args)]
pub struct NewArgs {
    /// File to write, for example rear.toml
    path: PathBuf,
    /// Tyre size as on its sidewall, for example 205/50R15; the demo car's when not given
    #[arg(long, value_name = "SIZE")]
    tyre: Option<Tyre>,
    /// Track between the contact points of the rear wheels, mm; the demo car's when not given
    #[arg(long, value_name = "MM", value_parser = number, allow_negative_numbers = true)]
    track: Option<f64>,
    /// Overwrite a file that exists
    #[arg(long)]
    force: bool,
    /// Print nothing but errors
    #[arg(long)]
    quiet: bool,
}

pub fn run(args: &NewArgs, terminal: &mut Terminal<'_>) -> Result<Outcome, Failure> {
    let request = StarterRequest::new(args.tyre, args.track).map_err(|error| Failure::input(error, ""))?;
    write_file(&args.path, &starter_text(&request), args.force)?;
    if !args.quiet {
        let path = plain_path(&args.path);
        terminal.print(&format!(
            "Wrote {path}: starter numbers for {request}.\n\
             Write your own over them, then run `hubtrace check {path}`.\n"
        ))?;
    }
    Ok(Outcome::InsideLimits)
}

fn number(text: &str) -> Result<f64, String> {
    text.parse().map_err(|_| "write the track in mm, for example 1490".to_owned())
}
