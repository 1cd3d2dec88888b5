//! `hubtrace report`: everything that the file has data for, on one page to hand over.

mod screen;

use std::path::PathBuf;

use clap::Args;

use crate::file::untouched_points;
use crate::geometry::Geometry;
use crate::outputs::{ReportSource, ReportSummary, report, report_tables, sha256_hex, summary_json};
use crate::studies::errors::ErrorSource;
use crate::studies::tolerance::{
    LinksAfterWelding, ToleranceRequest, USUAL_GAUGE_SD_DEG, USUAL_JIG_SD_MM, USUAL_PLACING_SD_MM, Watch,
};
use crate::studies::{ReportFindings, Rig};

use super::failure::Failure;
use super::forces::spring_failures;
use super::options::{BuiltCarsArgs, StudyArgs, TravelArgs};
use super::{Outcome, Terminal, bind_failures, load, progress};

/// Write one page for whoever checks the car: limits, pictures, curves, welds, shafts, forces, and the file it was made from
#[derive(Debug, Args)]
pub struct ReportArgs {
    /// Geometry file; the built-in demo car when none is given
    pub file: Option<PathBuf>,
    #[command(flatten)]
    pub study: StudyArgs,
    #[command(flatten)]
    pub built: BuiltCarsArgs,
    #[command(flatten)]
    pub travel: TravelArgs,
}

pub fn run(args: &ReportArgs, terminal: &mut Terminal<'_>) -> Result<Outcome, Failure> {
    let output = &args.study.output;
    let file = load::geometry(args.file.as_deref(), output.quiet, terminal)?;
    load::note_doubts(&file, args.file.as_deref(), output.quiet, terminal);
    load::note_left_out(&file, args.file.as_deref(), output.quiet, terminal);
    let geometry = args.travel.over(&file.geometry, output.quiet, terminal)?;
    let rig = Rig::new(&geometry).map_err(|singular| load::singular(&file, singular.side))?;
    let (sides, request) = (args.study.side.sides(), request(&geometry, args));
    let so_far = || "moving, welding and loading the car".to_owned();
    let study = || ReportFindings::of(rig, sides, request, Watch::NONE);
    let found = progress::showing(terminal, output.quiet, so_far, study)
        .map_err(|singular| load::singular(&file, singular.side))?;
    let input_sha256 = sha256_hex(file.text.as_bytes());
    let summary = summary_json(&ReportSummary::of(&found), &input_sha256).map_err(Failure::unwritable)?;
    let untouched = untouched_points(&file.geometry);
    let source = ReportSource {
        file: &file.source,
        text: &file.text,
        input_sha256: &input_sha256,
        is_demo: args.file.is_none(),
        untouched: untouched.as_ref(),
        set_aside: &file.set_aside,
    };
    let tables = report_tables(&found).map_err(Failure::unwritable)?;
    let mut folder = args.study.results("report", args.file.as_deref(), &file);
    folder.add("report.html", report(&found, &source, &tables).map_err(Failure::unwritable)?);
    tables.into_iter().for_each(|table| folder.add(table.name, table.contents));
    folder.add("summary.json", summary.as_str());
    let written = folder.write(&output.out, output.force)?;

    output.tell(terminal, &summary, || screen::text(&found, &file, &written))?;
    let binds = bind_failures(&found.sweep.car, "heave.csv").into_iter();
    let failures: Vec<Failure> = binds.chain(found.forces.iter().flat_map(spring_failures)).collect();
    match (failures.is_empty(), found.breaks_a_limit()) {
        (false, _) => Err(Failure::several(failures.into_iter())),
        (true, true) => Ok(Outcome::LimitBroken),
        (true, false) => Ok(Outcome::InsideLimits),
    }
}

/// The weld study as `tolerance` makes it when it is asked nothing else.
fn request(geometry: &Geometry, args: &ReportArgs) -> ToleranceRequest {
    ToleranceRequest {
        cars: args.built.cars as usize,
        seed: args.built.seed,
        errors: ErrorSource::of_file(geometry.weld.as_ref()),
        links: LinksAfterWelding::Adjusted,
        gauge_sd_deg: USUAL_GAUGE_SD_DEG,
        placing_sd_mm: USUAL_PLACING_SD_MM,
        jig_sd_mm: USUAL_JIG_SD_MM,
    }
}
