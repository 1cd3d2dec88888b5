//! Random numbers that a seed, the number of a car and their use decide alone.

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

/// A stream of its own for every seed, car, wheel and use: the four numbers are the key of the generator.
pub(super) fn stream(seed: u64, car: u64, wheel: u64, purpose: u64) -> StdRng {
    let mut key = [0; 32];
    for (part, number) in key.chunks_exact_mut(8).zip([seed, car, wheel, purpose]) {
        part.copy_from_slice(&number.to_le_bytes());
    }
    StdRng::from_seed(key)
}

/// Two independent standard normal numbers (Box and Muller, 1958).
pub(super) fn normal_pair(random: &mut StdRng) -> [f64; 2] {
    let (u, v): (f64, f64) = (random.random(), random.random());
    let (sin, cos) = (std::f64::consts::TAU * v).sin_cos();
    let radius = (-2.0 * (1.0 - u).ln()).sqrt();
    [radius * cos, radius * sin]
}

/// A standard normal number.
pub(super) fn normal(random: &mut StdRng) -> f64 {
    normal_pair(random)[0]
}

#[cfg(test)]
mod tests {
    use super::{normal_pair, stream};

    /// Shares of a normal distribution within 1, 2 and 3 standard deviations, as printed in any table.
    #[test]
    fn normal_numbers_keep_the_shares_of_the_tables() {
        let numbers: Vec<f64> = (0..100_000).flat_map(|car| normal_pair(&mut stream(7, car, 0, 0))).collect();
        for (within, share) in [(1.0, 0.682_689), (2.0, 0.954_500), (3.0, 0.997_300)] {
            let got = numbers.iter().filter(|x| x.abs() <= within).count() as f64 / 200_000.0;
            assert!((got - share).abs() < 4.0 * (share * (1.0 - share) / 200_000.0_f64).sqrt(), "{within}: {got}");
        }
    }
}
