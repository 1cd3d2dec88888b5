//! `hubtrace sweep`: both wheels through bump and droop, roll and the grid of the two.

mod screen;

use std::path::PathBuf;

use clap::Args;

use hubtrace::geometry::{Geometry, GeometryFile, Side};
use hubtrace::outputs::{OutputFolder, Summary, charts, rows_csv, sha256_hex};
use hubtrace::studies::{Rig, SideBind, State, Sweep, verdicts};

use super::failure::Failure;
use super::lengths::rounded;
use super::options::{StudyArgs, TravelArgs};
use super::{Outcome, load, terminal};

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

pub fn run(args: &SweepArgs) -> Result<Outcome, Failure> {
    let file = load::geometry(args.file.as_deref(), args.study.quiet)?;
    let geometry = Geometry { travel: args.travel.over(&file.geometry.travel)?, ..file.geometry.clone() };
    let rig = Rig::new(&geometry).map_err(|singular| load::singular(&file, singular.side))?;
    let sweep = Sweep::run(rig);
    let sides = args.study.side.sides();
    let summary = Summary::of(&sweep, sides, sha256_hex(file.text.as_bytes()))
        .to_json()
        .map_err(|error| Failure::output(format!("the summary cannot be written: {error}"), "report this"))?;

    let mut folder = OutputFolder::new();
    for (name, rows) in [("heave.csv", &sweep.heave), ("roll.csv", &sweep.roll), ("grid.csv", &sweep.grid)] {
        let csv = rows_csv(rows, sides)
            .map_err(|error| Failure::output(format!("{name} cannot be written: {error}"), "report this"))?;
        folder.add(name, csv);
    }
    let drawn = charts(&sweep, sides).map_err(|error| Failure::output(error, "report this"))?;
    drawn.into_iter().for_each(|(name, svg)| folder.add(name, svg));
    folder.add("summary.json", summary.as_str());
    let written = folder.write(&args.study.out, args.study.force)?;

    if args.study.json {
        terminal::print(&summary)?;
    } else if !args.study.quiet {
        terminal::print(&screen::text(&sweep, &file, sides, &written))?;
    }
    outcome(&sweep, &file, sides)
}

/// Inside the limits, a limit broken, or a bind, which outweighs both.
fn outcome(sweep: &Sweep, file: &GeometryFile, sides: &[Side]) -> Result<Outcome, Failure> {
    let binds: Vec<&SideBind> = sweep.binds.iter().filter(|bind| sides.contains(&bind.side)).collect();
    if !binds.is_empty() {
        return Err(Failure::several(binds.into_iter().map(|bind| bind_failure(&file.geometry, bind))));
    }
    let verdicts = verdicts(sweep);
    let mut shown = verdicts.iter().filter(|v| v.side.is_none_or(|side| sides.contains(&side)));
    Ok(if shown.any(|v| v.state == State::Fail) { Outcome::LimitBroken } else { Outcome::InsideLimits })
}

fn bind_failure(geometry: &Geometry, bind: &SideBind) -> Failure {
    let at_mm = bind.bind.at_bump_mm;
    let way = bind.towards.name();
    let links = geometry.corner(bind.side).links.iter().zip(bind.bind.links);
    let names: Vec<String> =
        links.filter(|(_, carries)| *carries).map(|(link, _)| format!("\"{}\"", link.name)).collect();
    Failure::mechanism(
        format!(
            "the {} side binds at {} mm of {way}; {} carry the bind",
            bind.side.name(),
            rounded(at_mm.abs(), 1),
            listed(&names)
        ),
        format!("heave.csv holds every row before it; reduce `{way}` in [travel] or move one of these links"),
    )
}

/// `a`, `a and b`, `a, b and c`.
fn listed(names: &[String]) -> String {
    match names {
        [] => "the links".to_owned(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
