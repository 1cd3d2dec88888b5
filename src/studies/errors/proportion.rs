//! Shares of cars, and how well they are known.

/// How many cars of a number did something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Proportion {
    /// So many.
    pub count: usize,
    /// Of so many.
    pub of: usize,
}

/// 19 of 20 standard normal numbers lie within this.
const NINETEEN_OF_TWENTY: f64 = 1.959_963_984_540_054;

impl Proportion {
    /// Between 0 and 1; 0 of no cars.
    pub fn value(self) -> f64 {
        if self.of == 0 { 0.0 } else { self.count as f64 / self.of as f64 }
    }

    /// Where the true share lies, 19 times of 20: Wilson's score interval.
    ///
    /// `(p + z²/2n ± z √(p(1−p)/n + z²/4n²)) / (1 + z²/n)`. Source: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209 (from
    /// memory). Tested by `the_interval_is_the_one_of_the_tables`.
    pub fn interval(self) -> (f64, f64) {
        if self.of == 0 {
            return (0.0, 1.0);
        }
        let (n, p, z) = (self.of as f64, self.value(), NINETEEN_OF_TWENTY);
        let square = z * z / n;
        let middle = p + square / 2.0;
        let half = z * (p * (1.0 - p) / n + square / (4.0 * n)).sqrt();
        let low = if self.count == 0 { 0.0 } else { (middle - half) / (1.0 + square) };
        let high = if self.count == self.of { 1.0 } else { (middle + half) / (1.0 + square) };
        (low, high)
    }
}

#[cfg(test)]
mod tests {
    use super::{NINETEEN_OF_TWENTY, Proportion};

    #[test]
    fn the_interval_is_the_one_of_the_tables() {
        // Standard normal quantile of 0.975 in printed tables: 1.959964. 81 of 263: Newcombe, Statistics in Medicine 17
        // (1998) 857, table I, the score method: 0.2553 to 0.3662; 0 of 20: 0.0000 to 0.1611; 1 of 29: 0.0061 to 0.1718.
        assert!((NINETEEN_OF_TWENTY - 1.959_964).abs() < 5e-7);
        for (count, of, low, high) in [(81, 263, 0.2553, 0.3662), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)] {
            let (got_low, got_high) = Proportion { count, of }.interval();
            assert!((got_low - low).abs() < 5.1e-5 && (got_high - high).abs() < 5.1e-5, "{got_low} {got_high}");
        }
    }

    #[test]
    fn a_share_of_all_is_certain_only_at_its_upper_end() {
        let (low, high) = Proportion { count: 100, of: 100 }.interval();
        assert!(high == 1.0 && low > 0.95 && low < 1.0);
    }
}
