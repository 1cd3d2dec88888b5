//! A checked geometry: what the file said, in millimetres and degrees, ready to be moved.

use super::adjustments::{Adjustments, LinkAdjustments};
use super::corner::Corner;
use super::quantity::Limits;
use super::side::{PerSide, Side};
use super::targets::Targets;
use super::travel::Travel;
use super::tube::Tube;
use super::units::LengthUnit;
use super::weld::{Tape, Weld};

/// One car's rear suspension as its file describes it.
#[derive(Debug, Clone)]
pub struct Geometry {
    pub name: String,
    pub units: LengthUnit,
    /// The wheel and track that the starter numbers of the file were made for, when it began as a starter.
    pub starter: Option<String>,
    pub left: Corner,
    pub right: Corner,
    /// True when the file gives no `[right]` and the right side is the mirror image of the left.
    pub mirrored: bool,
    pub car: Car,
    pub travel: Travel,
    pub limits: Limits,
    /// How exactly the brackets are placed, when the file says so.
    pub weld: Option<Weld>,
    /// How exactly the points were measured, when the file says so.
    pub tape: Option<Tape>,
    /// Members of the frame that brackets ride on.
    pub tubes: Vec<Tube>,
    /// What tuning may move.
    pub adjustments: PerSide<Adjustments>,
    /// What tuning aims at.
    pub targets: Targets,
}

impl Geometry {
    pub fn corner(&self, side: Side) -> &Corner {
        match side {
            Side::Left => &self.left,
            Side::Right => &self.right,
        }
    }

    pub fn corner_mut(&mut self, side: Side) -> &mut Corner {
        match side {
            Side::Left => &mut self.left,
            Side::Right => &mut self.right,
        }
    }

    /// True when every link of a side has its chassis point.
    pub fn is_placed(&self, side: Side) -> bool {
        self.adjustments[side].links.iter().all(LinkAdjustments::is_placed)
    }

    /// Names of the links that have no chassis point yet, on either side, in the order of the file.
    pub fn unplaced(&self) -> Vec<String> {
        let lacks = |index: usize| self.adjustments.iter().any(|(_, side)| !side.links[index].is_placed());
        self.left.links.iter().enumerate().filter(|(i, _)| lacks(*i)).map(|(_, link)| link.name.clone()).collect()
    }
}

/// What of the whole car the percentages need; what is not given leaves them without a value.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Car {
    pub wheelbase_mm: Option<f64>,
    pub cg_height_mm: Option<f64>,
    /// Share of the driving force at this axle, 0 to 1.
    pub rear_drive_share: Option<f64>,
    /// Share of the braking force at this axle, 0 to 1.
    pub rear_brake_share: Option<f64>,
}
