//! `hubtrace check`: what was understood, in the terms of the shop, on one screen.

mod bolts;
mod corner;
mod doubts;

use std::path::PathBuf;

use clap::Args;

use crate::file::{GeometryFile, ReadError};
use crate::geometry::{Geometry, Side};
use crate::outputs::{sha256_hex, summary_json};
use crate::present::LengthFormat;
use crate::studies::CheckFindings;

use super::failure::Failure;
use super::layout::wrapped;
use super::load;
use super::options::Sides;
use super::{Outcome, Terminal};

/// Contact heights closer than this are the same to any gauge.
const SAME_HEIGHT_MM: f64 = 0.05;

/// Read a geometry and print what it amounts to: lengths to check with tape and callipers, toe, camber, binding
#[derive(Debug, Args)]
pub struct CheckArgs {
    /// Geometry file; the built-in demo car when none is given
    file: Option<PathBuf>,
    /// Which wheels to print
    #[arg(long, value_enum, default_value_t = Sides::Both)]
    side: Sides,
    /// Tell for every rod end which way its bolt should point, so that it tilts least over the travel
    #[arg(long)]
    bolts: bool,
    /// Print the findings as JSON instead of text
    #[arg(long)]
    json: bool,
    /// Do not say that the demo car is used
    #[arg(long)]
    quiet: bool,
}

pub fn run(args: &CheckArgs, terminal: &mut Terminal<'_>) -> Result<Outcome, Failure> {
    let file = load::geometry_without_frame(args.file.as_deref(), args.quiet, terminal)?;
    let geometry = &file.geometry;
    let found = CheckFindings::of(geometry);
    let found = if args.bolts { found.and_then(|found| found.with_best_bolts(geometry)) } else { found };
    let found = found.map_err(|singular| load::singular(&file, singular.side))?;
    if args.json {
        let summary = summary_json(&found, &sha256_hex(file.text.as_bytes())).map_err(Failure::unwritable)?;
        terminal.print(&summary)?;
        return outcome(&found, &file, args.side);
    }
    let shown = found.wheels.iter().filter(|(side, _)| is_shown(*side, args.side, geometry));
    let mut page = head(&found, geometry);
    page.extend(
        shown.flat_map(|(_, wheel)| corner::lines(wheel, &found, &geometry.travel, LengthFormat(geometry.units))),
    );
    let bolts = found.best_bolts.iter().flat_map(|both| both.iter());
    for (side, best) in bolts.filter(|(side, _)| is_shown(*side, args.side, geometry)) {
        page.extend(bolts::lines(side, best));
    }
    page.push(String::new());
    page.extend(doubts::lines(&found, &file));
    terminal.print(&(page.join("\n") + "\n"))?;
    outcome(&found, &file, args.side)
}

/// Mistakes for which a part of the driveline is left out, or else bodies that are too near to each other at design.
fn outcome(found: &CheckFindings, file: &GeometryFile, asked: Sides) -> Result<Outcome, Failure> {
    if !file.set_aside.is_empty() {
        return Err(ReadError::Problems { problems: file.set_aside.clone(), left_out: 0 }.into());
    }
    let is_too_near = |side: &Side| found.wheels[*side].has_too_near();
    Ok(if asked.sides().iter().any(is_too_near) { Outcome::LimitBroken } else { Outcome::InsideLimits })
}

/// The mirror image of the left side is printed only when it alone is asked for.
fn is_shown(side: Side, asked: Sides, geometry: &Geometry) -> bool {
    let twice = geometry.looks_alike() && asked == Sides::Both && side == Side::Right;
    asked.sides().contains(&side) && !twice
}

fn head(found: &CheckFindings, geometry: &Geometry) -> Vec<String> {
    let lengths = LengthFormat(geometry.units);
    let right_side =
        if found.mirrored { "the right side mirrors the left" } else { "the right side has its own points" };
    let travel = &geometry.travel;
    let apart_mm = found.contact_height_difference_mm.abs();
    let uneven = (apart_mm > SAME_HEIGHT_MM)
        .then(|| format!("the contact points differ in height by {}", lengths.with_unit(apart_mm)));
    let mut lines = vec![
        wrapped("", &found.name),
        format!("x forward, y left, z up; {right_side}"),
        format!(
            "track {}; travel {} bump, {} droop, {} deg roll",
            lengths.with_unit(found.track_mm),
            lengths.with_unit(travel.bump_mm),
            lengths.with_unit(travel.droop_mm),
            travel.roll_deg
        ),
    ];
    lines.extend(uneven);
    lines
}
