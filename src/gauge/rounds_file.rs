//! `rounds.toml`: every gauging so far and what was changed after it, to be edited where the builder did otherwise.

use std::fmt::Write;
use std::path::Path;

use toml_edit::{Document, Value};

use super::model::{Beam, GaugeReadings, Instrument};
use super::readings_file::{CsvPlace, read_csv};
use super::round::{Change, GaugeNoise, Round, What};
use crate::file::ReadError;
use crate::file::reader::{
    At, COORDINATE, Diagnostics, Direction, Flag, Frame, LENGTH, LongText, Number, NumberUnit, Schema, Scope, Source,
    Span, Table, Text, Word, nearest,
};
use crate::file::source_file::{self, without_mark};
use crate::geometry::{End, Geometry, LengthUnit, PerSide, Side};
use crate::plain_text::{is_plain, plain};

/// Of a shim, a slot or a link.
const BY: Number = Number { least: -200.0, most: 200.0, ..COORDINATE };
const SD_DEG: Number = Number { measure: NumberUnit::Degrees, most: 10.0, ..LENGTH };
const SD_MM: Number = Number { most: 50.0, ..LENGTH };

const HEAD: &str = "\
# Every gauging of the car so far, and what was changed after it. Where you did otherwise than the sheet said, write here what
# you did: `by_mm` as it was really made, a change more or less. Lengths are mm, whatever the geometry is written in; `along`
# is in car axes. Toe is set to the gauge after the changes of a round, and is none of them.
# Give this file to the next round: hubtrace correct FILE READINGS --rounds rounds.toml --out NEXT
schema = 1
";

/// The rounds so far, read and found sound.
#[derive(Debug, Clone)]
pub struct RoundsFile {
    /// The first one first.
    pub rounds: Vec<Round>,
    /// The file as it stands, comments and a byte-order mark included.
    pub text: String,
    /// The name by which messages call the file.
    pub source: String,
}

impl RoundsFile {
    /// Reads and checks the rounds of a car.
    pub fn read(path: &Path, car: &Geometry) -> Result<Self, ReadError> {
        source_file::read(path, |source, text, _| parse_named(source, text, car))
    }

    /// Checks the text of a file.
    ///
    /// Tested by `tests/gauge/`.
    pub fn parse(source_name: &str, text: &str, car: &Geometry) -> Result<Self, ReadError> {
        parse_named(&plain(source_name), text, car)
    }
}

fn parse_named(source_name: &str, as_read: &str, car: &Geometry) -> Result<RoundsFile, ReadError> {
    source_file::parsed(source_name, as_read, |document, diagnostics| {
        let source = Source { name: source_name, text: without_mark(as_read) };
        let rounds = read_rounds(document, source, car, diagnostics);
        let sound = rounds.filter(|_| diagnostics.is_empty());
        sound.map(|rounds| RoundsFile { rounds, text: as_read.to_owned(), source: source_name.to_owned() })
    })
}

fn read_rounds(
    document: &Document<&str>,
    source: Source<'_>,
    car: &Geometry,
    diagnostics: &Diagnostics,
) -> Option<Vec<Round>> {
    let scope = Scope { units: LengthUnit::Millimetre, side: Side::Left, hub_axes: false, final_drive: false };
    let mut top = Table::top(document.as_table(), scope, diagnostics);
    top.required("schema", &Schema, "the form of the file");
    let tables = top.required_tables("round", "once for each gauging");
    let rounds: Vec<Option<Round>> =
        tables.into_iter().map(|table| read_round(table, source, car, diagnostics)).collect();
    top.finish();
    rounds.into_iter().collect()
}

fn read_round(mut table: Table, source: Source<'_>, car: &Geometry, diagnostics: &Diagnostics) -> Option<Round> {
    let instrument = table.required_table("instrument", "what the readings were taken with").and_then(read_instrument);
    let noise = table.table("noise").map(read_noise).unwrap_or_default();
    let readings = table.required("readings", &LongText, "what was read, as the CSV file had it");
    let readings = readings.zip(instrument).and_then(|(at, of)| readings_of(&at, of, source, diagnostics));
    let changes: Vec<_> = table.tables("change").into_iter().map(|table| read_change(table, car)).collect();
    table.finish();
    let mut of_side = PerSide { left: Vec::new(), right: Vec::new() };
    for change in changes {
        let (side, change) = change?;
        of_side[side].push(change);
    }
    Some(Round { readings: readings?, noise, changes: of_side })
}

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Angle,
    Plate,
    Wall,
}

fn read_instrument(mut table: Table) -> Option<Instrument> {
    let kinds = Word(&[("angle", Kind::Angle), ("plate", Kind::Plate), ("wall", Kind::Wall)]);
    let kind = table.required("kind", &kinds, "what was read").map(|at| at.value);
    let instrument = match kind {
        Some(Kind::Plate) => {
            let width = table.required("width_mm", &LENGTH, "the distance of the dials");
            let zeroed = table.value("zeroed", &Flag).unwrap_or(false);
            width.map(|width| Instrument::Plate { width_mm: width.value, zeroed })
        }
        Some(Kind::Wall) => {
            let distance = table.required("distance_mm", &LENGTH, "from the wheel centre to the wall");
            let beams = Word(&[("forward", Beam::Forward), ("spindle", Beam::Spindle)]);
            let beam = table.required("beam", &beams, "which way it shines");
            distance
                .zip(beam)
                .map(|(distance, beam)| Instrument::Wall { distance_mm: distance.value, beam: beam.value })
        }
        Some(Kind::Angle) => Some(Instrument::Angle),
        None => None,
    };
    if kind.is_some() {
        table.finish();
    }
    instrument
}

fn read_noise(mut table: Table) -> GaugeNoise {
    let usual = GaugeNoise::default();
    let mut sd = |key, range: &Number, usual: f64| table.value(key, range).unwrap_or(usual);
    let noise = GaugeNoise {
        toe_sd_deg: sd("toe_sd_deg", &SD_DEG, usual.toe_sd_deg),
        camber_sd_deg: sd("camber_sd_deg", &SD_DEG, usual.camber_sd_deg),
        dial_sd_mm: sd("dial_sd_mm", &SD_MM, usual.dial_sd_mm),
        spot_sd_mm: sd("spot_sd_mm", &SD_MM, usual.spot_sd_mm),
        toe_offset_sd_deg: sd("toe_offset_sd_deg", &SD_DEG, usual.toe_offset_sd_deg),
        camber_offset_sd_deg: sd("camber_offset_sd_deg", &SD_DEG, usual.camber_offset_sd_deg),
        bump_zero_sd_mm: sd("bump_zero_sd_mm", &SD_MM, usual.bump_zero_sd_mm),
    };
    table.finish();
    noise
}

/// The readings in a text of the file; each mistake at its own line when the text stands there as it is.
fn readings_of(
    at: &At<String>,
    instrument: Instrument,
    source: Source<'_>,
    diagnostics: &Diagnostics,
) -> Option<GaugeReadings> {
    let quoted = source.text.get(at.span.clone()).unwrap_or_default();
    let start = quoted.find(&at.value).map(|within| at.span.start + within);
    let place = |span: Span| match start {
        Some(start) => start + span.start..start + span.end,
        None => at.span.clone(),
    };
    read_csv(&CsvPlace { source, text: &at.value, place: &place }, instrument, diagnostics)
        .map(|(readings, _)| readings)
}

fn read_change(mut table: Table, car: &Geometry) -> Option<(Side, Change)> {
    let side = table.required("side", &Word(&[("left", Side::Left), ("right", Side::Right)]), "whose link it is");
    let side = side.map(|at| at.value);
    table.scope = Scope { side: side.unwrap_or(Side::Left), ..table.scope };
    let name = table.required("link", &Text, "the name of the link");
    let names = car.left.links.each_ref().map(|link| link.name.as_str());
    let link = name.and_then(|name| {
        let found = names.iter().position(|known| *known == name.value);
        if found.is_none() {
            let advice = match nearest(&name.value, &names) {
                Some(near) => format!("write {near:?}"),
                None => format!("write one of {}", names.map(|name| format!("{name:?}")).join(", ")),
            };
            table.note(&name.span, format!("the car has no link {:?}", name.value), advice);
        }
        found
    });
    let kinds = Word(&[("shim", "shim"), ("slot", "slot"), ("length", "length")]);
    let kind = table.required("what", &kinds, "what was changed").map(|at| at.value);
    let what = match kind {
        Some("length") => Some(What::Length),
        Some(kind) => {
            let ends = Word(&[("chassis", End::Chassis), ("upright", End::Upright)]);
            let end = table.required("end", &ends, "which end of the link");
            let along = table.required("along", &Direction(Frame::Car), "the way that its pickup went");
            end.zip(along).map(|(end, along)| match kind {
                "slot" => What::Slot { end: end.value, along: along.value },
                _ => What::Shim { end: end.value, along: along.value },
            })
        }
        None => None,
    };
    let by = table.required("by_mm", &BY, "how much: along `along`, or the link longer");
    if kind.is_some() {
        table.finish();
    }
    Some((side?, Change { link: link?, what: what?, by_mm: by?.value }))
}

/// The rounds so far as their file has them, with one more behind them: the text of its readings, and what they were taken for.
///
/// Read again, it gives the same rounds. Tested by `tests/gauge/`.
pub fn with_round(earlier: Option<&RoundsFile>, csv: &str, round: &Round, car: &Geometry) -> String {
    let mut text = earlier.map_or(HEAD, |file| without_mark(&file.text)).trim_end().to_owned();
    // Writing to a string cannot fail.
    let _ = write_round(&mut text, csv, round, car);
    text
}

fn write_round(out: &mut String, csv: &str, round: &Round, car: &Geometry) -> std::fmt::Result {
    let noise = &round.noise;
    writeln!(out, "\n\n[[round]]\ninstrument = {}", instrument_text(&round.readings.instrument))?;
    writeln!(
        out,
        "noise = {{ toe_sd_deg = {:?}, camber_sd_deg = {:?}, dial_sd_mm = {:?}, spot_sd_mm = {:?}, toe_offset_sd_deg = {:?}, \
         camber_offset_sd_deg = {:?}, bump_zero_sd_mm = {:?} }}",
        noise.toe_sd_deg,
        noise.camber_sd_deg,
        noise.dial_sd_mm,
        noise.spot_sd_mm,
        noise.toe_offset_sd_deg,
        noise.camber_offset_sd_deg,
        noise.bump_zero_sd_mm
    )?;
    writeln!(out, "readings = '''\n{}'''", readings_text(csv))?;
    for (side, changes) in round.changes.iter() {
        for change in changes {
            let link = Value::from(car.corner(side).links[change.link].name.as_str());
            writeln!(out, "\n[[round.change]]\nside = \"{}\"\nlink = {link}", side.name())?;
            writeln!(out, "what = \"{}\"", change.what.name())?;
            if let Some((end, along)) = change.what.moves() {
                let [x, y, z] = [along.x, side.sign() * along.y, along.z].map(|part| part + 0.0);
                writeln!(out, "end = \"{}\"\nalong = [{x:?}, {y:?}, {z:?}]", end.name())?;
            }
            writeln!(out, "by_mm = {:?}", change.by_mm + 0.0)?;
        }
    }
    Ok(())
}

fn instrument_text(instrument: &Instrument) -> String {
    match instrument {
        Instrument::Angle => "{ kind = \"angle\" }".to_owned(),
        Instrument::Plate { width_mm, zeroed } => {
            format!("{{ kind = \"plate\", width_mm = {width_mm:?}, zeroed = {zeroed} }}")
        }
        Instrument::Wall { distance_mm, beam } => {
            let beam = match beam {
                Beam::Forward => "forward",
                Beam::Spindle => "spindle",
            };
            format!("{{ kind = \"wall\", distance_mm = {distance_mm:?}, beam = \"{beam}\" }}")
        }
    }
}

/// A CSV text that can stand between three quotes as it is: its lines end in one way, and what cannot be seen is gone, which no
/// reading holds.
fn readings_text(csv: &str) -> String {
    let lines =
        without_mark(csv).lines().map(|line| line.chars().filter(|&c| is_plain(c) || c == '\t').collect::<String>());
    lines.map(|line| line.replace("''", "' '") + "\n").collect()
}
