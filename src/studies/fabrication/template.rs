//! The plate of a bracket seen along its bolt, at true size: where the hole is and what must swing past it.

use nalgebra::{Point3, Vector3};

use super::brackets::rod_ends;
use super::points::{pickup_name, pickup_place};
use crate::geometry::{End, Pickup, Side};
use crate::studies::rig::RigWheel;

/// A bolt steeper than this to level is seen from above, sine of its tilt.
const STEEP: f64 = 0.9;
/// Of a tube that runs along the bolt its end alone is seen (no unit).
const NOTHING: f64 = 1e-6;

/// A bracket seen along its bolt.
#[derive(Debug, Clone, PartialEq)]
pub struct BracketTemplate {
    /// As sheets call it.
    pub point: String,
    /// Which wheel.
    pub side: Side,
    /// From which side it is seen.
    pub seen_from: SeenFrom,
    /// Where the link lies at design, in full bump and in full droop as far as it goes: unit vectors from the bolt, to the right
    /// and up (no unit).
    pub link: Vec<(LinkAt, [f64; 2])>,
    /// Of the link, mm.
    pub link_od_mm: f64,
    /// Centre line of the frame tube that carries it, from the bolt, to the right and up, mm, with its diameter.
    pub tube: Option<([[f64; 2]; 2], Option<f64>)>,
}

/// From where a bracket is seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SeenFrom {
    /// From behind the car, along a bolt that runs fore and aft: outboard is to the left on the left wheel.
    Behind,
    /// From the outside of the car, along a bolt that runs across it.
    Outside,
    /// From above, along a bolt that stands: forward is up.
    Above,
}

/// Where a link lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LinkAt {
    /// At design height.
    Design,
    /// As far up as the wheel goes.
    Bump,
    /// As far down.
    Droop,
}

/// The brackets on the frame of a wheel; only those that have a bolt.
pub(super) fn templates(wheel: &RigWheel) -> Vec<BracketTemplate> {
    let (corner, geometry) = (wheel.corner, wheel.geometry);
    let side = corner.side;
    let in_car = |v: Vector3<f64>| side.to_car(v.into()).coords;
    let (lowest_mm, highest_mm) = wheel.path.reach_mm();
    let places = [(LinkAt::Design, 0.0), (LinkAt::Bump, highest_mm), (LinkAt::Droop, lowest_mm)];
    let template = |index: usize| {
        let ends = rod_ends(wheel);
        let rod_end = &ends[index][0];
        let (seen_from, right, up) = view(side, &in_car(rod_end.bolt?.into_inner()));
        let flat = |v: Vector3<f64>| [v.dot(&right), v.dot(&up)];
        let pickup = Pickup { link: index, end: End::Chassis };
        let at = pickup_place(corner, pickup);
        let way = |(which, bump_mm): (LinkAt, f64)| {
            let posture = wheel.path.at(bump_mm)?;
            let [x, y] = flat(in_car(posture.point(&rod_end.link.upright) - rod_end.link.chassis));
            let length = x.hypot(y);
            (length > NOTHING).then(|| (which, [x / length, y / length]))
        };
        let tube = geometry.adjustments[side].links[index].tube.map(|on| &geometry.tubes[on.tube]).map(|tube| {
            let end = |end: Point3<f64>| flat(side.to_car(end) - at);
            ([end(tube.from), end(tube.to)], tube.od_mm)
        });
        Some(BracketTemplate {
            point: pickup_name(corner, pickup),
            side,
            seen_from,
            link: places.into_iter().filter_map(way).collect(),
            link_od_mm: 2.0 * rod_end.link.radius_mm(),
            tube,
        })
    };
    (0..corner.links.len()).filter_map(template).collect()
}

/// From where a bolt is looked along, and what then is to the right and up, axes of the car.
fn view(side: Side, bolt: &Vector3<f64>) -> (SeenFrom, Vector3<f64>, Vector3<f64>) {
    if bolt.z.abs() > STEEP {
        // From above: forward is up on the sheet, as near as the bolt lets it.
        let eye = if bolt.z < 0.0 { -bolt } else { *bolt };
        let right = Vector3::x().cross(&eye).normalize();
        return (SeenFrom::Above, right, eye.cross(&right));
    }
    let (seen_from, toward) = if bolt.x.abs() >= bolt.y.abs() {
        (SeenFrom::Behind, -bolt.x)
    } else {
        (SeenFrom::Outside, side.sign() * bolt.y)
    };
    // The eye is on this end of the bolt.
    let eye = if toward < 0.0 { -bolt } else { *bolt };
    let right = Vector3::z().cross(&eye).normalize();
    (seen_from, right, eye.cross(&right))
}

#[cfg(test)]
mod tests {
    use nalgebra::Vector3;

    use super::{SeenFrom, view};
    use crate::geometry::Side;

    /// The three axes of a view are right-handed with the eye, up is never down, and what is to the right is what a person sees
    /// there.
    #[test]
    fn a_view_is_what_a_person_sees() {
        let (from, right, up) = view(Side::Left, &Vector3::x());
        assert_eq!((from, right, up), (SeenFrom::Behind, -Vector3::y(), Vector3::z()));
        let (from, right, up) = view(Side::Left, &-Vector3::y());
        assert_eq!((from, right, up), (SeenFrom::Outside, -Vector3::x(), Vector3::z()));
        let (from, right, up) = view(Side::Right, &Vector3::y());
        assert_eq!((from, right, up), (SeenFrom::Outside, Vector3::x(), Vector3::z()));
        let (from, right, up) = view(Side::Left, &-Vector3::z());
        assert_eq!((from, right, up), (SeenFrom::Above, -Vector3::y(), Vector3::x()));
        let skew = Vector3::new(0.5, -0.7, 0.4).normalize();
        let (_, right, up) = view(Side::Right, &skew);
        assert!(up.z > 0.0 && right.dot(&up).abs() < 1e-12 && right.dot(&skew).abs() < 1e-12);
    }
}
