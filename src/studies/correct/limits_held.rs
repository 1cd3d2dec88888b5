//! Limits of the file other than that of bump steer, of both wheels and of the axle, which no change may break.

use serde::Serialize;

use crate::geometry::{Geometry, PerSide, Quantity, Side};
use crate::studies::judged_car::JudgedCar;
use crate::studies::rig::Rig;
use crate::studies::verdicts::{State, Verdict};

/// A limit that the most likely car breaks, all changes made.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BrokenLimit {
    /// By how much.
    #[serde(flatten)]
    pub verdict: Verdict,
    /// It holds as the car stands.
    pub is_new: bool,
    /// The same as the car stands.
    pub before: Option<Verdict>,
}

impl BrokenLimit {
    /// It is broken as the car stands, and the changes make it worse.
    pub fn is_made_worse(&self) -> bool {
        let margin_before = self.before.as_ref().and_then(Verdict::margin);
        !self.is_new && self.verdict.margin().zip(margin_before).is_some_and(|(after, before)| after < before)
    }

    /// Of one of these wheels, or of the axle.
    pub fn is_of(&self, sides: &[Side]) -> bool {
        self.verdict.side.is_none_or(|side| sides.contains(&side))
    }
}

/// What a car makes of the limits of its file.
#[derive(Debug, Clone)]
pub(super) struct HeldLimits {
    verdicts: Vec<Verdict>,
    /// Pairs of parts that come too near, and binds, of each wheel.
    in_the_way: PerSide<Vec<String>>,
}

impl HeldLimits {
    /// `None` when its links do not hold a wheel.
    pub fn of(geometry: &Geometry) -> Option<Self> {
        let car = JudgedCar::of(Rig::new(geometry).ok()?);
        let in_the_way = PerSide::of(|side| {
            let tight = car.clearance[side].failing().map(|pair| pair.pair.clone());
            let binds = car.heave.binds_of(side).map(|bind| bind.towards.name().to_owned());
            tight.chain(binds).collect()
        });
        let judged = |verdict: &Verdict| verdict.quantity != Quantity::BumpSteer;
        Some(Self { verdicts: car.verdicts.into_iter().filter(judged).collect(), in_the_way })
    }

    /// Limits that this car breaks.
    pub fn broken(&self, before: &Self) -> Vec<BrokenLimit> {
        let fails = self.verdicts.iter().filter(|verdict| verdict.state == State::Fail);
        fails.map(|verdict| before.beside(verdict)).collect()
    }

    /// Limits that are lost on the way from `before` to this car.
    pub fn lost(&self, before: &Self) -> Vec<BrokenLimit> {
        let lost = |after: &&Verdict| before.same(after).is_some_and(|before| after.is_lost_from(before));
        self.verdicts.iter().filter(lost).map(|verdict| before.beside(verdict)).collect()
    }

    /// Wheels that are worse off than `before`; `None` in the list stands for the axle.
    pub fn worse(&self, before: &Self) -> Vec<Option<Side>> {
        let is_hindered =
            |side: &Side| self.in_the_way[*side].iter().any(|what| !before.in_the_way[*side].contains(what));
        let hindered = Side::BOTH.into_iter().filter(is_hindered).map(Some);
        self.lost(before).into_iter().map(|lost| lost.verdict.side).chain(hindered).collect()
    }

    /// The verdict on setback.
    pub fn setback(&self) -> Option<&Verdict> {
        self.verdicts.iter().find(|verdict| verdict.quantity == Quantity::Setback)
    }

    fn same(&self, verdict: &Verdict) -> Option<&Verdict> {
        self.verdicts.iter().find(|own| (own.quantity, own.side) == (verdict.quantity, verdict.side))
    }

    fn beside(&self, after: &Verdict) -> BrokenLimit {
        let before = self.same(after).cloned();
        let is_new = before.as_ref().is_none_or(|before| before.state != State::Fail);
        BrokenLimit { verdict: after.clone(), is_new, before }
    }
}
