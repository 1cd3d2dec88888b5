//! The geometry that a command works on: the file named, or the demo car.

use std::path::Path;

use hubtrace::file::{GeometryFile, ReadError};
use hubtrace::geometry::{Corner, Side};
use hubtrace::mechanism::{Linkage, SINGULAR, independent_links_at_design, margin_at_design};

use super::failure::Failure;
use super::terminal;

/// A first cut with bump steer worth curing.
const DEMO: &str = include_str!("../../geometries/first-cut.toml");
const DEMO_NAME: &str = "demo car";
/// Two links are parallel when the sine of the angle between them is below this: a tenth of a millimetre in a metre.
const PARALLEL: f64 = 1e-4;

/// Reads the file, or the demo car when none is given (and says so, unless `quiet`); refuses what cannot be moved.
pub fn geometry(path: Option<&Path>, quiet: bool) -> Result<GeometryFile, Failure> {
    let file = geometry_for_tuning(path, quiet)?;
    let unplaced = file.geometry.unplaced();
    if unplaced.is_empty() {
        return Ok(file);
    }
    Err(Failure::several(unplaced.iter().map(|name| {
        Failure::input(format!("link {name:?} has no chassis point yet"), "run `hubtrace tune` to find one")
    })))
}

/// The same, where links may lack their chassis points: a side that lacks one cannot be moved yet, and is not tried.
pub fn geometry_for_tuning(path: Option<&Path>, quiet: bool) -> Result<GeometryFile, Failure> {
    let file = match path {
        Some(path) => GeometryFile::read(path)?,
        None => {
            if !quiet {
                terminal::note("No geometry file given: working on the built-in demo car.\n");
            }
            GeometryFile::parse(DEMO_NAME, DEMO)?
        }
    };
    for side in Side::BOTH.into_iter().filter(|&side| file.geometry.is_placed(side)) {
        let margin = margin_at_design(&Linkage::new(file.geometry.corner(side)));
        if margin < SINGULAR {
            return Err(singular(&file, side).into());
        }
    }
    Ok(file)
}

/// Why the links of a side cannot hold or move its wheel at design height.
pub fn singular(file: &GeometryFile, side: Side) -> ReadError {
    let corner = file.geometry.corner(side);
    let independent = independent_links_at_design(&Linkage::new(corner));
    let side_name = side.name();
    let (what, advice) = if independent == 5 {
        (
            format!("bump cannot move the {side_name} wheel: its links let the upright turn, but the hub not rise"),
            "the five links and the vertical through the wheel centre all meet one line; move one chassis pickup so that \
             its link misses that line",
        )
    } else if all_parallel(corner) {
        (
            format!("the five links of the {side_name} side are parallel and leave the wheel loose"),
            "parallel links all hold the same direction, at every height; point them in different directions",
        )
    } else {
        (
            format!(
                "only {independent} of the five links of the {side_name} side hold the wheel, the rest repeat them"
            ),
            "links that lie in one line, or four that meet in a point, repeat each other; move one of their pickups",
        )
    };
    file.problem_at_links(side, &what, advice)
}

fn all_parallel(corner: &Corner) -> bool {
    let directions = corner.links.each_ref().map(|link| (link.upright - link.chassis).normalize());
    directions.iter().all(|d| d.cross(&directions[0]).norm() < PARALLEL)
}
