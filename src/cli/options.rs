//! Options that several commands share.

use std::ops::RangeBounds;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use crate::file::GeometryFile;
use crate::geometry::{Geometry, LengthUnit, Side, Travel};
use crate::outputs::{Origin, OutputFolder, sha256_hex};
use crate::studies::tolerance::USUAL_CARS;

use super::failure::Failure;
use super::terminal::Terminal;

/// Where the results go and how they are told.
#[derive(Debug, Args)]
pub struct OutputArgs {
    /// Folder for the results; created when missing
    #[arg(long, value_name = "DIR", default_value = "hubtrace-out")]
    pub out: PathBuf,
    /// Print the summary as JSON instead of text
    #[arg(long)]
    pub json: bool,
    /// Overwrite files that hubtrace did not write
    #[arg(long)]
    pub force: bool,
    /// Print nothing but errors (and JSON, when asked for)
    #[arg(long)]
    pub quiet: bool,
}

impl OutputArgs {
    /// Tells the result in the way that was asked for: as JSON, as text, or not at all.
    pub fn tell(&self, terminal: &mut Terminal<'_>, json: &str, text: impl FnOnce() -> String) -> Result<(), Failure> {
        match (self.json, self.quiet) {
            (true, _) => terminal.print(json),
            (false, true) => Ok(()),
            (false, false) => terminal.print(&text()),
        }
    }
}

/// What every study of a car is asked.
#[derive(Debug, Args)]
pub struct StudyArgs {
    #[command(flatten)]
    pub output: OutputArgs,
    /// Which wheels to show
    #[arg(long, value_enum, default_value_t = Sides::Both)]
    pub side: Sides,
}

/// The cars that a weld study builds.
#[derive(Debug, Args)]
pub struct BuiltCarsArgs {
    /// How many cars the weld study builds
    #[arg(long, value_name = "N", default_value_t = USUAL_CARS, value_parser = clap::value_parser!(u32).range(2..=2_000_000))]
    pub cars: u32,
    /// Seed of their errors; the same seed gives the same cars
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
}

impl StudyArgs {
    /// The results of a command, empty as yet; they never take the place of its input.
    pub fn results(&self, command: &'static str, input: Option<&Path>, file: &GeometryFile) -> OutputFolder {
        results(command, input, &file.source, &file.text)
    }
}

/// The results of a command on an input with this name and text, empty as yet; they never take the place of the files that
/// it was given.
pub fn results<'a>(
    command: &'static str,
    files: impl IntoIterator<Item = &'a Path>,
    source: &str,
    text: &str,
) -> OutputFolder {
    OutputFolder::new(Origin {
        command,
        geometry: source.to_owned(),
        geometry_sha256: sha256_hex(text.as_bytes()),
        inputs: files.into_iter().map(Path::to_owned).collect(),
    })
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Sides {
    Left,
    Right,
    Both,
}

impl Sides {
    pub fn sides(self) -> &'static [Side] {
        match self {
            Sides::Left => &[Side::Left],
            Sides::Right => &[Side::Right],
            Sides::Both => &Side::BOTH,
        }
    }
}

/// Travel that differs from the file's [travel].
#[derive(Debug, Args)]
#[command(next_help_heading = "Travel, in place of [travel] in the file")]
pub struct TravelArgs {
    /// Bump travel up to the stop, mm
    #[arg(long, value_name = "MM", value_parser = travel_mm, allow_negative_numbers = true)]
    bump: Option<f64>,
    /// Droop travel down to the stop, mm
    #[arg(long, value_name = "MM", value_parser = travel_mm, allow_negative_numbers = true)]
    droop: Option<f64>,
    /// Body roll both ways, deg; 0 gives the design row alone
    #[arg(long, value_name = "DEG", value_parser = roll_deg, allow_negative_numbers = true)]
    roll: Option<f64>,
    /// Step of wheel travel and ride height, mm
    #[arg(long, value_name = "MM", value_parser = step_mm, allow_negative_numbers = true)]
    step: Option<f64>,
    /// Step of body roll, deg
    #[arg(long, value_name = "DEG", value_parser = step_deg, allow_negative_numbers = true)]
    step_roll: Option<f64>,
}

impl TravelArgs {
    /// The car of the file, its travel with what the command line says instead.
    pub fn over(&self, car: &Geometry, quiet: bool, terminal: &mut Terminal<'_>) -> Result<Geometry, Failure> {
        let lengths = [("--bump", self.bump), ("--droop", self.droop), ("--step", self.step)];
        note_read_in_mm(car.units, &lengths, quiet, terminal);
        let file = &car.travel;
        let travel = Travel {
            bump_mm: self.bump.unwrap_or(file.bump_mm),
            droop_mm: self.droop.unwrap_or(file.droop_mm),
            step_mm: self.step.unwrap_or(file.step_mm),
            roll_deg: self.roll.unwrap_or(file.roll_deg),
            step_roll_deg: self.step_roll.unwrap_or(file.step_roll_deg),
            ride_heights_mm: file.ride_heights_mm.clone(),
        };
        let advice = "give a longer --step or --step-roll; 5 mm and 0.5 deg are fine enough for any chart";
        match travel.too_many_rows() {
            Some(what) => Err(Failure::input(what, advice)),
            None => Ok(Geometry { travel, ..car.clone() }),
        }
    }
}

/// Says that a length of the command line is in mm, where everything else that is read and printed is in inches.
pub(super) fn note_read_in_mm(
    units: LengthUnit,
    lengths: &[(&str, Option<f64>)],
    quiet: bool,
    terminal: &mut Terminal<'_>,
) {
    let given = lengths.iter().filter_map(|(name, mm)| mm.map(|mm| format!("{name} {mm} mm")));
    let given = given.collect::<Vec<_>>().join(", ");
    if !quiet && units == LengthUnit::Inch && !given.is_empty() {
        terminal.note(&format!("warning: read in mm, though the file is in inches: {given}\n"));
    }
}

fn travel_mm(text: &str) -> Result<f64, String> {
    number(text, 0.0..=Travel::MAX_MM, "write millimetres from 0 to 500, for example 60")
}

fn step_mm(text: &str) -> Result<f64, String> {
    number(text, f64::MIN_POSITIVE..=Travel::MAX_MM, "write millimetres above 0, up to 500, for example 5")
}

fn roll_deg(text: &str) -> Result<f64, String> {
    number(text, 0.0..=Travel::MAX_ROLL_DEG, "write degrees from 0 to 45, for example 3")
}

fn step_deg(text: &str) -> Result<f64, String> {
    number(text, f64::MIN_POSITIVE..=Travel::MAX_ROLL_DEG, "write degrees above 0, up to 45, for example 0.5")
}

pub(super) fn number(text: &str, allowed: impl RangeBounds<f64>, advice: &str) -> Result<f64, String> {
    text.parse().ok().filter(|number| allowed.contains(number)).ok_or_else(|| advice.to_owned())
}
