//! Measured points put into a geometry file, everything else of it as it stands.

use nalgebra::Vector3;

use super::geometry_file::GeometryFile;
use super::rewrite::{RewriteError, apart_mm, parsed_again, text_with};
use super::tables::OFF_LINE_MM;
use crate::geometry::{
    ChassisPlace, Corner, CornerPoint, End, Geometry, LengthUnit, MeasuredPoint, Side, SpringMount, UprightAxes,
};

/// A geometry file with measured points in it.
#[derive(Debug, Clone, PartialEq)]
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
    /// Points that the file works out: the inner joint of a halfshaft is where `[final_drive]` has its flange.
    pub worked_out: Vec<String>,
    /// A spring mount on a link, which stands on the line of that link in the file: how far off it was measured, mm.
    pub mount_off_line_mm: Option<f64>,
}

/// Puts points into a geometry under their names (`toe link chassis`, `halfshaft inner`), and into `measured_sd` of the links
/// how well they are known.
///
/// All are of one side. In hub axes a wheel centre takes the points of its upright along; a spring on a link keeps its
/// share of it, and one that was measured is put on its line. A link that had no chassis point has it in place of `within`. Comments stay.
///
/// Tested by `tests/cli/locate_into.rs`.
pub fn with_measured(file: &GeometryFile, points: &[MeasuredPoint]) -> Result<MeasuredFile, RewriteError> {
    let left = &file.geometry.left;
    let names: Vec<(CornerPoint, String)> =
        left.points().into_iter().map(|(point, _)| (point, left.name_of(point))).collect();
    let known =
        |measured: &MeasuredPoint| names.iter().find(|(_, name)| *name == measured.name).map(|(point, _)| *point);
    let by_flange = |point: CornerPoint| point == CornerPoint::HalfshaftInner && file.geometry.final_drive.is_some();
    let (worked_out, found): (Vec<_>, Vec<_>) = points
        .iter()
        .filter_map(|measured| Some((known(measured)?, measured)))
        .partition(|(point, _)| by_flange(*point));
    let side = if found.iter().map(|(_, of)| of.at.y).sum::<f64>() < 0.0 { Side::Right } else { Side::Left };
    let mirrored = side == Side::Right && file.geometry.mirrored;
    let written = if mirrored { Side::Left } else { side };

    let mut changed = file.geometry.clone();
    let units = changed.units;
    let corner = changed.corner_mut(written);
    place(corner, side, &found, file.geometry.upright_axes);
    let mount = found.iter().find(|(point, _)| *point == CornerPoint::SpringMount);
    let mount_off_line_mm = mount.map_or(Ok(None), |(_, mount)| put_on_line(corner, mount.sd_mm, units))?;
    for (point, _) in &found {
        if let CornerPoint::Pickup(pickup) = point {
            changed
                .adjustments
                .as_mut()
                .into_iter()
                .for_each(|(_, may)| may.links[pickup.link].place = ChassisPlace::Drawn);
        }
    }
    if changed.mirrored {
        changed.mirror_left();
    }
    let text = text_with(file, &changed)?;
    read_back(file, &changed, written, &found, &text)?;
    let unknown = points.iter().filter(|measured| known(measured).is_none()).map(|measured| measured.name.clone());
    let names = |of: Vec<(CornerPoint, &MeasuredPoint)>| of.into_iter().map(|(_, of)| of.name.clone()).collect();
    let (points, unknown, worked_out) = (names(found), unknown.collect(), names(worked_out));
    Ok(MeasuredFile { text, side, mirrored, points, unknown, worked_out, mount_off_line_mm })
}

/// Puts a measured spring mount on the line of the link that carries it, and tells how far off that was, mm: no tape finds a line to
/// the half millimetre that the file asks for. Refused when it is more than the tape explains; `None` on an upright.
fn put_on_line(corner: &mut Corner, sd_mm: [f64; 3], units: LengthUnit) -> Result<Option<f64>, RewriteError> {
    let links = &corner.links;
    let Some(spring) = corner.spring.as_mut() else { return Ok(None) };
    let SpringMount::Link { index, .. } = spring.on else { return Ok(None) };
    let link = &links[index];
    let share = link.share_nearest(&spring.mount);
    let on_line = link.at_share(share);
    let off = spring.mount - on_line;
    let ends = [(End::Chassis, 1.0 - share), (End::Upright, share)];
    let ends = ends.into_iter().filter_map(|(end, of)| Some(Vector3::from(link.measured_sd.at(end)?) * of));
    let sds = [Vector3::from(sd_mm)].into_iter().chain(ends);
    let variance: f64 =
        sds.map(|sd| sd.component_mul(&off).norm_squared()).sum::<f64>() / off.norm_squared().max(f64::EPSILON);
    if off.norm() > OFF_LINE_MM + SDS_EXPLAINED * variance.sqrt() {
        return Err(RewriteError::OffLine { link: link.name.clone(), off_mm: off.norm(), units });
    }
    spring.mount = on_line;
    spring.on = SpringMount::Link { index, share };
    Ok(Some(off.norm()))
}

/// Of a point off its line, as of any reading: more are no matter of the tape.
const SDS_EXPLAINED: f64 = 3.0;

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
    let written = parsed_again(file, text)?;
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
