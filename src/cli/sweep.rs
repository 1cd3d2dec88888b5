//! `hubtrace sweep`: both wheels through bump and droop, roll and the grid of the two.

mod screen;

use std::path::PathBuf;

use clap::Args;

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Geometry, Side};
use hubtrace::outputs::{OutputFolder, Summary, charts, rows_csv, sha256_hex};
use hubtrace::studies::{MissingRow, Rig, SideBind, SweepFindings};

use super::failure::Failure;
use super::lengths::{LengthFormat, rounded};
use super::options::{StudyArgs, TravelArgs};
use super::{Outcome, load};

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
    let sweep = SweepFindings::of(rig);
    let sides = args.study.side.sides();
    let summary = Summary::of(&sweep.car, Some(&sweep.grid), sides, sha256_hex(file.text.as_bytes()))
        .to_json()
        .map_err(Failure::unwritable)?;

    let mut folder = OutputFolder::new();
    for (name, rows) in
        [("heave.csv", &sweep.car.heave.rows), ("roll.csv", &sweep.car.roll.rows), ("grid.csv", &sweep.grid.rows)]
    {
        let csv = rows_csv(rows, sides).map_err(Failure::unwritable)?;
        folder.add(name, csv);
    }
    let drawn = charts(&sweep.car, sides).map_err(Failure::unwritable)?;
    drawn.into_iter().for_each(|(name, svg)| folder.add(name, svg));
    folder.add("summary.json", summary.as_str());
    let written = folder.write(&args.study.out, args.study.force)?;

    args.study.tell(&summary, || screen::text(&sweep, &file, sides, &written))?;
    outcome(&sweep, &file, sides)
}

/// Inside the limits, a limit broken, or a bind, which outweighs both.
fn outcome(sweep: &SweepFindings, file: &GeometryFile, sides: &[Side]) -> Result<Outcome, Failure> {
    let binds: Vec<&SideBind> = sweep.car.heave.binds.iter().filter(|bind| sides.contains(&bind.side)).collect();
    let lost = sides.iter().filter_map(|&side| off_road_failure(sweep, side));
    let failures: Vec<Failure> = binds.into_iter().map(|bind| bind_failure(&file.geometry, bind)).chain(lost).collect();
    if !failures.is_empty() {
        return Err(Failure::several(failures.into_iter()));
    }
    Ok(Outcome::of(&sweep.car, sides))
}

fn bind_failure(geometry: &Geometry, bind: &SideBind) -> Failure {
    let at_mm = bind.bind.at_bump_mm;
    let way = bind.towards.name();
    let links = geometry.corner(bind.side).links.iter().zip(bind.bind.links);
    let names: Vec<String> =
        links.filter(|(_, carries)| *carries).map(|(link, _)| format!("{:?}", link.name)).collect();
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

/// Which rows a side lacks because its tyre does not rise with the wheel.
fn off_road_failure(sweep: &SweepFindings, side: Side) -> Option<Failure> {
    let lost: Vec<&MissingRow> = sweep.missing_rows().filter(|lost| lost.side == side).collect();
    let first = lost.first()?;
    let height = LengthFormat(sweep.car.geometry().units).with_unit(first.ride_height_change_mm);
    Some(Failure::mechanism(
        format!(
            "the {} tyre finds no place on {} of the roads asked for, first at {} deg of body roll and {height} of ride \
             height: the wheel leans so fast in bump that its tyre goes down as the hub goes up",
            side.name(),
            lost.len(),
            rounded(first.body_roll_deg, 2)
        ),
        "roll.csv and grid.csv lack these rows; look again at `tyre_radius`, `camber`, `toe` and the links",
    ))
}

/// `a`, `a and b`, `a, b and c`.
fn listed(names: &[String]) -> String {
    match names {
        [] => "the links".to_owned(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
