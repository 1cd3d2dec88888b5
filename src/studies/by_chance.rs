//! What chance makes of the worst bump steer: points measured with a tape, brackets welded by hand.

use rand::SeedableRng;
use rand::rngs::StdRng;

use super::random::normal;
use super::sensitivity::Sensitivity;
use crate::geometry::Interval;

/// Cars drawn for the band; its ends are then good to a few per cent of its width.
const CARS: usize = 2000;
/// The band holds 19 of 20 cars.
const OUTSIDE: f64 = 0.05;
const SEED: u64 = 20;

/// Worst bump steer of many cars whose pickups are off by chance, deg per wheel, rising.
#[derive(Debug, Clone)]
pub struct WorstByChance {
    sorted_deg: Vec<f64>,
}

impl WorstByChance {
    /// Every coordinate of every pickup off by a normal error of this standard deviation, mm.
    ///
    /// The toe curve is taken to first order in the errors; its worst value, which has a corner wherever the curve is
    /// flat, is sampled. Source: law of propagation of uncertainty and its Monte Carlo form (JCGM 100 and 101, from
    /// memory). Tested by `tests/tune.rs`.
    pub fn drawn(sensitivity: &Sensitivity, sd_mm: f64) -> Self {
        let mut random = StdRng::seed_from_u64(SEED);
        let mut errors_mm = vec![0.0; sensitivity.effects.len()];
        let mut sorted_deg: Vec<f64> = (0..CARS)
            .map(|_| {
                errors_mm.iter_mut().for_each(|error| *error = sd_mm * normal(&mut random));
                let rows = sensitivity.toe_change_deg.iter().zip(&sensitivity.toe_by_coordinate);
                rows.map(|(change, by)| (change + dot(by, &errors_mm)).abs()).fold(0.0, f64::max)
            })
            .collect();
        sorted_deg.sort_by(f64::total_cmp);
        Self { sorted_deg }
    }

    /// The value that this share of the cars stays below, deg.
    pub fn at(&self, share: f64) -> f64 {
        self.sorted_deg[((CARS - 1) as f64 * share).round() as usize]
    }

    /// Where 19 of 20 cars lie, deg.
    pub fn band_deg(&self) -> Interval {
        Interval { low: self.at(OUTSIDE / 2.0), high: self.at(1.0 - OUTSIDE / 2.0) }
    }

    /// Proportion of the cars whose worst value is inside a limit.
    pub fn share_inside(&self, limit_deg: f64) -> f64 {
        self.sorted_deg.partition_point(|&worst| worst <= limit_deg) as f64 / CARS as f64
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
