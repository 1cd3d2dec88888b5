//! Readings that are typed in at the car: checked as `correct` reads them, kept in a CSV file beside the geometry.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::file::ReadError;
use crate::gauge::{GaugeFile, Instrument};
use crate::geometry::{Interval, Travel};
use crate::live::refusal::Refusal;
use crate::outputs::{WriteError, replace_file, write_file};
use crate::present::words;

/// The distance of two dials that `correct` takes, mm.
const PLATE_MM: Interval = Interval { low: 1.0, high: 100_000.0 };

/// What the readings are taken with, as the page says it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
pub(super) enum Gauge {
    /// It shows degrees.
    Angle,
    /// Two dials on a plate.
    Plate { width_mm: f64, zeroed: bool },
}

/// One reading as it was typed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct TypedReading {
    side: String,
    bump: String,
    /// Toe and camber, or the front dial and the rear one.
    values: [String; 2],
    session: String,
}

/// What the page shows.
#[derive(Debug, Serialize)]
pub(super) struct ReadingsView {
    car: String,
    /// Of the geometry.
    bump_mm: [f64; 2],
    gauge: Gauge,
    readings: Vec<TypedReading>,
    /// The file that holds them.
    file: Option<String>,
    /// What `correct` will leave out.
    told: Vec<String>,
    /// What to run next.
    command: Option<String>,
}

/// The readings of one car.
#[derive(Debug)]
pub(super) struct Readings {
    car: String,
    geometry: PathBuf,
    travel: Interval,
    gauge: Gauge,
    typed: Vec<TypedReading>,
    /// The file that holds them, and its text as it was written.
    file: Option<(PathBuf, String)>,
}

impl Readings {
    /// Of the car of a geometry file.
    pub(super) fn of(car: &str, geometry: &Path, travel: &Travel) -> Self {
        let travel = Interval { low: -travel.droop_mm, high: travel.bump_mm };
        let (car, geometry) = (car.to_owned(), geometry.to_owned());
        Self { car, geometry, travel, gauge: Gauge::Angle, typed: Vec::new(), file: None }
    }

    /// Checks one more reading and writes the file with it; one that will be left out only when it is wanted all the same.
    pub(super) fn add(&mut self, gauge: Gauge, reading: TypedReading, anyway: bool) -> Result<(), Refusal> {
        if !self.typed.is_empty() && gauge != self.gauge {
            let what = "the readings so far were taken with another gauge";
            return Err(Refusal::unsound(what, "begin a new file for this one"));
        }
        if self.is_beyond(&reading) && !anyway {
            let Interval { low, high } = self.travel;
            let what = format!(
                "{} mm is beyond the travel of the file, {low} to {high} mm, and would be left out",
                reading.bump
            );
            let button = format!("Write {} mm down all the same", reading.bump.trim());
            let advice = "look at the height again, or press the button once more to write it all the same";
            return Err(Refusal::unsure(what, advice, button).in_field(Some("bump")));
        }
        let mut typed = self.typed.clone();
        typed.push(reading);
        self.keep(gauge, typed)
    }

    fn is_beyond(&self, reading: &TypedReading) -> bool {
        reading.bump.trim().parse().is_ok_and(|bump_mm| !self.travel.holds(&Interval::single(bump_mm)))
    }

    /// Takes the last reading out again.
    pub(super) fn take_back(&mut self) -> Result<(), Refusal> {
        let mut typed = self.typed.clone();
        if typed.pop().is_none() {
            return Ok(());
        }
        self.keep(self.gauge, typed)
    }

    /// Leaves the file as it is; the next reading begins another.
    pub(super) fn begin_anew(&mut self) {
        (self.typed, self.file) = (Vec::new(), None);
    }

    fn keep(&mut self, gauge: Gauge, typed: Vec<TypedReading>) -> Result<(), Refusal> {
        let path = match &self.file {
            Some((path, _)) => path.clone(),
            None => self.free_path(),
        };
        let text = self.text(&path, gauge, &typed)?;
        if !typed.is_empty() {
            let instrument = gauge.instrument()?;
            GaugeFile::parse(&name_of(&path), &text, instrument).map_err(|error| unread(&error))?;
        }
        let written = match &self.file {
            Some((_, as_written)) => replace_file(&path, as_written, &text),
            None => write_file(&path, &text, false),
        };
        written.map_err(|error| unwritten(&error))?;
        (self.gauge, self.typed, self.file) = (gauge, typed, Some((path, text)));
        Ok(())
    }

    fn text(&self, path: &Path, gauge: Gauge, typed: &[TypedReading]) -> Result<String, Refusal> {
        let fault = |error: csv::Error| Refusal::fault(error);
        let mut lines = csv::Writer::from_writer(Vec::new());
        lines.write_record(gauge.columns()).map_err(fault)?;
        for TypedReading { side, bump, values, session } in typed {
            let fields = [side, bump, &values[0], &values[1], session].map(|field| field.trim());
            if fields.iter().any(|field| field.chars().any(char::is_control) || field.len() > 60) {
                return Err(Refusal::unsound("that is too long, or no text of one line", "write it shorter"));
            }
            lines.write_record(fields).map_err(fault)?;
        }
        let lines = lines.into_inner().map_err(|error| Refusal::fault(error.error()))?;
        let lines = String::from_utf8(lines).map_err(Refusal::fault)?;
        Ok(format!("# Typed in at the car.\n# {}\n{lines}", self.command(path, gauge)))
    }

    /// `rear-readings.csv` beside `rear.toml`, or the first such name that is free.
    fn free_path(&self) -> PathBuf {
        let stem = self.geometry.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
        let name = |k: usize| if k == 1 { String::new() } else { format!("-{k}") };
        let mut paths = (1..).map(|k| self.geometry.with_file_name(format!("{stem}-readings{}.csv", name(k))));
        paths.find(|path| path.symlink_metadata().is_err()).unwrap_or_else(|| self.geometry.with_extension("csv"))
    }

    /// What to run once all is read.
    fn command(&self, path: &Path, gauge: Gauge) -> String {
        let quoted = |path: &Path| {
            let name = path.to_string_lossy();
            let stands = |c: char| c.is_alphanumeric() || "-_./\\:".contains(c);
            if name.chars().all(stands) { name.into_owned() } else { format!("{name:?}") }
        };
        let options = match gauge {
            Gauge::Angle => String::new(),
            Gauge::Plate { width_mm, zeroed } => format!(" --plate {width_mm}{}", if zeroed { " --zero" } else { "" }),
        };
        format!("hubtrace correct {} {}{options}", quoted(&self.geometry), quoted(path))
    }

    pub(super) fn view(&self) -> ReadingsView {
        let Interval { low, high } = self.travel;
        let beyond = self.typed.iter().filter(|reading| self.is_beyond(reading));
        let told = beyond.map(|reading| {
            let at = format!("{} at {} mm", reading.side, reading.bump);
            format!("{} is beyond the travel of the file and will be left out.", words::sentence_start(&at))
        });
        ReadingsView {
            car: self.car.clone(),
            bump_mm: [low, high],
            gauge: self.gauge,
            readings: self.typed.clone(),
            file: self.file.as_ref().map(|(path, _)| name_of(path)),
            told: told.collect(),
            command: self
                .file
                .as_ref()
                .filter(|_| !self.typed.is_empty())
                .map(|(path, _)| self.command(path, self.gauge)),
        }
    }
}

impl Gauge {
    fn instrument(self) -> Result<Instrument, Refusal> {
        match self {
            Self::Angle => Ok(Instrument::Angle),
            Self::Plate { width_mm, zeroed } if PLATE_MM.holds(&Interval::single(width_mm)) => {
                Ok(Instrument::Plate { width_mm, zeroed })
            }
            Self::Plate { .. } => {
                let what = "the distance of the two dials is no length";
                let advice = "write millimetres from 1 to 100000, for example 400";
                Err(Refusal::unsound(what, advice).in_field(Some("width")))
            }
        }
    }

    fn columns(self) -> [&'static str; 5] {
        match self {
            Self::Angle => ["side", "bump_mm", "toe_deg", "camber_deg", "session"],
            Self::Plate { .. } => ["side", "bump_mm", "front_mm", "rear_mm", "session"],
        }
    }
}

fn name_of(path: &Path) -> String {
    path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}

/// Mistakes of the one reading that is new.
fn unread(error: &ReadError) -> Refusal {
    match error {
        ReadError::Problems { problems, .. } => {
            let list = |text: fn(&crate::file::Problem) -> &str| {
                problems.iter().map(|problem| as_labelled(text(problem))).collect::<Vec<_>>().join("; ")
            };
            let told = |problem: &crate::file::Problem, column: &str| problem.what.contains(column);
            let field = FIELDS.iter().find(|(column, _)| problems.iter().any(|problem| told(problem, column)));
            let refusal = Refusal::unsound(list(|problem| &problem.what), list(|problem| &problem.advice));
            refusal.in_field(field.map(|(_, field)| *field))
        }
        other => Refusal::unsound(other, "write the reading again"),
    }
}

/// What the file calls a reading, and the box of the page that it is typed into.
const FIELDS: [(&str, &str); 6] = [
    ("`bump_mm`", "bump"),
    ("`toe_deg`", "first"),
    ("`camber_deg`", "second"),
    ("`front_mm`", "first"),
    ("`rear_mm`", "second"),
    ("`session`", "session"),
];

/// What the file calls a reading, and what the page does.
const LABELS: [(&str, &str); 9] = [
    ("`bump_mm`", "the height"),
    ("`toe_deg`", "toe"),
    ("`camber_deg`", "camber"),
    ("`front_mm`", "the front dial"),
    ("`rear_mm`", "the rear dial"),
    ("`side`", "the side"),
    ("`session`", "the session"),
    ("; or leave every reading of the line empty until it is taken", ""),
    ("this line", "this reading"),
];

/// A message on a line of the file in the words of the page.
fn as_labelled(message: &str) -> String {
    LABELS.iter().fold(message.to_owned(), |told, (column, label)| told.replace(column, label))
}

fn unwritten(error: &WriteError) -> Refusal {
    Refusal::unsaved(error, "begin a new file; nothing was written over", None)
}
