//! The linkage seen from one direction: what is where, in millimetres of the view, right and up.

use std::f64::consts::TAU;

use nalgebra::{Point3, Vector3};

use crate::geometry::{Corner, Side};
use crate::measures::{spin_axis, spring_mount_point};
use crate::mechanism::Posture;

/// A place in a view, mm to the right and up.
pub type Seen = (f64, f64);

/// Corners of the polygon that stands for the tyre.
const TYRE_CORNERS: u32 = 96;
/// Places where a coil spring turns, and its half width, mm.
const COIL_TURNS: u32 = 12;
const COIL_MM: f64 = 22.0;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum View {
    /// From ahead of the car: its left side is on the right.
    Front,
    /// From outside of the wheel.
    Side,
    /// From above, forward up.
    Plan,
}

impl View {
    /// Where a place in side axes is seen.
    pub fn see(self, side: Side, p: &Point3<f64>) -> Seen {
        let p = side.to_car(*p);
        match self {
            View::Front => (p.y, p.z),
            View::Side => (-side.sign() * p.x, p.z),
            View::Plan => (-p.y, p.x),
        }
    }
}

/// One wheel and its links at one height of the wheel.
pub struct Drawn {
    /// Chassis and upright pickup of each link.
    pub links: [[Seen; 2]; 5],
    /// The outline of the upright: round its pickups and the wheel centre, closed.
    pub upright: Vec<Seen>,
    pub tyre: Vec<Seen>,
    pub rim: Option<Vec<Seen>>,
    pub centre: Seen,
    /// Inner and outer joint centre.
    pub halfshaft: Option<[Seen; 2]>,
    /// The eye on the chassis, the coil, the other eye.
    pub spring: Option<Vec<Seen>>,
}

impl Drawn {
    pub fn new(view: View, corner: &Corner, posture: &Posture) -> Self {
        let see = |p: &Point3<f64>| view.see(corner.side, p);
        let wheel = &corner.wheel;
        let (centre, s) = (posture.wheel_centre(), spin_axis(corner, posture));
        let disc = |radius_mm| circle(&centre, &s, radius_mm).iter().map(see).collect::<Vec<_>>();
        let links = corner.links.each_ref().map(|link| [see(&link.chassis), see(&posture.point(&link.upright))]);
        Self {
            upright: outline(links.iter().map(|[_, upright]| *upright).chain([see(&centre)]).collect()),
            links,
            tyre: disc(wheel.tyre_radius_mm),
            rim: wheel.rim_radius_mm.map(disc),
            centre: see(&centre),
            halfshaft: corner.halfshaft.as_ref().map(|shaft| [see(&shaft.inner), see(&posture.point(&shaft.outer))]),
            spring: corner
                .spring
                .as_ref()
                .map(|spring| coil(see(&spring.chassis), see(&spring_mount_point(corner, spring, posture)))),
        }
    }

    /// Every place that must be on the paper.
    pub fn extent(&self) -> impl Iterator<Item = Seen> {
        let shaft = self.halfshaft.iter().flatten();
        let spring = self.spring.iter().flatten();
        self.links.iter().flatten().chain(&self.tyre).chain(shaft).chain(spring).copied()
    }
}

/// A circle round `centre` in the plane square to `s`, closed.
pub fn circle(centre: &Point3<f64>, s: &Vector3<f64>, radius_mm: f64) -> Vec<Point3<f64>> {
    let across = s.cross(&Vector3::x()).normalize();
    let along = across.cross(s);
    let turn = |k: u32| f64::from(k) / f64::from(TYRE_CORNERS) * TAU;
    (0..=TYRE_CORNERS).map(|k| centre + (along * turn(k).cos() + across * turn(k).sin()) * radius_mm).collect()
}

/// The convex outline of some places, closed (Andrew's monotone chain).
pub fn outline(mut places: Vec<Seen>) -> Vec<Seen> {
    places.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let turns_right = |a: Seen, b: Seen, c: Seen| (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0) <= 0.0;
    let half = |places: &mut dyn Iterator<Item = Seen>| {
        let mut chain: Vec<Seen> = Vec::new();
        for place in places {
            while let [.., a, b] = chain[..] {
                if !turns_right(a, b, place) {
                    break;
                }
                chain.pop();
            }
            chain.push(place);
        }
        chain
    };
    let mut around = half(&mut places.iter().copied());
    around.extend(half(&mut places.iter().rev().copied()).into_iter().skip(1));
    around
}

/// A zigzag between two eyes.
fn coil(from: Seen, to: Seen) -> Vec<Seen> {
    let along = (to.0 - from.0, to.1 - from.1);
    let length = along.0.hypot(along.1).max(1.0);
    let at = |share: f64, off_mm: f64| {
        let aside = off_mm / length;
        (from.0 + along.0 * share - along.1 * aside, from.1 + along.1 * share + along.0 * aside)
    };
    let bend = |k: u32| {
        let off_mm = if k.is_multiple_of(2) { COIL_MM } else { -COIL_MM };
        at(0.2 + 0.6 * f64::from(k) / f64::from(COIL_TURNS), off_mm)
    };
    let ends = |shares: [f64; 2]| shares.map(|share| at(share, 0.0));
    ends([0.0, 0.2]).into_iter().chain((1..COIL_TURNS).map(bend)).chain(ends([0.8, 1.0])).collect()
}
