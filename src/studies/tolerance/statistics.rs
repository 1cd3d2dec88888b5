//! Exact percentiles of kept numbers, and histograms of those that would be too many to keep.

use std::sync::atomic::{AtomicU32, Ordering};

use crate::geometry::Interval;

/// The `share`-th percentile of some numbers, by linear interpolation between the two order statistics at
/// `share · (n − 1)`, counted from 0; `None` of no numbers. Reorders them.
pub fn percentile(values: &mut [f64], share: f64) -> Option<f64> {
    let place = share * values.len().checked_sub(1)? as f64;
    let (_, &mut low, above) = values.select_nth_unstable_by(place as usize, f64::total_cmp);
    let next = above.iter().copied().min_by(f64::total_cmp).unwrap_or(low);
    let part = place - place.floor();
    // Values without end have no place between them.
    Some(if part == 0.0 || next == low { low } else { low + part * (next - low) })
}

/// Numbers counted in equal bins. Those beyond the ends are counted in the first and the last.
#[derive(Debug, Clone, PartialEq)]
pub struct Histogram {
    /// Lower edge of the first bin.
    pub low: f64,
    /// Width of a bin.
    pub width: f64,
    /// How many numbers are in each bin.
    pub counts: Vec<u32>,
}

impl Histogram {
    /// Empty bins between two numbers.
    pub fn new(low: f64, high: f64, bins: usize) -> Self {
        Self { low, width: (high - low) / bins as f64, counts: vec![0; bins] }
    }

    /// Counts a number.
    pub fn add(&mut self, value: f64) {
        let bin = bin(value, self.low, self.width, self.counts.len());
        self.counts[bin] += 1;
    }

    /// A percentile, numbers taken as spread evenly over their bin; `None` when nothing was counted.
    pub fn percentile(&self, share: f64) -> Option<f64> {
        let all: u64 = self.counts.iter().map(|&count| u64::from(count)).sum();
        let mut left = share * all as f64;
        for (bin, count) in self.counts.iter().map(|&count| f64::from(count)).enumerate() {
            if count > 0.0 && left <= count {
                return Some(self.low + self.width * (bin as f64 + left / count));
            }
            left -= count;
        }
        None
    }
}

fn bin(value: f64, low: f64, width: f64, bins: usize) -> usize {
    (((value - low) / width).max(0.0) as usize).min(bins - 1)
}

/// Bins over the room of a curve at one travel; the band is then known to about a thousandth of its width.
const BINS: usize = 2048;
/// The room is this many times what the first cars took.
const ROOM: f64 = 2.0;

/// Toe curves of any number of cars, counted at every travel: its size does not depend on the number of cars.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveBand {
    /// Of each row.
    pub bump_mm: Vec<f64>,
    /// The changes of toe counted at each row.
    pub toe_change_deg: Vec<Histogram>,
}

/// The same while it is counted, by any number of threads at once.
pub(super) struct BandCounter {
    rows: Vec<RowCounter>,
}

/// A histogram at one travel.
struct RowCounter {
    bump_mm: f64,
    low: f64,
    width: f64,
    counts: Vec<AtomicU32>,
}

impl BandCounter {
    /// Room for curves like those of the first few cars: the range of their changes of toe at every travel, zero in it.
    pub fn around(bump_mm: &[f64], first_deg: &[Interval]) -> Self {
        let row = |(&bump_mm, range): (&f64, &Interval)| {
            let (middle, half) =
                ((range.low + range.high) / 2.0, (ROOM * (range.high - range.low) / 2.0).max(MIN_ROOM_DEG));
            let Histogram { low, width, .. } = Histogram::new(middle - half, middle + half, BINS);
            RowCounter { bump_mm, low, width, counts: (0..BINS).map(|_| AtomicU32::new(0)).collect() }
        };
        Self { rows: bump_mm.iter().zip(first_deg).map(row).collect() }
    }

    pub fn add(&self, row: usize, toe_change_deg: f64) {
        let RowCounter { low, width, counts, .. } = &self.rows[row];
        // Sums do not depend on their order, so that any number of threads gives the same counts.
        counts[bin(toe_change_deg, *low, *width, counts.len())].fetch_add(1, Ordering::Relaxed);
    }

    pub fn into_band(self) -> CurveBand {
        let histogram = |row: RowCounter| {
            let counts = row.counts.into_iter().map(AtomicU32::into_inner).collect();
            (row.bump_mm, Histogram { low: row.low, width: row.width, counts })
        };
        let (bump_mm, toe_change_deg) = self.rows.into_iter().map(histogram).unzip();
        CurveBand { bump_mm, toe_change_deg }
    }
}

impl CurveBand {
    /// Bump travel, mm, and the percentile of the change of toe there, deg.
    pub fn percentile(&self, share: f64) -> Vec<(f64, f64)> {
        let rows = self.bump_mm.iter().zip(&self.toe_change_deg);
        rows.filter_map(|(&bump_mm, counts)| Some((bump_mm, counts.percentile(share)?))).collect()
    }
}

/// Where all curves meet, as at design, deg.
const MIN_ROOM_DEG: f64 = 1e-6;

#[cfg(test)]
mod tests {
    use super::{Histogram, percentile};

    #[test]
    fn percentiles_lie_between_the_numbers_around_them() {
        // The same by hand: place 0.9·4 = 3.6, 7 + 0.6·(11 − 7).
        let mut values = [11.0, 2.0, 7.0, 3.0, 5.0];
        assert!((percentile(&mut values, 0.9).unwrap_or(0.0) - 9.4).abs() < 1e-12);
        assert_eq!(percentile(&mut values, 0.5), Some(5.0));
        assert_eq!(percentile(&mut values, 1.0), Some(11.0));
        assert_eq!(percentile(&mut [], 0.5), None);
    }

    #[test]
    fn counted_numbers_keep_their_percentiles_to_a_bin() {
        let mut counts = Histogram::new(0.0, 1.0, 200);
        (0..10_000).for_each(|k| counts.add((f64::from(k) + 0.5) / 10_000.0));
        for share in [0.05, 0.25, 0.5, 0.95] {
            assert!((counts.percentile(share).unwrap_or(9.0) - share).abs() < 0.005);
        }
    }
}
