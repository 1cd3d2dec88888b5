//! The survey that is still to be taken: every reading numbered, to be filled in at the bench.

use std::fmt::Write;

use nalgebra::Point3;
use toml_edit::Value;

use crate::geometry::{Geometry, LengthUnit, Side};

/// Which places shall be measured.
#[derive(Debug, Clone, PartialEq)]
pub struct SurveyTemplate {
    /// What the survey is called.
    pub name: String,
    /// In which unit it is written.
    pub units: LengthUnit,
    /// The places that are sought and about where each of them is, mm.
    pub points: Vec<(String, Point3<f64>)>,
    /// Where to measure from.
    pub datums: Vec<TemplateDatum>,
}

/// A place to measure from, as a survey begins with it.
#[derive(Debug, Clone, PartialEq)]
pub struct TemplateDatum {
    /// What it is called, of one that is proposed until the builder calls it otherwise.
    pub name: String,
    /// Where it is, of one that is proposed about where it may be, mm.
    pub at_mm: [f64; 3],
    /// The same in words; `None` for a datum of the geometry.
    pub place: Option<&'static str>,
}

impl TemplateDatum {
    /// Where it is, in words.
    pub fn words(&self) -> &'static str {
        self.place.unwrap_or("datum of the car")
    }
}

/// A reading that is to be taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ToTake<'t> {
    /// In the survey file and on the sheet, counted from 1.
    pub number: usize,
    /// Where the tape is held; `None` for a plumbed reading.
    pub from: Option<&'t str>,
    /// The point that is measured.
    pub to: &'t str,
}

/// Readings of one kind: their table in the file, and what they are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToTakeOfKind<'t> {
    /// `distance`, `height`, `offset` or `fore_aft`.
    pub key: &'static str,
    /// How they are taken.
    pub how: &'static str,
    /// In rising order.
    pub readings: Vec<ToTake<'t>>,
}

/// Datums to begin with: four on the floor wide around the corner and two high on the frame, so that they stand in no plane.
const PROPOSED: [(&str, [f64; 3], &str); 6] = [
    ("A", [-500.0, 0.0, 0.0], "floor, on the centreline, behind the axle"),
    ("B", [500.0, 0.0, 0.0], "floor, on the centreline, ahead of the axle"),
    ("C", [-500.0, 900.0, 0.0], "floor, outside the wheel, behind the axle"),
    ("D", [500.0, 900.0, 0.0], "floor, outside the wheel, ahead of the axle"),
    ("E", [-300.0, 300.0, 700.0], "high on the frame, behind the axle"),
    ("F", [400.0, 300.0, 700.0], "high on the frame, ahead of the axle"),
];
/// Three distances fix a point.
const FIXING: usize = 3;

const PLUMBED: [(&str, &str); 3] = [
    ("height", "Above the floor."),
    ("offset", "From the centreline, to the left positive."),
    ("fore_aft", "Plumbed to the floor, from x = 0, forward positive."),
];

impl SurveyTemplate {
    /// The points of the left corner of a geometry from its datums, or from proposed ones where it has too few to fix a point.
    pub fn of(geometry: &Geometry) -> Self {
        let corner = geometry.corner(Side::Left);
        let points = corner.points().into_iter().map(|(point, place)| (corner.name_of(point), place)).collect();
        let of_file = geometry.datums.iter().map(|datum| TemplateDatum {
            name: datum.name.clone(),
            at_mm: datum.at.into(),
            place: None,
        });
        let proposed =
            PROPOSED.map(|(name, at_mm, place)| TemplateDatum { name: name.to_owned(), at_mm, place: Some(place) });
        let datums = if geometry.datums.len() < FIXING { proposed.to_vec() } else { of_file.collect() };
        Self { name: format!("{}, survey", geometry.name), units: geometry.units, points, datums }
    }

    /// Every point from each datum, then plumbed in all three ways.
    pub fn readings(&self) -> Vec<ToTakeOfKind<'_>> {
        let mut number = 0;
        let mut next = |from, to| {
            number += 1;
            ToTake { number, from, to }
        };
        let names = || self.points.iter().map(|(name, _)| name.as_str());
        let mut taped = Vec::new();
        for to in names() {
            taped.extend(self.datums.iter().map(|datum| next(Some(datum.name.as_str()), to)));
        }
        let mut kinds =
            vec![ToTakeOfKind { key: "distance", how: "From a datum to a point, eye to eye.", readings: taped }];
        for (key, how) in PLUMBED {
            kinds.push(ToTakeOfKind { key, how, readings: names().map(|to| next(None, to)).collect() });
        }
        kinds
    }
}

/// The text of a survey file with every reading still to be taken.
///
/// The file itself reads back: tested by `a_new_survey_reads_back_with_every_reading_to_be_taken` in `tests/survey/main.rs`.
pub fn survey_text(template: &SurveyTemplate) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail.
    let _ = write_survey(&mut text, template);
    text
}

fn write_survey(out: &mut String, template: &SurveyTemplate) -> std::fmt::Result {
    let units = template.units;
    let place = |at: &[f64; 3], decimals: usize| {
        let numbers = at.map(|mm| format!("{:.decimals$}", mm / units.in_mm()));
        format!("[{}]", numbers.join(", "))
    };
    let quoted = |text: &str| Value::from(text).to_string();
    let reading = match units {
        LengthUnit::Millimetre => "a number, `read = 812.5`",
        LengthUnit::Inch => "a number or as on the tape, `read = \"31 15/16\"`",
    };
    let sd = match units {
        LengthUnit::Millimetre => "1.0 ",
        LengthUnit::Inch => "0.04",
    };
    writeln!(
        out,
        "# A survey: what the tape says, to be turned into coordinates by `hubtrace locate`.\n\
         #\n\
         # 1. Write where your datums are. Choose places that do not move, wide around the points and not all in one\n\
         #    plane: scribe a centreline on the floor, drop a plumb bob from marks high on the frame.\n\
         # 2. Take the readings by their number and write them here: {reading}. What you leave empty\n\
         #    is not used. Six or more readings to a point find one that was misread.\n\
         #\n\
         # x forward, y left of the centreline, z above the floor, in {}. Take out points and datums you do not need.\n",
        units.symbol()
    )?;
    writeln!(out, "schema = 1\nname = {}\nunits = {:?}", quoted(&template.name), units.symbol())?;
    writeln!(out, "tape = {{ sd = {sd}, hook = 0.0 }}   # sd: what a reading errs by; hook: added to each distance\n")?;
    writeln!(out, "datum = [                         # sd: how well you know each coordinate of it")?;
    for datum in &template.datums {
        let at = place(&datum.at_mm, if datum.place.is_some() { 1 } else { 3 });
        writeln!(out, "  {{ name = {}, at = {at}, sd = 0.0 }},   # {}", quoted(&datum.name), datum.words())?;
    }
    writeln!(out, "]\n\npoint = [                         # near: about where it is, to within 100 mm or so")?;
    for (name, near) in &template.points {
        writeln!(out, "  {{ name = {}, near = {} }},", quoted(name), place(&[near.x, near.y, near.z], 0))?;
    }
    writeln!(out, "]")?;
    for ToTakeOfKind { key, how, readings } in template.readings() {
        writeln!(out, "\n# {how}\n{key} = [")?;
        for ToTake { number, from, to } in readings {
            let ends = match from {
                Some(from) => format!("between = [{}, {}]", quoted(from), quoted(to)),
                None => format!("of = {}", quoted(to)),
            };
            writeln!(out, "  {{ {ends}, read = \"\" }},   # {number}")?;
        }
        writeln!(out, "]")?;
    }
    Ok(())
}
