//! A car swept through heave, roll and the grid of both: everything that `sweep` tells.

use super::axles_on_road::MissingRow;
use super::grid::Grid;
use super::judged_car::JudgedCar;
use super::rig::Rig;
use super::rows::Rows;

#[derive(Debug, Clone)]
pub struct SweepFindings<'g> {
    pub car: JudgedCar<'g>,
    pub grid: Grid,
}

impl<'g> SweepFindings<'g> {
    pub fn of(rig: Rig<'g>) -> Self {
        Self { grid: Grid::run(&rig), car: JudgedCar::of(rig) }
    }

    /// Of all three studies.
    pub fn rows(&self) -> [&Rows; 3] {
        [&self.car.heave.rows, &self.car.roll.rows, &self.grid.rows]
    }

    /// Rows that are missing because the tyre does not rise with its wheel.
    pub fn missing_rows(&self) -> impl Iterator<Item = &MissingRow> {
        self.car.roll.missing.iter().chain(&self.grid.missing)
    }
}
