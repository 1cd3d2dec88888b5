//! How well the worst bump steer is known when the points were measured with a tape.

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

use super::sensitivity::Sensitivity;
use crate::geometry::Band;

/// Cars drawn for the band; its ends are then good to a few per cent of its width.
const CARS: usize = 2000;
/// The band holds 19 of 20 cars.
const OUTSIDE: f64 = 0.05;
const SEED: u64 = 20;

/// Where the worst bump steer lies, 19 times of 20, when every coordinate of every pickup was measured with a normal
/// error of this standard deviation, mm; in deg per wheel.
///
/// The toe curve is taken to first order in the errors; its worst value, which has a corner wherever the curve is flat,
/// is sampled. Source: law of propagation of uncertainty and its Monte Carlo form (JCGM 100 and 101, from memory).
pub fn worst_bump_steer_band_deg(sensitivity: &Sensitivity, tape_sd_mm: f64) -> Band {
    let mut random = StdRng::seed_from_u64(SEED);
    let coordinates = sensitivity.effects.len();
    let mut errors_mm = vec![0.0; coordinates];
    let mut worst_deg: Vec<f64> = (0..CARS)
        .map(|_| {
            errors_mm.iter_mut().for_each(|error| *error = tape_sd_mm * normal(&mut random));
            let rows = sensitivity.toe_change_deg.iter().zip(&sensitivity.toe_by_coordinate);
            rows.map(|(change, by)| (change + dot(by, &errors_mm)).abs()).fold(0.0, f64::max)
        })
        .collect();
    worst_deg.sort_by(f64::total_cmp);
    let at = |share: f64| worst_deg[((CARS - 1) as f64 * share).round() as usize];
    Band { low: at(OUTSIDE / 2.0), high: at(1.0 - OUTSIDE / 2.0) }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// A standard normal number (Box and Muller, 1958).
fn normal(random: &mut StdRng) -> f64 {
    let (u, v): (f64, f64) = (random.random(), random.random());
    (-2.0 * (1.0 - u).ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}
