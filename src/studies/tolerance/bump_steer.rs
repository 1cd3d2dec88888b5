//! Bump steer of built cars alone: what a bracket welded last is compared with.

use rayon::prelude::*;

use super::last_bracket::{LastBracket, NoLastBracket};
use super::monte_carlo::{MonteCarlo, Watch};
use super::results::Tolerance;
use super::statistics::percentile;
use super::study::ToleranceStudy;
use crate::geometry::{PerSide, Quantity};
use crate::studies::errors::Proportion;

/// Worst bump steer of built wheels, and how many keep the limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BumpSteerOdds {
    /// Wheels of each side that keep the limit; `None` without one.
    pub one_wheel: PerSide<Option<Proportion>>,
    /// Cars that keep it with both wheels.
    pub both_wheels: Option<Proportion>,
    /// Median of the worst bump steer of the wheels that move, deg; `None` when no wheel moves through its travel.
    pub median_deg: PerSide<Option<f64>>,
}

/// Cars that one thread builds at a time.
const FEW: usize = 256;

impl BumpSteerOdds {
    /// Of a whole study.
    pub(super) fn of(study: &Tolerance) -> Self {
        let spread = |side| study.spread(Quantity::BumpSteer, side);
        Self {
            one_wheel: PerSide::of(|side| spread(side).and_then(|spread| spread.chance)),
            both_wheels: study.within_bump_steer,
            median_deg: PerSide::of(|side| spread(side).map(|spread| spread.p50)),
        }
    }
}

impl ToleranceStudy<'_> {
    /// The cars of a study whose last bracket stays where it came out with the rest, links adjusted: the same cars as those of
    /// a study without a last bracket, of which nothing but bump steer is read. After a stop it is of the cars that are built by
    /// then. Tested by `cars_without_their_last_bracket_placed_are_those_of_a_plain_study`.
    pub(super) fn unplaced(
        &self,
        options: &MonteCarlo,
        bracket: &LastBracket,
        watch: Watch<'_>,
    ) -> Result<BumpSteerOdds, NoLastBracket> {
        let placings = self.placings_of(bracket)?;
        let few = |first: usize| {
            let cars = first as u64..(first + FEW).min(options.cars) as u64;
            let worst_deg = placings.as_ref().map(|placing| {
                let side = placing.model.corner.side;
                let draw = |car| options.error_models[side].draw_pickups(options.seed, car, side);
                placing.worst_unmoved_deg(&cars.clone().map(draw).collect::<Vec<_>>())
            });
            worst_deg.left.into_iter().zip(worst_deg.right).map(|(left, right)| PerSide { left, right })
        };
        let starts: Vec<usize> = (0..options.cars).step_by(FEW).collect();
        let is_wanted = |&first: &usize| first == 0 || !(watch.stop)();
        let worst_deg: Vec<PerSide<f64>> = starts.into_par_iter().filter(is_wanted).flat_map_iter(few).collect();
        Ok(self.odds_of(&worst_deg))
    }

    /// Of the worst bump steer of the wheels of every car, deg; NaN of a wheel that does not move through its travel.
    fn odds_of(&self, worst_deg: &[PerSide<f64>]) -> BumpSteerOdds {
        let limit_deg = self.geometry.bump_steer_limit_deg().filter(|_| self.limits.has(Quantity::BumpSteer));
        let share = |count: usize| Proportion { count, of: worst_deg.len() };
        let keeping = |keeps: &dyn Fn(&PerSide<f64>, f64) -> bool| {
            limit_deg.map(|limit| share(worst_deg.iter().filter(|worst| keeps(worst, limit)).count()))
        };
        let median_deg = PerSide::of(|side| {
            let mut moving: Vec<f64> = worst_deg.iter().map(|worst| worst[side]).filter(|deg| !deg.is_nan()).collect();
            percentile(&mut moving, 0.5)
        });
        BumpSteerOdds {
            one_wheel: PerSide::of(|side| median_deg[side].and(keeping(&|worst, limit| worst[side] <= limit))),
            both_wheels: keeping(&|worst, limit| worst.left <= limit && worst.right <= limit),
            median_deg,
        }
    }
}
