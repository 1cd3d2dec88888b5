//! The outer joint of the halfshaft runs in the hub: its centre lies on the spindle's line.

use nalgebra::Point3;

use super::Doubt;
use super::oddities::{Around, at_wheel_mm, oddities};
use super::slips::{Slip, meant};
use super::written::Writing;
use crate::geometry::{Axis, Corner, CornerPoint, Geometry, Side};

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
    let head = format!(
        "halfshaft outer, {}: {written:?} is {off} off the spindle's line, and the joint runs in the hub",
        side.name()
    );
    let name = |point| corner.name_of(point);
    let (doubt, mended) = match one_number(corner, around, &writing) {
        Some(Mended { point, axis, meant, words, corner: mended }) => {
            let [from, to] = [writing.numbers(corner, point), meant].map(|numbers| numbers[axis.index()]);
            let of = if point == CornerPoint::HalfshaftOuter { String::new() } else { format!("{} ", name(point)) };
            let sentence = format!("{head}; {of}{} = {from:?} is probably {to:?}: {words}.", axis.name());
            let doubt = Doubt::new(Some(side), name(point), Some(format!("{to:?}")), sentence);
            (doubt, Some(mended))
        }
        None => {
            let nearest = writing.of_place(corner, CornerPoint::HalfshaftOuter, &nearest_on_line(corner)?);
            let nearest = format!("{:?}", nearest.map(|number| (number * 1e3).round() / 1e3));
            let sentence = format!(
                "{head}; nearest on the line is {nearest}. Measure the joint, the wheel centre, toe and camber again."
            );
            let about = name(CornerPoint::HalfshaftOuter);
            (Doubt::new(Some(side), about, Some(nearest), sentence), None)
        }
    };
    if let Some(mended) = mended {
        *geometry.corner_mut(side) = mended;
    }
    Some(doubt)
}

struct Mended {
    point: CornerPoint,
    axis: Axis,
    meant: [f64; 3],
    words: &'static str,
    corner: Corner,
}

/// The one number of joint or wheel centre that a slip explains, the corner being no odder for it.
fn one_number(corner: &Corner, around: Around, writing: &Writing) -> Option<Mended> {
    let count_odd = |corner: &Corner| oddities(corner, around).iter().filter(|oddity| oddity.ratio > 1.0).count();
    let before = count_odd(corner);
    for point in [CornerPoint::HalfshaftOuter, CornerPoint::WheelCentre] {
        let written = writing.numbers(corner, point);
        for axis in Axis::ALL {
            let slips = meant(written[axis.index()], writing.units);
            let on_road = (point == CornerPoint::WheelCentre && axis == Axis::Z)
                .then(|| (Slip::OffTheRoad, writing.height_on_road(corner)));
            for (slip, number) in slips.into_iter().chain(on_road) {
                let mut meant = written;
                meant[axis.index()] = number;
                let mended = writing.reread(corner, point, meant);
                if is_on_line(&mended) && count_odd(&mended) <= before {
                    return Some(Mended { point, axis, meant, words: slip.words(), corner: mended });
                }
            }
        }
    }
    None
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
