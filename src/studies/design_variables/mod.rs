//! The design variables: what a builder can move, as numbers with bounds.
//!
//! A design vector is one number per variable, mm or deg from the drawn place; all zero is the car as drawn. Coordinates,
//! spacers and tube brackets move single points; the clock angle turns every point of the upright about the spindle.

use nalgebra::{Point3, Rotation3, Unit, Vector3};

mod bracket;
mod one_hole;
mod place;

use crate::geometry::{AdjustmentRange, Adjustments, Axis, Corner, End, Geometry, Pickup, Side, SpringMount, Tube};
use crate::measures::Gradient;
use crate::mechanism::{LinkGradient, Linkage};
pub(super) use bracket::Bracket;
pub use bracket::TubeWay;
use bracket::along;
use one_hole::{Follower, followers, with_followers};
use place::{keeps_out_of, outboard};

/// One thing that may move, and how far.
#[derive(Debug, Clone, PartialEq)]
pub struct DesignVariable {
    /// What it moves.
    pub kind: VariableKind,
    /// How far, mm or deg from the drawn place.
    pub range: AdjustmentRange,
}

/// Where a variable acts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum VariableKind {
    /// A coordinate of a pickup: x, y (outboard) or z.
    Pickup {
        /// Index of the link.
        link: usize,
        /// Which end of it.
        end: End,
        /// Along which axis.
        axis: Axis,
    },
    /// A spacer along the bolt of a rod end.
    Bolt {
        /// Index of the link.
        link: usize,
        /// Which end of it.
        end: End,
    },
    /// Along a frame tube, off it, or round it.
    OnTube {
        /// Index of the link.
        link: usize,
        /// Index of the tube.
        tube: usize,
        /// Which way.
        way: TubeWay,
    },
    /// The length of a link, its points staying where they are.
    Length {
        /// Index of the link.
        link: usize,
    },
    /// The clock angle of the upright about the spindle, deg.
    Clock,
    /// The spring's end on the frame.
    SpringChassis {
        /// Along which axis.
        axis: Axis,
    },
    /// The spring's moving end.
    SpringMount {
        /// Along which axis.
        axis: Axis,
    },
    /// The final drive: the inner joint of the halfshaft.
    FinalDrive {
        /// Along which axis.
        axis: Axis,
    },
}

/// The part of the car that a variable moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// A link, by index.
    Link(usize),
    /// Wheel and upright.
    Wheel,
    /// The spring.
    Spring,
    /// The halfshaft, with the final drive.
    Halfshaft,
}

impl VariableKind {
    /// The part that moves.
    pub fn part(&self) -> Part {
        match *self {
            Self::Pickup { link, .. } | Self::Bolt { link, .. } | Self::OnTube { link, .. } | Self::Length { link } => {
                Part::Link(link)
            }
            Self::Clock => Part::Wheel,
            Self::SpringChassis { .. } | Self::SpringMount { .. } => Part::Spring,
            Self::FinalDrive { .. } => Part::Halfshaft,
        }
    }
}

/// A corner with a design vector applied.
#[derive(Debug, Clone)]
pub struct Moved {
    /// With its points moved.
    pub corner: Corner,
    /// By how much each link is longer than the distance between its points, mm.
    pub longer_mm: [f64; 5],
}

impl Moved {
    /// Its links, of the lengths that they then have.
    pub fn linkage(&self) -> Linkage {
        let drawn = Linkage::new(&self.corner);
        (0..5).filter(|&i| self.longer_mm[i] != 0.0).fold(drawn, |linkage, i| linkage.lengthened(i, self.longer_mm[i]))
    }

    /// The corner drawn where it stands at design height: links that were made longer have carried the wheel along.
    pub(super) fn at_rest(self) -> Option<Corner> {
        if self.longer_mm == [0.0; 5] {
            return Some(self.corner);
        }
        let posture = self.linkage().design().ok()?;
        let mut corner = self.corner;
        corner.map_upright(|p| posture.point(p), |d| Unit::new_normalize(posture.direction(d)));
        corner.wheel.spin_axis = Unit::new_normalize(posture.direction(&corner.wheel.spin_axis));
        corner.wheel.centre = posture.wheel_centre();
        Some(corner)
    }
}

/// All variables of one corner.
#[derive(Debug, Clone)]
pub struct DesignVariables<'g> {
    drawn: &'g Corner,
    tubes: &'g [Tube],
    /// Links whose chassis point the file leaves to be found.
    pub(super) unplaced: [bool; 5],
    /// Links whose chassis point moves and stands outboard of the halfshaft's inner joint as drawn; of one that is left to be
    /// found, the middle of its box.
    pub(super) outboard: [bool; 5],
    /// Links whose chassis point is left to be found, each with a frame tube that it keeps out of, for its box reaches out of that, and
    /// how far from the centre line of the tube, mm.
    pub(super) keeps_out_of: Vec<(usize, &'g Tube, f64)>,
    /// Ends of links that go where that of another one in their hole goes.
    followers: Vec<Follower>,
    /// In file order.
    pub list: Vec<DesignVariable>,
}

impl<'g> DesignVariables<'g> {
    /// Every variable that the file gives one side, in file order.
    pub fn of(geometry: &'g Geometry, side: Side) -> Self {
        let (drawn, may) = (geometry.corner(side), &geometry.adjustments[side]);
        let mut list = Vec::new();
        let mut add = |kind: VariableKind, range: Option<AdjustmentRange>| {
            if let Some(range) = range {
                list.push(DesignVariable { kind, range });
            }
        };
        for (index, (link, may)) in drawn.links.iter().zip(&may.links).enumerate() {
            for axis in Axis::ALL {
                let k = axis.index();
                // A flat plate leaves no range across itself.
                let within = may.within().map(|boxed| boxed[k]).filter(|edge| edge.low < edge.high);
                let within = within.map(|edge| AdjustmentRange {
                    low: edge.low - link.chassis[k],
                    high: edge.high - link.chassis[k],
                    step: None,
                });
                add(VariableKind::Pickup { link: index, end: End::Chassis, axis }, may.chassis[k].or(within));
            }
            add(VariableKind::Bolt { link: index, end: End::Chassis }, may.chassis_bolt);
            if let Some(tube) = &may.tube {
                for way in TubeWay::ALL {
                    add(VariableKind::OnTube { link: index, tube: tube.tube, way }, *way.range(tube));
                }
            }
            for axis in Axis::ALL {
                add(VariableKind::Pickup { link: index, end: End::Upright, axis }, may.upright[axis.index()]);
            }
            add(VariableKind::Bolt { link: index, end: End::Upright }, may.upright_bolt);
            add(VariableKind::Length { link: index }, may.length);
        }
        add(VariableKind::Clock, may.clock);
        for axis in Axis::ALL {
            add(VariableKind::SpringChassis { axis }, may.spring_chassis[axis.index()]);
            add(VariableKind::SpringMount { axis }, may.spring_mount[axis.index()]);
            add(VariableKind::FinalDrive { axis }, may.halfshaft_inner[axis.index()]);
        }
        let unplaced = may.links.map(|link| !link.is_placed());
        let outboard = outboard(drawn, &list);
        let followers = followers(drawn, unplaced, &mut list);
        let keeps_out_of = keeps_out_of(geometry, side);
        Self { drawn, tubes: &geometry.tubes, unplaced, outboard, keeps_out_of, followers, list }
    }

    /// DesignVariables chosen by the program, for a cure.
    pub fn chosen(drawn: &'g Corner, list: Vec<DesignVariable>) -> Self {
        let (outboard, keeps_out_of) = (outboard(drawn, &list), Vec::new());
        Self { outboard, drawn, tubes: &[], unplaced: [false; 5], keeps_out_of, followers: Vec::new(), list }
    }

    /// Some link has no chassis point yet.
    pub(super) fn places_links(&self) -> bool {
        self.unplaced.contains(&true)
    }

    /// The corner that they move.
    pub fn drawn(&self) -> &'g Corner {
        self.drawn
    }

    /// What of the first room is left once a design vector is built: the same boxes, counted from the new places.
    pub fn room_left(&self, may: &Adjustments, design_vector: &[f64]) -> Adjustments {
        let mut left = may.clone();
        for (variable, &by) in self.list.iter().zip(design_vector) {
            for kind in with_followers(&self.followers, variable.kind) {
                if let Some(range) = range_of(&mut left, kind) {
                    *range = range.after(by);
                }
            }
        }
        left
    }

    /// The corner with a design vector applied. Points of the upright are first moved, then clocked.
    pub fn apply(&self, design_vector: &[f64]) -> Moved {
        let mut moved = Moved { corner: self.drawn.clone(), longer_mm: [0.0; 5] };
        let mut clock_deg = 0.0;
        let corner = &mut moved.corner;
        let moves = self.list.iter().zip(design_vector);
        let moves = moves.flat_map(|(of, &by)| with_followers(&self.followers, of.kind).map(move |kind| (kind, by)));
        for (kind, by) in moves {
            match kind {
                VariableKind::Pickup { link, end: End::Chassis, axis } => {
                    corner.links[link].chassis[axis.index()] += by
                }
                VariableKind::Pickup { link, end: End::Upright, axis } => {
                    corner.links[link].upright[axis.index()] += by
                }
                VariableKind::Bolt { link, end } => {
                    let along = self.bolt(link, end) * by;
                    match end {
                        End::Chassis => corner.links[link].chassis += along,
                        End::Upright => corner.links[link].upright += along,
                    }
                }
                VariableKind::OnTube { .. } => {}
                VariableKind::Length { link } => moved.longer_mm[link] += by,
                VariableKind::Clock => clock_deg = by,
                VariableKind::SpringChassis { axis } => {
                    corner.spring.iter_mut().for_each(|spring| spring.chassis[axis.index()] += by);
                }
                VariableKind::SpringMount { axis } => {
                    corner.spring.iter_mut().for_each(|spring| spring.mount[axis.index()] += by)
                }
                VariableKind::FinalDrive { axis } => {
                    corner.halfshaft.iter_mut().for_each(|shaft| shaft.inner[axis.index()] += by);
                }
            }
        }
        for index in 0..5 {
            if let Some(bracket) = self.bracket(index, design_vector) {
                let link = &mut corner.links[index];
                link.chassis += bracket.place - self.drawn.links[index].chassis;
                link.chassis_bolt = link.chassis_bolt.map(|bolt| bracket.turn() * bolt);
            }
        }
        if clock_deg != 0.0 {
            clock(corner, clock_deg);
        }
        corner.carry_spring();
        moved
    }

    /// The side with everything free of it at the same share of its room, 0 the low end and 1 the high one; `None` where it cannot
    /// stand there. The room stays where it was drawn, whatever tuning makes of the place in it.
    pub(super) fn at_share_of_room(&self, share: f64) -> Option<Corner> {
        let ranges = self.list.iter().map(|variable| variable.range.interval());
        let design_vector: Vec<f64> = ranges.map(|range| range.low + share * range.width()).collect();
        self.apply(&design_vector).at_rest()
    }

    /// Derivatives of a measure with respect to each number of a design vector, from its gradient at that design vector.
    pub fn by_variable(&self, design_vector: &[f64], at: &Moved, gradient: &Gradient) -> Vec<f64> {
        let clock_deg = self.clock_deg(design_vector);
        let turned = |v: Vector3<f64>| Rotation3::from_axis_angle(&self.spindle(), clock_deg.to_radians()) * v;
        let LinkGradient { chassis, upright, length } = &gradient.links;
        let slope = |kind: VariableKind| match kind {
            VariableKind::Pickup { link, end: End::Chassis, axis } => chassis[link][axis.index()],
            VariableKind::Pickup { link, end: End::Upright, axis } => upright[link].dot(&turned(axis.direction())),
            VariableKind::Bolt { link, end: End::Chassis } => chassis[link].dot(&self.bolt(link, End::Chassis)),
            VariableKind::Bolt { link, end: End::Upright } => upright[link].dot(&turned(self.bolt(link, End::Upright))),
            VariableKind::OnTube { link, way, .. } => {
                self.bracket(link, design_vector).map_or(0.0, |bracket| chassis[link].dot(&bracket.along(way)))
            }
            VariableKind::Length { link } => length[link],
            VariableKind::Clock => self.clock_slope(at, gradient),
            VariableKind::SpringChassis { axis } => gradient.spring_chassis[axis.index()],
            VariableKind::SpringMount { axis } => gradient.spring_mount.dot(&turned(axis.direction())),
            VariableKind::FinalDrive { axis } => gradient.halfshaft_inner[axis.index()],
        };
        let of = |variable: &DesignVariable| with_followers(&self.followers, variable.kind).map(slope).sum();
        self.list.iter().map(of).collect()
    }

    /// Derivatives of a figure of a rod end by each number of a design vector, as far as they come from its bolt: `by` is that
    /// by the unit vector along the bolt of the moved corner. A bolt turns with its bracket round a tube, and with the clock
    /// angle of the upright.
    pub fn by_bolt(&self, at: &Moved, pickup: Pickup, by: &Vector3<f64>) -> Vec<f64> {
        let link = &at.corner.links[pickup.link];
        let turns = |bolt: Option<Unit<Vector3<f64>>>, about: &Vector3<f64>| {
            bolt.map_or(0.0, |bolt| about.cross(&bolt).dot(by).to_radians())
        };
        let slope = |variable: &DesignVariable| match (variable.kind, pickup.end) {
            (VariableKind::OnTube { link: of, tube, way: TubeWay::Turn }, End::Chassis) if of == pickup.link => {
                self.tubes.get(tube).map_or(0.0, |tube| turns(link.chassis_bolt, &along(tube)))
            }
            (VariableKind::Clock, End::Upright) => turns(link.upright_bolt, &self.spindle()),
            _ => 0.0,
        };
        self.list.iter().map(slope).collect()
    }

    /// How the chassis point of a link goes with a variable of its own, mm per mm, or mm per degree of a turn; the car as drawn.
    pub fn chassis_velocity(&self, kind: VariableKind) -> Option<Vector3<f64>> {
        match kind {
            VariableKind::Pickup { end: End::Chassis, axis, .. } => Some(axis.direction()),
            VariableKind::OnTube { link, tube, way } => {
                let bracket = Bracket::on(self.tubes.get(tube)?, &self.drawn.links[link].chassis);
                Some(bracket.along(way))
            }
            _ => None,
        }
    }

    fn clock_deg(&self, design_vector: &[f64]) -> f64 {
        let clock = self.list.iter().zip(design_vector).find(|(variable, _)| variable.kind == VariableKind::Clock);
        clock.map_or(0.0, |(_, &deg)| deg)
    }

    fn spindle(&self) -> Unit<Vector3<f64>> {
        self.drawn.wheel.spin_axis
    }

    /// Per degree: every point of the upright goes round the spindle.
    fn clock_slope(&self, at: &Moved, gradient: &Gradient) -> f64 {
        let centre = at.corner.wheel.centre;
        let spindle = self.spindle();
        let round = |point: &Point3<f64>, by: &Vector3<f64>| spindle.cross(&(point - centre)).dot(by);
        let links = at.corner.links.iter().zip(&gradient.links.upright);
        let mut per_rad: f64 = links.map(|(link, by)| round(&link.upright, by)).sum();
        if let Some(shaft) = &at.corner.halfshaft {
            per_rad += round(&shaft.outer, &gradient.halfshaft_outer);
        }
        if let Some(spring) = at.corner.spring.as_ref().filter(|spring| spring.on == SpringMount::Upright) {
            per_rad += round(&spring.mount, &gradient.spring_mount);
        }
        per_rad.to_radians()
    }

    fn bolt(&self, link: usize, end: End) -> Vector3<f64> {
        let link = &self.drawn.links[link];
        let axis = match end {
            End::Chassis => link.chassis_bolt,
            End::Upright => link.upright_bolt,
        };
        axis.map_or_else(Vector3::zeros, Unit::into_inner)
    }

    /// Where the tube bracket of a link stands; `None` when the link rides on no tube.
    fn bracket(&self, link: usize, design_vector: &[f64]) -> Option<Bracket> {
        let mut ways = self.list.iter().zip(design_vector).filter_map(|(variable, &by)| match variable.kind {
            VariableKind::OnTube { link: of, tube, way } if of == link => Some((tube, way, by)),
            _ => None,
        });
        let first = ways.next()?;
        let mut bracket = Bracket::on(self.tubes.get(first.0)?, &self.drawn.links[link].chassis);
        for (_, way, by) in std::iter::once(first).chain(ways) {
            bracket.set(way, by);
        }
        Some(bracket.placed())
    }
}

/// Where the range of a variable stands; none of a coordinate in the box of a new point.
fn range_of(may: &mut Adjustments, kind: VariableKind) -> Option<&mut AdjustmentRange> {
    let range = match kind {
        VariableKind::Pickup { link, end: End::Chassis, axis } => &mut may.links[link].chassis[axis.index()],
        VariableKind::Pickup { link, end: End::Upright, axis } => &mut may.links[link].upright[axis.index()],
        VariableKind::Bolt { link, end: End::Chassis } => &mut may.links[link].chassis_bolt,
        VariableKind::Bolt { link, end: End::Upright } => &mut may.links[link].upright_bolt,
        VariableKind::OnTube { link, way, .. } => {
            let tube = may.links[link].tube.as_mut()?;
            way.range_mut(tube)
        }
        VariableKind::Length { link } => &mut may.links[link].length,
        VariableKind::Clock => &mut may.clock,
        VariableKind::SpringChassis { axis } => &mut may.spring_chassis[axis.index()],
        VariableKind::SpringMount { axis } => &mut may.spring_mount[axis.index()],
        VariableKind::FinalDrive { axis } => &mut may.halfshaft_inner[axis.index()],
    };
    range.as_mut()
}

/// Turns every point of the upright about the spindle.
fn clock(corner: &mut Corner, deg: f64) {
    let centre = corner.wheel.centre;
    let turn = Rotation3::from_axis_angle(&corner.wheel.spin_axis, deg.to_radians());
    corner.map_upright(|place| centre + turn * (place - centre), |bolt| turn * bolt);
}
