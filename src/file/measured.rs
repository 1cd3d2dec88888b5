//! Measured points put into a geometry file, everything else of it as it stands.

use super::geometry_file::GeometryFile;
use super::rewrite::{RewriteError, apart_mm, text_with};
use crate::geometry::{Corner, CornerPoint, Geometry, MeasuredPoint, Side, UprightAxes};

/// A geometry file with measured points in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MeasuredFile {
    /// The whole text.
    pub text: String,
    /// The side that was measured, by the sign of y.
    pub side: Side,
    /// The right side was measured of a car whose right side mirrors the left: the mirror image was written.
    pub mirrored: bool,
    /// Names of the points that were written.
    pub points: Vec<String>,
    /// Names that the file does not know.
    pub unknown: Vec<String>,
}

/// Puts points into a geometry under their names (`toe link chassis`, `halfshaft inner`), and into `measured_sd` of the links
/// how well they are known.
///
/// All are of one side. In hub axes a wheel centre takes the points of its upright along; a spring on a link keeps its
/// share of it. A link that had no chassis point has it in place of `within`. Comments stay.
///
/// Tested by `tests/cli/locate_into.rs`.
pub fn with_measured(file: &GeometryFile, points: &[MeasuredPoint]) -> Result<MeasuredFile, RewriteError> {
    let left = &file.geometry.left;
    let names: Vec<(CornerPoint, String)> =
        left.points().into_iter().map(|(point, _)| (point, left.name_of(point))).collect();
    let known =
        |measured: &MeasuredPoint| names.iter().find(|(_, name)| *name == measured.name).map(|(point, _)| *point);
    let found: Vec<(CornerPoint, &MeasuredPoint)> =
        points.iter().filter_map(|measured| Some((known(measured)?, measured))).collect();
    let side = if found.iter().map(|(_, of)| of.at.y).sum::<f64>() < 0.0 { Side::Right } else { Side::Left };
    let mirrored = side == Side::Right && file.geometry.mirrored;
    let written = if mirrored { Side::Left } else { side };

    let mut changed = file.geometry.clone();
    place(changed.corner_mut(written), side, &found, file.geometry.upright_axes);
    for (point, _) in &found {
        if let CornerPoint::Pickup(pickup) = point {
            changed.adjustments.as_mut().into_iter().for_each(|(_, may)| may.links[pickup.link].within = None);
        }
    }
    if changed.mirrored {
        changed.mirror_left();
    }
    let text = text_with(file, &changed)?;
    read_back(file, &changed, written, &found, &text)?;
    let unknown = points.iter().filter(|measured| known(measured).is_none()).map(|measured| measured.name.clone());
    let points = found.iter().map(|(_, measured)| measured.name.clone()).collect();
    Ok(MeasuredFile { text, side, mirrored, points, unknown: unknown.collect() })
}

/// Moves the points of a corner to where they were measured on a side, and what goes with them.
fn place(corner: &mut Corner, side: Side, found: &[(CornerPoint, &MeasuredPoint)], axes: UprightAxes) {
    let measured = |point: CornerPoint| found.iter().find(|(of, _)| *of == point).map(|(_, measured)| *measured);
    if let Some(centre) = measured(CornerPoint::WheelCentre).filter(|_| axes != UprightAxes::Car) {
        let by_mm = side.to_car(centre.at) - corner.wheel.centre;
        corner.map_upright(|place| place + by_mm, |direction| *direction);
    }
    for (point, place) in corner.points_mut() {
        if let Some(measured) = measured(point) {
            *place = side.to_car(measured.at);
        }
    }
    if measured(CornerPoint::SpringMount).is_none() {
        corner.carry_spring();
    }
    for (point, measured) in found {
        if let CornerPoint::Pickup(pickup) = point {
            *corner.links[pickup.link].measured_sd.at_mut(pickup.end) = Some(measured.sd_mm);
        }
    }
}

/// Reads what was written: a point that the file has no place for must not be lost.
fn read_back(
    file: &GeometryFile,
    changed: &Geometry,
    side: Side,
    found: &[(CornerPoint, &MeasuredPoint)],
    text: &str,
) -> Result<(), RewriteError> {
    let written = GeometryFile::parse(&file.source, text).map_err(RewriteError::Unsound)?.geometry;
    let corner = changed.corner(side);
    let apart_mm = apart_mm(changed.units);
    for ((point, meant), (_, read)) in corner.points().into_iter().zip(written.corner(side).points()) {
        let is_measured = found.iter().any(|(of, _)| *of == point);
        let has_sd = match point {
            CornerPoint::Pickup(of) => written.corner(side).links[of.link].measured_sd.at(of.end).is_some(),
            _ => true,
        };
        if is_measured && !(has_sd && (read - meant).norm() <= apart_mm) {
            return Err(RewriteError::NoPlace { points: vec![corner.name_of(point)], side });
        }
    }
    Ok(())
}
