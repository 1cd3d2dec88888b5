//! The rows of a car's three studies as its tables hold them, moved, scaled and mirrored.

use hubtrace::geometry::{Geometry, Side};
use hubtrace::measures::Measure;
use hubtrace::outputs::rows_csv;
use hubtrace::studies::{Rig, Rows, SweepFindings};
use nalgebra::Vector3;

/// One row of a table: its side, and a cell a measure, none where the cell is empty.
#[derive(Debug, Clone)]
pub struct Row {
    pub side: Side,
    /// Bump that the study asked for; none where the road asks for it.
    commanded_mm: Option<f64>,
    cells: Vec<Option<f64>>,
}

pub struct Columns;

impl Columns {
    pub const ROLL_CENTRE_LATERAL: &str = "roll_centre_lateral_mm";
    /// Counted across the car, to the left.
    const LATERAL: [&str; 3] = ["contact_y_mm", "wheel_centre_y_mm", Self::ROLL_CENTRE_LATERAL];
    /// Says how well a row was solved; of no car.
    const OF_THE_SOLVER: &str = "residual_mm";
}

impl Row {
    pub fn get(&self, column: &str) -> Option<f64> {
        self.cells[Measure::ALL.iter().position(|measure| measure.column() == column).expect("a column of that name")]
    }

    pub fn number(&self, column: &str) -> f64 {
        self.get(column).expect("a cell that is never empty")
    }

    pub fn body_roll_deg(&self) -> f64 {
        self.number("body_roll_deg")
    }

    pub fn ride_height_mm(&self) -> f64 {
        self.number("ride_height_change_mm")
    }

    pub fn commanded_mm(&self) -> Option<f64> {
        self.commanded_mm
    }

    fn map(&self, change: impl Fn(&str, f64) -> f64) -> Row {
        let cells = Measure::ALL
            .iter()
            .zip(&self.cells)
            .map(|(measure, cell)| cell.map(|value| change(measure.column(), value)))
            .collect();
        Row { cells, ..self.clone() }
    }

    /// The row of the other wheel of a mirrored car in the mirrored posture.
    pub fn mirrored(&self) -> Row {
        let turned = |name: &str| Columns::LATERAL.contains(&name) || name == "steer_deg" || name == "body_roll_deg";
        let side = if self.side == Side::Left { Side::Right } else { Side::Left };
        Row { side, ..self.map(|name, value| if turned(name) { -value } else { value }) }
    }

    pub fn agrees(&self, other: &Row, within: f64, car: &str) {
        assert_eq!(self.side, other.side, "{car}");
        for (measure, (a, b)) in Measure::ALL.iter().zip(self.cells.iter().zip(&other.cells)) {
            let name = measure.column();
            let off = a.zip(*b).map_or(0.0, |(a, b)| (a - b).abs() / a.abs().max(1.0));
            let same = a.is_some() == b.is_some() && off <= within;
            assert!(same || name == Columns::OF_THE_SOLVER, "{car}: {name} is {b:?}, expected {a:?} in {self:?}");
        }
    }
}

/// One study of a car.
pub struct Study(Vec<Row>);

impl Study {
    fn of_rows(rows: &Rows, commanded: bool) -> Self {
        let text = rows_csv(rows, &Side::BOTH).expect("a table");
        let mut reader = csv::Reader::from_reader(text.as_slice());
        let parsed = reader.records().zip(rows.iter()).map(|(record, row)| {
            let record = record.expect("a whole row");
            let cells = record.iter().skip(1).map(|cell| cell.parse().ok()).collect();
            Row { side: row.side, commanded_mm: commanded.then_some(row.bump_mm), cells }
        });
        Self(parsed.collect())
    }

    pub fn rows(&self) -> &[Row] {
        &self.0
    }

    pub fn of(&self, side: Side) -> Vec<Row> {
        self.0.iter().filter(|row| row.side == side).cloned().collect()
    }

    /// The row of a side at a commanded bump travel, or else at a ride height and a roll.
    pub fn row(&self, side: Side, ride_height_mm: f64, body_roll_deg: f64, commanded_mm: Option<f64>) -> &Row {
        let is_it = |row: &&Row| match commanded_mm {
            Some(_) => row.commanded_mm == commanded_mm,
            None => row.ride_height_mm() == ride_height_mm && row.body_roll_deg() == body_roll_deg,
        };
        self.0.iter().filter(|row| row.side == side).find(is_it).expect("a row on the other side")
    }

    /// The same rows of a car whose points all lie further by this.
    pub fn plus(&self, by: Vector3<f64>) -> Study {
        self.map(|name, value| match name {
            "contact_x_mm" | "wheel_centre_x_mm" => value + by.x,
            "contact_z_mm" | "wheel_centre_z_mm" => value + by.z,
            _ => value,
        })
    }

    /// The same rows of a car so many times as large.
    pub fn times(&self, size: f64) -> Study {
        self.map(|name, value| match name {
            _ if name.ends_with("_per_mm") => value / size,
            _ if name.ends_with("_mm") => value * size,
            _ => value,
        })
    }

    fn map(&self, change: impl Fn(&str, f64) -> f64) -> Study {
        Study(self.0.iter().map(|row| row.map(&change)).collect())
    }

    pub fn agrees(&self, other: &Study, within: f64, car: &str) {
        assert_eq!(self.0.len(), other.0.len(), "{car}: rows");
        self.0.iter().zip(&other.0).for_each(|(row, twin)| row.agrees(twin, within, car));
    }
}

/// Heave, roll and the grid.
pub fn studies(geometry: &Geometry) -> [Study; 3] {
    let sweep = SweepFindings::of(Rig::new(geometry).expect("a sound design"), &Side::BOTH);
    assert!(sweep.car.judged.heave.binds.is_empty(), "{} binds", geometry.name);
    let [heave, roll, grid] = sweep.rows();
    [(heave, true), (roll, false), (grid, false)].map(|(rows, commanded)| Study::of_rows(rows, commanded))
}
