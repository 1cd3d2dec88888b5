//! The axes of the upright's points, when all of them are read in the wrong ones.

use super::at_wheel::is_in_wheel;
use super::written::Writing;
use super::{Doubt, Sentence, Suspect, is_in};
use crate::geometry::slips::{as_typed, hundred_off, meant_of_car};
use crate::geometry::{Axis, Corner, CornerPoint, End, Geometry, LengthUnit, Pickup, Side, UprightAxes, Wheel};

/// One question in place of a doubt for each point: the points miss the wheel as they are read and fit it in other axes.
pub(super) fn question(geometry: &Geometry, side: Side) -> Option<Doubt> {
    let corner = geometry.corner(side);
    if in_wheel(corner) > 1 {
        return None;
    }
    if let Some(one_mistake) = turned(geometry, side).or_else(|| large_offset(geometry, side)) {
        return Some(one_mistake);
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

/// Points that all count outboard of their hub, where no upright is, and fit the wheel with the sign of y turned on all of them.
fn turned(geometry: &Geometry, side: Side) -> Option<Doubt> {
    let from = match geometry.upright_axes {
        UprightAxes::HubFace => "the face on which the wheel seats",
        UprightAxes::Hub => "the middle of the wheel",
        UprightAxes::Car => return None,
    };
    let (writing, corner) = (Writing::of(geometry), geometry.corner(side));
    let points = (0..corner.links.len()).map(|link| CornerPoint::Pickup(Pickup { link, end: End::Upright }));
    let y = Axis::Y.index();
    let mut meant = corner.clone();
    let mut suspects = Vec::new();
    let mut signs = Vec::new();
    for point in points {
        let mut numbers = writing.numbers(corner, point);
        signs.push(numbers[y].is_sign_positive());
        numbers[y] = -numbers[y];
        meant = writing.reread(&meant, point, numbers);
        suspects.push(Suspect { about: corner.name_of(point), probably: Some(format!("{:?}", numbers[y])) });
    }
    let is_one_mistake = signs.iter().all(|sign| *sign == signs[0]) && in_wheel(&meant) == corner.links.len();
    is_one_mistake.then(|| {
        let rest = format!(
            ": all {} stand outboard of {from}, where no upright is: the sign of y is probably turned on all of them.",
            suspects.len()
        );
        let sentence = Sentence::of_side("The upright points", side, &rest);
        Doubt::of(Some(side), suspects, sentence).naming(0..corner.links.len())
    })
}

/// An offset between 0 and the least that most wheels have, and those, mm.
const HARDLY_ANY_MM: f64 = 10.0;
const USUAL_OFFSET_MM: [f64; 2] = [15.0, 65.0];

/// An offset in mm that is stamped on no wheel and is that of one in another unit; stamped are whole millimetres.
pub(super) fn small_offset(geometry: &Geometry, side: Side) -> Option<Doubt> {
    let units = geometry.units;
    let is_asked = geometry.upright_axes == UprightAxes::HubFace && units == LengthUnit::Millimetre;
    let is_small = |mm: &f64| *mm > 0.0 && *mm < HARDLY_ANY_MM && mm.fract() != 0.0;
    let mm = geometry.corner(side).wheel.offset_mm.filter(is_small).filter(|_| is_asked)?;
    let [least_mm, most_mm] = USUAL_OFFSET_MM;
    let from_middle = |mm: f64| (mm / (least_mm * most_mm).sqrt()).ln().abs();
    let slips = meant_of_car(as_typed(mm), units).into_iter();
    let fits = slips.filter(|(slip, meant)| slip.is_of_size() && is_in(*meant, USUAL_OFFSET_MM));
    let (slip, meant) = fits.min_by(|(_, a), (_, b)| from_middle(*a).total_cmp(&from_middle(*b)))?;
    let rest = format!(
        ": {mm:?} mm is stamped on no wheel; probably {meant:?}: {}; {least_mm} to {most_mm} mm is usual.",
        slip.words()
    );
    Some(Doubt::new(Some(side), "offset", Some(format!("{meant:?}")), Sentence::of_side("offset", side, &rest)))
}

/// No wheel of a car has more, in or out, mm.
const MOST_OFFSET_MM: f64 = 90.0;

/// An offset of no wheel, and the usual one that a slip makes of it, with which the upright's points are in their wheel.
fn large_offset(geometry: &Geometry, side: Side) -> Option<Doubt> {
    let (units, writing, corner) = (geometry.units, Writing::of(geometry), geometry.corner(side));
    let is_asked = geometry.upright_axes == UprightAxes::HubFace;
    let offset_mm = corner.wheel.offset_mm.filter(|mm| is_asked && mm.abs() > MOST_OFFSET_MM)?;
    let with = |mm: f64| writing.with_wheel(corner, Wheel { offset_mm: Some(mm), ..corner.wheel.clone() });
    let written = as_typed(offset_mm / units.in_mm());
    let mut slips = meant_of_car(written, units).into_iter().chain(hundred_off(written, units));
    let (slip, meant) = slips.find(|(_, meant)| {
        let mm = units.to_mm(*meant);
        is_in(mm, USUAL_OFFSET_MM) && in_wheel(&with(mm)) == corner.links.len()
    })?;
    let [least, most] = USUAL_OFFSET_MM.map(|mm| units.show(mm));
    let rest = format!(
        ": {} is no wheel's, and the upright points stand nowhere near it; probably {meant:?}: {}; {least} to {most} is usual.",
        units.show(offset_mm),
        slip.words()
    );
    Some(Doubt::new(Some(side), "offset", Some(format!("{meant:?}")), Sentence::of_side("offset", side, &rest)))
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
