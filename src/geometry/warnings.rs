//! What a sound car may still have wrong: said in plain sentences, never corrected.

use super::adjustments::LinkAdjustments;
use super::corner::{Corner, Link};
use super::model::Geometry;
use super::side::Side;

/// A length taped between two rod ends is good to this.
const TAPE_MM: f64 = 2.0;

/// Room that a bracket and a rod end need inside the rim.
const RIM_ROOM_MM: f64 = 10.0;

/// No pickup of an upright is farther than this from its wheel centre.
const FAR_FROM_WHEEL_MM: f64 = 600.0;

/// Contact heights closer than this are the same to any gauge.
const SAME_HEIGHT_MM: f64 = 0.05;

/// What a builder should look at again, one sentence each; empty when nothing stands out.
pub fn warnings(geometry: &Geometry) -> Vec<String> {
    let mut found = Vec::new();
    for side in Side::BOTH {
        if side == Side::Left || !geometry.mirrored {
            corner_warnings(geometry, geometry.corner(side), &mut found);
        }
    }
    let apart_mm = (geometry.left.contact_height_mm() - geometry.right.contact_height_mm()).abs();
    if apart_mm > SAME_HEIGHT_MM {
        let apart = geometry.units.show(apart_mm);
        found.push(format!("The left and right contact points differ in height by {apart}."));
    }
    found
}

fn corner_warnings(geometry: &Geometry, corner: &Corner, found: &mut Vec<String>) {
    let adjustable = || corner.links.iter().zip(&geometry.adjustments[corner.side].links);
    found.extend(adjustable().filter_map(|(link, may)| tape_warning(geometry, corner, link, may)));
    found.extend(corner.links.iter().filter_map(|link| rim_warning(geometry, corner, link)));
    found.extend(corner.links.iter().filter_map(|link| far_warning(geometry, corner, link)));
    found.extend(adjustable().flat_map(|(link, may)| ride_warnings(geometry, corner, link, may)));
    if corner.links.iter().all(|link| spindle_offset_mm(corner, link) > 0.0) {
        let side = corner.side.name();
        found.push(format!(
            "All five upright points of the {side} side stand outboard of the wheel's centre plane; in hub axes y is \
             outboard positive on both sides, so they are usually negative."
        ));
    }
}

fn tape_warning(geometry: &Geometry, corner: &Corner, link: &Link, may: &LinkAdjustments) -> Option<String> {
    let taped_mm = link.taped_mm.filter(|_| may.is_placed())?;
    let apart_mm = (link.length_mm() - taped_mm).abs();
    (apart_mm > TAPE_MM).then(|| {
        format!(
            "Link {:?} on the {} is {} between its points and {} by tape, {} apart: measure its chassis and upright \
             points again.",
            link.name,
            corner.side.name(),
            geometry.units.show(link.length_mm()),
            geometry.units.show(taped_mm),
            geometry.units.show(apart_mm)
        )
    })
}

fn rim_warning(geometry: &Geometry, corner: &Corner, link: &Link) -> Option<String> {
    let rim_mm = corner.wheel.rim_radius_mm?;
    let arm = link.upright - corner.wheel.centre;
    let radius_mm = arm.cross(&corner.wheel.spin_axis).norm();
    (radius_mm + RIM_ROOM_MM > rim_mm).then(|| {
        format!(
            "The upright end of link {:?} on the {} is {} from the spindle's axis; the rim is {} inside, and a rod end \
             needs {} of room unless it stands beside the rim.",
            link.name,
            corner.side.name(),
            geometry.units.show(radius_mm),
            geometry.units.show(rim_mm),
            geometry.units.show(RIM_ROOM_MM)
        )
    })
}

fn far_warning(geometry: &Geometry, corner: &Corner, link: &Link) -> Option<String> {
    let away_mm = (link.upright - corner.wheel.centre).norm();
    (away_mm > FAR_FROM_WHEEL_MM).then(|| {
        format!(
            "The upright end of link {:?} on the {} is {} from the wheel centre: check the point and `upright_axes`.",
            link.name,
            corner.side.name(),
            geometry.units.show(away_mm)
        )
    })
}

/// Room on a frame tube that leads off its end or through its middle; what uses it has to stop there.
fn ride_warnings(geometry: &Geometry, corner: &Corner, link: &Link, may: &LinkAdjustments) -> Vec<String> {
    let Some(ride) = may.tube.filter(|_| may.is_placed()) else { return Vec::new() };
    let tube = &geometry.tubes[ride.tube];
    let (along_mm, off_mm) = (tube.along_mm(&link.chassis), tube.off_mm(&link.chassis));
    let rest_mm = tube.length_mm() - along_mm;
    let bracket = format!("The bracket of link {:?} on the {}", link.name, corner.side.name());
    let past = ride.slide.filter(|slide| along_mm + slide.low < 0.0 || slide.high > rest_mm).map(|_| {
        let (from, to) = (geometry.units.show(along_mm), geometry.units.show(rest_mm));
        format!(
            "{bracket} has room to slide past the end of tube {:?}, {from} from its `from` and {to} from its `to`.",
            tube.name
        )
    });
    let through = ride.stand_off.filter(|stand_off| off_mm + stand_off.low <= 0.0).map(|_| {
        let off = geometry.units.show(off_mm);
        format!("{bracket} has room to move through the centre line of tube {:?}, {off} away.", tube.name)
    });
    past.into_iter().chain(through).collect()
}

/// How far outboard of the wheel's centre plane an upright point stands, mm along the spindle.
fn spindle_offset_mm(corner: &Corner, link: &Link) -> f64 {
    (link.upright - corner.wheel.centre).dot(&corner.wheel.spin_axis)
}
