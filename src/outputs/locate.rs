//! What a survey came to, for other programs: `points.csv`, `residuals.csv`, `summary.json`.

use ::csv::Error;
use serde::Serialize;

use super::csv::{cell, text_cell};
use super::tables::{finished, writer};
use crate::file::{MeasuredFile, Problem};
use crate::geometry::Side;
use crate::studies::locate::{LocateFindings, Located};

/// The summary of a survey, for [`super::summary_json`].
#[derive(Debug, Serialize)]
pub struct LocateSummary<'f> {
    #[serde(flatten)]
    found: &'f LocateFindings,
    /// What should be looked at again in the file.
    warnings: Vec<String>,
    /// The geometry that the points were written into.
    into: Option<IntoMember<'f>>,
}

#[derive(Debug, Serialize)]
struct IntoMember<'f> {
    file: &'f str,
    side: Side,
    points: &'f [String],
    not_in_file: &'f [String],
    worked_out: &'f [String],
    mount_off_line_mm: Option<f64>,
}

impl<'f> LocateSummary<'f> {
    /// `remarks` are those of the survey file; `into` is the geometry that the points are written into, by its name.
    pub fn of(found: &'f LocateFindings, remarks: &[Problem], into: Option<(&'f str, &'f MeasuredFile)>) -> Self {
        let into = into.map(|(file, into)| IntoMember {
            file,
            side: into.side,
            points: &into.points,
            not_in_file: &into.unknown,
            worked_out: &into.worked_out,
            mount_off_line_mm: into.mount_off_line_mm,
        });
        Self { found, warnings: remarks.iter().map(|remark| format!("{remark}; {}", remark.advice)).collect(), into }
    }
}

/// `points.csv`: every point in car axes with the standard deviation of each coordinate; empty cells where it has no place.
pub fn points_csv(located: &Located) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record(["point", "x_mm", "y_mm", "z_mm", "sd_x_mm", "sd_y_mm", "sd_z_mm"])?;
    for point in &located.points {
        let numbers = [point.at_mm, point.sd_mm].into_iter().flat_map(|of| [0, 1, 2].map(|k| of.map(|of| of[k])));
        writer.write_record(std::iter::once(text_cell(&point.point)).chain(numbers.map(cell)))?;
    }
    finished(writer)
}

/// `residuals.csv`: what was read, what the points make of it, and whether it is suspect; a row for each reading that was taken.
pub fn residuals_csv(located: &Located) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record([
        "kind",
        "from",
        "to",
        "read_mm",
        "fitted_mm",
        "residual_mm",
        "suspect",
        "sd_mm",
        "standardised",
        "redundancy",
        "number",
        "line",
    ])?;
    for reading in &located.readings {
        let names = [reading.kind.to_owned(), text_cell(&reading.from), text_cell(&reading.to)];
        let lengths = [reading.read_mm, reading.fitted_mm, reading.residual_mm].map(|mm| cell(Some(mm)));
        let suspect = if reading.suspect { "yes" } else { "" }.to_owned();
        let more = [Some(reading.sd_mm), reading.standardised, reading.redundancy].map(cell);
        let place = [reading.number, reading.line].map(|of| of.to_string());
        writer.write_record(names.into_iter().chain(lengths).chain([suspect]).chain(more).chain(place))?;
    }
    finished(writer)
}
