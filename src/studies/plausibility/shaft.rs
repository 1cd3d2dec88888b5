//! The outer joint of the halfshaft runs in the hub: its centre lies on the spindle's line.

use std::cmp::Ordering;

use nalgebra::{Point3, Unit};

use super::at_wheel::at_wheel_mm;
use super::inner_joint::{NEARLY_STRAIGHT_DEG, bent_deg};
use super::oddities::{Around, count_odd, oddities};
use super::typing::strain;
use super::written::Writing;
use super::{Doubt, Sentence, is_in, wheel};
use crate::geometry::slips::{Slip, as_typed, hundred_off, meant, one_digit};
use crate::geometry::{Axis, Corner, CornerPoint, Geometry, LengthUnit, Side};
use crate::measures::{camber_deg, toe_deg};

/// What tape and square leave between two points of one part, mm.
const OFF_LINE_MM: f64 = 1.0;

/// The best check of a wheel: joint, wheel centre, toe and camber agree or one of them is wrong.
pub(super) fn mend(geometry: &mut Geometry, side: Side) -> Option<Doubt> {
    let writing = Writing::of(geometry);
    let around = Around::of(geometry, side);
    let corner = geometry.corner(side);
    let off_mm = off_line_mm(corner)?;
    if off_mm <= OFF_LINE_MM {
        return None;
    }
    let written = writing.numbers(corner, CornerPoint::HalfshaftOuter);
    let off = geometry.units.show(off_mm);
    let told = |rest: &str| {
        let is = format!(": {written:?} is {off} off the spindle's line, and the joint runs in the hub; {rest}.");
        Sentence::of_side("halfshaft outer", side, &is)
    };
    let name = |point| corner.name_of(point);
    let is_mirrored = side == Side::Right && !geometry.mirrored && is_of_left(geometry);
    let (doubt, mended) = if let Some((meant_deg, words, mended)) = meant_camber(geometry, side) {
        let from_deg = written_camber_deg(corner);
        let sentence = told(&format!("camber = {from_deg:?} is probably {meant_deg:?}: {words}"));
        (Doubt::new(Some(side), "camber", Some(format!("{meant_deg:?}")), sentence), Some(mended))
    } else if let Some(Mended { point, axis, slip, meant, corner: mended }) =
        one_number(corner, around, &writing).filter(|mended| !is_mirrored || mended.point == CornerPoint::WheelCentre)
    {
        let [from, to] = [writing.numbers(corner, point), meant].map(|numbers| numbers[axis.index()]);
        let of = if point == CornerPoint::HalfshaftOuter { String::new() } else { format!("{} ", name(point)) };
        // What is left over says more than the digit.
        let fit = match (slip, axis) {
            (Slip::OneDigit, Axis::X) => ", and y and z fit that line",
            (Slip::OneDigit, _) => ", and x and y fit that line",
            _ => "",
        };
        let (axis, words) = (axis.name(), slip.words());
        let sentence = told(&format!("{of}{axis} = {from:?} is probably {to:?}: {words}{fit}"));
        (Doubt::new(Some(side), name(point), Some(format!("{to:?}")), sentence), Some(mended))
    } else {
        let alone = alone_off(corner, &writing).filter(|_| !is_mirrored);
        let on_line = || Some(writing.of_place(corner, CornerPoint::HalfshaftOuter, &nearest_on_line(corner)?));
        let meant = alone.map(|(_, meant)| meant).or_else(on_line)?.map(|number| (number * 1e3).round() / 1e3);
        let nearest = match alone {
            Some((axis, _)) => format!("{} = {:?} alone puts it there", axis.name(), meant[axis.index()]),
            None => format!("nearest on the line is {meant:?}"),
        };
        let advice = match is_mirrored {
            true => {
                "These are the left one's numbers: measure both joints of the right shaft, and write them as `inner` and `outer` of \
                 [right.halfshaft]"
            }
            false => "One of the joint, the wheel centre, toe and camber is wrong: measure them again",
        };
        let sentence = told(&format!("{nearest}. {advice}"));
        let about = name(CornerPoint::HalfshaftOuter);
        (Doubt::new(Some(side), about, Some(format!("{meant:?}")), sentence), None)
    };
    if let Some(mended) = mended {
        *geometry.corner_mut(side) = mended;
    }
    Some(doubt)
}

/// True when the right outer joint is where the left one's mirror image is, to the last digit: a file without [right.halfshaft].
fn is_of_left(geometry: &Geometry) -> bool {
    let [left, right] =
        [&geometry.left, &geometry.right].map(|corner| corner.halfshaft.as_ref().map(|shaft| shaft.outer));
    left == right
}

/// Static camber of most cars, deg: nobody is told to mean another one.
const USUAL_CAMBER_DEG: [f64; 2] = [-4.0, 0.5];
/// A wheel whose top leans out by as much is a rare one, deg.
const LEANS_OUT_DEG: f64 = 1.0;

/// An unusual camber, beside a joint that is on the line of a usual one: the sign turned, or else to the tenth of a degree.
fn meant_camber(geometry: &Geometry, side: Side) -> Option<(f64, &'static str, Corner)> {
    let corner = geometry.corner(side);
    let written_deg = written_camber_deg(corner);
    let is_usual = |deg: f64| is_in(deg, USUAL_CAMBER_DEG);
    if is_usual(written_deg) || (0.0..LEANS_OUT_DEG).contains(&written_deg) {
        return None;
    }
    let along = Unit::try_new(corner.wheel.centre - corner.halfshaft.as_ref()?.outer, 1.0)?;
    let of_joint_deg = (10.0 * camber_deg(&along)).round() / 10.0;
    let turned = (-written_deg, "top inboard is negative");
    let all = [turned, (of_joint_deg, "the spindle's line then runs through the joint")];
    all.into_iter().filter(|(deg, _)| is_usual(*deg)).find_map(|(deg, words)| {
        let mended = wheel::with_angles(geometry, side, toe_deg(&corner.wheel.spin_axis), deg);
        is_on_line(&mended).then_some((deg, words, mended))
    })
}

/// As the file has it, deg.
fn written_camber_deg(corner: &Corner) -> f64 {
    (100.0 * camber_deg(&corner.wheel.spin_axis)).round() / 100.0
}

/// A corner that is more usual by so much tells which of two numbers was meant; no unit.
const CLEARLY: f64 = 0.5;

/// A corner with one number of a point as it was probably meant.
struct Mended {
    point: CornerPoint,
    axis: Axis,
    slip: Slip,
    meant: [f64; 3],
    corner: Corner,
}

/// The one number of joint or wheel centre that a slip explains, the corner being no odder for it; where both have one, that of
/// the point which is denied.
fn one_number(corner: &Corner, around: Around, writing: &Writing) -> Option<Mended> {
    let before = count_odd(corner, around);
    let strain_of = |corner: &Corner| strain(&oddities(corner, around));
    let drawn = strain_of(corner);
    let of_point = |point: CornerPoint| {
        let written = writing.numbers(corner, point);
        let slips = Axis::ALL.into_iter().flat_map(|axis| slips(corner, point, axis, writing));
        // One digit makes many a number that is on the line: the nearest to it is meant.
        let digits =
            [Axis::X, Axis::Z].into_iter().flat_map(|axis| other_digits(written[axis.index()], axis, writing.units));
        let fits = |(axis, slip, number): (Axis, Slip, f64)| {
            let mut meant = written;
            meant[axis.index()] = number;
            let mended = writing.reread(corner, point, meant);
            // Along its line a joint is anywhere on it: only where it stands, or where the wheel stands to all of its upright, tells that a
            // number is wrong.
            let is_nearer = || point == CornerPoint::WheelCentre && strain_of(&mended) + CLEARLY < drawn;
            let is_told = axis != Axis::Y || (!is_inboard(corner) && is_inboard(&mended)) || is_nearer();
            let is_meant = is_told && is_on_line(&mended) && count_odd(&mended, around) <= before;
            is_meant.then_some(Mended { point, axis, slip, meant, corner: mended })
        };
        let nearest = |a: &Mended, b: &Mended| off_line_mm(&a.corner).partial_cmp(&off_line_mm(&b.corner));
        let digit = || digits.filter_map(fits).min_by(|a, b| nearest(a, b).unwrap_or(Ordering::Equal));
        slips.into_iter().find_map(fits).or_else(digit)
    };
    let denied = denied(corner, writing);
    // That a digit fits says little by itself.
    let told =
        |point: CornerPoint| of_point(point).filter(|mended| mended.slip != Slip::OneDigit || denied == Some(point));
    match [CornerPoint::HalfshaftOuter, CornerPoint::WheelCentre].map(told) {
        // Further out a wheel leaves all of its upright behind, and a joint nothing else.
        [joint, Some(centre)]
            if centre.axis == Axis::Y
                && strain_of(&centre.corner) + CLEARLY
                    < joint.as_ref().map_or(drawn, |joint| strain_of(&joint.corner)) =>
        {
            Some(centre)
        }
        [Some(joint), Some(centre)] => [joint, centre].into_iter().find(|mended| denied == Some(mended.point)),
        // A slip fits many a number that is right: a wheel that stands on the road is not doubted for a joint that no slip explains.
        // How far out it is the road does not say.
        [joint, centre] => {
            joint.or(centre.filter(|centre| centre.axis == Axis::Y || denied != Some(CornerPoint::HalfshaftOuter)))
        }
    }
}

/// What one slip makes of a number of joint or wheel centre.
fn slips(corner: &Corner, point: CornerPoint, axis: Axis, writing: &Writing) -> Vec<(Axis, Slip, f64)> {
    let number = writing.numbers(corner, point)[axis.index()];
    let off = if axis == Axis::Y { hundred_off(number, writing.units) } else { Vec::new() };
    let on_road = (point == CornerPoint::WheelCentre && axis == Axis::Z)
        .then(|| (Slip::OffTheRoad, writing.height_on_road(corner)));
    let all = meant(number, writing.units).into_iter().chain(off).chain(on_road);
    all.map(|(slip, number)| (axis, slip, number)).collect()
}

/// What is nearer than this is a tape that was read badly, mm.
const OTHER_DIGIT_MM: f64 = 9.5;

fn other_digits(written: f64, axis: Axis, units: LengthUnit) -> impl Iterator<Item = (Axis, Slip, f64)> {
    let far = one_digit(written).into_iter().filter(move |number| units.to_mm(number - written).abs() > OTHER_DIGIT_MM);
    far.map(move |number| (axis, Slip::OneDigit, number))
}

/// A tyre stands on z = 0 to this, mm.
const ON_FLOOR_MM: f64 = 1.5;

/// Of joint and wheel centre the one that is wrong: the shaft runs to a joint in its place, and to one on the line of a wheel in its
/// place, and a wheel whose tyre stands on z = 0 is at its height. `None` where that says nothing.
pub(super) fn denied(corner: &Corner, writing: &Writing) -> Option<CornerPoint> {
    let mut moved = corner.clone();
    moved.halfshaft.as_mut()?.outer = nearest_on_line(corner)?;
    let [drawn, on_line] = [bent_deg(corner)?, bent_deg(&moved)?].map(|deg| deg < NEARLY_STRAIGHT_DEG);
    match (drawn, on_line) {
        (false, true) => Some(CornerPoint::HalfshaftOuter),
        (true, false) => Some(CornerPoint::WheelCentre),
        _ => {
            let on_floor = corner.contact_height_mm().abs() <= ON_FLOOR_MM;
            let is_height = alone_off(corner, writing).is_some_and(|(axis, _)| axis == Axis::Z);
            (on_floor && is_height).then_some(CornerPoint::HalfshaftOuter)
        }
    }
}

/// The only one of x and z of the joint that is off, with the joint's numbers as they are on the line.
fn alone_off(corner: &Corner, writing: &Writing) -> Option<(Axis, [f64; 3])> {
    let point = CornerPoint::HalfshaftOuter;
    [Axis::X, Axis::Z].into_iter().find_map(|axis| {
        let mut moved = corner.clone();
        // What is nearest is a little further along the line, so that it is found in two steps.
        for _ in 0..2 {
            let on_line = writing.of_place(&moved, point, &nearest_on_line(&moved)?);
            let mut meant = writing.numbers(corner, point);
            meant[axis.index()] = as_typed(on_line[axis.index()]);
            moved = writing.reread(corner, point, meant);
        }
        is_on_line(&moved).then(|| (axis, writing.numbers(&moved, point)))
    })
}

/// How far inboard of the wheel's centre plane outer joints stand, mm.
const INBOARD_MM: [f64; 2] = [25.0, 150.0];

fn is_inboard(corner: &Corner) -> bool {
    let outboard_mm = corner.halfshaft.as_ref().map(|shaft| at_wheel_mm(corner, &shaft.outer).0);
    outboard_mm.is_some_and(|outboard_mm| is_in(-outboard_mm, INBOARD_MM))
}

/// True when there is a joint and it is where it runs.
pub(super) fn is_on_line(corner: &Corner) -> bool {
    off_line_mm(corner).is_some_and(|off_mm| off_mm <= OFF_LINE_MM)
}

/// Distance of the outer joint from the spindle's line, mm.
fn off_line_mm(corner: &Corner) -> Option<f64> {
    corner.halfshaft.as_ref().map(|shaft| at_wheel_mm(corner, &shaft.outer).1)
}

fn nearest_on_line(corner: &Corner) -> Option<Point3<f64>> {
    let shaft = corner.halfshaft.as_ref()?;
    let (outboard_mm, _) = at_wheel_mm(corner, &shaft.outer);
    Some(corner.wheel.centre + corner.wheel.spin_axis.into_inner() * outboard_mm)
}
