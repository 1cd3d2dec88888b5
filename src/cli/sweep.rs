//! `hubtrace sweep`: both wheels through bump and droop, roll and the grid of the two.

mod screen;

use std::path::PathBuf;
use std::time::Instant;

use clap::Args;

use crate::geometry::Side;
use crate::outputs::{CarShown, ChartSource, charts, clearance_csv, rod_ends_csv, rows_csv, sha256_hex, summary_json};
use crate::present::{self, LengthFormat};
use crate::studies::{Rig, SweepFindings};

use super::failure::Failure;
use super::options::{StudyArgs, TravelArgs};
use super::{Outcome, Terminal, bind_failures, load, progress};

/// Move both wheels through bump and droop, roll and both together; write tables and charts
#[derive(Debug, Args)]
pub struct SweepArgs {
    /// Geometry file; the built-in demo car when none is given
    pub file: Option<PathBuf>,
    #[command(flatten)]
    pub study: StudyArgs,
    #[command(flatten)]
    pub travel: TravelArgs,
}

pub fn run(args: &SweepArgs, terminal: &mut Terminal<'_>) -> Result<Outcome, Failure> {
    let file = load::geometry(args.file.as_deref(), args.study.output.quiet, terminal)?;
    load::note_doubts(&file, args.file.as_deref(), args.study.output.quiet, terminal);
    load::note_left_out(&file, args.file.as_deref(), args.study.output.quiet, terminal);
    let geometry = args.travel.over(&file.geometry, args.study.output.quiet, terminal)?;
    let rig = Rig::new(&geometry).map_err(|singular| load::singular(&file, singular.side))?;
    let sides = args.study.side.sides();
    let begun = Instant::now();
    let so_far = || format!("sweeping for {} s", begun.elapsed().as_secs());
    let found = progress::showing(terminal, args.study.output.quiet, so_far, || SweepFindings::of(rig, sides));
    let input_sha256 = sha256_hex(file.text.as_bytes());
    let summary = summary_json(&found, &input_sha256).map_err(Failure::unwritable)?;

    let source = ChartSource { file: &file.source, input_sha256: &input_sha256, car: CarShown::AsInFile };
    let (drawn, tables) = rayon::join(|| charts(&found.car, source), || tables(&found));
    let mut folder = args.study.results("sweep", args.file.as_deref(), &file);
    tables.map_err(Failure::unwritable)?.into_iter().for_each(|(name, csv)| folder.add(name, csv));
    drawn.map_err(Failure::unwritable)?.into_iter().for_each(|(name, svg)| folder.add(name, svg));
    folder.add("summary.json", summary.as_str());
    let written = folder.write(&args.study.output.out, args.study.output.force)?;

    args.study.output.tell(terminal, &summary, || screen::text(&found, &file, &written))?;
    outcome(&found)
}

/// The tables of the studies, by the names of their files.
fn tables(found: &SweepFindings) -> Result<Vec<(&'static str, Vec<u8>)>, csv::Error> {
    let (wheels, sides) = (&found.car.heave, &found.car.sides);
    let [heave, roll, grid] = found.rows();
    let mut tables = vec![
        ("heave.csv", rows_csv(heave, sides)?),
        ("roll.csv", rows_csv(roll, sides)?),
        ("grid.csv", rows_csv(grid, sides)?),
        ("clearance.csv", clearance_csv(wheels)?),
    ];
    if wheels.values().any(|wheel| !wheel.rod_ends.is_empty()) {
        tables.push(("rod-ends.csv", rod_ends_csv(wheels)?));
    }
    Ok(tables)
}

/// Inside the limits, a limit broken, or a bind, which outweighs both.
fn outcome(found: &SweepFindings) -> Result<Outcome, Failure> {
    let mut failures = bind_failures(&found.car, "heave.csv");
    failures.extend(found.car.sides.iter().filter_map(|&side| off_road_failure(found, side)));
    if !failures.is_empty() {
        return Err(Failure::several(failures.into_iter()));
    }
    Ok(Outcome::of(&found.car.judged, &found.car.sides))
}

/// Which rows a side lacks because its tyre does not rise with the wheel.
fn off_road_failure(found: &SweepFindings, side: Side) -> Option<Failure> {
    let lengths = LengthFormat(found.car.judged.geometry().units);
    let first = found.missing_rows(side).next()?;
    let what = present::tyre_off_road(lengths, side, found.missing_rows(side).count(), first);
    Some(Failure::mechanism(what, present::FAR_ROADS_ADVICE))
}
