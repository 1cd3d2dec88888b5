//! What stands round every chart: its title, whose car it is, whether it passed, and what it was made from.

use super::CarShown;
use super::context::Subject;
use super::labels::broken;
use super::sheet::{MARGIN, PenError, Sheet, TextStyle, draw};
use crate::outputs::file_list::{file_and_hash, file_name};
use crate::outputs::markup::escaped;

/// From the upper end of the sheet to the title, the name of the car and the first line of the verdict.
const TITLE: f64 = 24.0;
const NAME: f64 = 46.0;
const VERDICT: f64 = 66.0;
/// From one line to the next, in bold and plain letters, and round the last line of the sheet.
const BOLD_LINE: f64 = 16.0;
const LINE: f64 = 14.0;
const ROUND_FOOT: f64 = 12.0;
/// Lines that a verdict and a note may have.
const MAX_VERDICT_LINES: usize = 4;
const MAX_NOTE_LINES: usize = 4;
/// Width of an average letter of the verdict and of a note, in points of the page: on the wide side.
const BOLD_LETTER: f64 = 7.3;
const LETTER: f64 = 6.5;
const TITLE_LETTER: f64 = 10.8;
const SMALL_LETTER: f64 = 5.6;
/// From one line of a title to the next.
const TITLE_LINE: f64 = 22.0;
/// Width of a sheet that has room for as many lines as they may have.
const WIDE: u32 = 880;
/// The words round one chart.
pub struct Caption<'c> {
    pub title: &'c str,
    /// Whether the car passed.
    pub verdict: String,
    /// Lines of explanation under the chart.
    pub notes: Vec<String>,
}

impl Caption<'_> {
    /// The sheet of a chart of this width and height, which counts its places from where the words above it end.
    pub fn sheet(
        &self,
        subject: &Subject,
        (width, height): (u32, f64),
        chart: impl FnOnce(&Sheet) -> Result<(), PenError>,
    ) -> Result<String, PenError> {
        let letters = |letter: f64| ((f64::from(width) - 2.0 * MARGIN) / letter) as usize;
        // As much as on a wide sheet.
        let most = |on_wide: usize| on_wide * (WIDE / width).max(1) as usize;
        let title = broken(self.title, letters(TITLE_LETTER), 3);
        let below_title = TITLE_LINE * (title.len().max(1) - 1) as f64;
        let car = broken(subject.name, letters(LETTER), 1);
        let verdict = broken(&self.verdict, letters(BOLD_LETTER), most(MAX_VERDICT_LINES));
        let notes = self.notes.iter().flat_map(|note| broken(note, letters(LETTER), most(MAX_NOTE_LINES)));
        let notes: Vec<String> = notes.collect();
        let foot = broken(&foot(subject), letters(SMALL_LETTER), 2);
        let chart_top = below_title + VERDICT + BOLD_LINE * (verdict.len().max(1) as f64 - 0.5);
        let notes_top = chart_top + height;
        let foot_y = notes_top + LINE * notes.len() as f64 + ROUND_FOOT;
        let lines = |lines: &[String], top: f64, line: f64| -> Vec<(String, f64)> {
            lines.iter().cloned().zip((0..).map(|k| top + line * f64::from(k))).collect()
        };
        let below_foot = LINE * (foot.len().max(1) - 1) as f64 + ROUND_FOOT;
        let drawn = draw((width, (foot_y + below_foot).ceil() as u32), |sheet| {
            for (line, y) in lines(&title, TITLE, TITLE_LINE) {
                sheet.words(&line, (MARGIN, y), TextStyle::TITLE)?;
            }
            car.iter().try_for_each(|line| sheet.words(line, (MARGIN, below_title + NAME), TextStyle::PLAIN))?;
            for (line, y) in lines(&verdict, below_title + VERDICT, BOLD_LINE) {
                sheet.words(&line, (MARGIN, y), TextStyle::PLAIN.bold())?;
            }
            chart(&sheet.lowered(chart_top))?;
            for (line, y) in lines(&notes, notes_top, LINE) {
                sheet.words(&line, (MARGIN, y), TextStyle::PLAIN)?;
            }
            lines(&foot, foot_y, LINE)
                .iter()
                .try_for_each(|(line, y)| sheet.words(line, (MARGIN, *y), TextStyle::SMALL))
        })?;
        Ok(self.spoken(&drawn))
    }
}

impl Caption<'_> {
    /// The same sheet with title and verdict for who cannot see it.
    fn spoken(&self, svg: &str) -> String {
        let title = escaped(&if self.verdict.is_empty() {
            self.title.to_owned()
        } else {
            format!("{}. {}", self.title, self.verdict)
        });
        svg.replacen(">\n", &format!(" role=\"img\">\n<title>{title}</title>\n"), 1)
    }
}

/// The file, its hash and which car of it this is.
fn foot(subject: &Subject) -> String {
    let source = &subject.source;
    let file = match source.car {
        CarShown::NotSaved => file_name(source.file).into_owned(),
        _ => file_and_hash(source.file, source.input_sha256),
    };
    format!("{file} · the car {}", source.car.words(subject.stage))
}
