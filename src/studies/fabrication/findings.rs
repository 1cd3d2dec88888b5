//! Everything that the shop is told of a car.

use serde::Serialize;

use super::brackets::{Bracket, brackets};
use super::clocking::{LinkClock, clocking};
use super::points::{NamedLine, NamedPoint, named_lines, named_points};
use super::tape_check::{TapeCheck, tape_check};
use crate::geometry::Side;
use crate::studies::car_findings::CarFindings;
use crate::studies::judged_car::JudgedCar;
use crate::studies::rig::Rig;

/// A car for the shop, as far as the wheels asked for go.
#[derive(Debug, Clone, Serialize)]
pub struct FabricationFindings<'g> {
    /// The car moved and judged.
    #[serde(flatten)]
    pub car: CarFindings<'g>,
    /// What it is made by.
    #[serde(rename = "fabricate")]
    pub shop: ShopFindings,
}

/// What a car is made by.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShopFindings {
    /// Every rod end, by wheel and link, the inner end first.
    pub brackets: Vec<Bracket>,
    /// Every link, by wheel.
    pub clocking: Vec<LinkClock>,
    /// What a tape must read.
    pub tape_check: TapeCheck,
    /// Every point of the car.
    #[serde(skip)]
    pub points: Vec<NamedPoint>,
    /// What joins them, and the frame.
    #[serde(skip)]
    pub lines: Vec<NamedLine>,
}

impl<'g> FabricationFindings<'g> {
    /// Of a car on its rig, for these wheels.
    pub fn of(rig: Rig<'g>, sides: &[Side]) -> Self {
        let wheels = || sides.iter().map(|&side| rig.wheel(side));
        let shop = ShopFindings {
            brackets: wheels().flat_map(brackets).collect(),
            clocking: wheels().flat_map(clocking).collect(),
            tape_check: tape_check(rig.geometry, sides),
            points: named_points(rig.geometry, sides),
            lines: named_lines(rig.geometry, sides),
        };
        Self { shop, car: CarFindings::of(JudgedCar::of(rig), sides) }
    }
}
