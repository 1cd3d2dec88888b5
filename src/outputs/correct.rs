//! A correction for other programs: `correction.csv`, `correction-curve.csv`, `summary.json`.

use ::csv::Error;
use serde::Serialize;

use super::csv::{cell, text_cell};
use super::tables::{finished, writer};
use crate::gauge::GaugeFile;
use crate::geometry::Side;
use crate::studies::correct::{CorrectFindings, PrescribedChange, WheelCorrection};

/// The summary of a correction, for [`super::summary_json`].
#[derive(Debug, Serialize)]
pub struct CorrectSummary<'f> {
    #[serde(flatten)]
    found: &'f CorrectFindings,
    /// Which gauging this is, the first being 1.
    round: usize,
    /// The file of readings.
    readings_file: &'f str,
    /// Its lines that have no reading yet.
    not_taken: &'f [usize],
    /// Its lines that lie beyond the travel of the geometry and were left out.
    beyond_travel: &'f [usize],
}

impl<'f> CorrectSummary<'f> {
    /// `round` counts from 1; `beyond_travel` are lines of the readings.
    pub fn of(found: &'f CorrectFindings, readings: &'f GaugeFile, beyond_travel: &'f [usize], round: usize) -> Self {
        Self { found, round, readings_file: &readings.source, not_taken: &readings.not_taken, beyond_travel }
    }
}

fn corrected<'f>(found: &'f CorrectFindings, sides: &[Side]) -> impl Iterator<Item = (Side, &'f WheelCorrection)> {
    sides.iter().filter_map(|&side| Some((side, found.wheels[side].as_ref().ok()?)))
}

/// `correction.csv`: the changes of each wheel in their order; directions in car axes.
pub fn correction_csv(found: &CorrectFindings, sides: &[Side]) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record([
        "side",
        "order",
        "link",
        "what",
        "end",
        "along_x",
        "along_y",
        "along_z",
        "by_mm",
        "turns",
        "total_mm",
        "expected_deg",
        "expected_p95_deg",
        "with_next",
    ])?;
    for (side, wheel) in corrected(found, sides) {
        for (index, change) in wheel.changes.iter().enumerate() {
            writer.write_record(row(side, index + 1, change))?;
        }
    }
    finished(writer)
}

fn row(side: Side, order: usize, change: &PrescribedChange) -> Vec<String> {
    let names = [side.name().to_owned(), order.to_string(), text_cell(&change.link), change.what.to_owned()];
    let end = change.end.unwrap_or_default().to_owned();
    let along = [0, 1, 2].map(|axis| cell(change.along.map(|along| along[axis])));
    let numbers = [
        Some(change.by_mm),
        change.turns,
        Some(change.total_mm),
        Some(change.expected_deg),
        Some(change.expected_p95_deg),
    ];
    let with_next = if change.with_next { "yes" } else { "" }.to_owned();
    names.into_iter().chain([end]).chain(along).chain(numbers.map(cell)).chain([with_next]).collect()
}

/// `correction-curve.csv`: change of toe from design height as the wheel stands and after the changes, each with the band in which 19
/// of 20 cars lie that fit the readings.
pub fn correction_curve_csv(found: &CorrectFindings, sides: &[Side]) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record([
        "side",
        "bump_mm",
        "now_deg",
        "now_low_deg",
        "now_high_deg",
        "after_deg",
        "after_low_deg",
        "after_high_deg",
    ])?;
    for (side, wheel) in corrected(found, sides) {
        for (now, after) in wheel.curve_now.iter().zip(&wheel.curve_after) {
            let bands = [now, after].into_iter().flat_map(|band| [band.toe_change_deg, band.low_deg, band.high_deg]);
            let numbers = [now.bump_mm].into_iter().chain(bands).map(|number| cell(Some(number)));
            writer.write_record([side.name().to_owned()].into_iter().chain(numbers))?;
        }
    }
    finished(writer)
}
