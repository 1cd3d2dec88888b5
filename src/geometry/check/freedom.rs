//! Whether what shall move can: tubes that are there, brackets that stay on them, one freedom named once.

use nalgebra::Point3;

use super::super::corner::SAME_POINT_MM;
use super::super::file::{RawFile, RawLink, RawTube};
use super::super::freedom::{Free, Play, Tube, TubePlay};
use super::super::problem::Notes;
use super::super::reader::At;
use super::name_advice;

/// The tubes of the file, each checked; `None` when one of them could not be read.
pub(in crate::geometry) fn tubes(raw: &RawFile, notes: &Notes) -> Option<Vec<Tube>> {
    for (i, tube) in raw.tubes.iter().enumerate() {
        let Some(tube) = tube else { continue };
        let name = &tube.name;
        if raw.tubes[..i].iter().flatten().any(|other| other.name.value == name.value) {
            notes.add(&name.span, format!("two tubes are called {:?}", name.value), "give each tube its own name");
        }
        if (tube.to.value - tube.from).norm() < SAME_POINT_MM {
            let what = format!("tube {:?} has no length", name.value);
            notes.add(&tube.to.span, what, "the same point as `from`; write the two ends of its centre line");
        }
    }
    raw.tubes.iter().map(|raw| raw.as_ref().map(tube)).collect()
}

fn tube(raw: &RawTube) -> Tube {
    Tube { name: raw.name.value.clone(), from: raw.from, to: raw.to.value }
}

/// What of a link may move; without `tubes` nothing is said about the one that it names.
pub(in crate::geometry) fn free(raw: &RawLink, tubes: Option<&[Tube]>, notes: &Notes) -> Free {
    let free = &raw.free;
    if let Some(at) = free.chassis_at.as_ref().filter(|_| raw.within.is_some()) {
        let what = format!("link {:?} has no chassis point yet that could move", raw.name.value);
        notes.add(at, what, "remove `chassis` here; `within` already says where the point may be");
    }
    let alone = |play: &Option<At<Play>>| play.as_ref().map(|at| at.value);
    Free {
        chassis: free.chassis,
        upright: free.upright,
        chassis_bolt: alone(&free.chassis_bolt),
        upright_bolt: alone(&free.upright_bolt),
        tube: tubes.and_then(|tubes| ride(raw, tubes, notes)),
        length: free.length,
    }
}

/// How the bracket of a link rides on its tube.
fn ride(raw: &RawLink, tubes: &[Tube], notes: &Notes) -> Option<TubePlay> {
    let free = &raw.free;
    let (slide, stand_off, turn) = (&free.slide, &free.stand_off, &free.turn);
    let first = [("slide", slide), ("stand_off", stand_off), ("turn", turn)]
        .into_iter()
        .find_map(|(key, play)| play.as_ref().map(|at| (key, &at.span)));
    if let Some((key, span)) = first.filter(|_| free.chassis.iter().any(Option::is_some)) {
        let what = format!("`{key}` and a coordinate beside it move the same point twice");
        notes.add(span, what, "keep `slide`, `stand_off` and `turn`, or `x`, `y` and `z`");
    }
    let Some(name) = &raw.chassis_tube else {
        if let Some((key, span)) = first {
            let what = format!("`{key}` moves a bracket on a tube, and link {:?} names none", raw.name.value);
            notes.add(span, what, "add `chassis_tube`, the name of its [[tube]], to the link");
        }
        return None;
    };
    let Some(index) = tubes.iter().position(|tube| tube.name == name.value) else {
        let known: Vec<_> = tubes.iter().map(|tube| tube.name.as_str()).collect();
        let advice = if known.is_empty() {
            "add [[tube]] with its `name`, `from` and `to`".into()
        } else {
            name_advice(&name.value, &known)
        };
        notes.add(&name.span, format!("the file has no tube {:?}", name.value), advice);
        return None;
    };
    if raw.within.is_none() {
        check_ride(raw, &tubes[index], notes);
    }
    let alone = |play: &Option<At<Play>>| play.as_ref().map(|at| at.value);
    Some(TubePlay { tube: index, slide: alone(slide), stand_off: alone(stand_off), turn: alone(turn) })
}

/// The bracket stays beside its tube: off the centre line, between the ends.
fn check_ride(raw: &RawLink, tube: &Tube, notes: &Notes) {
    let (along_mm, length_mm, off_mm) = beside(tube, &raw.chassis.value);
    let of = format!("link {:?}", raw.name.value);
    let free = &raw.free;
    if let Some(at) = free.turn.as_ref().or(free.stand_off.as_ref()).filter(|_| off_mm < SAME_POINT_MM) {
        let what = format!("the chassis point of {of} is on the centre line of tube {:?}", tube.name);
        notes.add(&at.span, what, "a bracket stands off its tube; check the point and the ends of the tube");
    } else if let Some(at) = free.stand_off.as_ref().filter(|at| off_mm + at.value.low < SAME_POINT_MM) {
        let what = format!("`stand_off` moves the bracket through the centre line of tube {:?}", tube.name);
        notes.add(&at.span, what, format!("{of} stands {off_mm:.1} mm off it; write a smaller way in"));
    }
    if let Some(at) = &free.slide {
        if along_mm + at.value.low < 0.0 || along_mm + at.value.high > length_mm {
            let what = format!("`slide` moves the bracket past the end of tube {:?}", tube.name);
            let rest_mm = length_mm - along_mm;
            let advice =
                format!("{of} stands {along_mm:.1} mm from its `from` and {rest_mm:.1} mm from its `to`; write less");
            notes.add(&at.span, what, advice);
        }
    }
}

/// Where a point stands beside a tube: mm along from `from`, length of the tube, distance from its centre line.
fn beside(tube: &Tube, point: &Point3<f64>) -> (f64, f64, f64) {
    let (axis, arm) = (tube.to - tube.from, point - tube.from);
    let length_mm = axis.norm().max(SAME_POINT_MM);
    (arm.dot(&axis) / length_mm, length_mm, arm.cross(&axis).norm() / length_mm)
}
