//! From a path or a text to a checked survey, or to every reason why not.

use std::collections::HashMap;
use std::path::Path;

use nalgebra::Point3;
use toml_edit::Document;

use super::model::{Datum, Part, PartPoint, Reading, ReadingKind, Station, Survey, SurveyPoint};
use super::tape_reading::TapeReading;
use crate::file::reader::{
    At, COORDINATE, Diagnostics, Frame, LENGTH, Number, PointKind, Schema, Scope, Source, Span, Table, Text, Texts,
    Word, nearest,
};
use crate::file::source_file::{self, UNNAMED, without_mark};
use crate::file::{Problem, ReadError};
use crate::geometry::{Axis, LengthUnit, Side};
use crate::plain_text::plain;

/// No tape of a shop is longer, mm: a longer reading is in another unit.
const TAPE: Number = Number { most: 8000.0, ..LENGTH };

/// A tape that errs by more is no tape.
const READING_SD: Number = Number { most: 100.0, ..LENGTH };
/// 0 is exact.
const DATUM_SD: Number = Number { least_included: true, ..READING_SD };
/// What a hook, or a tape that is held in, adds.
const HOOK: Number = Number { least: -1000.0, most: 1000.0, ..COORDINATE };

const DEFAULT_TAPE_SD_MM: f64 = 1.0;
/// Readings of one thing that differ by more standard deviations than this are told as they are read.
const CONTRADICTION_SDS: f64 = 10.0;
/// So many points hold a rigid part.
const HOLDING_POINTS: usize = 3;

/// A survey file that was read and found sound.
#[derive(Debug, Clone)]
pub struct SurveyFile {
    /// What the file says.
    pub survey: Survey,
    /// What is no mistake of the file but should be looked at before its numbers are trusted.
    pub remarks: Vec<Problem>,
    /// The file as it stands, comments and a byte-order mark included.
    pub text: String,
    /// The name by which messages call the file.
    pub source: String,
}

impl SurveyFile {
    /// Reads and checks a file; without a `name` the survey is called after it.
    pub fn read(path: &Path) -> Result<Self, ReadError> {
        source_file::read(path, parse_named)
    }

    /// Checks the text of a file; without a `name` the survey is called "unnamed".
    pub fn parse(source_name: &str, text: &str) -> Result<Self, ReadError> {
        parse_named(&plain(source_name), text, UNNAMED)
    }

    /// Something to tell about a line of the file.
    pub fn problem_at(&self, line: usize, what: impl Into<String>, advice: impl Into<String>) -> Problem {
        let text = without_mark(&self.text);
        let start: usize = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
        Source { name: &self.source, text }.problem(&(start..start), &what.into(), &advice.into())
    }
}

fn parse_named(source_name: &str, as_read: &str, fallback_name: &str) -> Result<SurveyFile, ReadError> {
    source_file::parsed(source_name, as_read, |document, diagnostics| {
        let source = Source { name: source_name, text: without_mark(as_read) };
        let raw = RawSurvey::read(document, diagnostics);
        let (survey, spans) = raw.checked(fallback_name, source, diagnostics)?;
        let remarks = remarks(&survey, &spans, source);
        Some(SurveyFile { survey, remarks, text: as_read.to_owned(), source: source_name.to_owned() })
    })
}

/// The file as it is written, before its names are looked up; `None` for what could not be read.
struct RawSurvey {
    name: Option<String>,
    units: LengthUnit,
    tape_sd_mm: f64,
    hook_mm: f64,
    datums: Vec<Option<RawDatum>>,
    points: Vec<Option<RawPoint>>,
    readings: Vec<Option<RawReading>>,
    parts: Vec<Option<RawPart>>,
}

struct RawDatum {
    name: At<String>,
    at: Point3<f64>,
    sd_mm: f64,
}

struct RawPoint {
    name: At<String>,
    near: Option<Point3<f64>>,
}

struct RawReading {
    header: Span,
    ends: RawEnds,
    read_mm: Option<f64>,
    sd_mm: Option<f64>,
}

enum RawEnds {
    Between([At<String>; 2]),
    Of(Axis, At<String>),
}

struct RawPart {
    header: Span,
    name: At<String>,
    sd_mm: Option<f64>,
    points: Vec<(RawDatum, Option<f64>)>,
}

impl RawSurvey {
    fn read(document: &Document<&str>, diagnostics: &Diagnostics) -> Self {
        let scope = Scope { units: LengthUnit::Millimetre, side: Side::Left, hub_axes: false, final_drive: false };
        let mut top = Table::top(document.as_table(), scope, diagnostics);
        top.required("schema", &Schema, "the form of the file");
        let name = top.value("name", &Text);
        let units = top.value("units", &Word(&[("mm", LengthUnit::Millimetre), ("in", LengthUnit::Inch)]));
        let units = units.unwrap_or(LengthUnit::Millimetre);
        top.scope = Scope { units, ..scope };
        let (tape_sd_mm, hook_mm) = top.table("tape").map(read_tape).unwrap_or((DEFAULT_TAPE_SD_MM, 0.0));
        let datums = top.tables("datum").into_iter().map(read_datum).collect();
        let points = top.required_tables("point", "once for each place that is sought, with its `name`");
        let points = points.into_iter().map(read_point).collect();
        let mut readings: Vec<_> =
            top.tables("distance").into_iter().map(|table| located(table, read_distance)).collect();
        for (key, axis) in [("height", Axis::Z), ("offset", Axis::Y), ("fore_aft", Axis::X)] {
            readings.extend(top.tables(key).into_iter().map(|table| located(table, |table| read_plumbed(table, axis))));
        }
        readings.sort_by_key(|(start, _)| *start);
        let parts = top.tables("part").into_iter().map(read_part).collect();
        top.finish();
        let readings = readings.into_iter().map(|(_, reading)| reading).collect();
        Self { name, units, tape_sd_mm, hook_mm, datums, points, readings, parts }
    }

    /// The checked survey with the place of each reading; none when anything was noted.
    fn checked(
        self,
        fallback_name: &str,
        source: Source<'_>,
        diagnostics: &Diagnostics,
    ) -> Option<(Survey, Vec<Span>)> {
        let tape_sd_mm = self.tape_sd_mm;
        let names = Names::of(&self, diagnostics);
        let line = |span: &Span| source.line(span);
        let readings: Vec<_> = self.readings.iter().flatten().collect();
        let kinds: Vec<_> = readings.iter().map(|raw| names.kind(&raw.ends, diagnostics)).collect();
        self.parts.iter().flatten().for_each(|part| names.check_part(part, diagnostics));
        if !diagnostics.is_empty() {
            return None;
        }
        let spans = readings.iter().map(|raw| raw.header.clone()).collect();
        let reading = |(index, (raw, kind)): (usize, (&&RawReading, Option<ReadingKind>))| {
            let sd_mm = raw.sd_mm.unwrap_or(tape_sd_mm);
            Some(Reading { number: index + 1, kind: kind?, read_mm: raw.read_mm, sd_mm, line: line(&raw.header) })
        };
        let readings = readings.iter().zip(kinds).enumerate().filter_map(reading).collect();
        let part_point = |(raw, sd_mm): &(RawDatum, Option<f64>), of: Option<f64>| PartPoint {
            sits_at: names.stations.get(raw.name.value.as_str()).copied(),
            name: raw.name.value.clone(),
            at: raw.at,
            sd_mm: sd_mm.or(of).unwrap_or(tape_sd_mm),
        };
        let part = |raw: &RawPart| Part {
            name: raw.name.value.clone(),
            sd_mm: raw.sd_mm.unwrap_or(tape_sd_mm),
            points: raw.points.iter().map(|point| part_point(point, raw.sd_mm)).collect(),
            line: line(&raw.header),
        };
        let datum = |raw: &RawDatum| Datum {
            name: raw.name.value.clone(),
            at: raw.at,
            sd_mm: raw.sd_mm,
            line: line(&raw.name.span),
        };
        let point =
            |raw: &RawPoint| SurveyPoint { name: raw.name.value.clone(), near: raw.near, line: line(&raw.name.span) };
        let survey = Survey {
            units: self.units,
            tape_sd_mm,
            hook_mm: self.hook_mm,
            datums: self.datums.iter().flatten().map(datum).collect(),
            points: self.points.iter().flatten().map(point).collect(),
            readings,
            parts: self.parts.iter().flatten().map(part).collect(),
            name: self.name.unwrap_or_else(|| fallback_name.to_owned()),
        };
        Some((survey, spans))
    }
}

/// A table with its place in the file, whose order is that of the sheet.
fn located<'a>(table: Table<'a>, read: impl FnOnce(Table<'a>) -> Option<RawReading>) -> (usize, Option<RawReading>) {
    (table.header.start, read(table))
}

fn read_tape(mut table: Table) -> (f64, f64) {
    let sd_mm = table.value("sd", &READING_SD).unwrap_or(DEFAULT_TAPE_SD_MM);
    let hook_mm = table.value("hook", &HOOK).unwrap_or(0.0);
    table.finish();
    (sd_mm, hook_mm)
}

fn read_datum(mut table: Table) -> Option<RawDatum> {
    let name = read_name(&mut table, "datum");
    let at = table.required("at", &PointKind(Frame::Car), "where it is in the car");
    let sd_mm = table.value("sd", &DATUM_SD).unwrap_or(0.0);
    table.finish();
    Some(RawDatum { name: name?, at: at?.value, sd_mm })
}

fn read_point(mut table: Table) -> Option<RawPoint> {
    let name = read_name(&mut table, "point");
    let near = table.value("near", &PointKind(Frame::Car));
    table.finish();
    Some(RawPoint { name: name?, near })
}

fn read_distance(mut table: Table) -> Option<RawReading> {
    let header = table.header.clone();
    let between = table.required("between", &Texts, "the names of its two ends");
    let ends = between.map(|at| (<[At<String>; 2]>::try_from(at.value), at.span));
    let ends = ends.and_then(|(ends, span)| match ends {
        Ok(ends) => Some(ends),
        Err(names) => {
            let what = format!(
                "`between` names {}, not 2",
                if names.len() == 1 { "1 end".into() } else { format!("{} ends", names.len()) }
            );
            table.note(&span, what, "write the two ends: [\"A\", \"toe link chassis\"]");
            None
        }
    });
    let (read_mm, sd_mm) = read_length(&mut table, TAPE, "what the tape showed, in the `units` of the survey");
    table.finish();
    Some(RawReading { header, ends: RawEnds::Between(ends?), read_mm: read_mm?, sd_mm })
}

fn read_plumbed(mut table: Table, axis: Axis) -> Option<RawReading> {
    let header = table.header.clone();
    let of = table.required("of", &Text, "the name of the place that was plumbed");
    let meaning = match axis {
        Axis::X => "its place forward of the datum plane across the car",
        Axis::Y => "its distance to the left of the centreline",
        Axis::Z => "its height above the floor",
    };
    let (read_mm, sd_mm) = read_length(&mut table, COORDINATE, meaning);
    table.finish();
    Some(RawReading { header, ends: RawEnds::Of(axis, of?), read_mm: read_mm?, sd_mm })
}

/// The reading (`None` inside when it is still to be taken) and its own standard deviation.
fn read_length(table: &mut Table, range: Number, meaning: &str) -> (Option<Option<f64>>, Option<f64>) {
    let read = table.required("read", &TapeReading(range), meaning).map(|at| at.value);
    (read, table.value("sd", &READING_SD))
}

fn read_part(mut table: Table) -> Option<RawPart> {
    let header = table.header.clone();
    let name = read_name(&mut table, "part");
    let sd_mm = table.value("sd", &READING_SD);
    let points = table.required_tables("point", "once for each point, in axes of the part: `name` and `at`");
    let points = points.into_iter().filter_map(read_part_point).collect();
    table.finish();
    Some(RawPart { header, name: name?, sd_mm, points })
}

fn read_part_point(mut table: Table) -> Option<(RawDatum, Option<f64>)> {
    let name = read_name(&mut table, "point");
    let at = table.required("at", &PointKind(Frame::Car), "where it is in the axes of the part");
    let sd_mm = table.value("sd", &READING_SD);
    table.finish();
    Some((RawDatum { name: name?, at: at?.value, sd_mm: 0.0 }, sd_mm))
}

/// Reads `name`, and calls the table by it.
fn read_name(table: &mut Table, what: &str) -> Option<At<String>> {
    let name = table.required("name", &Text, &format!("what you call the {what}"));
    if let Some(name) = &name {
        table.rename(format!("{what} {:?}", name.value));
    }
    name
}

/// The names of datums and points, each of them once.
struct Names<'a> {
    stations: HashMap<&'a str, Station>,
    in_order: Vec<&'a str>,
    /// A datum or point could not be read or has the name of another, so that a name may be unknown because of that.
    is_incomplete: bool,
}

impl<'a> Names<'a> {
    fn of(raw: &'a RawSurvey, diagnostics: &Diagnostics) -> Self {
        let datums = raw.datums.iter().flatten().enumerate().map(|(i, datum)| (&datum.name, Station::Datum(i)));
        let points = raw.points.iter().flatten().enumerate().map(|(i, point)| (&point.name, Station::Point(i)));
        let is_incomplete = raw.datums.iter().any(Option::is_none) || raw.points.iter().any(Option::is_none);
        let mut names = Self { stations: HashMap::new(), in_order: Vec::new(), is_incomplete };
        for (name, station) in datums.chain(points) {
            if names.stations.insert(&name.value, station).is_some() {
                let what = format!("two places are called {:?}", name.value);
                diagnostics.add(&name.span, what, "give each datum and each point its own name");
                // One of the two is probably a name that readings look for.
                names.is_incomplete = true;
            }
            names.in_order.push(&name.value);
        }
        names
    }

    fn station(&self, name: &At<String>, diagnostics: &Diagnostics) -> Option<Station> {
        let found = self.stations.get(name.value.as_str()).copied();
        if found.is_none() && !self.is_incomplete {
            let advice = match nearest(&name.value, &self.in_order) {
                Some(near) => format!("write {near:?}, or add a [[point]] of this name"),
                None => "write the name of a [[datum]] or of a [[point]], or add a [[point]] of this name".into(),
            };
            diagnostics.add(&name.span, format!("no datum and no point is called {:?}", name.value), advice);
        }
        found
    }

    fn kind(&self, ends: &RawEnds, diagnostics: &Diagnostics) -> Option<ReadingKind> {
        match ends {
            RawEnds::Of(axis, of) => Some(ReadingKind::Plumbed { axis: *axis, of: self.station(of, diagnostics)? }),
            RawEnds::Between([from, to]) => {
                let ends = [from, to].map(|name| self.station(name, diagnostics));
                if from.value == to.value {
                    let what = format!("both ends of this distance are {:?}", from.value);
                    diagnostics.add(&to.span, what, "write the names of two different places");
                }
                Some(ReadingKind::Distance([ends[0]?, ends[1]?]))
            }
        }
    }

    /// A part is held by three of its points at least, and its other points are called like nothing else.
    fn check_part(&self, part: &RawPart, diagnostics: &Diagnostics) {
        let names: Vec<_> = part.points.iter().map(|(point, _)| &point.name).collect();
        for (i, name) in names.iter().enumerate() {
            if names[..i].iter().any(|other| other.value == name.value) {
                let what = format!("two points of part {:?} are called {:?}", part.name.value, name.value);
                diagnostics.add(&name.span, what, "give each point of a part its own name");
            }
        }
        let holding = names.iter().filter(|name| self.stations.contains_key(name.value.as_str())).count();
        if holding < HOLDING_POINTS && !self.is_incomplete {
            let what = format!(
                "part {:?} has {holding} of its points among the datums and points of the car; three hold it",
                part.name.value
            );
            let advice = "name three mounting points of the part as the [[point]] is named where each sits in the car";
            diagnostics.add(&part.header, what, advice);
        }
    }
}

/// Readings that place nothing, and readings of one thing that cannot both be true.
fn remarks(survey: &Survey, spans: &[Span], source: Source<'_>) -> Vec<Problem> {
    let mut remarks = Vec::new();
    let is_exact = |station| matches!(station, Station::Datum(index) if survey.datums[index].sd_mm == 0.0);
    for (i, (reading, span)) in survey.readings.iter().zip(spans).enumerate() {
        let Some(read_mm) = reading.read_mm else { continue };
        if reading.kind.stations().all(is_exact) {
            let what = match reading.kind {
                ReadingKind::Distance(_) => "this reading is between two datums and places no point",
                ReadingKind::Plumbed { .. } => "this reading is of a datum and places no point",
            };
            let advice = "it only checks the datums; give them an `sd` if they are measured themselves";
            remarks.push(source.problem(span, what, advice));
        }
        for earlier in &survey.readings[..i] {
            let Some(other_mm) = earlier.read_mm.filter(|_| earlier.kind.is_same_as(reading.kind)) else { continue };
            let (apart_mm, sd_mm) = ((read_mm - other_mm).abs(), reading.sd_mm.hypot(earlier.sd_mm));
            if apart_mm > CONTRADICTION_SDS * sd_mm {
                let what = format!(
                    "this reading and the one on line {} measure the same and differ by {}",
                    earlier.line,
                    survey.units.show(apart_mm)
                );
                remarks.push(source.problem(span, &what, "one of the two is wrong: measure it again"));
            }
        }
    }
    remarks
}
