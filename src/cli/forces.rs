//! `hubtrace forces`: what each link, the spring and each bracket carry, and how near that is to what they bear.

mod screen;

use std::path::PathBuf;

use clap::Args;

use crate::geometry::{Geometry, Side};
use crate::outputs::{
    CarShown, ChartSource, ForcesSummary, brackets_csv, compliance_csv, forces_charts, forces_csv, margins_csv,
    mounts_csv, sha256_hex, summary_json,
};
use crate::present::{LengthFormat, forces, words};
use crate::studies::Rig;
use crate::studies::forces::ForcesFindings;

use super::failure::Failure;
use super::options::{StudyArgs, TravelArgs, note_read_in_mm, number};
use super::{Outcome, Terminal, bind_failure, load};

/// Tell the force in every link, the spring and every bracket of the frame over the travel, and what breaks first
#[derive(Debug, Args)]
pub struct ForcesArgs {
    /// Geometry file; the built-in demo car when none is given
    file: Option<PathBuf>,
    #[command(flatten)]
    study: StudyArgs,
    /// Wheel travel at which forces are told too, mm, bump positive; may be given several times
    #[arg(long, value_name = "MM", value_parser = at_mm, allow_negative_numbers = true)]
    at: Vec<f64>,
    /// Tell for every link the lightest tube of those that are sold with which it keeps a reserve of 1.5
    #[arg(long)]
    lightest: bool,
    #[command(flatten)]
    travel: TravelArgs,
}

pub fn run(args: &ForcesArgs, terminal: &mut Terminal<'_>) -> Result<Outcome, Failure> {
    let file = load::geometry(args.file.as_deref(), args.study.output.quiet, terminal)?;
    load::note_doubts(&file, args.file.as_deref(), args.study.output.quiet, terminal);
    let geometry = args.travel.over(&file.geometry, args.study.output.quiet, terminal)?;
    let at: Vec<_> = args.at.iter().map(|&mm| ("--at", Some(mm))).collect();
    note_read_in_mm(geometry.units, &at, args.study.output.quiet, terminal);
    refuse_beyond_stops(&geometry, &args.at)?;
    let sides = args.study.side.sides();
    let rig = Rig::new(&geometry).map_err(|singular| load::singular(&file, singular.side))?;
    let found = ForcesFindings::of(&rig, sides, &args.at).ok_or_else(|| no_spring(&geometry, sides))?;
    let found = if args.lightest { found.with_lightest_tubes() } else { found };
    if found.cases.is_empty() {
        let what =
            forces::not_checked(&found.lacking).unwrap_or_else(|| "no load acts on the wheels asked for".to_owned());
        let advice = "add a [[load]], for example: name = \"corner\", contact = [0.0, -3000.0, 4000.0] (N, road on tyre: \
                      forward, outboard, up); or what the usual cases need";
        return Err(Failure::input(format!("there is no load case to look at. {what}"), advice));
    }
    let input_sha256 = sha256_hex(file.text.as_bytes());
    let summary = summary_json(&ForcesSummary::of(&found), &input_sha256).map_err(Failure::unwritable)?;

    let mut folder = args.study.results("forces", args.file.as_deref(), &file);
    folder.add("forces.csv", forces_csv(&found).map_err(Failure::unwritable)?);
    folder.add("brackets.csv", brackets_csv(&found).map_err(Failure::unwritable)?);
    if !found.compliance.is_empty() {
        folder.add("compliance.csv", compliance_csv(&found).map_err(Failure::unwritable)?);
    }
    folder.add("margins.csv", margins_csv(&found).map_err(Failure::unwritable)?);
    if let Some(mounts) = mounts_csv(&found) {
        folder.add("mounts.csv", mounts.map_err(Failure::unwritable)?);
    }
    let source = ChartSource { file: &file.source, input_sha256: &input_sha256, car: CarShown::AsInFile };
    let drawn = forces_charts(&found, source).map_err(Failure::unwritable)?;
    drawn.into_iter().for_each(|(name, svg)| folder.add(name, svg));
    folder.add("summary.json", summary.as_str());
    let written = folder.write(&args.study.output.out, args.study.output.force)?;

    args.study.output.tell(terminal, &summary, || screen::Screen { file: &file, found: &found }.text(&written))?;
    outcome(&found)
}

/// A bind or a spring that does not hold its wheel leave rows out; else a part that breaks on paper is told as a broken limit.
fn outcome(found: &ForcesFindings) -> Result<Outcome, Failure> {
    let bind = |bind| bind_failure(LengthFormat(found.geometry.units), bind, "forces.csv");
    let failures: Vec<Failure> = found.binds.iter().map(bind).chain(spring_failures(found)).collect();
    match (failures.is_empty(), found.breaks()) {
        (false, _) => Err(Failure::several(failures.into_iter())),
        (true, true) => Ok(Outcome::LimitBroken),
        (true, false) => Ok(Outcome::InsideLimits),
    }
}

/// Wheels that their spring does not hold.
pub(super) fn spring_failures(found: &ForcesFindings) -> impl Iterator<Item = Failure> {
    let lengths = LengthFormat(found.geometry.units);
    let told = move |fails| Failure::mechanism(forces::spring_fails(lengths, fails), forces::SPRING_FAILS_ADVICE);
    found.spring_fails.iter().map(told)
}

fn no_spring(geometry: &Geometry, sides: &[Side]) -> Failure {
    let side = sides.iter().find(|&&side| geometry.corner(side).spring.is_none());
    Failure::input(
        forces::no_spring(*side.unwrap_or(&Side::Left)),
        "add [spring] with its `chassis` and `mount`: where the spring or damper is bolted at both ends",
    )
}

/// The stops hold the wheel inside its travel.
fn refuse_beyond_stops(geometry: &Geometry, at_mm: &[f64]) -> Result<(), Failure> {
    let travel = &geometry.travel;
    let beyond = at_mm.iter().find(|&&mm| mm < -travel.droop_mm || travel.bump_mm < mm);
    let Some(&mm) = beyond else { return Ok(()) };
    let (lengths, stop) = (LengthFormat(geometry.units), if mm < 0.0 { "droop" } else { "bump" });
    Err(Failure::input(
        format!("--at {mm} is beyond the stop: the wheel goes to {}", words::travel(lengths, stop_mm(geometry, mm))),
        format!("give a travel between the stops, or more --{stop}"),
    ))
}

fn stop_mm(geometry: &Geometry, towards_mm: f64) -> f64 {
    if towards_mm < 0.0 { -geometry.travel.droop_mm } else { geometry.travel.bump_mm }
}

fn at_mm(text: &str) -> Result<f64, String> {
    number(text, -500.0..=500.0, "write millimetres from -500 to 500, bump positive, for example 30")
}
