//! Which bodies hang together, so that no gap between them is asked for.

use nalgebra::Point3;

use super::carrying_tube::CarryingTube;
use super::clearance::{BarEnd, Body, Part, Shape};
use super::closest;
use crate::geometry::{Corner, CornerPoint, End, Geometry, Pickup, SpringMount};

/// Ends of two parts this near to each other at design share a joint, mm: one hole that was measured twice.
pub(crate) const SAME_JOINT_MM: f64 = 2.0;

/// The joints of a corner at design, which is that of the geometry, its points moved or not.
#[derive(Clone, Copy)]
pub(super) struct SharedJoints<'a> {
    pub geometry: &'a Geometry,
    pub corner: &'a Corner,
    /// A joint is one by this much, mm: of a car that is not written yet, by what the last digits of its file change.
    pub surely_mm: f64,
    /// Tuning has put the pickups into their places that the file does not have.
    pub all_placed: bool,
}

/// No tuning parts these two bodies, in the order of the list.
pub(super) fn are_one_piece(corner: &Corner, bodies: [&Body; 2]) -> bool {
    use Part::{Boot, FrameTube, Halfshaft, Link, Spring, Wheel};
    match bodies.map(|body| body.part) {
        [FrameTube(_), FrameTube(_)] | [Halfshaft | Boot, Boot | Wheel] => true,
        [Link(index), Spring] => {
            let on = corner.spring.as_ref().map(|spring| spring.on);
            matches!(on, Some(SpringMount::Link { index: on, .. }) if on == index)
        }
        _ => false,
    }
}

impl SharedJoints<'_> {
    /// Whether two bodies, in the order of the list, share a joint that tuning could part.
    pub fn are_shared(&self, bodies: [&Body; 2]) -> bool {
        use Part::{FrameTube, Link, Spring};
        match bodies.map(|body| body.part) {
            [Link(_), Link(_) | Spring] => self.ends_meet(bodies),
            [Link(link), FrameTube(tube)] => self.hangs_on(bodies[0], [link, tube]),
            [Spring, FrameTube(tube)] => self.is_bolted_to(bodies[0], tube),
            _ => false,
        }
    }

    /// The bracket of the link is on the tube, and the link leaves the tube.
    pub fn hangs_on(&self, body: &Body, [link, tube]: [usize; 2]) -> bool {
        let ride = self.geometry.adjustments[self.corner.side].links[link].tube;
        let is_carried = ride.is_some_and(|ride| ride.tube == tube) || self.is_bolted_to(body, tube);
        is_carried && !self.runs_through([link, tube])
    }

    /// From a bracket on the far side of the tube, so that no bracket can hold it; a pickup that tuning is still to place is
    /// nowhere.
    fn runs_through(&self, [link, tube]: [usize; 2]) -> bool {
        let tube = CarryingTube::new(self.corner, link, &self.geometry.tubes[tube]);
        self.is_placed(link) && tube.is_some_and(|tube| !tube.is_left(self.corner, self.surely_mm))
    }

    /// Two bars end in one place.
    fn ends_meet(&self, bodies: [&Body; 2]) -> bool {
        let [a, b] = bodies.map(|body| self.ends(body));
        let meet = |a: &Point3<f64>, b: &Point3<f64>| (a - b).norm() < SAME_JOINT_MM - self.surely_mm;
        a.iter().flatten().any(|a| b.iter().flatten().any(|b| meet(a, b)))
    }

    /// The end of a bar on the frame is nearer to a tube than any part that is not bolted to it may be.
    fn is_bolted_to(&self, bar: &Body, tube: usize) -> bool {
        let tube = &self.geometry.tubes[tube];
        let (Shape::Bar { radius_mm, .. }, Some(od_mm)) = (bar.shape, tube.od_mm) else { return false };
        let [Some(end), _] = self.ends(bar) else { return false };
        let share = (tube.along_mm(&end) / tube.length_mm()).clamp(0.0, 1.0);
        let apart_mm = (end - closest::along(&[tube.from, tube.to], share)).norm();
        apart_mm - radius_mm - 0.5 * od_mm < self.geometry.clearance.least_mm() - self.surely_mm
    }

    /// Ends of a bar that are points of the corner, at design, that on the frame first; one that tuning is still to place has no
    /// place to meet another in.
    fn ends(&self, body: &Body) -> [Option<Point3<f64>>; 2] {
        let Shape::Bar { ends, .. } = body.shape else { return [None; 2] };
        let points = self.corner.points();
        ends.map(|end| match end {
            BarEnd::At(CornerPoint::Pickup(Pickup { link, end: End::Chassis })) if !self.is_placed(link) => None,
            BarEnd::At(point) => points.iter().find(|(of, _)| *of == point).map(|(_, place)| *place),
            BarEnd::AlongShaft { .. } | BarEnd::OnFrame(_) => None,
        })
    }

    fn is_placed(&self, link: usize) -> bool {
        self.all_placed || self.geometry.adjustments[self.corner.side].links[link].is_placed()
    }
}
