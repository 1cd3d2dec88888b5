//! Links of a corner that stand alone among the others.

use super::oddities::ONE_HOLE_MM;
use super::oddity::{About, Oddity, What};
use crate::geometry::{Corner, CornerPoint, End, Pickup};

/// A link with this share of its length along the car is a trailing one: it goes where the frame is, not with the others.
pub(super) const TRAILING: f64 = 0.85;

/// The share of its length that a link has along the car; no unit.
pub(super) fn share_along(corner: &Corner, link: usize) -> f64 {
    (corner.links[link].upright - corner.links[link].chassis).normalize().x.abs()
}

/// True for a trailing link.
pub(super) fn trails(corner: &Corner, link: usize) -> bool {
    share_along(corner, link) > TRAILING
}

/// The nearest bracket across the car is no further away, mm.
pub(super) const ACROSS_MM: f64 = 175.0;
/// A link lies across all others together by no more, mm.
pub(super) const ACROSS_OTHERS_MM: f64 = 90.0;

/// Links that stand alone among those of their corner, all five of them; trailing ones may.
pub(super) fn alone(corner: &Corner, found: &mut Vec<Oddity>) {
    const ALONG_MM: f64 = 430.0; // the front leg of a wide wishbone
    const DIRECTION: f64 = 0.85; // sine of the angle in plan, nearly
    const TIMES_AS_LONG: f64 = 2.0;
    const CROSSES_MM: f64 = 50.0; // either side of the axle line
    const STRAIGHT_MM: f64 = 60.0; // beside each other along the car
    const PAIR_MM: f64 = 900.0; // from one that is level with it at both ends and lies across: no two legs of an arm are as far apart
    const TIMES_OTHERS: f64 = 2.5; // of the middle one of at least two that lie across the car as well
    let along = corner.links.each_ref().map(|link| (link.upright - link.chassis).normalize());
    let is_lateral = |link: usize| along[link].x.abs() <= TRAILING;
    let nearest = |link: usize, value: &dyn Fn(usize) -> f64, of: &dyn Fn(usize) -> bool| {
        let others = (0..5).filter(|&other| other != link && of(other));
        others.map(|other| (value(link) - value(other)).abs()).reduce(f64::min)
    };
    let chassis = |link: usize| corner.links[link].chassis;
    let any = |_: usize| true;
    let ahead_mm =
        |link: usize| [chassis(link), corner.links[link].upright].map(|place| place.x - corner.wheel.centre.x);
    let mut crossing = (0..5).filter(|&link| {
        let [chassis_mm, upright_mm] = ahead_mm(link);
        chassis_mm * upright_mm < 0.0 && chassis_mm.abs().min(upright_mm.abs()) > CROSSES_MM
    });
    if let (Some(link), None) = (crossing.next(), crossing.next()) {
        let about = About::Point(CornerPoint::Pickup(Pickup { link, end: End::Chassis }));
        let [chassis_mm, upright_mm] = ahead_mm(link);
        // Odd where it would lie straight across with its sign turned.
        found.push(Oddity::at_least(about, What::Crosses, (chassis_mm + upright_mm).abs(), STRAIGHT_MM));
    }
    for link in (0..5).filter(|&link| !is_lateral(link)) {
        let about = About::Point(CornerPoint::Pickup(Pickup { link, end: End::Chassis }));
        let is_pair = (0..5).any(|other| is_lateral(other) && are_level(corner, [link, other]));
        let apart_mm = nearest(link, &|i| chassis(i).x, &is_lateral).filter(|_| is_pair);
        found.extend(apart_mm.map(|mm| Oddity::within(about, What::PlaceAlongAlone, mm, -PAIR_MM, PAIR_MM)));
    }
    for link in (0..5).filter(|&link| is_lateral(link)) {
        let point = About::Point(CornerPoint::Pickup(Pickup { link, end: End::Chassis }));
        let mut push = |about: About, what: What, apart: Option<f64>, most: f64| {
            found.extend(apart.map(|apart| Oddity::within(about, what, apart, -most, most)));
        };
        push(point, What::PlaceAcrossAlone, nearest(link, &|i| chassis(i).y, &any), ACROSS_MM);
        push(point, What::PlaceAlongAlone, nearest(link, &|i| chassis(i).x, &is_lateral), ALONG_MM);
        push(About::Link(link), What::DirectionAlone, nearest(link, &|i| along[i].x, &any), DIRECTION);
        let across = crossed(corner, link).map(|(_, mm)| mm);
        let across = (!is_drawn_across(corner, link, &is_lateral)).then(|| across.sum());
        push(About::Link(link), What::CrossesOthers, across, ACROSS_OTHERS_MM);
        let length = |i: usize| corner.links[i].length_mm().max(1.0).ln();
        push(About::Link(link), What::LengthAlone, nearest(link, &length, &is_lateral), TIMES_AS_LONG.ln());
        let mut others: Vec<f64> = (0..5).filter(|&i| i != link && is_lateral(i)).map(length).collect();
        others.sort_by(f64::total_cmp);
        let beside = (others.len() >= 2).then(|| length(link) - others[others.len() / 2]);
        push(About::Link(link), What::TimesOthers, beside, TIMES_OTHERS.ln());
    }
}

/// Both ends of two links are as far out and as high as each other, as those of two links of one arm are.
fn are_level(corner: &Corner, links: [usize; 2]) -> bool {
    const LEVEL_MM: f64 = 15.0;
    let [a, b] = links.map(|link| [corner.links[link].chassis, corner.links[link].upright]);
    a.iter().zip(b).all(|(a, b)| (a.yz() - b.yz()).amax() < LEVEL_MM)
}

/// The links that a link lies across, in plan, and by how much, mm: of two that cross, the one that slants more lies across.
fn crossed(corner: &Corner, link: usize) -> impl Iterator<Item = (usize, f64)> {
    let is_crossed = move |&other: &usize| {
        other != link && !trails(corner, other) && share_along(corner, link) >= share_along(corner, other)
    };
    let links = &corner.links;
    (0..links.len()).filter(is_crossed).map(move |other| {
        let by_mm = links[link].chassis.x - links[other].chassis.x;
        let at_upright_mm = links[link].upright.x - links[other].upright.x;
        (other, if by_mm * at_upright_mm < 0.0 { by_mm.abs().min(at_upright_mm.abs()) } else { 0.0 })
    })
}

/// The one that it lies across most.
pub(super) fn most_crossed(corner: &Corner, link: usize) -> Option<usize> {
    crossed(corner, link).max_by(|(_, a), (_, b)| a.total_cmp(b)).map(|(other, _)| other)
}

/// A link that was drawn to lie across others: links cross of which no one takes part in all that do, so that no slip of one explains
/// it, or it comes from a bracket that it shares with another one between their holes, as an arm on one pivot does.
fn is_drawn_across(corner: &Corner, link: usize, is_lateral: &dyn Fn(usize) -> bool) -> bool {
    const CROSS_MM: f64 = 50.0; // at either end
    let links = &corner.links;
    let cross = |a: usize, b: usize| {
        let by_mm = links[a].chassis.x - links[b].chassis.x;
        let at_upright_mm = links[a].upright.x - links[b].upright.x;
        by_mm * at_upright_mm < 0.0 && by_mm.abs().min(at_upright_mm.abs()) > CROSS_MM
    };
    let lateral = || (0..links.len()).filter(|&link| is_lateral(link));
    let pairs = lateral().flat_map(|b| lateral().filter(move |&a| a < b).map(move |a| [a, b]));
    let crossing: Vec<[usize; 2]> = pairs.filter(|&[a, b]| cross(a, b)).collect();
    let is_in_all = |link: usize| crossing.iter().all(|pair| pair.contains(&link));
    let is_arm = |other: usize| {
        let (pivot, holes) = (links[link].chassis, [links[link].upright.x, links[other].upright.x]);
        let is_between = (holes[0].min(holes[1])..=holes[0].max(holes[1])).contains(&pivot.x);
        other != link && is_between && (pivot - links[other].chassis).norm() < ONE_HOLE_MM
    };
    !lateral().any(is_in_all) || lateral().any(is_arm)
}
