//! Links and springs whose two points stand in each other's place.

use super::Doubt;
use super::oddities::{Around, Oddity, at_wheel_mm, is_in_wheel, oddities};
use super::written::{Writing, placed};
use crate::geometry::{Corner, CornerPoint, End, Geometry, Pickup, Side, SpringMount};

/// The doubt about such a link, where the four others say where the wheel is; the corner goes on with its points as they were
/// meant.
pub(super) fn mend(geometry: &mut Geometry, side: Side) -> Option<Doubt> {
    let writing = Writing::of(geometry);
    let placed = placed(geometry, side);
    let corner = geometry.corner_mut(side);
    let upright_is_in = |corner: &Corner, link: usize| is_in_wheel(corner, &corner.links[link].upright);
    let mut outside = (0..corner.links.len()).filter(|&link| !upright_is_in(corner, link));
    let link = outside.next().filter(|&link| placed[link] && outside.next().is_none())?;
    let ends = End::BOTH.map(|end| CornerPoint::Pickup(Pickup { link, end }));
    let turned = with_exchanged(corner, ends, &writing);
    if !upright_is_in(&turned, link) || is_in_wheel(&turned, &turned.links[link].chassis) {
        return None;
    }
    let name = corner.links[link].name.clone();
    let sentence = format!(
        "Link {name:?} on the {}: its `upright` point is nowhere near the wheel, and its `chassis` point would be in it: the two \
         are probably in each other's place.",
        side.name()
    );
    *corner = turned;
    Some(Doubt::new(Some(side), format!("link {name:?}"), None, sentence))
}

/// The same of a spring on the upright: it is odd as written, and its frame end would be the nearer one to the wheel.
pub(super) fn mend_spring(geometry: &mut Geometry, side: Side) -> Option<Doubt> {
    let writing = Writing::of(geometry);
    let around = Around::of(geometry, side);
    let corner = geometry.corner_mut(side);
    let spring = corner.spring.as_ref().filter(|spring| spring.on == SpringMount::Upright)?;
    let [chassis_mm, mount_mm] = [&spring.chassis, &spring.mount].map(|end| at_wheel_mm(corner, end).0.abs());
    let ends = [CornerPoint::SpringChassis, CornerPoint::SpringMount];
    let is_of_spring = |oddity: &Oddity| ends.iter().any(|end| oddity.touches(*end));
    let is_odd =
        |corner: &Corner| oddities(corner, around).iter().any(|oddity| oddity.ratio > 1.0 && is_of_spring(oddity));
    let turned = with_exchanged(corner, ends, &writing);
    if chassis_mm >= mount_mm || !is_odd(corner) || is_odd(&turned) {
        return None;
    }
    let sentence = format!(
        "The spring on the {}: its `chassis` end is {} from the wheel's centre plane and its `mount` {}: the two are probably in \
         each other's place.",
        side.name(),
        writing.units.show(chassis_mm),
        writing.units.show(mount_mm)
    );
    *corner = turned;
    Some(Doubt::new(Some(side), "spring", None, sentence))
}

/// The corner that the file would give with the numbers of two points exchanged.
pub(super) fn with_exchanged(corner: &Corner, [a, b]: [CornerPoint; 2], writing: &Writing) -> Corner {
    let numbers = [a, b].map(|point| writing.numbers(corner, point));
    let turned = writing.reread(corner, a, numbers[1]);
    writing.reread(&turned, b, numbers[0])
}
