//! What a builder can really move: coordinates, spacers along a bolt, brackets on a frame tube, link lengths.

use super::interval::Interval;

/// How far something may move from where it stands, in mm or deg, and the step it can only move in, when it has one.
///
/// With a step only multiples of it, counted from where the thing stands, can be made: holes of a bracket, shims, turns of
/// a rod end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AdjustmentRange {
    /// At most 0.
    pub low: f64,
    /// At least 0.
    pub high: f64,
    /// Above 0, when there is one.
    pub step: Option<f64>,
}

impl AdjustmentRange {
    /// What is left of it once the thing has moved by so much: the same two ends, counted from the new place.
    pub fn after(&self, by: f64) -> Self {
        Self { low: (self.low - by).min(0.0), high: (self.high - by).max(0.0), step: self.step }
    }

    /// From its low to its high end, without regard to the step.
    pub fn interval(&self) -> Interval {
        Interval { low: self.low, high: self.high }
    }
}

/// How far a point may move along each of the side axes x, y (outboard) and z, mm; a coordinate that is `None` stays.
pub type PointAdjustment = [Option<AdjustmentRange>; 3];

/// What of one corner may move; what is `None` stays.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Adjustments {
    /// In the order of [`super::Corner::links`].
    pub links: [LinkAdjustments; 5],
    /// The upright about the spindle, deg, right-hand about the spin axis in side axes: top forward positive on both sides.
    pub clock: Option<AdjustmentRange>,
    /// The final drive, and with it the inner joint of the halfshaft.
    pub halfshaft_inner: PointAdjustment,
    /// The spring's end on the frame.
    pub spring_chassis: PointAdjustment,
    /// The mount of a spring on the upright; one on a link moves with the link alone.
    pub spring_mount: PointAdjustment,
}

/// What of one link may move.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct LinkAdjustments {
    /// Where its chassis point is.
    pub place: ChassisPlace,
    /// The pickup on the frame.
    pub chassis: PointAdjustment,
    /// The pickup on the upright.
    pub upright: PointAdjustment,
    /// Spacer along `Link::chassis_bolt`, mm, positive the way the bolt points; given only with the bolt.
    pub chassis_bolt: Option<AdjustmentRange>,
    /// Spacer along `Link::upright_bolt`, mm, positive the way the bolt points; given only with the bolt.
    pub upright_bolt: Option<AdjustmentRange>,
    /// The bracket rides on a frame tube. Never together with a range in the coordinates of `chassis`, unless none of its
    /// own three has any.
    pub tube: Option<TubeAdjustment>,
    /// Length of the link, mm, its points staying where they are on frame and upright: a turnbuckle.
    pub length: Option<AdjustmentRange>,
}

impl LinkAdjustments {
    /// True when the link has its chassis point.
    pub fn is_placed(&self) -> bool {
        self.place == ChassisPlace::Drawn
    }

    /// The box for the chassis point of a link that has none yet.
    pub fn within(&self) -> Option<[Interval; 3]> {
        match self.place {
            ChassisPlace::Within(room) => Some(room),
            ChassisPlace::Drawn | ChassisPlace::Nowhere => None,
        }
    }
}

/// What a file says of the chassis point of a link.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub enum ChassisPlace {
    /// Its coordinates.
    #[default]
    Drawn,
    /// The box that it may be in: x, y (outboard) and z, mm, from the datum. Until it is placed it stands in the middle.
    Within([Interval; 3]),
    /// Nothing yet. Until it is placed it stands inboard of its upright point.
    Nowhere,
}

/// How a bracket may be moved on the frame tube that carries it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TubeAdjustment {
    /// Index into `Geometry::tubes`.
    pub tube: usize,
    /// Along the tube, mm, positive from its `from` to its `to`.
    pub slide: Option<AdjustmentRange>,
    /// Distance from the tube's centre line, mm, positive away from it.
    pub stand_off: Option<AdjustmentRange>,
    /// About the tube's centre line, deg, right-hand about `from` → `to` in side axes: a right side turns as the mirror
    /// image of the left.
    pub turn: Option<AdjustmentRange>,
}
