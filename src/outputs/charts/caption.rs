//! What stands round every chart: its title, whose car it is, whether it passed, and what it was made from.

use std::ffi::OsStr;
use std::path::Path;

use super::ChartSource;
use super::context::ChartContext;
use super::labels::broken;
use super::sheet::{PenError, Sheet, TextStyle};
use crate::geometry::Quantity;
use crate::present::{limit_band, unit, verdict};
use crate::studies::{State, Verdict};

/// Distance of the notes and of the last line from the lower end of the sheet, and of two lines from each other.
pub const NOTES_UP: f64 = 66.0;
pub const FOOT_UP: f64 = 12.0;
pub const LINE: f64 = 14.0;
/// Letters of a hash that tell two files apart.
const HASH_LETTERS: usize = 12;

/// The words round one chart.
pub struct Caption<'c> {
    pub title: &'c str,
    /// Quantities whose verdicts are told.
    pub judged: &'c [Quantity],
    /// Lines of explanation under the chart.
    pub notes: Vec<String>,
}

impl Caption<'_> {
    /// On a sheet of this height.
    pub fn write(&self, context: &ChartContext, sheet: &Sheet, height: u32) -> Result<(), PenError> {
        sheet.words(self.title, (24.0, 24.0), TextStyle::TITLE)?;
        let car = broken(context.name(), 110, 1);
        sheet.words(car.first().map_or("", |line| line), (24.0, 46.0), TextStyle::PLAIN)?;
        let verdicts: Vec<String> =
            self.judged.iter().filter_map(|&quantity| verdict_words(context, quantity)).collect();
        let verdicts = broken(&verdicts.join("; "), 112, 1);
        sheet.words(verdicts.first().map_or("", |line| line), (24.0, 66.0), TextStyle::PLAIN.bold())?;
        let bottom = f64::from(height);
        let lines = self.notes.iter().flat_map(|note| broken(note, 130, 2)).enumerate();
        for (k, line) in lines {
            sheet.words(&line, (24.0, bottom - NOTES_UP + LINE * k as f64), TextStyle::PLAIN)?;
        }
        sheet.words(&foot(&context.source), (24.0, bottom - FOOT_UP), TextStyle::SMALL)
    }
}

/// The file, its hash and which car of it this is.
pub fn foot(source: &ChartSource) -> String {
    let hash: String = source.input_sha256.chars().take(HASH_LETTERS).collect();
    let file = Path::new(source.file).file_name().map_or(source.file.into(), OsStr::to_string_lossy);
    format!("{file} · SHA-256 {hash}… · {}", source.car.words())
}

/// `bump steer, limit ±0.05 deg: FAIL left`; `None` of a quantity that no wheel shown is judged on.
fn verdict_words(context: &ChartContext, quantity: Quantity) -> Option<String> {
    let shown = |of: &&Verdict| of.quantity == quantity && of.side.is_none_or(|side| context.asked.contains(&side));
    let verdicts: Vec<&Verdict> = context.car.verdicts.iter().filter(shown).collect();
    let first = verdicts.first()?;
    let lengths = context.lengths();
    let number = |value: f64| context.short_number(quantity, value);
    let limit = first.limit.map(|limit| {
        let alike = verdicts.iter().all(|verdict| verdict.limit == first.limit);
        let words = limit_band(number, limit);
        format!(", limit {words} {}{}", unit(lengths, quantity.unit()), if alike { "" } else { " (left)" })
    });
    let said = verdict(&verdicts);
    let reasons = verdicts.iter().filter(|_| said == State::NotChecked.words()).map(|verdict| verdict.reason());
    let reason = reasons.into_iter().find(|reason| !reason.is_empty()).map(|reason| format!(" ({reason})"));
    Some(format!("{}{}: {said}{}", quantity.name(), limit.unwrap_or_default(), reason.unwrap_or_default()))
}
