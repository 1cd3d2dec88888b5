//! How many built cars keep the limits, and how many wheels are lost.

use super::results::LostCars;
use super::tried::TriedLimits;
use crate::geometry::PerSide;
use crate::studies::errors::Proportion;

/// Cars that keep the limits, and wheels that are lost.
#[derive(Debug, Clone)]
pub(super) struct Counts {
    pub cars: usize,
    /// By the limits of each wheel, and of the axle.
    pub wheels: PerSide<Vec<usize>>,
    pub axle: Vec<usize>,
    pub within_all_limits: usize,
    /// Those that were let go left aside.
    pub within_kept: usize,
    pub within_all_but_thrust_angle: usize,
    pub within_bump_steer: usize,
    pub lost: PerSide<LostCars>,
}

impl Counts {
    /// Of no car yet.
    pub fn none(limits: &TriedLimits) -> Self {
        Self {
            cars: 0,
            wheels: limits.wheels.as_ref().map(|limits| vec![0; limits.len()]),
            axle: vec![0; limits.axle.len()],
            within_all_limits: 0,
            within_kept: 0,
            within_all_but_thrust_angle: 0,
            within_bump_steer: 0,
            lost: PerSide::default(),
        }
    }

    pub fn plus(self, more: Self) -> Self {
        let sum = |a: Vec<usize>, b: Vec<usize>| a.into_iter().zip(b).map(|(a, b)| a + b).collect();
        Self {
            cars: self.cars + more.cars,
            wheels: self.wheels.zip(more.wheels).map(|(a, b)| sum(a, b)),
            axle: sum(self.axle, more.axle),
            within_all_limits: self.within_all_limits + more.within_all_limits,
            within_kept: self.within_kept + more.within_kept,
            within_all_but_thrust_angle: self.within_all_but_thrust_angle + more.within_all_but_thrust_angle,
            within_bump_steer: self.within_bump_steer + more.within_bump_steer,
            lost: self.lost.zip(more.lost).map(|(a, b)| a.plus(b)),
        }
    }

    /// So many of all cars.
    pub fn of(&self, count: usize) -> Proportion {
        Proportion { count, of: self.cars }
    }
}
