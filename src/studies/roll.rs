//! Body roll with the ride height unchanged.

use serde::Serialize;

use super::axles_on_road::{AxlesOnRoad, MissingRow};
use super::rig::{Rig, WheelStop};
use super::rows::Rows;
use super::stations::stations;
use crate::geometry::{PerSide, Quantity, Side};
use crate::measures::{Reading, Row};

/// Where body roll brings a wheel to its stop.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RollStop {
    /// ISO 8855 sign.
    pub body_roll_deg: f64,
    /// Of the wheel.
    pub side: Side,
    /// Which of its stops.
    pub stop: WheelStop,
}

/// The roll study: both wheels on the road while the body rolls.
#[derive(Debug, Clone)]
pub struct Roll {
    /// Of both wheels, by rising body roll.
    pub rows: Rows,
    /// The row of each wheel at design height, as the heave study has it: what changes in roll are counted from.
    pub design: PerSide<Row>,
    /// Roll angles at which a wheel first meets a stop, one for each way that has one.
    pub stops: Vec<RollStop>,
    /// A wheel binds, or finds no place, at an angle of roll that the stops allow: rows are missing.
    pub cut_short: bool,
    /// Rows that are missing because the tyre does not rise with its wheel.
    pub missing: Vec<MissingRow>,
}

impl Roll {
    /// Over the angles of `[travel]`.
    pub fn run(rig: &Rig) -> Self {
        Self::at(rig, &rolls_deg(rig))
    }

    /// At these angles, deg, rising; an angle that a stop forbids has no rows.
    pub fn at(rig: &Rig, rolls_deg: &[f64]) -> Self {
        let AxlesOnRoad { rows, cut_short, missing, .. } = AxlesOnRoad::place(rig, &[0.0], rolls_deg);
        let design = PerSide::of(|side| rig.wheel(side).design_row());
        Self { rows, design, stops: stops(rig), cut_short, missing }
    }

    /// A figure of the axle at every angle that both wheels have a row of: roll, deg, and its value; none for a quantity
    /// that is not taken over roll.
    pub fn axle(&self, quantity: Quantity) -> Vec<(f64, f64)> {
        let Reading::AxleInRoll(value) = quantity.reading() else { return Vec::new() };
        let design = self.design.as_ref().map(Row::stance);
        self.rows.axles().map(|axle| (axle.left.body_roll_deg, value(axle.map(Row::stance), design))).collect()
    }
}

/// The angles of the roll study, deg.
pub(super) fn rolls_deg(rig: &Rig) -> Vec<f64> {
    let travel = &rig.geometry.travel;
    stations(-travel.roll_deg, travel.roll_deg, travel.step_roll_deg)
}

/// The first stop met in each direction of roll.
fn stops(rig: &Rig) -> Vec<RollStop> {
    let met = Side::BOTH.into_iter().flat_map(|side| {
        [WheelStop::Droop, WheelStop::Bump].into_iter().filter_map(move |stop| {
            let body_roll_deg = rig.wheel(side).roll_at_stop_deg(stop)?;
            Some(RollStop { body_roll_deg, side, stop })
        })
    });
    // By what the wheel does, not by the angle: a wheel that stands on its stop at design meets it at 0.
    let (right_up, left_up): (Vec<_>, Vec<_>) =
        met.partition(|met| (met.side == Side::Left) == (met.stop == WheelStop::Bump));
    let first =
        |stops: Vec<RollStop>| stops.into_iter().min_by(|a, b| a.body_roll_deg.abs().total_cmp(&b.body_roll_deg.abs()));
    [first(right_up), first(left_up)].into_iter().flatten().collect()
}
