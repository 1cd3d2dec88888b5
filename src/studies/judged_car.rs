//! A car moved through its travel and judged: what a swept, a tuned and a welded car have in common.

use super::clearance::ClearanceFindings;
use super::heave::Heave;
use super::rig::Rig;
use super::rod_ends::RodEndTilt;
use super::roll::Roll;
use super::toe_curve::ToeCurve;
use super::verdicts::{State, Verdict, WheelParts, verdicts};
use crate::geometry::{Geometry, PerSide, Quantity, Side};

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
    /// Rod ends of each wheel, the nearest to its limit first.
    pub rod_ends: PerSide<Vec<RodEndTilt>>,
    /// Both wheels, then the axle.
    pub verdicts: Vec<Verdict>,
}

impl<'g> JudgedCar<'g> {
    /// Moves a car and judges it.
    pub fn of(rig: Rig<'g>) -> Self {
        let ((heave, roll), clearance) =
            rayon::join(|| (Heave::run(&rig), Roll::run(&rig)), || rig.of_wheels(ClearanceFindings::of));
        let toe = PerSide::of(|side| ToeCurve::of(&heave.rows, &heave.design[side]));
        let rod_ends = rig.of_wheels(RodEndTilt::of_wheel);
        let parts = PerSide::of(|side| WheelParts { clearance: &clearance[side], rod_ends: &rod_ends[side] });
        let verdicts = verdicts(&rig, &heave, &roll, parts);
        Self { verdicts, rig, heave, roll, toe, clearance, rod_ends }
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
