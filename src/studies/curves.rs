//! The rows that charts are drawn through: close enough together for a smooth curve.

use std::sync::OnceLock;

use super::rig::{Rig, RigWheel};
use super::roll::Roll;
use super::stations::stations;
use crate::geometry::PerSide;
use crate::measures::{RodEndMeasures, Row, rod_ends};

/// Steps between the ends of a curve that make it smooth in print.
const STEPS: f64 = 120.0;

/// A car in bump and droop and in body roll, at many more places than its tables have rows.
#[derive(Debug, Clone)]
pub struct Curves {
    /// Each wheel between the ends of its reach.
    pub travel: PerSide<Vec<CurvePoint>>,
    /// Both wheels in body roll, once a chart has asked for it.
    roll: OnceLock<Roll>,
}

/// One wheel at one bump travel, the body level.
#[derive(Debug, Clone)]
pub struct CurvePoint {
    /// As a table has it.
    pub row: Row,
    /// Misalignment of the rod ends of each link.
    pub rod_ends: [RodEndMeasures; 5],
}

impl Curves {
    /// Of a car on the rig.
    pub fn of(rig: &Rig) -> Self {
        Self { travel: rig.of_wheels(CurvePoint::along), roll: OnceLock::new() }
    }

    /// Both wheels in body roll; `rig` is that of the car.
    pub fn roll(&self, rig: &Rig) -> &Roll {
        let most_deg = rig.geometry.travel.roll_deg;
        self.roll.get_or_init(|| Roll::at(rig, &stations(-most_deg, most_deg, step(2.0 * most_deg))))
    }
}

impl CurvePoint {
    fn along(wheel: &RigWheel) -> Vec<Self> {
        let (low_mm, high_mm) = wheel.path.reach_mm();
        let point = |bump_mm: f64| {
            let posture = wheel.path.at(bump_mm)?;
            Some(Self { row: wheel.level_row(&posture), rod_ends: rod_ends(wheel.corner, &posture) })
        };
        stations(low_mm, high_mm, step(high_mm - low_mm)).into_iter().filter_map(point).collect()
    }
}

/// A range too short to be divided has a step all the same.
fn step(range: f64) -> f64 {
    (range / STEPS).max(f64::MIN_POSITIVE)
}

#[cfg(test)]
mod tests {
    use super::Curves;
    use crate::file::GeometryFile;
    use crate::studies::rig::Rig;

    #[test]
    fn a_curve_is_as_smooth_over_a_short_travel_as_over_a_long_one() {
        let file = GeometryFile::parse("demo", include_str!("../../geometries/first-cut.toml")).expect("a sound car");
        for travel_mm in [1.5, 40.0] {
            let mut geometry = file.geometry.clone();
            (geometry.travel.bump_mm, geometry.travel.droop_mm) = (travel_mm, travel_mm);
            let curves = Curves::of(&Rig::new(&geometry).expect("the drawing holds its wheels"));
            // 120 steps, and both ends.
            assert_eq!(curves.travel.left.len(), 121);
        }
    }
}
