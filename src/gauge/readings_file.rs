//! A CSV file of readings: read and checked, every mistake at its line.

use std::path::Path;

use toml_edit::{Item, Value};

use super::columns::{Column, Header};
use super::csv_text::{CsvLine, lines};
use super::model::{GaugeReading, GaugeReadings, Instrument, Read, ReadSide};
use crate::file::reader::{
    COORDINATE, Diagnostics, Number, NumberUnit, Scope, Source, Span, ValueKind, nearest, shown,
};
use crate::file::source_file::{self, without_mark};
use crate::file::{Problem, ReadError};
use crate::geometry::{LengthUnit, Side, Travel};
use crate::plain_text::{is_plain, plain};

/// Every length of a file of readings is in mm, whatever the geometry is written in: the columns say so.
const SCOPE: Scope = Scope { units: LengthUnit::Millimetre, side: Side::Left, hub_axes: false, final_drive: false };
const BUMP: Number = Number { least: -Travel::MAX_MM, most: Travel::MAX_MM, ..COORDINATE };
/// Toe or camber of one wheel; more is no reading of a car that stands on its wheels.
const ANGLE_OF_ONE: Number = Number { measure: NumberUnit::Degrees, least: -20.0, most: 20.0, least_included: true };
const TOTAL_TOE: Number = Number { least: -40.0, most: 40.0, ..ANGLE_OF_ONE };
const DIAL: Number = Number { least: -500.0, most: 500.0, ..COORDINATE };
/// Of a laser on a wall.
const SPOT: Number = Number { least: -5000.0, most: 5000.0, ..COORDINATE };
/// No gauging has more.
const MAX_READINGS: usize = 2000;

/// A file of readings that was read and found sound.
#[derive(Debug, Clone)]
pub struct GaugeFile {
    /// What the file says.
    pub readings: GaugeReadings,
    /// Lines that name a height and have no reading yet.
    pub not_taken: Vec<usize>,
    /// The file as it stands, comments and a byte-order mark included.
    pub text: String,
    /// The name by which messages call the file.
    pub source: String,
}

impl GaugeFile {
    /// Reads and checks a file of readings of this instrument.
    pub fn read(path: &Path, instrument: Instrument) -> Result<Self, ReadError> {
        source_file::read(path, |source, text, _| parse_named(source, text, instrument))
    }

    /// Checks the text of a file.
    ///
    /// Tested by `tests/gauge/`.
    pub fn parse(source_name: &str, text: &str, instrument: Instrument) -> Result<Self, ReadError> {
        parse_named(&plain(source_name), text, instrument)
    }

    /// Something to tell about a line of the file.
    pub fn problem_at(&self, line: usize, what: impl Into<String>, advice: impl Into<String>) -> Problem {
        let text = without_mark(&self.text);
        let start: usize = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
        Source { name: &self.source, text }.problem(&(start..start), &what.into(), &advice.into())
    }
}

fn parse_named(source_name: &str, as_read: &str, instrument: Instrument) -> Result<GaugeFile, ReadError> {
    let source = Source { name: source_name, text: without_mark(as_read) };
    let diagnostics = Diagnostics::default();
    let csv = CsvPlace { source, text: source.text, place: &|span| span };
    match read_csv(&csv, instrument, &diagnostics) {
        Some((readings, not_taken)) => {
            Ok(GaugeFile { readings, not_taken, text: as_read.to_owned(), source: source_name.to_owned() })
        }
        None => {
            let (problems, left_out) = diagnostics.into_problems(&source);
            Err(ReadError::Problems { problems, left_out })
        }
    }
}

/// A CSV text and the file that it stands in.
pub(super) struct CsvPlace<'a> {
    pub(super) source: Source<'a>,
    pub(super) text: &'a str,
    /// Bytes of the file that bytes of the text are.
    pub(super) place: &'a dyn Fn(Span) -> Span,
}

/// The readings, and the lines of those that are still to be taken; none when anything was noted.
pub(super) fn read_csv(
    csv: &CsvPlace,
    instrument: Instrument,
    diagnostics: &Diagnostics,
) -> Option<(GaugeReadings, Vec<usize>)> {
    let note = |span: Span, what: String, advice: String| diagnostics.add(&(csv.place)(span), what, advice);
    let mut lines = lines(csv.text);
    let Some(first) = lines.next() else {
        note(
            0..0,
            "there are no readings here".into(),
            "write a line of column names, and a line for each reading".into(),
        );
        return None;
    };
    let header = match Header::read(&first, &instrument) {
        Ok(header) => header,
        Err(mistakes) => {
            mistakes.into_iter().for_each(|(span, what, advice)| note(span, what, advice));
            return None;
        }
    };
    let mut found = GaugeReadings { instrument, readings: Vec::new(), sessions: Vec::new() };
    let (mut not_taken, mut rows) = (Vec::new(), 0);
    for line in lines {
        rows += 1;
        let number = csv.source.line(&(csv.place)(line.whole()));
        let row = Row { csv, line: &line, header: &header, diagnostics };
        match row.reading(number, &mut found) {
            Some(Taken::Reading(reading)) => found.readings.push(reading),
            Some(Taken::Not) => not_taken.push(number),
            None => {}
        }
    }
    if rows > MAX_READINGS {
        let what = format!("there are {rows} readings, and {MAX_READINGS} are more than any gauging has");
        note(first.whole(), what, "leave out what was read in between; every 10 mm is enough".into());
    }
    if diagnostics.is_empty() && found.readings.is_empty() {
        let advice = "write a line for each height that was gauged, best every 10 mm from full droop to full bump";
        note(first.whole(), "there are no readings below the names of the columns".into(), advice.into());
    }
    diagnostics.is_empty().then_some((found, not_taken))
}

enum Taken {
    Reading(GaugeReading),
    /// The line has a height, and no reading yet.
    Not,
}

struct Row<'a> {
    csv: &'a CsvPlace<'a>,
    line: &'a CsvLine<'a>,
    header: &'a Header,
    diagnostics: &'a Diagnostics,
}

impl Row<'_> {
    fn reading(&self, line: usize, found: &mut GaugeReadings) -> Option<Taken> {
        if self.line.fields.len() > self.header.len() {
            let what = format!("this line has {} values for {} columns", self.line.fields.len(), self.header.len());
            let advice = "decimals stand behind a point, not a comma: 0.12; what is no reading goes behind a # on a line of \
                its own";
            self.note(self.line.whole(), what, advice);
            return None;
        }
        let side = self.side(&found.instrument);
        let bump_mm = self.needed(Column::Bump, &BUMP);
        let session = self.session();
        let is_of_both = side == Some(ReadSide::Both);
        let read = self.read(&found.instrument, is_of_both);
        let (side, bump_mm, session) = (side?, bump_mm?, session?);
        let Some(read) = read? else { return Some(Taken::Not) };
        let known = found.sessions.iter().position(|name| *name == session);
        let session = known.unwrap_or_else(|| {
            found.sessions.push(session);
            found.sessions.len() - 1
        });
        Some(Taken::Reading(GaugeReading { line, session, side, bump_mm, read }))
    }

    /// What stood on the instrument; `None` inside when nothing was read yet.
    fn read(&self, instrument: &Instrument, is_of_both: bool) -> Option<Option<Read>> {
        let columns: &[Column] = match instrument {
            Instrument::Angle => &[Column::Toe, Column::Camber],
            Instrument::Plate { .. } => &[Column::Front, Column::Rear],
            Instrument::Wall { .. } => &[Column::Wall],
        };
        if columns.iter().all(|&column| self.header.field(self.line, column).is_none()) {
            return Some(None);
        }
        match *instrument {
            Instrument::Angle => self.angles(is_of_both),
            Instrument::Plate { width_mm, .. } => self.dials(width_mm),
            Instrument::Wall { .. } => Some(Read::Spot { wall_mm: self.needed(Column::Wall, &SPOT)? }),
        }
        .map(Some)
    }

    fn angles(&self, is_of_both: bool) -> Option<Read> {
        let toe_deg = self.needed(Column::Toe, if is_of_both { &TOTAL_TOE } else { &ANGLE_OF_ONE });
        let camber = self.header.field(self.line, Column::Camber);
        let camber_deg = camber.as_ref().map(|(text, span)| self.number(Column::Camber, text, span, &ANGLE_OF_ONE));
        if let Some((_, span)) = camber.filter(|_| is_of_both) {
            self.note(span, "camber is of one wheel, and this line is of both", "write it on a line of its own side");
            return None;
        }
        let camber_rad = match camber_deg {
            None => None,
            Some(deg) => Some(deg?.to_radians()),
        };
        Some(Read::Angles { toe_rad: toe_deg?.to_radians(), camber_rad })
    }

    fn dials(&self, width_mm: f64) -> Option<Read> {
        let front_mm = self.needed(Column::Front, &DIAL);
        let rear_mm = self.needed(Column::Rear, &DIAL);
        let (front_mm, rear_mm) = (front_mm?, rear_mm?);
        if (front_mm - rear_mm).abs() >= width_mm {
            let what = format!("the two dials differ by {} mm on a plate of {width_mm} mm", (front_mm - rear_mm).abs());
            self.note(
                self.line.whole(),
                what,
                "write what the dials show, in mm, and --plate as the distance of the dials",
            );
            return None;
        }
        Some(Read::Dials { front_mm, rear_mm })
    }

    fn side(&self, instrument: &Instrument) -> Option<ReadSide> {
        const SIDES: [&str; 3] = ["left", "right", "both"];
        let Some((text, span)) = self.header.field(self.line, Column::Side) else {
            self.note(self.line.whole(), "`side` is empty", "write left, right or both");
            return None;
        };
        match text.to_lowercase().as_str() {
            "left" => Some(ReadSide::One(Side::Left)),
            "right" => Some(ReadSide::One(Side::Right)),
            "both" if *instrument == Instrument::Angle => Some(ReadSide::Both),
            "both" => {
                let advice = "write left or right; both is for the total toe of toe plates";
                self.note(span, "a plate and a laser are on one wheel, and this line is of both", advice);
                None
            }
            other => {
                let advice = match nearest(other, &SIDES) {
                    Some(near) => format!("write {near}"),
                    None => "write left, right or both".to_owned(),
                };
                self.note(span, format!("`side` does not know {}", shown(text)), advice);
                None
            }
        }
    }

    /// The name of the session; empty where there is none.
    fn session(&self) -> Option<String> {
        let Some((text, span)) = self.header.field(self.line, Column::Session) else { return Some(String::new()) };
        if text.chars().all(is_plain) && text.chars().count() <= 80 {
            return Some(text.to_owned());
        }
        self.note(span, "`session` is not one short line of text that can be seen", "write a short name, such as A");
        None
    }

    fn needed(&self, column: Column, range: &Number) -> Option<f64> {
        let Some((text, span)) = self.header.field(self.line, column) else {
            let advice =
                format!("write {}; or leave every reading of the line empty until it is taken", range.wants(SCOPE));
            self.note(self.line.whole(), format!("`{}` is empty", column.name()), advice);
            return None;
        };
        self.number(column, text, &span, range)
    }

    fn number(&self, column: Column, text: &str, span: &Span, range: &Number) -> Option<f64> {
        let name = column.name();
        let Ok(number) = text.parse::<f64>() else {
            let meant = text.replace(',', ".");
            let advice = match meant.parse::<f64>() {
                Ok(_) => format!("decimals stand behind a point: write {meant}"),
                Err(_) => format!("write {}", range.wants(SCOPE)),
            };
            self.note(span.clone(), format!("`{name}` is no number: {}", shown(text)), advice);
            return None;
        };
        match range.read(&Item::Value(Value::from(number)), SCOPE) {
            Ok(number) => Some(number),
            Err(error) => {
                let advice = format!("write {}", range.wants(SCOPE));
                self.note(span.clone(), format!("`{name}` {}", error.what), advice);
                None
            }
        }
    }

    fn note(&self, span: Span, what: impl Into<String>, advice: impl Into<String>) {
        self.diagnostics.add(&(self.csv.place)(span), what, advice);
    }
}
