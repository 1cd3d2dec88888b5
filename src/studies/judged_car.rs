//! A car moved through its travel and judged: what a swept, a tuned and a welded car have in common.

use super::clearance::ClearanceFindings;
use super::heave::Heave;
use super::rig::Rig;
use super::roll::Roll;
use super::stations::stations;
use super::toe_curve::ToeCurve;
use super::verdicts::{State, Verdict, verdicts};
use crate::geometry::{Geometry, PerSide, Quantity, Side};
use crate::measures::{RodEndMeasures, Row, rod_ends};

/// Steps between the ends of a curve that make it smooth in print.
const STEPS_OF_A_CURVE: f64 = 120.0;

/// A car with its heave and roll studies, toe curves and verdicts.
#[derive(Debug, Clone)]
pub struct JudgedCar<'g> {
    /// The wheels on their paths.
    pub rig: Rig<'g>,
    /// Bump and droop, the body level.
    pub heave: Heave,
    /// Body roll, the ride height unchanged.
    pub roll: Roll,
    /// Of each wheel.
    pub toe: PerSide<ToeCurve>,
    /// Gaps between the parts of each wheel.
    pub clearance: PerSide<ClearanceFindings>,
    /// Both wheels, then the axle.
    pub verdicts: Vec<Verdict>,
    /// For charts.
    pub curves: Curves,
}

/// The same studies, their rows close enough together for a smooth curve.
#[derive(Debug, Clone)]
pub struct Curves {
    /// Each wheel between the ends of its reach.
    pub travel: PerSide<Vec<Row>>,
    /// Bump travel, mm, and the misalignment of the rod ends of each link there.
    pub rod_ends: PerSide<Vec<(f64, [RodEndMeasures; 5])>>,
    /// Both wheels in body roll.
    pub roll: Roll,
}

impl<'g> JudgedCar<'g> {
    /// Moves a car and judges it.
    pub fn of(rig: Rig<'g>) -> Self {
        let (heave, roll, curves) = (Heave::run(&rig), Roll::run(&rig), Curves::of(&rig));
        let toe = PerSide::of(|side| ToeCurve::of(&heave.rows, &heave.design[side]));
        let clearance = PerSide::of(|side| ClearanceFindings::of(rig.wheel(side)));
        let verdicts = verdicts(&rig, &heave, &roll, clearance.as_ref());
        Self { verdicts, rig, heave, roll, toe, clearance, curves }
    }

    /// What was moved.
    pub fn geometry(&self) -> &'g Geometry {
        self.rig.geometry
    }

    /// Whether one wheel breaks the limit of a quantity.
    pub fn fails(&self, quantity: Quantity, side: Side) -> bool {
        let is_it = |verdict: &Verdict| verdict.quantity == quantity && verdict.side == Some(side);
        self.verdicts.iter().any(|verdict| is_it(verdict) && verdict.state == State::Fail)
    }

    /// Whether a limit of the file is broken, as far as these wheels and the axle go.
    pub fn breaks_a_limit(&self, sides: &[Side]) -> bool {
        let shown = |verdict: &&Verdict| verdict.side.is_none_or(|side| sides.contains(&side));
        self.verdicts.iter().filter(shown).any(|verdict| verdict.state == State::Fail)
    }
}

impl Curves {
    fn of(rig: &Rig) -> Self {
        let travel: PerSide<Vec<Row>> = PerSide::of(|side| {
            let wheel = rig.wheel(side);
            let (low_mm, high_mm) = wheel.path.reach_mm();
            let travel_mm = stations(low_mm, high_mm, step_of_a_curve(high_mm - low_mm));
            travel_mm.into_iter().filter_map(|bump_mm| wheel.level_row_at(bump_mm)).collect()
        });
        let misalignment = |side: Side| {
            let wheel = rig.wheel(side);
            let at = |bump_mm: f64| Some((bump_mm, rod_ends(wheel.corner, &wheel.path.at(bump_mm)?)));
            travel[side].iter().filter_map(|row| at(row.bump_mm)).collect()
        };
        let rod_ends = PerSide::of(misalignment);
        let most_deg = rig.geometry.travel.roll_deg;
        Self { travel, rod_ends, roll: Roll::at(rig, &stations(-most_deg, most_deg, step_of_a_curve(2.0 * most_deg))) }
    }
}

/// A range too short to be divided has a step all the same.
fn step_of_a_curve(range: f64) -> f64 {
    (range / STEPS_OF_A_CURVE).max(f64::MIN_POSITIVE)
}
