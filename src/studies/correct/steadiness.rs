//! One reading in line after line: a gauge that was stuck, or lines that were copied down. A flat toe curve read by a gauge with
//! coarse marks is neither.
//!
//! Tested by `tests/correct/steadiness.rs`.

use serde::Serialize;

use super::instrument::{Number, numbers};
use crate::gauge::{Read, ReadSide, Round};
use crate::geometry::Side;

/// Fewer heights with one reading say nothing: a toe curve has a crest.
const MIN_HEIGHTS: usize = 5;
/// A gauge that moves shows such a run no more often than this.
const STUCK_SO_OFTEN: f64 = 1e-4;
/// The marks of gauges, in the unit of their column, the coarsest first.
const MARKS: [f64; 12] = [1.0, 0.5, 0.25, 0.2, 0.1, 0.05, 0.025, 0.02, 0.01, 0.005, 0.002, 0.001];
/// A number stands on a mark when it is as near to it, in marks.
const ON_MARK: f64 = 1e-6;
/// Fewer neighbours do not tell how often two readings are alike.
const MIN_NEIGHBOURS: usize = 6;

/// One reading in line after line.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Stuck {
    /// First and last line of the file.
    pub lines: [usize; 2],
    /// Heights at which the wheel was.
    pub heights: usize,
}

/// One column of readings, in the order of the file.
struct Series {
    rows: Vec<Row>,
    sd: f64,
}

struct Row {
    line: usize,
    bump_mm: f64,
    reading: f64,
}

/// What one column shows of a reading.
type Column = fn(&Read, &Number) -> f64;

/// The longest run of one reading that noise does not leave, on this wheel.
pub(super) fn stuck(round: &Round, side: Side) -> Option<Stuck> {
    let whole: Column = |_, number| number.value;
    let dials: [Column; 2] = [
        |read, _| if let Read::Dials { front_mm, .. } = read { *front_mm } else { f64::NAN },
        |read, _| if let Read::Dials { rear_mm, .. } = read { *rear_mm } else { f64::NAN },
    ];
    let of_column = |column: Column, sds: f64| {
        let all = [ReadSide::One(side.other()), ReadSide::One(side), ReadSide::Both];
        let all = all.map(|side| Series::of(round, side, column, sds));
        // A plate may be pushed until one of its dials shows the same at every height.
        let is_held = sds < 1.0 && all.iter().all(|series| series.runs().count() <= 1);
        let marks = mark(all.iter().flat_map(|series| &series.rows)).filter(|_| !is_held)?;
        all[1..].iter().find_map(|series| series.stuck(&all, marks))
    };
    let dials = dials.into_iter().filter_map(|dial| of_column(dial, std::f64::consts::FRAC_1_SQRT_2));
    of_column(whole, 1.0).into_iter().chain(dials).max_by_key(|stuck| stuck.heights)
}

impl Series {
    /// With the noise of its number times `sds`.
    fn of(round: &Round, side: ReadSide, column: Column, sds: f64) -> Self {
        let mut series = Self { rows: Vec::new(), sd: f64::NAN };
        for reading in round.readings.readings.iter().filter(|reading| reading.side == side) {
            let numbers = numbers(round.readings.instrument, &round.noise, side, reading.read);
            if let Some(number) = numbers.first() {
                series.sd = sds * number.sd;
                let reading_there = column(&reading.read, number);
                series.rows.push(Row { line: reading.line, bump_mm: reading.bump_mm, reading: reading_there });
            }
        }
        series
    }

    /// Neighbours with one reading.
    fn runs(&self) -> impl Iterator<Item = &[Row]> {
        self.rows.chunk_by(|a, b| a.reading == b.reading)
    }

    fn stuck(&self, all: &[Series], marks: f64) -> Option<Stuck> {
        let run = self.runs().max_by_key(|run| run.len())?;
        let mut heights: Vec<f64> = run.iter().map(|row| row.bump_mm).collect();
        heights.sort_by(f64::total_cmp);
        heights.dedup();
        // Two readings with normal errors stand on one fine mark so often: the density of their difference at 0.
        let by_noise = marks / (2.0 * std::f64::consts::PI.sqrt() * self.sd);
        let pairs: usize = all.iter().map(|series| series.rows.len().saturating_sub(1)).sum();
        let alike: usize = all.iter().flat_map(Series::runs).map(|run| run.len() - 1).sum();
        let [pairs, alike] = [pairs, alike].map(|count| count - (run.len() - 1));
        let by_others = if pairs < MIN_NEIGHBOURS { 0.0 } else { alike as f64 / pairs as f64 };
        let so_often = (1 + pairs) as f64 * by_noise.max(by_others).powi(run.len() as i32 - 1);
        let is_stuck = heights.len() >= MIN_HEIGHTS && so_often < STUCK_SO_OFTEN;
        is_stuck.then_some(Stuck { lines: [run.first()?.line, run.last()?.line], heights: heights.len() })
    }
}

/// The coarsest mark on which all readings stand; `None` where they stand on none, or there are none.
fn mark<'r>(rows: impl Iterator<Item = &'r Row>) -> Option<f64> {
    let readings: Vec<f64> = rows.map(|row| row.reading).collect();
    let is_on = |mark: &f64| readings.iter().all(|reading| (reading / mark - (reading / mark).round()).abs() < ON_MARK);
    MARKS.into_iter().find(is_on).filter(|_| !readings.is_empty())
}
