//! A car swept through heave, roll and the grid of both: everything that `sweep` tells.

use serde::Serialize;

use super::axles_on_road::MissingRow;
use super::car_findings::CarFindings;
use super::grid::Grid;
use super::judged_car::JudgedCar;
use super::rig::Rig;
use super::rows::Rows;
use crate::geometry::Side;

/// Everything that `sweep` tells of a car.
#[derive(Debug, Clone, Serialize)]
pub struct SweepFindings<'g> {
    /// The moved car.
    #[serde(flatten)]
    pub car: CarFindings<'g>,
    /// Of ride height and roll together.
    #[serde(rename = "grid")]
    pub grid_findings: GridFindings,
    /// How exactly the rows were solved.
    pub solver_check: SolverCheck,
    /// For its table.
    #[serde(skip)]
    pub grid: Grid,
}

/// Ride height and body roll together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GridFindings {
    /// For the wheels asked for.
    pub rows: usize,
    /// Positions that a stop forbids.
    pub positions_left_out: usize,
    /// Roads on which a tyre finds no place.
    pub missing_rows: Vec<MissingRow>,
}

/// How well the equations of every row of both wheels are met.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SolverCheck {
    /// Of all studies.
    pub rows: usize,
    /// Largest error of any link, of the driving equation and of the height over the road.
    pub worst_mm: f64,
}

impl<'g> SweepFindings<'g> {
    /// As far as these wheels go.
    pub fn of(rig: Rig<'g>, sides: &[Side]) -> Self {
        let (grid, judged) = rayon::join(|| Grid::run(&rig), || JudgedCar::of(rig.clone()));
        let car = CarFindings::of(judged, sides);
        let all = || [&car.judged.heave.rows, &car.judged.roll.rows, &grid.rows].into_iter().flat_map(Rows::iter);
        Self {
            solver_check: SolverCheck {
                rows: all().count(),
                worst_mm: all().map(|row| row.closure_error_mm).fold(0.0, f64::max),
            },
            grid_findings: GridFindings {
                rows: grid.rows.count(sides),
                positions_left_out: grid.left_out,
                missing_rows: grid.missing.iter().filter(|row| sides.contains(&row.side)).copied().collect(),
            },
            car,
            grid,
        }
    }

    /// Of all three studies.
    pub fn rows(&self) -> [&Rows; 3] {
        [&self.car.judged.heave.rows, &self.car.judged.roll.rows, &self.grid.rows]
    }

    /// Rows of one wheel that are missing because its tyre does not rise with it.
    pub fn missing_rows(&self, side: Side) -> impl Iterator<Item = &MissingRow> {
        let missing = self.car.roll.missing_rows.iter().chain(&self.grid_findings.missing_rows);
        missing.filter(move |row| row.side == side)
    }
}
