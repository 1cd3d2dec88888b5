//! `hubtrace driveline`: the shafts from the gearbox to the wheels.

mod screen;

use std::path::PathBuf;

use clap::Args;

use crate::file::ReadError;
use crate::outputs::{
    CarShown, ChartSource, driveline_charts, halfshaft_angles_csv, halfshaft_csv, propshaft_csv, runs_out_csv,
    sha256_hex, summary_json,
};
use crate::present::LengthFormat;
use crate::studies::driveline::DrivelineFindings;
use crate::studies::{JudgedCar, Rig};

use super::failure::Failure;
use super::options::StudyArgs;
use super::{Outcome, Terminal, bind_failure, load};

/// Take the halfshafts through all wheel travel and the propeller shaft through its turn; tell what is left of what they allow
#[derive(Debug, Args)]
pub struct DrivelineArgs {
    /// Geometry file; the built-in demo car when none is given
    pub file: Option<PathBuf>,
    #[command(flatten)]
    pub study: StudyArgs,
}

pub fn run(args: &DrivelineArgs, terminal: &mut Terminal<'_>) -> Result<Outcome, Failure> {
    let output = &args.study.output;
    let file = load::geometry(args.file.as_deref(), output.quiet, terminal)?;
    load::note_doubts(&file, args.file.as_deref(), output.quiet, terminal);
    let rig = Rig::new(&file.geometry).map_err(|singular| load::singular(&file, singular.side))?;
    let found = DrivelineFindings::of(JudgedCar::of(rig), args.study.side.sides());
    if found.driveline.is_empty() && file.set_aside.is_empty() {
        let what = format!("{} has nothing of a driveline", file.source);
        return Err(Failure::input(what, "add a [halfshaft], a [spring], or a [propshaft] with its joints"));
    }
    let input_sha256 = sha256_hex(file.text.as_bytes());
    let summary = summary_json(&found, &input_sha256).map_err(Failure::unwritable)?;
    let mut folder = args.study.results("driveline", args.file.as_deref(), &file);
    if found.driveline.halfshafts().next().is_some() {
        folder.add("halfshaft.csv", halfshaft_csv(&found.driveline).map_err(Failure::unwritable)?);
        folder.add("halfshaft-angles.csv", halfshaft_angles_csv(&found.driveline).map_err(Failure::unwritable)?);
    }
    folder.add("runs-out.csv", runs_out_csv(&found.driveline).map_err(Failure::unwritable)?);
    if let Some(shaft) = &found.driveline.propshaft {
        folder.add("propshaft.csv", propshaft_csv(shaft).map_err(Failure::unwritable)?);
    }
    let source = ChartSource { file: &file.source, input_sha256: &input_sha256, car: CarShown::AsInFile };
    let drawn = driveline_charts(&found, source).map_err(Failure::unwritable)?;
    drawn.into_iter().for_each(|(name, svg)| folder.add(name, svg));
    folder.add("summary.json", summary.as_str());
    let written = folder.write(&output.out, output.force)?;
    output.tell(terminal, &summary, || screen::text(&found, &file, &written))?;
    if !file.set_aside.is_empty() {
        return Err(ReadError::Problems { problems: file.set_aside.clone(), left_out: 0 }.into());
    }
    let lengths = LengthFormat(file.geometry.units);
    let binds: Vec<Failure> = found.binds().map(|bind| bind_failure(lengths, bind, "halfshaft.csv")).collect();
    if !binds.is_empty() {
        return Err(Failure::several(binds.into_iter()));
    }
    Ok(if found.driveline.breaks_a_limit() { Outcome::LimitBroken } else { Outcome::InsideLimits })
}
