//! How far two bodies can come together while an upright goes so far: what lets a search pass over those that stay apart.

use super::clearance::{BarEnd, Bodies, Body, Pair, Part, Shape};
use crate::geometry::{Corner, CornerPoint, End, Pickup, SpringMount};

/// Each of two bodies goes as far as the point of it that goes furthest. The end of a boot lies on the line of the shaft's joints,
/// and can go three times as far as one of them.
const TOGETHER: f64 = 2.0;
const TOGETHER_WITH_BOOT: f64 = 4.0;

/// How a pair of bodies comes together.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Approach {
    /// From the wheel centre to the furthest point of the two bodies that the upright carries, mm; 0 where it carries none.
    arm_mm: f64,
    /// Those of the five whose pickups move a point of the two bodies.
    moved_by: [bool; 5],
    /// By how much at most the bodies come together, as a multiple of the way of the point that goes furthest.
    together: f64,
}

impl Approach {
    /// Of a pair of this corner.
    pub fn of(bodies: &Bodies, pair: Pair, corner: &Corner) -> Self {
        let both = bodies.both(pair);
        Self {
            arm_mm: both.into_iter().map(|body| arm_mm(body, corner)).fold(0.0, f64::max),
            moved_by: std::array::from_fn(|link| both.iter().any(|body| is_moved_by(link, body, corner))),
            together: if bodies.is_of_shaft(pair) { TOGETHER_WITH_BOOT } else { TOGETHER },
        }
    }

    /// Those of the five whose pickups move a point of the two bodies.
    pub fn links(&self) -> impl Iterator<Item = usize> {
        (0..5).filter(|&link| self.moved_by[link])
    }

    /// How far a point goes at most that the upright carries, mm, when the wheel centre goes so far and the upright turns by so much, rad.
    pub fn carried_mm(&self, centre_mm: f64, turn: f64) -> f64 {
        centre_mm + self.arm_mm * turn
    }

    /// By how much the bodies come together at most, mm, when no point of them goes further than so.
    pub fn together_mm(&self, furthest_mm: f64) -> f64 {
        self.together * furthest_mm
    }
}

fn is_moved_by(link: usize, body: &Body, corner: &Corner) -> bool {
    match body.part {
        Part::Link(index) => index == link,
        Part::Spring => corner.spring.as_ref().is_some_and(|spring| match spring.on {
            SpringMount::Upright => false,
            SpringMount::Link { index, .. } => index == link,
        }),
        Part::Halfshaft | Part::Boot | Part::FrameTube(_) | Part::Wheel => false,
    }
}

fn arm_mm(body: &Body, corner: &Corner) -> f64 {
    let centre = corner.wheel.centre;
    let of_link = |index: usize| (corner.links[index].upright - centre).norm();
    let of_point = |point: CornerPoint| match point {
        CornerPoint::Pickup(Pickup { link, end: End::Upright }) => of_link(link),
        CornerPoint::HalfshaftOuter => corner.halfshaft.as_ref().map_or(0.0, |shaft| (shaft.outer - centre).norm()),
        CornerPoint::SpringMount => corner.spring.as_ref().map_or(0.0, |spring| match spring.on {
            SpringMount::Upright => (spring.mount - centre).norm(),
            // It goes a share of the way of the link's outer end.
            SpringMount::Link { index, .. } => of_link(index),
        }),
        _ => 0.0,
    };
    let of_end = |end: &BarEnd| match *end {
        BarEnd::At(point) => of_point(point),
        BarEnd::AlongShaft { from, to, .. } => of_point(from).max(of_point(to)),
        BarEnd::OnFrame(_) => 0.0,
    };
    match &body.shape {
        Shape::Bar { ends, .. } => ends.iter().map(of_end).fold(0.0, f64::max),
        Shape::Ring { outer_mm, half_width_mm, .. } => outer_mm.hypot(*half_width_mm),
    }
}
