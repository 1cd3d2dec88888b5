//! Where a pickup that tuning moves or places may not stand: in a frame tube, or inboard of the final drive.

use nalgebra::Point3;

use super::{DesignVariable, VariableKind};
use crate::geometry::{Corner, End, Geometry, Interval, Side, Tube};
use crate::measures::head_radius_mm;

/// A new pickup stands so many radii of its rod end's head beside a tube: the first for which its room is large enough.
const HEADS_BESIDE: [f64; 3] = [1.0, 0.5, 0.0];

/// Links whose chassis point is left to be found, each with a frame tube, and how far from its centre line it stands, mm.
pub(super) fn keeps_out_of<'g>(geometry: &'g Geometry, side: Side) -> Vec<(usize, &'g Tube, f64)> {
    let (drawn, may) = (geometry.corner(side), &geometry.adjustments[side]);
    let rooms = may.links.iter().enumerate().filter_map(|(link, may)| Some((link, may.within()?)));
    let keeps_out = |(link, room): (usize, [Interval; 3])| {
        let head_mm = head_radius_mm(&drawn.links[link]);
        let out_of = move |tube: &'g Tube| {
            let radius_mm = 0.5 * tube.od_mm?;
            let beside = HEADS_BESIDE.map(|heads| radius_mm + heads * head_mm).into_iter();
            Some((link, tube, { beside }.find(|off_mm| leaves_room(&room, tube, *off_mm))?))
        };
        geometry.tubes.iter().filter_map(out_of)
    };
    rooms.flat_map(keeps_out).collect()
}

/// Places in a room, evenly spaced, this many each way.
const EACH_WAY: usize = 7;
/// Less of a room than this share is no room to search.
const WORTH_SEARCHING: f64 = 0.1;

/// Enough of a room is further from the centre line of a tube, taken as endless.
fn leaves_room(room: &[Interval; 3], tube: &Tube, off_mm: f64) -> bool {
    let place = |edge: &Interval, k: usize| edge.low + edge.width() * k as f64 / (EACH_WAY - 1) as f64;
    let all = (0..EACH_WAY.pow(3)).map(|n| [n % EACH_WAY, n / EACH_WAY % EACH_WAY, n / EACH_WAY.pow(2)]);
    let places = all.map(|at| Point3::from(std::array::from_fn(|axis| place(&room[axis], at[axis]))));
    let outside = places.filter(|place| tube.off_mm(place) > off_mm).count();
    outside as f64 > WORTH_SEARCHING * EACH_WAY.pow(3) as f64
}

/// Links of which something free moves the chassis point, where that stands outboard of the inner joint.
pub(super) fn outboard(drawn: &Corner, list: &[DesignVariable]) -> [bool; 5] {
    let inner_mm = drawn.halfshaft.as_ref().map(|shaft| shaft.inner.y);
    let moves = |link: usize| {
        let moves_chassis = |variable: &DesignVariable| match variable.kind {
            VariableKind::Pickup { link: of, end, .. } | VariableKind::Bolt { link: of, end } => {
                of == link && end == End::Chassis
            }
            VariableKind::OnTube { link: of, .. } => of == link,
            _ => false,
        };
        list.iter().any(moves_chassis)
    };
    let is_outboard = |link: usize| inner_mm.is_some_and(|inner_mm| drawn.links[link].chassis.y > inner_mm);
    std::array::from_fn(|link| is_outboard(link) && moves(link))
}
