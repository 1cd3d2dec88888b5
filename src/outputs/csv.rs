//! The rows of a study as CSV: full precision, one row a position and side. The header is a contract.

use ::csv::{Error, Terminator, WriterBuilder};

use crate::geometry::Side;
use crate::measures::Measure;
use crate::studies::Rows;

/// The rows of the sides asked for, in car axes, as the bytes of a CSV file with `\n` line ends.
pub fn rows_csv(rows: &Rows, sides: &[Side]) -> Result<Vec<u8>, Error> {
    let mut writer = WriterBuilder::new().terminator(Terminator::Any(b'\n')).from_writer(Vec::new());
    writer.write_record(["side"].into_iter().chain(Measure::ALL.iter().map(|measure| measure.column())))?;
    for row in rows.iter().filter(|row| sides.contains(&row.side)) {
        writer.write_record(
            std::iter::once(row.side.name().to_owned()).chain(Measure::ALL.iter().map(|measure| cell(measure.of(row)))),
        )?;
    }
    writer.into_inner().map_err(|error| Error::from(error.into_error()))
}

/// A name as a spreadsheet shows it: one that would be worked out as a formula has an apostrophe before it.
pub(super) fn text_cell(name: &str) -> String {
    let is_formula = name.trim_start().starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠']);
    if is_formula { format!("'{name}") } else { name.to_owned() }
}

/// A number as fine as a bench can use: to a ten-thousandth of its unit.
pub(super) fn shop_cell(value: Option<f64>) -> String {
    cell(value.map(|v| (v * 1e4).round() / 1e4))
}

/// Shortest text that reads back as the same number; empty where there is none. A zero has no sign.
pub(super) fn cell(value: Option<f64>) -> String {
    value.filter(|v| v.is_finite()).map_or_else(String::new, |v| (v + 0.0).to_string())
}
