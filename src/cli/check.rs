//! `hubtrace check`: what was understood, in the terms of the shop, on one screen.

mod corner;
mod doubts;

use std::path::PathBuf;

use clap::Args;

use hubtrace::geometry::{Geometry, Side};
use hubtrace::studies::{Inspection, track_mm};

use super::Outcome;
use super::failure::Failure;
use super::lengths::LengthFormat;
use super::load;
use super::options::Sides;
use super::terminal;

/// Read a geometry and print what it amounts to: lengths to check with tape and callipers, toe, camber, binding
#[derive(Debug, Args)]
pub struct CheckArgs {
    /// Geometry file; the embedded demo car when none is given
    file: Option<PathBuf>,
    /// Which wheels to print
    #[arg(long, value_enum, default_value_t = Sides::Both)]
    side: Sides,
    /// Do not say that the demo car is used
    #[arg(long)]
    quiet: bool,
}

pub fn run(args: &CheckArgs) -> Result<Outcome, Failure> {
    let file = load::geometry(args.file.as_deref(), args.quiet)?;
    let geometry = &file.geometry;
    let inspect = |side| Inspection::of(geometry.corner(side)).map_err(|_| load::singular(&file, side));
    let (left, right) = (inspect(Side::Left)?, inspect(Side::Right)?);
    let shown: Vec<_> = [&left, &right].into_iter().filter(|i| is_shown(i.corner.side, args.side, geometry)).collect();
    let mut page = head(geometry, &left, &right);
    page.extend(
        shown.iter().flat_map(|inspection| corner::lines(inspection, &geometry.travel, LengthFormat(geometry.units))),
    );
    page.push(String::new());
    page.extend(doubts::lines(geometry));
    terminal::print(&(page.join("\n") + "\n"))?;
    Ok(Outcome::InsideLimits)
}

/// The mirror image of the left side is printed only when it alone is asked for.
fn is_shown(side: Side, asked: Sides, geometry: &Geometry) -> bool {
    let twice = geometry.mirrored && asked == Sides::Both && side == Side::Right;
    asked.sides().contains(&side) && !twice
}

fn head(geometry: &Geometry, left: &Inspection<'_>, right: &Inspection<'_>) -> Vec<String> {
    let lengths = LengthFormat(geometry.units);
    let right_side =
        if geometry.mirrored { "the right side mirrors the left" } else { "the right side has its own points" };
    let travel = &geometry.travel;
    vec![
        terminal::wrapped("", &geometry.name),
        format!("x forward, y left, z up; {right_side}"),
        format!(
            "track {}; travel {} bump, {} droop, {} deg roll",
            lengths.with_unit(track_mm(left, right)),
            lengths.with_unit(travel.bump_mm),
            lengths.with_unit(travel.droop_mm),
            travel.roll_deg
        ),
    ]
}
