//! Bump and droop: both wheels moved together, the body level.

use serde::Serialize;

use super::rig::{Rig, RigWheel, WheelStop};
use super::rows::Rows;
use super::stations::stations;
use super::toe_curve::RideHeightSteer;
use crate::geometry::{Corner, PerSide, Side};
use crate::measures::Row;
use crate::mechanism::Bind;

/// The first bind met on one side in one direction.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SideBind {
    /// Of the wheel.
    #[serde(skip)]
    pub side: Side,
    /// The stop that the wheel was on its way to; a bind at design has no sign to tell it by.
    pub towards: WheelStop,
    /// Last bump travel that was reached, mm, up positive.
    pub at_bump_mm: f64,
    /// Names of the links that carry the bind.
    pub links: Vec<String>,
}

impl SideBind {
    pub(super) fn of(corner: &Corner, towards: WheelStop, bind: Bind) -> Self {
        let links = corner.links.iter().zip(bind.links).filter(|(_, carries)| *carries);
        let links = links.map(|(link, _)| link.name.clone()).collect();
        Self { side: corner.side, towards, at_bump_mm: bind.at_bump_mm, links }
    }

    /// The binds inside the travel of a wheel, droop first.
    pub(super) fn of_wheel(wheel: &RigWheel) -> Vec<Self> {
        let (corner, path) = (wheel.corner, &wheel.path);
        let ways = [(WheelStop::Droop, path.binds_in_droop), (WheelStop::Bump, path.binds_in_bump)];
        ways.into_iter().filter_map(|(towards, bind)| Some(Self::of(corner, towards, bind?))).collect()
    }
}

/// The heave study: each wheel along its own path, from full droop to full bump.
#[derive(Debug, Clone)]
pub struct Heave {
    /// Of both wheels, from full droop to full bump.
    pub rows: Rows,
    /// The row at design height, which every wheel has.
    pub design: PerSide<Row>,
    /// Binds inside the travel, at most two a side. Rows before them are kept.
    pub binds: Vec<SideBind>,
    /// Bump steer about every other ride height of `[travel]` that the wheel can stand at.
    pub ride_heights: PerSide<Vec<RideHeightSteer>>,
}

impl Heave {
    /// Moves both wheels through the travel of the file.
    pub fn run(rig: &Rig) -> Self {
        let travel = &rig.geometry.travel;
        let stations_mm = stations(-travel.droop_mm, travel.bump_mm, travel.step_mm);
        let rows: Rows =
            stations_mm.iter().map(|&bump_mm| PerSide::of(|side| rig.wheel(side).level_row_at(bump_mm))).collect();
        Self {
            design: PerSide::of(|side| rig.wheel(side).design_row()),
            binds: Side::BOTH.into_iter().flat_map(|side| SideBind::of_wheel(rig.wheel(side))).collect(),
            ride_heights: PerSide::of(|side| RideHeightSteer::all(rig.wheel(side), &rows)),
            rows,
        }
    }

    /// The row of a wheel at a station.
    pub fn row_at(&self, side: Side, bump_mm: f64) -> Option<&Row> {
        self.rows.of(side).find(|row| row.bump_mm == bump_mm)
    }

    /// Where one wheel binds.
    pub fn binds_of(&self, side: Side) -> impl Iterator<Item = &SideBind> {
        self.binds.iter().filter(move |bind| bind.side == side)
    }
}
