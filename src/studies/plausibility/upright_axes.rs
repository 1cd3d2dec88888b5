//! The axes of the upright's points, when all of them are read in the wrong ones.

use super::oddities::is_in_wheel;
use super::written::Writing;
use super::{Doubt, Sentence};
use crate::geometry::{Corner, Geometry, Side, UprightAxes};

/// One question in place of a doubt for each point: the points miss the wheel as they are read and fit it in other axes.
pub(super) fn question(geometry: &Geometry, side: Side) -> Option<Doubt> {
    let corner = geometry.corner(side);
    if in_wheel(corner) > 1 {
        return None;
    }
    let fits = |axes: &UprightAxes| in_wheel(&Writing::of(geometry).in_axes(corner, *axes)) >= 4;
    let has_offset = corner.wheel.offset_mm.is_some();
    let others = UprightAxes::BY_NAME
        .into_iter()
        .map(|(_, axes)| axes)
        .filter(|axes| *axes != geometry.upright_axes && (has_offset || *axes != UprightAxes::HubFace));
    // Only points that are counted from the face of the hub need the offset of the wheel.
    let (from_face, others): (Vec<_>, Vec<_>) = others.partition(|axes| *axes == UprightAxes::HubFace);
    let meant = from_face.into_iter().chain(others).find(fits)?;
    let (read, meant) = (geometry.upright_axes.name(), meant.name());
    let sentence = format!(
        "upright_axes: the upright points of the {} side stand nowhere near its wheel in {read} axes and fit it in {meant} \
         axes: is `upright_axes = \"{meant}\"` meant?",
        side.name()
    );
    Some(Doubt::new(Some(side), "upright_axes", Some(format!("{meant:?}")), sentence))
}

/// An offset of the wheel beside points that are not counted from the face on which it seats.
pub(super) fn unused_offset(geometry: &Geometry, side: Side) -> Option<Doubt> {
    let offset_mm = geometry.corner(side).wheel.offset_mm?;
    let from = match geometry.upright_axes {
        UprightAxes::HubFace => return None,
        UprightAxes::Hub => "`upright_axes = \"hub\"` counts from the middle of the wheel",
        UprightAxes::Car => "the upright points count in the axes of the car",
    };
    let rest = format!(
        ": {} is not used, for {from}. Were the points measured from the face on which the wheel seats? Then write \
         `upright_axes = \"hub face\"`; else take `offset` out.",
        geometry.units.show(offset_mm)
    );
    let sentence = Sentence::of_side("offset", side, &rest);
    Some(Doubt::new(Some(side), "offset", None, sentence))
}

/// How many links have their upright point in the wheel.
pub(super) fn in_wheel(corner: &Corner) -> usize {
    corner.links.iter().filter(|link| is_in_wheel(corner, &link.upright)).count()
}
