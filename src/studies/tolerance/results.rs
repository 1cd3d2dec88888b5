//! What a study of many built cars comes to.

use super::monte_carlo::Finish;
use super::statistics::{CurveBand, Histogram};
use super::tried::LimitCount;
use crate::geometry::{Interval, PerSide, Quantity, Side};
use crate::mechanism::BuildFailure;
use crate::studies::errors::Proportion;

/// How one figure spreads over the cars that move through their whole travel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// What spreads.
    pub quantity: Quantity,
    /// `None` for a figure of the whole axle.
    pub side: Option<Side>,
    /// As drawn; its size, or the value itself of what is read at design.
    pub nominal: f64,
    /// Half of them stay below.
    pub p50: f64,
    /// 90 of 100 stay below.
    pub p90: f64,
    /// 99 of 100 stay below.
    pub p99: f64,
    /// Of the file.
    pub limit: Option<Interval>,
    /// Cars that keep the limit, of all cars: one that binds keeps none.
    pub chance: Option<Proportion>,
}

/// Wheels that could not be moved through their travel, by the reason.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LostCars {
    /// The links as cut do not reach.
    pub does_not_assemble: usize,
    /// They bind inside their travel.
    pub binds: usize,
    /// The links do not hold the wheel.
    pub singular: usize,
}

impl LostCars {
    pub(super) fn add(&mut self, why: BuildFailure) {
        match why {
            BuildFailure::DoesNotAssemble => self.does_not_assemble += 1,
            BuildFailure::Singular => self.singular += 1,
            BuildFailure::Binds { .. } => self.binds += 1,
        }
    }

    pub(super) fn plus(self, more: Self) -> Self {
        Self {
            does_not_assemble: self.does_not_assemble + more.does_not_assemble,
            binds: self.binds + more.binds,
            singular: self.singular + more.singular,
        }
    }

    /// For whatever reason.
    pub fn all(self) -> usize {
        self.does_not_assemble + self.binds + self.singular
    }
}

/// The finished study.
#[derive(Debug, Clone, PartialEq)]
pub struct Tolerance {
    /// How many were built.
    pub cars: usize,
    /// Of the random errors.
    pub seed: u64,
    /// What was done about the links.
    pub finish: Finish,
    /// Left, right, then the axle.
    pub spreads: Vec<Spread>,
    /// Cars whose wheels and axle keep every limit that is tried on them; `None` without `[limits]`, or when none is tried.
    pub within_all_limits: Option<Proportion>,
    /// The same once toe is set again on cars with links as cut: all limits but that of the thrust angle. `None` with adjusted
    /// links, and when the thrust angle is not tried.
    pub with_toe_set: Option<Proportion>,
    /// How many limits of the file were tried.
    pub limits: LimitCount,
    /// Cars with both wheels inside the bump-steer limit; `None` when it is not tried.
    pub within_bump_steer: Option<Proportion>,
    /// Wheels that are in no figure.
    pub lost: PerSide<LostCars>,
    /// Of the toe curves of each side.
    pub bands: PerSide<CurveBand>,
    /// Worst bump steer, deg.
    pub worst_deg: PerSide<Histogram>,
    /// How far the last bracket is moved, mm: median and 95th percentile over the cars.
    pub last_moves_mm: Option<PerSide<(f64, f64)>>,
}

impl Tolerance {
    /// How a quantity of one wheel spreads; `None` when it is not followed.
    pub fn spread(&self, quantity: Quantity, side: Side) -> Option<&Spread> {
        self.spreads.iter().find(|spread| spread.quantity == quantity && spread.side == Some(side))
    }
}

#[cfg(test)]
mod tests {
    use super::{BuildFailure, LostCars};

    #[test]
    fn a_lost_wheel_counts_under_its_reason_and_once_in_all() {
        let mut lost = LostCars::default();
        let binds = BuildFailure::Binds { in_droop: None, in_bump: None };
        for (why, times) in [(BuildFailure::DoesNotAssemble, 1), (binds, 2), (BuildFailure::Singular, 4)] {
            (0..times).for_each(|_| lost.add(why));
        }
        assert_eq!(lost, LostCars { does_not_assemble: 1, binds: 2, singular: 4 });
        assert_eq!((lost.all(), lost.plus(lost).all()), (7, 14));
    }
}
