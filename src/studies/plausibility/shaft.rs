//! The outer joint of the halfshaft runs in the hub: its centre lies on the spindle's line.

use std::cmp::Ordering;

use nalgebra::{Point3, Unit};

use super::oddities::{Around, at_wheel_mm, count_odd};
use super::written::Writing;
use super::{Doubt, is_in, wheel};
use crate::geometry::slips::{Slip, hundred_off, meant};
use crate::geometry::{Axis, Corner, CornerPoint, Geometry, Side, Travel};
use crate::measures::{camber_deg, shaft, toe_deg};
use crate::mechanism::{Linkage, WheelPath};

/// What tape and square leave between two points of one part, mm.
const OFF_LINE_MM: f64 = 1.0;

/// A shaft that is bent by less at design may be meant so: a final drive that is high or low, deg.
const BENT_DEG: f64 = 8.0;
/// Final drives are placed so that the shafts run as straight as this at design, deg.
const STRAIGHT_DEG: f64 = 3.0;
/// A shaft whose outer joint was found to be off as well need only become so straight, deg: camber and a final drive ahead of the
/// axle line bend it.
const NEARLY_STRAIGHT_DEG: f64 = 5.5;

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
    let head = format!(
        "halfshaft outer, {}: {written:?} is {off} off the spindle's line, and the joint runs in the hub",
        side.name()
    );
    let name = |point| corner.name_of(point);
    let is_mirrored = side == Side::Right && !geometry.mirrored && is_of_left(geometry);
    let (doubt, mended) = if let Some((meant_deg, words, mended)) = meant_camber(geometry, side) {
        let from_deg = written_camber_deg(corner);
        let sentence = format!("{head}; camber = {from_deg:?} is probably {meant_deg:?}: {words}.");
        (Doubt::new(Some(side), "camber", Some(format!("{meant_deg:?}")), sentence), Some(mended))
    } else if let Some(Mended { point, axis, meant, words, corner: mended }) =
        one_number(corner, around, &writing).filter(|mended| !is_mirrored || mended.point == CornerPoint::WheelCentre)
    {
        let [from, to] = [writing.numbers(corner, point), meant].map(|numbers| numbers[axis.index()]);
        let of = if point == CornerPoint::HalfshaftOuter { String::new() } else { format!("{} ", name(point)) };
        let sentence = format!("{head}; {of}{} = {from:?} is probably {to:?}: {words}.", axis.name());
        (Doubt::new(Some(side), name(point), Some(format!("{to:?}")), sentence), Some(mended))
    } else {
        let nearest = writing.of_place(corner, CornerPoint::HalfshaftOuter, &nearest_on_line(corner)?);
        let nearest = format!("{:?}", nearest.map(|number| (number * 1e3).round() / 1e3));
        let advice = match is_mirrored {
            true => {
                "These are the left one's numbers: measure both joints of the right shaft, and write them as `inner` and `outer` of \
                 [right.halfshaft]"
            }
            false => "One of the joint, the wheel centre, toe and camber is wrong: measure them again",
        };
        let sentence = format!("{head}; nearest on the line is {nearest}. {advice}.");
        let about = name(CornerPoint::HalfshaftOuter);
        (Doubt::new(Some(side), about, Some(nearest), sentence), None)
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

/// The inner joint, where the shaft turns further than its joints allow or its outer joint was as far off, and one number of
/// it makes the shaft straight. `outer_was_off` says that the outer joint was found so.
pub(super) fn inner(geometry: &mut Geometry, side: Side, outer_was_off: bool) -> Option<Doubt> {
    let (writing, around) = (Writing::of(geometry), Around::of(geometry, side));
    let corner = geometry.corner(side);
    let drawn_deg = largest(&design_angles_deg(corner)?);
    let beyond = beyond_limit(corner, &geometry.travel);
    if drawn_deg < BENT_DEG || (beyond.is_none() && !outer_was_off) {
        return None;
    }
    let most_deg = if outer_was_off { NEARLY_STRAIGHT_DEG } else { STRAIGHT_DEG };
    let mended = straight(corner, around, most_deg, &geometry.travel, &writing);
    let at_design_beyond = beyond.filter(|beyond| beyond.at_bump_mm == 0.0);
    if mended.is_none() && at_design_beyond.is_none() {
        return None; // what runs out over the travel is told where the driveline is judged
    }
    let show = |mm: f64| geometry.units.show(mm);
    let allowed = beyond.map_or(String::new(), |Beyond { joint, at_bump_mm, deg, limit_deg }| {
        let at = match at_bump_mm {
            0.0 => String::new(),
            mm => format!(" at {} of {}", show(mm.abs()), if mm < 0.0 { "droop" } else { "bump" }),
        };
        format!(", its {joint} joint turns {deg:.1} deg{at}, and the file allows {limit_deg:.1} deg")
    });
    let why = format!("the shaft is bent by {drawn_deg:.1} deg at design{allowed}");
    let name = corner.name_of(CornerPoint::HalfshaftInner);
    let Some(Mended { point, axis, meant, words, corner: mended }) = mended else {
        let sentence = format!("halfshaft, {}: {why}; measure both its joints again.", side.name());
        return Some(Doubt::new(Some(side), "halfshaft", None, sentence));
    };
    let [from, to] = [writing.numbers(corner, point), meant].map(|numbers| numbers[axis.index()]);
    let sentence =
        format!("{name}, {}: {} = {from:?} is probably {to:?}: {words}; as written {why}.", side.name(), axis.name());
    *geometry.corner_mut(side) = mended;
    Some(Doubt::new(Some(side), name, Some(format!("{to:?}")), sentence))
}

/// Of the inner and of the outer joint at design, deg; `None` without a shaft, or where nothing moves.
fn design_angles_deg(corner: &Corner) -> Option<[f64; 2]> {
    let measures = shaft(corner, &Linkage::new(corner).design().ok()?)?;
    Some([measures.inner_angle_deg, measures.outer_angle_deg])
}

fn largest(angles_deg: &[f64]) -> f64 {
    angles_deg.iter().copied().fold(0.0, f64::max)
}

/// A joint that turns further than the file allows.
#[derive(Debug, Clone, Copy)]
struct Beyond {
    joint: &'static str,
    at_bump_mm: f64,
    deg: f64,
    limit_deg: f64,
}

/// The first of design, full droop and full bump where a joint turns too far; what a wheel does not reach is left out.
fn beyond_limit(corner: &Corner, travel: &Travel) -> Option<Beyond> {
    let halfshaft = corner.halfshaft.as_ref()?;
    let limits = [("inner", halfshaft.inner_limit_deg), ("outer", halfshaft.outer_limit_deg)];
    let rows_mm = [-travel.droop_mm, 0.0, travel.bump_mm];
    let path = WheelPath::follow(&Linkage::new(corner), &rows_mm).ok()?;
    [0.0, -travel.droop_mm, travel.bump_mm].into_iter().find_map(|at_bump_mm| {
        let measures = shaft(corner, &path.at(at_bump_mm)?)?;
        let angles_deg = [measures.inner_angle_deg, measures.outer_angle_deg];
        limits.into_iter().zip(angles_deg).find_map(|((joint, limit_deg), deg)| {
            limit_deg.filter(|limit_deg| deg > *limit_deg).map(|limit_deg| Beyond { joint, at_bump_mm, deg, limit_deg })
        })
    })
}

/// The commonest slip in one number of the inner joint without which the shaft is straight and turns as far as it may.
fn straight(corner: &Corner, around: Around, most_deg: f64, travel: &Travel, writing: &Writing) -> Option<Mended> {
    let point = CornerPoint::HalfshaftInner;
    let written = writing.numbers(corner, point);
    let before = count_odd(corner, around);
    let guesses = [Axis::X, Axis::Z].into_iter().flat_map(|axis| {
        let number = written[axis.index()];
        let all = meant(number, writing.units).into_iter().chain(hundred_off(number, writing.units));
        all.map(move |(slip, number)| (axis, slip, number))
    });
    let fits = guesses.filter_map(|(axis, slip, number)| {
        let mut meant = written;
        meant[axis.index()] = number;
        let mended = writing.reread(corner, point, meant);
        let bent_deg = largest(&design_angles_deg(&mended)?);
        let is_straight =
            bent_deg < most_deg && beyond_limit(&mended, travel).is_none() && count_odd(&mended, around) <= before;
        is_straight
            .then_some(((slip.rarity(), bent_deg), Mended { point, axis, meant, words: slip.words(), corner: mended }))
    });
    fits.min_by(|(a, _), (b, _)| a.partial_cmp(b).unwrap_or(Ordering::Equal)).map(|(_, mended)| mended)
}

struct Mended {
    point: CornerPoint,
    axis: Axis,
    meant: [f64; 3],
    words: &'static str,
    corner: Corner,
}

/// The one number of joint or wheel centre that a slip explains, the corner being no odder for it; none where both have one.
fn one_number(corner: &Corner, around: Around, writing: &Writing) -> Option<Mended> {
    let before = count_odd(corner, around);
    let of_point = |point: CornerPoint| {
        let written = writing.numbers(corner, point);
        let guesses = Axis::ALL.into_iter().flat_map(move |axis| {
            let number = written[axis.index()];
            let slips = meant(number, writing.units);
            let off = if axis == Axis::Y { hundred_off(number, writing.units) } else { Vec::new() };
            let on_road = (point == CornerPoint::WheelCentre && axis == Axis::Z)
                .then(|| (Slip::OffTheRoad, writing.height_on_road(corner)));
            slips.into_iter().chain(off).chain(on_road).map(move |(slip, number)| (axis, slip, number))
        });
        guesses.into_iter().find_map(|(axis, slip, number)| {
            let mut meant = written;
            meant[axis.index()] = number;
            let mended = writing.reread(corner, point, meant);
            // Along its line a joint is anywhere on it: only where it stands tells that a number is wrong.
            let is_told = axis != Axis::Y || (!is_inboard(corner) && is_inboard(&mended));
            let is_meant = is_told && is_on_line(&mended) && count_odd(&mended, around) <= before;
            is_meant.then_some(Mended { point, axis, meant, words: slip.words(), corner: mended })
        })
    };
    match [CornerPoint::HalfshaftOuter, CornerPoint::WheelCentre].map(of_point) {
        [Some(_), Some(_)] => None,
        [joint, centre] => joint.or(centre),
    }
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
