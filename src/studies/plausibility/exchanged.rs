//! Links whose two points stand in each other's place.

use super::Doubt;
use super::oddities::is_in_wheel;
use super::written::Writing;
use crate::geometry::{Corner, CornerPoint, End, Geometry, Pickup, Side};

/// The doubt about such a link, where the four others say where the wheel is; the corner goes on with its points as they were
/// meant.
pub(super) fn mend(geometry: &mut Geometry, side: Side) -> Option<Doubt> {
    let writing = Writing::of(geometry);
    let placed = geometry.adjustments[side].links.each_ref().map(|link| link.is_placed());
    let corner = geometry.corner_mut(side);
    let upright_is_in = |corner: &Corner, link: usize| is_in_wheel(corner, &corner.links[link].upright);
    let mut outside = (0..corner.links.len()).filter(|&link| !upright_is_in(corner, link));
    let link = outside.next().filter(|&link| placed[link] && outside.next().is_none())?;
    let turned = exchanged(corner, link, &writing);
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

/// The corner that the file would give with the numbers of these two points exchanged.
fn exchanged(corner: &Corner, link: usize, writing: &Writing) -> Corner {
    let [chassis, upright] = End::BOTH.map(|end| CornerPoint::Pickup(Pickup { link, end }));
    let numbers = [chassis, upright].map(|point| writing.numbers(corner, point));
    let turned = writing.reread(corner, chassis, numbers[1]);
    writing.reread(&turned, upright, numbers[0])
}
