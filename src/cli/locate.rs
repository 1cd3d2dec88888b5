//! `hubtrace locate`: from what the tape says to coordinates.

mod screen;

use std::path::PathBuf;

use clap::Args;

use crate::file::{GeometryFile, MeasuredFile, points_text, with_measured};
use crate::geometry::MeasuredPoint;
use crate::outputs::{LocateSummary, points_csv, replace_file, residuals_csv, sha256_hex, summary_json};
use crate::studies::locate::LocateFindings;

use super::failure::Failure;
use super::options::{OutputArgs, results};
use super::{Outcome, Terminal, load};

/// Turn taped distances, heights and offsets into coordinates, and tell which reading was misread
#[derive(Debug, Args)]
pub struct LocateArgs {
    /// Survey file; the built-in demo survey when none is given
    survey: Option<PathBuf>,
    /// Geometry file to write the points into, each under its name and with its `measured_sd`; comments stay
    #[arg(long, value_name = "FILE")]
    into: Option<PathBuf>,
    #[command(flatten)]
    output: OutputArgs,
}

pub fn run(args: &LocateArgs, terminal: &mut Terminal<'_>) -> Result<Outcome, Failure> {
    let file = load::survey(args.survey.as_deref(), args.output.quiet, terminal)?;
    let geometry = args.into.as_deref().map(GeometryFile::read).transpose()?;
    let found = LocateFindings::of(&file.survey);
    let points = found.located.measured();
    let into = geometry.as_ref().map(|geometry| filled(geometry, &points)).transpose()?;
    let into = geometry.as_ref().zip(into.as_ref());
    let summary =
        LocateSummary::of(&found, &file.remarks, into.map(|(geometry, into)| (geometry.source.as_str(), into)));
    let summary = summary_json(&summary, &sha256_hex(file.text.as_bytes())).map_err(Failure::unwritable)?;

    let given = args.survey.as_deref().into_iter().chain(args.into.as_deref());
    let mut folder = results("locate", given, &file.source, &file.text);
    folder.add("points.csv", points_csv(&found.located).map_err(Failure::unwritable)?);
    folder.add("residuals.csv", residuals_csv(&found.located).map_err(Failure::unwritable)?);
    folder.add("points.toml", points_text(&file.source, file.survey.units, &points));
    folder.add("summary.json", summary.as_str());
    let written = folder.write(&args.output.out, args.output.force)?;

    if let (Some(path), Some((geometry, into))) = (&args.into, into) {
        replace_file(path, &geometry.text, &into.text)?;
    }
    let into = into.map(|(geometry, into)| (geometry.source.as_str(), into));
    let screen = screen::Screen { file: &file, found: &found.located, into };
    args.output.tell(terminal, &summary, || screen.text(&written))?;
    if !points.is_empty() {
        return Ok(Outcome::InsideLimits);
    }
    let what = format!("the readings of {} place no point", file.source);
    Err(Failure::mechanism(what, "take the readings that are named above, and write them into the survey file"))
}

/// The geometry with the points in it; refused when it has a name for none of them.
fn filled(geometry: &GeometryFile, points: &[MeasuredPoint]) -> Result<MeasuredFile, Failure> {
    let filled = with_measured(geometry, points).map_err(|error| Failure::input(&error, error.advice()))?;
    if filled.points.is_empty() && !points.is_empty() {
        let what = format!("{} has none of the points that were found", geometry.source);
        let advice = "name them as the links are named, for example \"toe link chassis\" or \"toe link upright\"";
        return Err(Failure::input(what, advice));
    }
    Ok(filled)
}
