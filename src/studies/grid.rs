//! Ride height and body roll together.

use super::axles_on_road::{AxlesOnRoad, MissingRow};
use super::rig::Rig;
use super::roll::rolls_deg;
use super::rows::Rows;
use super::stations::stations;

/// The grid study: both wheels on the road at every ride height with every angle of roll.
#[derive(Debug, Clone)]
pub struct Grid {
    /// Ride height and roll together.
    pub rows: Rows,
    /// Positions that a stop forbids.
    pub left_out: usize,
    /// Rows that are missing because the tyre does not rise with its wheel.
    pub missing: Vec<MissingRow>,
}

impl Grid {
    /// Over the ride heights and angles of `[travel]`.
    pub fn run(rig: &Rig) -> Self {
        let travel = &rig.geometry.travel;
        let heights_mm = stations(-travel.bump_mm, travel.droop_mm, travel.step_mm);
        let AxlesOnRoad { rows, left_out, missing, .. } = AxlesOnRoad::place(rig, &heights_mm, &rolls_deg(rig));
        Self { rows, left_out, missing }
    }
}
