//! Whether what shall move can: tubes that are there, brackets that stay on them, one freedom named once.

use super::super::corner::SAME_POINT_MM;
use super::super::file::{RawFile, RawLink, RawTube};
use super::super::freedom::{AdjustmentRange, Free, Tube, TubeAdjustment};
use super::super::problem::Diagnostics;
use super::super::reader::At;
use super::name_advice;

/// The tubes of the file, each checked; `None` when one of them could not be read.
pub(in crate::geometry) fn tubes(raw: &RawFile, diagnostics: &Diagnostics) -> Option<Vec<Tube>> {
    for (i, tube) in raw.tubes.iter().enumerate() {
        let Some(tube) = tube else { continue };
        let name = &tube.name;
        if raw.tubes[..i].iter().flatten().any(|other| other.name.value == name.value) {
            diagnostics.add(
                &name.span,
                format!("two tubes are called {:?}", name.value),
                "give each tube its own name",
            );
        }
        if (tube.to.value - tube.from).norm() < SAME_POINT_MM {
            let what = format!("tube {:?} has no length", name.value);
            diagnostics.add(&tube.to.span, what, "the same point as `from`; write the two ends of its centre line");
        }
    }
    raw.tubes.iter().map(|raw| raw.as_ref().map(tube)).collect()
}

fn tube(raw: &RawTube) -> Tube {
    Tube { name: raw.name.value.clone(), from: raw.from, to: raw.to.value }
}

/// What of a link may move; without `tubes` nothing is said about the one that it names.
pub(in crate::geometry) fn free(raw: &RawLink, tubes: Option<&[Tube]>, diagnostics: &Diagnostics) -> Free {
    let free = &raw.free;
    if let Some(at) = free.chassis_at.as_ref().filter(|_| raw.within.is_some()) {
        let what = format!("link {:?} has no chassis point yet that could move", raw.name.value);
        diagnostics.add(at, what, "remove `chassis` here; `within` already says where the point may be");
    }
    let alone = |play: &Option<At<AdjustmentRange>>| play.as_ref().map(|at| at.value);
    Free {
        chassis: free.chassis,
        upright: free.upright,
        chassis_bolt: alone(&free.chassis_bolt),
        upright_bolt: alone(&free.upright_bolt),
        tube: tubes.and_then(|tubes| ride(raw, tubes, diagnostics)),
        length: free.length,
    }
}

/// How the bracket of a link rides on its tube.
fn ride(raw: &RawLink, tubes: &[Tube], diagnostics: &Diagnostics) -> Option<TubeAdjustment> {
    let free = &raw.free;
    let (slide, stand_off, turn) = (&free.slide, &free.stand_off, &free.turn);
    let first = [("slide", slide), ("stand_off", stand_off), ("turn", turn)]
        .into_iter()
        .find_map(|(key, play)| play.as_ref().map(|at| (key, &at.span)));
    if let Some((key, span)) = first.filter(|_| free.chassis.iter().any(Option::is_some)) {
        let what = format!("`{key}` and a coordinate beside it move the same point twice");
        diagnostics.add(span, what, "keep `slide`, `stand_off` and `turn`, or `x`, `y` and `z`");
    }
    let Some(name) = &raw.chassis_tube else {
        if let Some((key, span)) = first {
            let what = format!("`{key}` moves a bracket on a tube, and link {:?} names none", raw.name.value);
            diagnostics.add(span, what, "add `chassis_tube`, the name of its [[tube]], to the link");
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
        diagnostics.add(&name.span, format!("the file has no tube {:?}", name.value), advice);
        return None;
    };
    if raw.within.is_none() {
        check_ride(raw, &tubes[index], diagnostics);
    }
    let alone = |play: &Option<At<AdjustmentRange>>| play.as_ref().map(|at| at.value);
    Some(TubeAdjustment { tube: index, slide: alone(slide), stand_off: alone(stand_off), turn: alone(turn) })
}

/// A bracket on the centre line itself has no way to stand off or to turn. A tube without length has its own mistake.
fn check_ride(raw: &RawLink, tube: &Tube, diagnostics: &Diagnostics) {
    let is_on_line = tube.length_mm() >= SAME_POINT_MM && tube.off_mm(&raw.chassis.value) < SAME_POINT_MM;
    if let Some(at) = raw.free.turn.as_ref().or(raw.free.stand_off.as_ref()).filter(|_| is_on_line) {
        let what =
            format!("the chassis point of link {:?} is on the centre line of tube {:?}", raw.name.value, tube.name);
        diagnostics.add(&at.span, what, "a bracket stands off its tube; check the point and the ends of the tube");
    }
}
