//! A bracket on a frame tube, and how it may be moved there.

use nalgebra::{Point3, Rotation3, Unit, Vector3};

use crate::geometry::{AdjustmentRange, Tube, TubeAdjustment};

/// How a bracket moves on its frame tube.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TubeWay {
    /// Along it, mm.
    Slide,
    /// Away from it, mm.
    StandOff,
    /// Round it, deg.
    Turn,
}

impl TubeWay {
    /// In the order of the file's documents.
    pub const ALL: [Self; 3] = [Self::Slide, Self::StandOff, Self::Turn];

    /// The room that the file gives it.
    pub fn range(self, may: &TubeAdjustment) -> &Option<AdjustmentRange> {
        match self {
            Self::Slide => &may.slide,
            Self::StandOff => &may.stand_off,
            Self::Turn => &may.turn,
        }
    }

    /// The same, to be changed.
    pub fn range_mut(self, may: &mut TubeAdjustment) -> &mut Option<AdjustmentRange> {
        match self {
            Self::Slide => &mut may.slide,
            Self::StandOff => &mut may.stand_off,
            Self::Turn => &mut may.turn,
        }
    }
}

/// From a tube's `from` to its `to`.
pub(super) fn along(tube: &Tube) -> Unit<Vector3<f64>> {
    Unit::new_normalize(tube.to - tube.from)
}

/// A bracket on a frame tube: its foot on the centre line, how far it stands off and in which direction.
#[derive(Debug, Clone, Copy)]
pub(in crate::studies) struct Bracket {
    axis: Unit<Vector3<f64>>,
    foot: Point3<f64>,
    out: Vector3<f64>,
    stand_off_mm: f64,
    slide_mm: f64,
    turn_deg: f64,
    pub(super) place: Point3<f64>,
}

impl Bracket {
    pub(in crate::studies) fn on(tube: &Tube, point: &Point3<f64>) -> Self {
        let axis = along(tube);
        let foot = tube.from + axis.as_ref() * axis.dot(&(point - tube.from));
        let arm = point - foot;
        let stand_off_mm = arm.norm();
        let out = arm / stand_off_mm;
        Self { axis, foot, out, stand_off_mm, slide_mm: 0.0, turn_deg: 0.0, place: *point }
    }

    pub(super) fn set(&mut self, way: TubeWay, by: f64) {
        match way {
            TubeWay::Slide => self.slide_mm = by,
            TubeWay::StandOff => self.stand_off_mm += by,
            TubeWay::Turn => self.turn_deg = by,
        }
    }

    pub(super) fn placed(mut self) -> Self {
        self.out = self.turn() * self.out;
        self.place = self.foot + self.axis.as_ref() * self.slide_mm + self.out * self.stand_off_mm;
        self
    }

    /// How the bracket, and its bolt with it, has turned round the tube.
    pub(super) fn turn(&self) -> Rotation3<f64> {
        Rotation3::from_axis_angle(&self.axis, self.turn_deg.to_radians())
    }

    /// Velocity of the place per mm, or per degree of turn.
    pub(super) fn along(&self, way: TubeWay) -> Vector3<f64> {
        match way {
            TubeWay::Slide => self.axis.into_inner(),
            TubeWay::StandOff => self.out,
            TubeWay::Turn => self.axis.cross(&self.out) * self.stand_off_mm.to_radians(),
        }
    }

    /// How far the bracket went in each way of [`TubeWay::ALL`] when its point came to this place, mm, mm and deg.
    ///
    /// Tested by `a_walk_on_a_tube_is_read_back_from_its_place` in `src/studies/ride.rs`.
    pub(in crate::studies) fn moved_to(&self, place: &Point3<f64>) -> [f64; 3] {
        let slide_mm = self.axis.dot(&(place - self.foot));
        let arm = place - (self.foot + self.axis.as_ref() * slide_mm);
        let turn_rad = self.axis.dot(&self.out.cross(&arm)).atan2(self.out.dot(&arm));
        [slide_mm, arm.norm() - self.stand_off_mm, turn_rad.to_degrees()]
    }
}
