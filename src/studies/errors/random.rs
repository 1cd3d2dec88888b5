//! Random numbers that a seed, the number of a car, its wheel and their purpose decide alone.

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};
use rand_distr::{Distribution, StandardNormal};

use crate::geometry::Side;

/// What a stream of random numbers is for; each has its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::studies) enum Purpose {
    /// Errors of the pickups.
    Pickups = 0,
    /// Readings of a toe gauge.
    Gauge = 1,
    /// Where a bracket ends up that was placed to a gauge.
    Placing = 2,
    /// Cars that fit gauge readings.
    Fitting = 3,
}

/// A stream of its own for every seed, car, wheel and purpose: the four numbers are the key of the generator.
pub(in crate::studies) fn stream(seed: u64, car: u64, side: Side, purpose: Purpose) -> StdRng {
    let wheel = match side {
        Side::Left => 0,
        Side::Right => 1,
    };
    let mut key = [0; 32];
    for (part, number) in key.chunks_exact_mut(8).zip([seed, car, wheel, purpose as u64]) {
        part.copy_from_slice(&number.to_le_bytes());
    }
    StdRng::from_seed(key)
}

/// Random numbers of mean 0 and variance 1, uniform or normal (ziggurat of Marsaglia and Tsang, 2000).
pub(in crate::studies) struct UnitDeviates {
    random: StdRng,
    uniform: bool,
}

impl UnitDeviates {
    pub fn new(random: StdRng, uniform: bool) -> Self {
        Self { random, uniform }
    }

    /// Those that follow are normal.
    pub fn make_normal(&mut self) {
        self.uniform = false;
    }

    #[inline]
    pub fn next(&mut self) -> f64 {
        if self.uniform {
            return f64::sqrt(3.0) * (2.0 * self.random.random::<f64>() - 1.0);
        }
        StandardNormal.sample(&mut self.random)
    }
}

#[cfg(test)]
mod tests {
    use super::{Purpose, UnitDeviates, stream};
    use crate::geometry::Side;

    /// Shares of a normal distribution within 1, 2 and 3 standard deviations, as printed in any table.
    #[test]
    fn normal_numbers_keep_the_shares_of_the_tables() {
        let pair = |car| {
            let mut units = UnitDeviates::new(stream(7, car, Side::Left, Purpose::Pickups), false);
            [units.next(), units.next()]
        };
        let numbers: Vec<f64> = (0..100_000).flat_map(pair).collect();
        for (within, share) in [(1.0, 0.682_689), (2.0, 0.954_500), (3.0, 0.997_300)] {
            let got = numbers.iter().filter(|x| x.abs() <= within).count() as f64 / 200_000.0;
            assert!((got - share).abs() < 4.0 * (share * (1.0 - share) / 200_000.0_f64).sqrt(), "{within}: {got}");
        }
    }
}
