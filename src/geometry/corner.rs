//! One side of the car from what the file says of it: the points carried by the wheel, each link checked.

use nalgebra::{Point3, Vector3};

use super::check;
use super::file::{RawFile, RawHalfshaft, RawLink, RawSide, RawSpring, RawWheel, UprightAxes};
use super::freedom::Tube;
use super::model::{Corner, Halfshaft, LengthUnit, Link, Spring, SpringMount, Wheel};
use super::problem::Diagnostics;
use super::seat::{UprightFrame, hub_rotation};
use super::side::Side;

/// Two points nearer than this are one point: no link is shorter, no two pickups of different links stand so close
/// at both ends.
pub(super) const SAME_POINT_MM: f64 = 0.01;

/// How far a spring mount may lie off the line of its link.
const OFF_LINE_MM: f64 = 0.5;

/// Said of one side without naming it, so that a mirrored mistake is shown once.
const Y_ADVICE: &str = "y counts to the left: positive for the left wheel, negative in [right]";

/// Checks one side and builds it; none when something was noted or five links are not there.
pub(super) fn build(
    side: Side,
    raw: &RawSide,
    file: &RawFile,
    tubes: Option<&[Tube]>,
    diagnostics: &Diagnostics,
) -> Option<Corner> {
    let seat = seat(raw.wheel.as_ref(), file.upright_axes)?;
    let links: Vec<Link> = raw.links.iter().map(|link| seat_link(link, &seat, tubes, diagnostics)).collect();
    raw.wheel.iter().for_each(|wheel| check_wheel(wheel, diagnostics));
    check_links(&raw.links, &links, diagnostics);
    let halfshaft = raw.halfshaft.as_ref().map(|shaft| seat_halfshaft(shaft, &seat, diagnostics));
    let spring = match &raw.spring {
        Some(spring) => Some(seat_spring(spring, &links, &seat, file.units, diagnostics)?),
        None => None,
    };
    Some(Corner { side, wheel: wheel(raw.wheel.as_ref()?), links: links.try_into().ok()?, halfshaft, spring })
}

/// None where the points are carried by a wheel that could not be read.
fn seat(wheel: Option<&RawWheel>, axes: UprightAxes) -> Option<UprightFrame> {
    let at = |w: &RawWheel| UprightFrame::new(axes, &w.centre.value, w.toe_deg.to_radians(), w.camber_deg.to_radians());
    match axes {
        UprightAxes::Car => Some(UprightFrame::new(axes, &Point3::origin(), 0.0, 0.0)),
        UprightAxes::Hub => wheel.map(at),
    }
}

fn wheel(raw: &RawWheel) -> Wheel {
    Wheel {
        centre: raw.centre.value,
        spin_axis: hub_rotation(raw.toe_deg.to_radians(), raw.camber_deg.to_radians()) * Vector3::y_axis(),
        tyre_radius_mm: raw.tyre_radius_mm,
        toe_span_mm: raw.toe_span_mm.unwrap_or(2.0 * raw.tyre_radius_mm),
        rim_radius_mm: raw.rim_radius_mm.as_ref().map(|at| at.value),
        clock: raw.clock,
    }
}

fn check_wheel(raw: &RawWheel, diagnostics: &Diagnostics) {
    if raw.centre.value.y <= 0.0 {
        diagnostics.add(&raw.centre.span, "the wheel centre is on the wrong side of the car", Y_ADVICE);
    }
    if let Some(rim) = raw.rim_radius_mm.as_ref().filter(|rim| rim.value >= raw.tyre_radius_mm) {
        let advice = "write the radius inside the rim, where a bracket would touch";
        diagnostics.add(&rim.span, "`rim_radius` is not smaller than `tyre_radius`", advice);
    }
}

fn seat_link(raw: &RawLink, seat: &UprightFrame, tubes: Option<&[Tube]>, diagnostics: &Diagnostics) -> Link {
    Link {
        name: raw.name.value.clone(),
        chassis: raw.chassis.value,
        upright: seat.point(&raw.upright.value),
        within: raw.within,
        taped_mm: raw.taped_mm,
        chassis_bolt: raw.chassis_bolt,
        upright_bolt: raw.upright_bolt.map(|bolt| seat.direction(bolt)),
        rod_end_limit_deg: raw.rod_end_limit_deg,
        free: check::free(raw, tubes, diagnostics),
    }
}

fn check_links(raw: &[RawLink], links: &[Link], diagnostics: &Diagnostics) {
    for (i, (raw, link)) in raw.iter().zip(links).enumerate() {
        if link.within.is_none() && link.length_mm() < SAME_POINT_MM {
            let what = format!("link {:?} has no length", link.name);
            diagnostics.add(
                &raw.upright.span,
                what,
                "the same point as `chassis`; write the centres of its two rod ends",
            );
        }
        if link.upright.y <= 0.0 {
            let what = format!("the upright end of link {:?} is on the wrong side of the car", link.name);
            diagnostics.add(&raw.upright.span, what, Y_ADVICE);
        }
        if let Some(twin) = links[..i].iter().find(|other| same_points(other, link)) {
            let what = format!("link {:?} has both points of link {:?}", link.name, twin.name);
            diagnostics.add(
                &raw.chassis.span,
                what,
                "two links in one place hold the wheel like one; move an end of one of them",
            );
        }
    }
}

fn same_points(a: &Link, b: &Link) -> bool {
    let placed = a.within.is_none() && b.within.is_none();
    placed && (a.chassis - b.chassis).norm() < SAME_POINT_MM && (a.upright - b.upright).norm() < SAME_POINT_MM
}

fn seat_halfshaft(raw: &RawHalfshaft, seat: &UprightFrame, diagnostics: &Diagnostics) -> Halfshaft {
    let outer = seat.point(&raw.outer.value);
    if (outer - raw.inner).norm() < SAME_POINT_MM {
        let advice = "the same point as `inner`; write the centres of its two joints";
        diagnostics.add(&raw.outer.span, "the halfshaft has no length", advice);
    } else if outer.y <= 0.0 {
        diagnostics.add(&raw.outer.span, "the outer joint is on the wrong side of the car", Y_ADVICE);
    }
    Halfshaft {
        inner: raw.inner,
        axis: raw.axis,
        outer,
        inner_limit_deg: raw.inner_limit_deg,
        outer_limit_deg: raw.outer_limit_deg,
        plunge_window_mm: raw.plunge_window_mm,
        free_inner: raw.free_inner,
    }
}

fn seat_spring(
    raw: &RawSpring,
    links: &[Link],
    seat: &UprightFrame,
    units: LengthUnit,
    diagnostics: &Diagnostics,
) -> Option<Spring> {
    let (mount, on) = match &raw.link {
        None => (seat.point(&raw.mount.value), SpringMount::Upright),
        Some(name) => {
            let index = links.iter().position(|link| link.name == name.value)?;
            (raw.mount.value, on_link(raw, index, &links[index], units, diagnostics)?)
        }
    };
    if (mount - raw.chassis.value).norm() < SAME_POINT_MM {
        let advice = "the same point as `chassis`; write the centres of its two ends";
        diagnostics.add(&raw.mount.span, "the spring has no length", advice);
    }
    Some(Spring { chassis: raw.chassis.value, mount, on, free_chassis: raw.free_chassis, free_mount: raw.free_mount })
}

/// The share of the link's length at which the mount sits, from the chassis end.
fn on_link(
    raw: &RawSpring,
    index: usize,
    link: &Link,
    units: LengthUnit,
    diagnostics: &Diagnostics,
) -> Option<SpringMount> {
    if link.within.is_some() {
        let what = format!("the spring is on link {:?}, which has no chassis point yet", link.name);
        diagnostics.add(&raw.mount.span, what, "give the link its `chassis`, or put the spring on the upright");
        return None;
    }
    let along = link.upright - link.chassis;
    let from_chassis = raw.mount.value - link.chassis;
    let share = from_chassis.dot(&along) / along.norm_squared();
    let off_mm = (from_chassis - along * share).norm();
    let link = format!("link {:?}", link.name);
    if off_mm > OFF_LINE_MM {
        let what = format!("the spring mount lies {} off the line of {link}", units.show(off_mm));
        let advice = format!(
            "write a point within {} of that line; a side with its own link may need its own [right.spring]",
            units.show(OFF_LINE_MM)
        );
        diagnostics.add(&raw.mount.span, what, advice);
        return None;
    }
    if !(0.0..=1.0).contains(&share) {
        diagnostics.add(
            &raw.mount.span,
            format!("the spring mount is beyond the ends of {link}"),
            "write a point between its two ends",
        );
        return None;
    }
    Some(SpringMount::Link { index, share })
}
