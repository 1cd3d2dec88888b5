//! The geometry or the survey that a command works on: the file named, or the demo car.

use std::path::Path;

use crate::file::{GeometryFile, ReadError, untouched_points};
use crate::geometry::Side;
use crate::present::tuning::CHASSIS_OR_ROOM;
use crate::present::{loose_design, starter_count};
use crate::studies::LooseDesign;
use crate::studies::plausibility::doubts;
use crate::survey::SurveyFile;

use super::failure::Failure;
use super::terminal::Terminal;

/// A first cut with bump steer worth curing.
const DEMO: &str = include_str!("../../geometries/first-cut.toml");
const DEMO_NAME: &str = "demo car";

/// Reads the file, or the demo car when none is given (and says so, unless `quiet`); refuses what cannot be moved.
pub fn geometry(path: Option<&Path>, quiet: bool, terminal: &mut Terminal<'_>) -> Result<GeometryFile, Failure> {
    let file = geometry_without_frame(path, quiet, terminal)?;
    refuse_without_chassis(&file, &file.geometry.unplaced())?;
    Ok(file)
}

/// Nothing is done with a car of which these links lack their chassis point.
fn refuse_without_chassis(file: &GeometryFile, links: &[String]) -> Result<(), Failure> {
    if links.is_empty() {
        return Ok(());
    }
    let without_room = file.geometry.without_room();
    Err(Failure::several(links.iter().map(|name| {
        let what = format!("link {name:?} has no chassis point yet");
        let advice = if without_room.contains(name) { CHASSIS_OR_ROOM } else { "run `hubtrace tune` to find one" };
        file.problem_at_link(Side::Left, name, "within", &what, advice).into()
    })))
}

/// The same, where links may lack their chassis points and have rooms for them.
pub fn geometry_for_tuning(
    path: Option<&Path>,
    quiet: bool,
    terminal: &mut Terminal<'_>,
) -> Result<GeometryFile, Failure> {
    let file = geometry_without_frame(path, quiet, terminal)?;
    refuse_without_chassis(&file, &file.geometry.without_room())?;
    Ok(file)
}

/// The same, where links may have nothing of the frame yet: a side that lacks a chassis point cannot be moved, and is not tried.
pub fn geometry_without_frame(
    path: Option<&Path>,
    quiet: bool,
    terminal: &mut Terminal<'_>,
) -> Result<GeometryFile, Failure> {
    let file = match path {
        Some(path) => GeometryFile::read(path)?,
        None => {
            if !quiet {
                terminal.note("No geometry file given: working on the built-in demo car.\n");
            }
            GeometryFile::parse(DEMO_NAME, DEMO)?
        }
    };
    for side in Side::BOTH.into_iter().filter(|&side| file.geometry.is_placed(side)) {
        if LooseDesign::find(file.geometry.corner(side)).is_some() {
            return Err(singular(&file, side).into());
        }
    }
    Ok(file)
}

/// In one line each, how many points have the starter's numbers, and how many things of the file look wrong and where they are told;
/// nothing of a sound car.
pub fn note_doubts(file: &GeometryFile, path: Option<&Path>, quiet: bool, terminal: &mut Terminal<'_>) {
    if quiet {
        return;
    }
    let untouched = untouched_points(&file.geometry);
    if let Some((starter, _)) = untouched.and_then(|untouched| starter_count(&untouched, file.geometry.tuned)) {
        terminal.note(&format!("warning: {starter}\n"));
    }
    let count = doubts(&file.geometry).len();
    if count == 0 {
        return;
    }
    let things = if count == 1 { "1 thing looks wrong".to_owned() } else { format!("{count} things look wrong") };
    let name = path.map_or(String::new(), |path| format!(" {}", path.display()));
    terminal.note(&format!("warning: {things}: see `hubtrace check{name}`\n"));
}

/// In one line, how many parts of the driveline were left out for a mistake, and where it is told; nothing when none was.
pub fn note_left_out(file: &GeometryFile, path: Option<&Path>, quiet: bool, terminal: &mut Terminal<'_>) {
    let count = file.set_aside.len();
    if count == 0 || quiet {
        return;
    }
    let mistakes = if count == 1 { "1 mistake".to_owned() } else { format!("{count} mistakes") };
    let name = path.map_or(String::new(), |path| format!(" {}", path.display()));
    terminal.note(&format!("warning: {mistakes} in the driveline, left out here: see `hubtrace driveline{name}`\n"));
}

/// A corner of the same car, taped and plumbed with a tape of 1 mm; one reading is misread, and one point lacks readings.
const DEMO_SURVEY: &str = include_str!("../../surveys/first-cut.toml");

/// Reads the survey, or that of the demo car when none is given (and says so, unless `quiet`).
pub fn survey(path: Option<&Path>, quiet: bool, terminal: &mut Terminal<'_>) -> Result<SurveyFile, Failure> {
    let Some(path) = path else {
        if !quiet {
            terminal.note("No survey file given: working on the built-in demo survey.\n");
        }
        return Ok(SurveyFile::parse("demo survey", DEMO_SURVEY)?);
    };
    Ok(SurveyFile::read(path)?)
}

/// Why the links of a side cannot hold or move its wheel at design height.
pub fn singular(file: &GeometryFile, side: Side) -> ReadError {
    let (what, advice) = loose_design(LooseDesign::of(file.geometry.corner(side)), side);
    file.problem_at_links(side, &what, advice)
}
