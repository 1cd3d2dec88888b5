//! Measured points as pieces of a geometry file.

use std::fmt::Write;

use toml_edit::Value;

use super::edits::{point_text, sds_text};
use crate::geometry::{End, LengthUnit, MeasuredPoint};

/// What a geometry file calls the points that are no pickups: their name, their table and their key.
const OTHERS: [(&str, &str, &str); 5] = [
    ("wheel centre", "wheel", "centre"),
    ("halfshaft inner", "halfshaft", "inner"),
    ("halfshaft outer", "halfshaft", "outer"),
    ("spring chassis", "spring", "chassis"),
    ("spring mount", "spring", "mount"),
];

/// Tables of a geometry file with the points that were measured, to be copied from; `source` is the survey. Points that a
/// geometry has no name for are comments at its end.
///
/// Tested by `the_points_stand_in_a_piece_of_a_geometry` in `tests/cli/locate.rs`.
pub fn points_text(source: &str, units: LengthUnit, points: &[MeasuredPoint]) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail.
    let _ = write_points(&mut text, source, units, points);
    text
}

fn write_points(out: &mut String, source: &str, units: LengthUnit, points: &[MeasuredPoint]) -> std::fmt::Result {
    writeln!(
        out,
        "# Points that `hubtrace locate` found from {source}, in {}: pieces of a geometry file, to be copied.\n\
         # x forward, y left of the centreline, z above the floor; measured_sd: one standard deviation of each coordinate.",
        units.symbol()
    )?;
    let mut links: Vec<(&str, [Option<&MeasuredPoint>; 2])> = Vec::new();
    let mut left_over = Vec::new();
    for point in points.iter().filter(|point| !OTHERS.iter().any(|(name, ..)| *name == point.name)) {
        let link_of = |end: End| point.name.strip_suffix(end.name())?.strip_suffix(' ');
        let pickup = End::BOTH.iter().enumerate().find_map(|(k, end)| Some((link_of(*end)?, k)));
        let Some((link, end)) = pickup else {
            left_over.push(point);
            continue;
        };
        let at = links.iter().position(|(name, _)| *name == link).unwrap_or(links.len());
        if at == links.len() {
            links.push((link, [None; 2]));
        }
        links[at].1[end] = Some(point);
    }
    for (link, ends) in &links {
        writeln!(out, "\n[[link]]\nname = {}", Value::from(*link))?;
        let known = || End::BOTH.into_iter().zip(ends).filter_map(|(end, point)| Some((end, (*point)?)));
        for (end, point) in known() {
            writeln!(out, "{} = {}", end.name(), point_text(units, &point.at))?;
        }
        let sds = known().map(|(end, point)| format!("{} = {}", end.name(), sd_text(units, point)));
        writeln!(out, "measured_sd = {{ {} }}", sds.collect::<Vec<_>>().join(", "))?;
    }
    let mut table = "";
    for (name, of, key) in OTHERS {
        let Some(point) = points.iter().find(|point| point.name == name) else { continue };
        if table != of {
            writeln!(out, "\n[{of}]")?;
            table = of;
        }
        writeln!(out, "{key} = {}   # sd {}", point_text(units, &point.at), sd_text(units, point))?;
    }
    if !left_over.is_empty() {
        writeln!(out, "\n# Other points:")?;
    }
    for point in left_over {
        let name = Value::from(point.name.as_str());
        writeln!(out, "# {name} = {}   # sd {}", point_text(units, &point.at), sd_text(units, point))?;
    }
    Ok(())
}

fn sd_text(units: LengthUnit, point: &MeasuredPoint) -> String {
    sds_text(units, point.sd_mm)
}
