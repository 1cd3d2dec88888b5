//! Where the parts of an upright stand to the wheel: outboard of its centre plane, from its spindle, from the face on which it seats.

use nalgebra::Point3;

use super::oddities::Around;
use super::oddity::{About, Oddity, What};
use super::parts::RIM_ROOM_MM;
use crate::geometry::{Corner, CornerPoint, End, Pickup};

/// How far outboard of the wheel's centre plane, and how far from the spindle's line, a place is, mm.
pub(super) fn at_wheel_mm(corner: &Corner, place: &Point3<f64>) -> (f64, f64) {
    let (arm, spin) = (place - corner.wheel.centre, corner.wheel.spin_axis.into_inner());
    (arm.dot(&spin), arm.cross(&spin).norm())
}

/// From how far inboard to how far outboard of the wheel's centre plane the pickups of uprights stand, mm.
pub(super) const OUTBOARD_MM: [f64; 2] = [-230.0, 25.0];

/// The same of the joint that the hub carries.
pub(super) const JOINT_OUTBOARD_MM: [f64; 2] = [-180.0, 15.0];

/// From the face on which a wheel seats inboard to the joint of its shaft, where flange and bearing of the hub lie between, and to a pickup,
/// which has half a rod end and the head of its bolt between, mm.
pub(super) const FROM_SEAT_MM: f64 = 15.0;

/// The furthest from the spindle that a pickup of an upright stands, mm.
pub(super) fn furthest_from_spindle_mm(corner: &Corner) -> f64 {
    (0.78 * corner.wheel.tyre_radius_mm).min(230.0)
}

/// True when a place can be a pickup of this wheel's upright.
pub(super) fn is_in_wheel(corner: &Corner, place: &Point3<f64>) -> bool {
    let (outboard_mm, from_spindle_mm) = at_wheel_mm(corner, place);
    (OUTBOARD_MM[0]..=OUTBOARD_MM[1]).contains(&outboard_mm) && from_spindle_mm <= furthest_from_spindle_mm(corner)
}

pub(super) fn upright_ends(corner: &Corner, around: Around, found: &mut Vec<Oddity>) {
    const OF_OTHERS_MM: f64 = 80.0;
    const HUB_MM: f64 = 35.0; // the bearing of a small hub
    let at = corner.links.each_ref().map(|link| at_wheel_mm(corner, &link.upright));
    let outboard = at.map(|(outboard_mm, _)| outboard_mm);
    for (link, (outboard_mm, from_spindle_mm)) in at.into_iter().enumerate() {
        let about = About::Point(CornerPoint::Pickup(Pickup { link, end: End::Upright }));
        let of_others_mm = outboard_mm - middle_of_others(&outboard, link);
        let furthest_mm = if is_above_tyre(corner, link) { f64::INFINITY } else { furthest_from_spindle_mm(corner) };
        found.extend([
            Oddity::within(about, What::Outboard, outboard_mm, OUTBOARD_MM[0], OUTBOARD_MM[1]),
            Oddity::within(about, What::OutboardOfOthers, of_others_mm, -OF_OTHERS_MM, OF_OTHERS_MM),
            Oddity { about, what: What::FromSpindle, value: from_spindle_mm, ratio: from_spindle_mm / furthest_mm },
            Oddity::at_least(about, What::InHub, from_spindle_mm, HUB_MM),
        ]);
        let from_seat_mm = around.seat_mm(corner).map(|seat_mm| seat_mm - outboard_mm);
        found.extend(from_seat_mm.map(|mm| Oddity::at_least(about, What::AtSeat, mm, FROM_SEAT_MM)));
        let rim_mm = corner.wheel.rim_radius_mm.filter(|_| furthest_mm.is_finite());
        let in_rim_mm = rim_mm.map(|rim_mm| rim_mm - RIM_ROOM_MM).filter(|mm| *mm > 0.0);
        found.extend(in_rim_mm.map(|most_mm| Oddity::within(about, What::InRim, from_spindle_mm, -most_mm, most_mm)));
    }
}

/// An upright may be so tall that its upper ends stand above the tyre: two of them beside each other, which no one slip makes.
pub(super) fn is_above_tyre(corner: &Corner, link: usize) -> bool {
    const ABOVE_MM: [f64; 2] = [10.0, 120.0]; // of the tread
    const BESIDE_MM: f64 = 60.0; // in height
    let above_mm = |link: usize| {
        let arm = corner.links[link].upright - corner.wheel.centre;
        if arm.z > arm.x.abs() { arm.x.hypot(arm.z) - corner.wheel.tyre_radius_mm } else { 0.0 }
    };
    let is_above = |link: usize| (ABOVE_MM[0]..=ABOVE_MM[1]).contains(&above_mm(link));
    let is_beside = |other: usize| {
        other != link
            && is_above(other)
            && (corner.links[other].upright.z - corner.links[link].upright.z).abs() < BESIDE_MM
    };
    is_above(link) && (0..corner.links.len()).any(is_beside)
}

/// The median of four others.
fn middle_of_others(values: &[f64; 5], left_out: usize) -> f64 {
    let mut others: Vec<f64> = (0..5).filter(|&i| i != left_out).map(|i| values[i]).collect();
    others.sort_by(f64::total_cmp);
    f64::midpoint(others[1], others[2])
}
