//! `hubtrace locate`: from what the tape says to coordinates.

mod screen;

use std::path::PathBuf;

use clap::Args;

use crate::file::points_text;
use crate::outputs::{LocateSummary, points_csv, residuals_csv, sha256_hex, summary_json};
use crate::studies::locate::LocateFindings;

use super::failure::Failure;
use super::options::{OutputArgs, results};
use super::{Outcome, Terminal, load};

/// Turn taped distances, heights and offsets into coordinates, and tell which reading was misread
#[derive(Debug, Args)]
pub struct LocateArgs {
    /// Survey file; the built-in demo survey when none is given
    survey: Option<PathBuf>,
    #[command(flatten)]
    output: OutputArgs,
}

pub fn run(args: &LocateArgs, terminal: &mut Terminal<'_>) -> Result<Outcome, Failure> {
    let file = load::survey(args.survey.as_deref(), args.output.quiet, terminal)?;
    let found = LocateFindings::of(&file.survey);
    let summary = LocateSummary::of(&found, &file.remarks);
    let summary = summary_json(&summary, &sha256_hex(file.text.as_bytes())).map_err(Failure::unwritable)?;

    let mut folder = results("locate", args.survey.as_deref(), &file.source, &file.text);
    folder.add("points.csv", points_csv(&found.located).map_err(Failure::unwritable)?);
    folder.add("residuals.csv", residuals_csv(&found.located).map_err(Failure::unwritable)?);
    folder.add("points.toml", points_text(&file.source, file.survey.units, &found.located.measured()));
    folder.add("summary.json", summary.as_str());
    let written = folder.write(&args.output.out, args.output.force)?;

    let screen = screen::Screen { file: &file, found: &found.located };
    args.output.tell(terminal, &summary, || screen.text(&written))?;
    if found.located.points.iter().any(|point| point.at_mm.is_some()) {
        return Ok(Outcome::InsideLimits);
    }
    let what = format!("the readings of {} place no point", file.source);
    Err(Failure::mechanism(what, "take the readings that are named above, and write them into the survey file"))
}
