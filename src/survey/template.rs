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
}

/// Datums to begin with, mm: four on the floor wide around the corner and two high on the frame, so that they stand in no
/// plane.
const DATUMS: [(&str, [f64; 3], &str); 6] = [
    ("A", [-500.0, 0.0, 0.0], "floor, on the centreline, behind the axle"),
    ("B", [500.0, 0.0, 0.0], "floor, on the centreline, ahead of the axle"),
    ("C", [-500.0, 900.0, 0.0], "floor, outside the wheel, behind the axle"),
    ("D", [500.0, 900.0, 0.0], "floor, outside the wheel, ahead of the axle"),
    ("E", [-300.0, 300.0, 700.0], "high on the frame, behind the axle"),
    ("F", [400.0, 300.0, 700.0], "high on the frame, ahead of the axle"),
];

impl SurveyTemplate {
    /// The points of the left corner of a geometry.
    pub fn of(geometry: &Geometry) -> Self {
        let corner = geometry.corner(Side::Left);
        let points = corner.points().into_iter().map(|(point, place)| (corner.name_of(point), place)).collect();
        Self { name: format!("{}, survey", geometry.name), units: geometry.units, points }
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
    for (name, at, what) in &DATUMS {
        writeln!(out, "  {{ name = {name:?}, at = {}, sd = 0.0 }},   # {what}", place(at, 1))?;
    }
    writeln!(out, "]\n\npoint = [                         # near: about where it is, to within 100 mm or so")?;
    for (name, near) in &template.points {
        writeln!(out, "  {{ name = {}, near = {} }},", quoted(name), place(&[near.x, near.y, near.z], 0))?;
    }
    writeln!(out, "]\n\n# From a datum to a point, eye to eye.\ndistance = [")?;
    let mut number = 0;
    for (point, _) in &template.points {
        for (datum, _, _) in &DATUMS {
            number += 1;
            writeln!(out, "  {{ between = [{datum:?}, {}], read = \"\" }},   # {number}", quoted(point))?;
        }
    }
    for (key, what) in [
        ("height", "Above the floor."),
        ("offset", "From the centreline, to the left positive."),
        ("fore_aft", "Plumbed to the floor, from x = 0, forward positive."),
    ] {
        writeln!(out, "]\n\n# {what}\n{key} = [")?;
        for (point, _) in &template.points {
            number += 1;
            writeln!(out, "  {{ of = {}, read = \"\" }},   # {number}", quoted(point))?;
        }
    }
    writeln!(out, "]")
}
