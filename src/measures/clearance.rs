//! Parts with thickness, and the gaps between their surfaces.
//!
//! A link, the halfshaft, its boots, the spring and a frame tube are **bars**: everything within a radius of the line between
//! two points, round at both ends. Tyre and rim are a **ring**. Each point of a body is a point of the corner, so that a
//! body goes where the upright takes it, and a gap has derivatives by all that a builder can move.

use nalgebra::{Point3, Vector3};

use super::carrying_tube::CarryingTube;
use super::closest::{self, Ring, Segment};
use super::gradient::{Derivatives, Gradient};
use super::shared_joints::{self, SharedJoints};
use super::spring::spring_mount_point;
use super::wheel::spin_axis;
use crate::geometry::{Corner, CornerPoint, End, Geometry, Pickup, Side};
use crate::mechanism::{Posture, UprightPose};

/// What the last digits of a written file part or join, mm.
const WRITTEN_MM: f64 = 0.01;
/// Lines nearer than this cross, mm: they are apart in no direction.
const CROSSING_MM: f64 = 1e-9;

/// What a body is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    Link(usize),
    Halfshaft,
    Boot,
    Spring,
    /// Index into [`Geometry::tubes`].
    FrameTube(usize),
    Wheel,
}

/// An end of a bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum BarEnd {
    At(CornerPoint),
    /// So far from one joint of the halfshaft towards the other.
    AlongShaft {
        from: CornerPoint,
        to: CornerPoint,
        mm: f64,
    },
    OnFrame(Point3<f64>),
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Shape {
    Bar {
        ends: [BarEnd; 2],
        radius_mm: f64,
    },
    /// Round the spin axis of the wheel.
    Ring {
        inner_mm: f64,
        outer_mm: f64,
        half_width_mm: f64,
    },
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Body {
    pub part: Part,
    name: String,
    pub shape: Shape,
}

/// The bodies of one side and every pair of them that could touch.
///
/// Bodies that share a joint are no pair: links in one hole, a spring and the link that carries it, shaft, boots and wheel, a
/// bracket's link and its tube, and whatever ends so near to a tube that it must be bolted to it; but a link that runs through
/// its tube is one with it.
#[derive(Debug, Clone, PartialEq)]
pub struct Bodies {
    list: Vec<Body>,
    pairs: Vec<[usize; 2]>,
    /// Bodies that share a joint as drawn, and no more where tuning moves one of them off the other.
    joined: Vec<[usize; 2]>,
}

/// Two bodies by their place among those that could touch as drawn, and behind these those that share a joint there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pair(usize);

impl Bodies {
    /// As drawn; parts without a thickness have no body.
    pub fn of(geometry: &Geometry, side: Side) -> Self {
        let corner = geometry.corner(side);
        let list = bodies(geometry, corner);
        let all = (0..list.len()).flat_map(|i| (0..i).map(move |j| [j, i]));
        let could_part = all.filter(|&[a, b]| !shared_joints::are_one_piece(corner, [&list[a], &list[b]]));
        let joints = SharedJoints { geometry, corner, surely_mm: 0.0, all_placed: false };
        let (joined, pairs) = could_part.partition(|&[a, b]| joints.are_shared([&list[a], &list[b]]));
        Self { list, pairs, joined }
    }

    /// Every pair that could touch as drawn.
    pub fn pairs(&self) -> impl Iterator<Item = Pair> + use<> {
        (0..self.pairs.len()).map(Pair)
    }

    /// The same and those that share a joint as drawn, of which each is a pair once tuning parts them.
    pub(crate) fn with_joined(&self) -> impl Iterator<Item = Pair> + use<> {
        (0..self.pairs.len() + self.joined.len()).map(Pair)
    }

    /// They share a joint on this corner, by more than the digits of a written file, and as drawn too, where the file has a place for
    /// both.
    pub(crate) fn stay_joined(&self, pair: Pair, geometry: &Geometry, corner: &Corner) -> bool {
        let joints = SharedJoints { geometry, corner, surely_mm: WRITTEN_MM, all_placed: true };
        let is_new = |link: usize| !geometry.adjustments[corner.side].links[link].is_placed();
        let could_be = pair.0 >= self.pairs.len() || self.links_of(pair).any(is_new);
        could_be && joints.are_shared(self.both(pair))
    }

    /// The tubes with a body that carry the bracket of a link as drawn, and that it leaves.
    pub(crate) fn carrying_tubes(&self, geometry: &Geometry, side: Side) -> Vec<CarryingTube> {
        let corner = geometry.corner(side);
        let of = |body: &Body| {
            let Part::Link(link) = body.part else { return Vec::new() };
            let joints = SharedJoints { geometry, corner, surely_mm: 0.0, all_placed: false };
            let tubes = (0..geometry.tubes.len()).filter(|&tube| joints.hangs_on(body, [link, tube]));
            tubes.filter_map(|tube| CarryingTube::new(corner, link, &geometry.tubes[tube])).collect()
        };
        self.list.iter().flat_map(of).collect()
    }

    pub(super) fn both(&self, pair: Pair) -> [&Body; 2] {
        let joined = |index: usize| self.joined[index - self.pairs.len()];
        let bodies = self.pairs.get(pair.0).copied().unwrap_or_else(|| joined(pair.0));
        bodies.map(|index| &self.list[index])
    }

    /// One of a pair is the halfshaft or a boot of it.
    pub fn is_of_shaft(&self, pair: Pair) -> bool {
        self.both(pair).iter().any(|body| matches!(body.part, Part::Halfshaft | Part::Boot))
    }

    /// Those of the five that are in a pair.
    pub fn links_of(&self, pair: Pair) -> impl Iterator<Item = usize> + use<> {
        let link = |body: &Body| if let Part::Link(link) = body.part { Some(link) } else { None };
        self.both(pair).map(link).into_iter().flatten()
    }

    /// `toe link / halfshaft`.
    pub fn name(&self, pair: Pair) -> String {
        let [a, b] = self.both(pair);
        format!("{} / {}", a.name, b.name)
    }

    /// Gap between the surfaces of a pair at a posture of this corner, mm; negative where they overlap. The corner is the one
    /// that the bodies were made for, its points moved or not. `None` when it lacks one of the parts.
    ///
    /// Source: definition in `docs/conventions.md`, "Clearance". Tested by `tests/kinematics/clearance.rs` and
    /// `tests/outside/clearance/clearance.csv`.
    pub fn gap_mm(&self, pair: Pair, corner: &Corner, pose: &impl UprightPose) -> Option<f64> {
        let [a, b] = self.both(pair);
        Some(match [&a.shape, &b.shape] {
            [Shape::Bar { ends: a, radius_mm: ra }, Shape::Bar { ends: b, radius_mm: rb }] => {
                let (a, b) = (placed(a, corner, pose)?, placed(b, corner, pose)?);
                let [s, t] = closest::of_segments(&a, &b);
                (closest::along(&a, s) - closest::along(&b, t)).norm() - ra - rb
            }
            [Shape::Bar { ends, radius_mm }, Shape::Ring { .. }] => {
                let (bar, ring) = (placed(ends, corner, pose)?, ring(&b.shape, corner, pose)?);
                ring.from(&closest::along(&bar, ring.nearest_on(&bar))).mm - radius_mm
            }
            [Shape::Ring { .. }, _] => return None,
        })
    }

    /// The points of the two surfaces that are nearest to each other at a posture, mm, side axes; a gap apart. Where the bodies
    /// overlap they lie inside each other, where their middle lines cross both are one place.
    ///
    /// Tested by `tests/live/posed.rs`.
    pub fn nearest(&self, pair: Pair, corner: &Corner, posture: &Posture) -> Option<[Point3<f64>; 2]> {
        let [a, b] = self.both(pair);
        let Shape::Bar { ends, radius_mm } = &a.shape else { return None };
        let on_a = placed(ends, corner, posture)?;
        match &b.shape {
            Shape::Bar { ends, radius_mm: of_b } => {
                let on_b = placed(ends, corner, posture)?;
                let [s, t] = closest::of_segments(&on_a, &on_b);
                let (from, to) = (closest::along(&on_a, s), closest::along(&on_b, t));
                let way = (to - from).try_normalize(CROSSING_MM).unwrap_or_default();
                Some([from + way * *radius_mm, to - way * *of_b])
            }
            Shape::Ring { .. } => {
                let ring = ring(&b.shape, corner, posture)?;
                let from = closest::along(&on_a, ring.nearest_on(&on_a));
                let found = ring.from(&from);
                Some([from - found.by_point * *radius_mm, from - found.by_point * found.mm])
            }
        }
    }

    /// Derivatives of the gap of a pair, mm per mm; where the nearest points jump from one place to another, those of one of
    /// the places.
    ///
    /// Source: the nearest points may be held while the bodies move, for the gap is least there. Tested by
    /// `tests/kinematics/clearance.rs` (central differences).
    pub fn gradient(&self, pair: Pair, corner: &Corner, posture: &Posture, at: &Derivatives) -> Option<Gradient> {
        let [a, b] = self.both(pair);
        let mut by = Places::default();
        match [&a.shape, &b.shape] {
            [Shape::Bar { ends: a, .. }, Shape::Bar { ends: b, .. }] => {
                let (on_a, on_b) = (placed(a, corner, posture)?, placed(b, corner, posture)?);
                let [s, t] = closest::of_segments(&on_a, &on_b);
                let away = closest::along(&on_a, s) - closest::along(&on_b, t);
                let away = away.try_normalize(CROSSING_MM).unwrap_or_else(|| across(&on_a, &on_b));
                by.add_bar(a, s, &away, corner, posture)?;
                by.add_bar(b, t, &-away, corner, posture)?;
            }
            [Shape::Bar { ends, .. }, Shape::Ring { .. }] => {
                let (bar, ring) = (placed(ends, corner, posture)?, ring(&b.shape, corner, posture)?);
                let share = ring.nearest_on(&bar);
                let from = ring.from(&closest::along(&bar, share));
                by.add_bar(ends, share, &from.by_point, corner, posture)?;
                by.points.push((CornerPoint::WheelCentre, -from.by_point));
                by.spin_axis = from.by_axis;
            }
            [Shape::Ring { .. }, _] => return None,
        }
        at.of_places(&by.points, &spin_axis(corner, posture), &by.spin_axis)
    }
}

/// What a gap depends on, to first order: places of points and the direction of the spin axis.
#[derive(Default)]
struct Places {
    points: Vec<(CornerPoint, Vector3<f64>)>,
    spin_axis: Vector3<f64>,
}

impl Places {
    /// A dependence on the place of the point at a share of a bar.
    fn add_bar(
        &mut self,
        ends: &[BarEnd; 2],
        share: f64,
        by: &Vector3<f64>,
        corner: &Corner,
        posture: &Posture,
    ) -> Option<()> {
        for (end, by) in ends.iter().zip([by * (1.0 - share), by * share]) {
            match *end {
                BarEnd::OnFrame(_) => {}
                BarEnd::At(point) => self.points.push((point, by)),
                BarEnd::AlongShaft { from, to, mm } => {
                    let line = place_of(to, corner, posture)? - place_of(from, corner, posture)?;
                    let unit = line.normalize();
                    let turned = (by - unit * unit.dot(&by)) * (mm / line.norm());
                    self.points.extend([(from, by - turned), (to, turned)]);
                }
            }
        }
        Some(())
    }
}

fn bodies(geometry: &Geometry, corner: &Corner) -> Vec<Body> {
    let clearance = &geometry.clearance;
    let bar =
        |part, name: &str, ends, radius_mm| Body { part, name: name.to_owned(), shape: Shape::Bar { ends, radius_mm } };
    let mut list = Vec::new();
    for (index, link) in corner.links.iter().enumerate() {
        let ends = End::BOTH.map(|end| BarEnd::At(CornerPoint::Pickup(Pickup { link: index, end })));
        list.push(bar(Part::Link(index), &link.name, ends, link.radius_mm()));
    }
    if corner.halfshaft.is_some() {
        let (inner, outer) = (CornerPoint::HalfshaftInner, CornerPoint::HalfshaftOuter);
        let ends = [inner, outer].map(BarEnd::At);
        list.push(bar(Part::Halfshaft, "halfshaft", ends, clearance.shaft_radius_mm()));
        if let Some(boots) = clearance.boots {
            for (name, from, to) in [("inner boot", inner, outer), ("outer boot", outer, inner)] {
                let ends = [BarEnd::At(from), BarEnd::AlongShaft { from, to, mm: boots.length_mm }];
                list.push(bar(Part::Boot, name, ends, boots.radius_mm));
            }
        }
    }
    if let (Some(_), Some(radius_mm)) = (&corner.spring, clearance.spring_radius_mm) {
        let ends = [CornerPoint::SpringChassis, CornerPoint::SpringMount].map(BarEnd::At);
        list.push(bar(Part::Spring, "spring", ends, radius_mm));
    }
    for (index, tube) in geometry.tubes.iter().enumerate() {
        if let Some(od_mm) = tube.od_mm {
            let ends = [tube.from, tube.to].map(BarEnd::OnFrame);
            list.push(bar(Part::FrameTube(index), &format!("tube {}", tube.name), ends, 0.5 * od_mm));
        }
    }
    if let (Some(inner_mm), Some(width_mm)) = (corner.wheel.rim_radius_mm, corner.wheel.tyre_width_mm) {
        let shape = Shape::Ring { inner_mm, outer_mm: corner.wheel.tyre_radius_mm, half_width_mm: 0.5 * width_mm };
        list.push(Body { part: Part::Wheel, name: "tyre and rim".to_owned(), shape });
    }
    list
}

/// Where a bar is at a posture.
fn placed(ends: &[BarEnd; 2], corner: &Corner, pose: &impl UprightPose) -> Option<Segment> {
    let place = |end: BarEnd| match end {
        BarEnd::OnFrame(point) => Some(point),
        BarEnd::At(point) => place_of(point, corner, pose),
        BarEnd::AlongShaft { from, to, mm } => {
            let start = place_of(from, corner, pose)?;
            Some(start + (place_of(to, corner, pose)? - start).normalize() * mm)
        }
    };
    Some([place(ends[0])?, place(ends[1])?])
}

fn ring(shape: &Shape, corner: &Corner, pose: &impl UprightPose) -> Option<Ring> {
    let Shape::Ring { inner_mm, outer_mm, half_width_mm } = *shape else { return None };
    Some(Ring { centre: pose.wheel_centre(), axis: spin_axis(corner, pose), inner_mm, outer_mm, half_width_mm })
}

/// Where a point of the corner is at a posture, side axes; `None` when the corner lacks it.
fn place_of(point: CornerPoint, corner: &Corner, pose: &impl UprightPose) -> Option<Point3<f64>> {
    Some(match point {
        CornerPoint::WheelCentre => pose.wheel_centre(),
        CornerPoint::Pickup(Pickup { link, end: End::Chassis }) => corner.links[link].chassis,
        CornerPoint::Pickup(Pickup { link, end: End::Upright }) => pose.point(&corner.links[link].upright),
        CornerPoint::HalfshaftInner => corner.halfshaft.as_ref()?.inner,
        CornerPoint::HalfshaftOuter => pose.point(&corner.halfshaft.as_ref()?.outer),
        CornerPoint::SpringChassis => corner.spring.as_ref()?.chassis,
        CornerPoint::SpringMount => spring_mount_point(corner, corner.spring.as_ref()?, pose),
    })
}

/// A direction that parts two lines that cross; parallel ones by any.
fn across(a: &Segment, b: &Segment) -> Vector3<f64> {
    (a[1] - a[0]).cross(&(b[1] - b[0])).try_normalize(0.0).unwrap_or_else(Vector3::z)
}
