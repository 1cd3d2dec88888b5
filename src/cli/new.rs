//! `hubtrace new`: a commented starter to write the builder's own numbers over, or a survey that is still to be taken.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use crate::file::{GeometryFile, StarterRequest, Tyre, starter_text};
use crate::geometry::LengthUnit;
use crate::outputs::{measuring_sheet, write_file, write_files};
use crate::plain_text::plain_path;
use crate::present::LengthFormat;
use crate::survey::{SurveyTemplate, survey_text};

use super::failure::Failure;
use super::{Outcome, Terminal};

/// Write a commented starter geometry whose numbers fit your wheel, or with --survey a measuring sheet to take to the car
#[derive(Debug, Args)]
pub struct NewArgs {
    /// File to write, for example rear.toml
    path: PathBuf,
    /// Write a survey to fill in, and beside it the same as a numbered sheet to print (.html)
    #[arg(long)]
    survey: bool,
    /// Geometry whose points are to be measured; the starter's when none is given
    #[arg(long, value_name = "FILE", requires = "survey")]
    of: Option<PathBuf>,
    /// Tyre size as on its sidewall, for example 205/50R15; the demo car's when not given
    #[arg(long, value_name = "SIZE")]
    tyre: Option<Tyre>,
    /// Track between the contact points of the rear wheels, in mm with --units in too; the demo car's when not given
    #[arg(long, value_name = "MM", value_parser = number, allow_negative_numbers = true)]
    track: Option<f64>,
    /// In which unit the file is written, and every length that is told of it
    #[arg(long, value_enum, default_value_t = Units::Mm, conflicts_with = "of")]
    units: Units,
    /// Overwrite a file that exists
    #[arg(long)]
    force: bool,
    /// Print nothing but errors
    #[arg(long)]
    quiet: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Units {
    Mm,
    In,
}

impl From<Units> for LengthUnit {
    fn from(units: Units) -> Self {
        match units {
            Units::Mm => LengthUnit::Millimetre,
            Units::In => LengthUnit::Inch,
        }
    }
}

pub fn run(args: &NewArgs, terminal: &mut Terminal<'_>) -> Result<Outcome, Failure> {
    let request = StarterRequest::new(args.tyre.clone(), args.track).map_err(|error| Failure::input(error, ""))?;
    if args.survey {
        return survey(args, &request, terminal);
    }
    write_file(&args.path, &starter_text(&request, args.units.into()), args.force)?;
    if !args.quiet {
        let path = plain_path(&args.path);
        let (units, track) = match args.units {
            Units::Mm => ("", String::new()),
            Units::In => {
                (" in inches", format!(" ({})", LengthFormat(args.units.into()).with_unit(request.track_mm())))
            }
        };
        terminal.print(&format!(
            "Wrote {path}: starter numbers{units} for {request}{track}.\n\
             Write your own over them, then run `hubtrace check {path}`.\n"
        ))?;
    }
    Ok(Outcome::InsideLimits)
}

/// The survey file and its sheet, of the points of the geometry that is named, or of the starter.
fn survey(args: &NewArgs, request: &StarterRequest, terminal: &mut Terminal<'_>) -> Result<Outcome, Failure> {
    let geometry = match &args.of {
        Some(path) => GeometryFile::read(path)?,
        None => GeometryFile::parse("starter", &starter_text(request, args.units.into()))?,
    };
    let template = SurveyTemplate::of(&geometry.geometry);
    let sheet = args.path.with_extension("html");
    if sheet == args.path {
        let what = format!("{} is the name of the sheet", plain_path(&sheet));
        return Err(Failure::input(what, "give the survey another name, for example survey.toml"));
    }
    write_files(&[(&args.path, &survey_text(&template)), (&sheet, &measuring_sheet(&template))], args.force)?;
    if !args.quiet {
        let readings: usize = template.readings().iter().map(|kind| kind.readings.len()).sum();
        let [path, sheet] = [&args.path, &sheet].map(|path| plain_path(path));
        terminal.print(&format!(
            "Wrote {path} and {sheet}: {readings} readings of {} points.\n\
             Print the sheet, take the readings that you can, write them into {path} by\n\
             their numbers, then run `hubtrace locate {path}`.\n",
            template.points.len()
        ))?;
    }
    Ok(Outcome::InsideLimits)
}

fn number(text: &str) -> Result<f64, String> {
    text.parse().map_err(|_| "write the track in mm, for example 1490".to_owned())
}
