//! The odds of a tuned car as a member of `summary.json`.

use serde::Serialize;

use super::tolerance::chances;
use crate::geometry::Side;
use crate::studies::tolerance::{CarChance, LimitCount};
use crate::studies::tune::BuildOdds;

/// Of one answer: shares of cars, and the worst bump steer of one wheel.
#[derive(Debug, Serialize)]
pub(super) struct OddsSummary {
    cars: usize,
    seed: u64,
    chance: Option<f64>,
    chance_low: Option<f64>,
    chance_high: Option<f64>,
    /// Of those in the file, how many the chance is of.
    limits: LimitCount,
    /// The same inside the limits that were not let go; `None` where none was.
    kept: Option<KeptOdds>,
    left: WheelOdds,
    right: WheelOdds,
}

#[derive(Debug, Serialize)]
struct KeptOdds {
    chance: Option<f64>,
    chance_low: Option<f64>,
    chance_high: Option<f64>,
    limits: LimitCount,
}

impl KeptOdds {
    fn of(kept: &CarChance) -> Self {
        let [chance, chance_low, chance_high] = chances(kept.share);
        Self { chance, chance_low, chance_high, limits: kept.limits }
    }
}

#[derive(Debug, Serialize)]
struct WheelOdds {
    as_drawn_deg: f64,
    wheels_p90_deg: f64,
    /// 19 of 20 wheels lie between them.
    wheels_low_deg: f64,
    wheels_high_deg: f64,
}

impl OddsSummary {
    pub fn of(odds: &BuildOdds) -> Self {
        let [chance, chance_low, chance_high] = chances(odds.chance.share);
        let wheel = |side: Side| {
            let worst = odds.worst[side];
            WheelOdds {
                as_drawn_deg: worst.as_drawn_deg,
                wheels_p90_deg: worst.p90_deg,
                wheels_low_deg: worst.band_deg.low,
                wheels_high_deg: worst.band_deg.high,
            }
        };
        Self {
            cars: odds.cars,
            seed: odds.seed,
            chance,
            chance_low,
            chance_high,
            limits: odds.chance.limits,
            kept: odds.kept.as_ref().map(KeptOdds::of),
            left: wheel(Side::Left),
            right: wheel(Side::Right),
        }
    }
}
