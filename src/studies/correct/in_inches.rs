//! Dials or a spot on a wall that were read in inches and are taken for mm.
//!
//! Of a car that is all but flat no fit tells it: numbers that are 25 times too small are a curve that is flat as well. Two other
//! things do. Readings in inches lie 25 times nearer to a smooth curve than the noise of the gauge lets them, and their digits are
//! finer than the marks of a gauge in mm. Both together are no chance; where there is one of them, and the readings as inches would
//! be over the limit, what they would then mean is told.
//!
//! Tested by `tests/correct/in_inches.rs`.

use serde::Serialize;

use super::estimate::{Estimate, Fitted};
use super::finished_wheel::DrawnWheel;
use super::instrument::Shows;
use super::likely_wheel::LikelyWheel;
use super::misread::Misread;
use super::problem::Problem;
use super::rounds::rows_mm;
use crate::gauge::{Read, Round};
use crate::geometry::LengthUnit;

/// Readings in inches scatter by 1/25.4 of what they should, give or take what few readings leave open: told whatever their digits.
const QUIET_SHARE: f64 = 0.07;
/// A gauge twice as bad as it is taken for, in inches, on few readings; no shop has one in mm that is five times as good.
const DOUBTFUL_SHARE: f64 = 0.2;
/// Fewer residuals do not tell how much they scatter.
const MIN_RESIDUALS: usize = 6;
/// The finest marks of gauges in mm, half a division: of a dial with 0.01 mm, of a tape or a ruler on a wall with 0.1 mm.
const DIAL_MARK_MM: f64 = 0.005;
const SPOT_MARK_MM: f64 = 0.05;
/// A number stands on a mark when it is as near to it, in marks.
const ON_MARK: f64 = 1e-6;

/// Dials or a spot that scatter less than theirs do, or are written finer than they are read.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Quiet {
    /// How far they lie from a smooth curve over the noise of the gauge, root mean square; no unit. `None` of too few readings.
    pub share: Option<f64>,
    /// Some number has digits finer than a gauge in mm shows.
    pub is_finer_than_mm: bool,
    /// They are probably in inches; else they may be, and it would matter.
    pub is_probable: bool,
    /// Worst change of toe of the likeliest wheel had they been read in inches, deg; `None` where no wheel fits them so.
    pub worst_as_inches_deg: Option<f64>,
}

impl Quiet {
    /// Of the last gauging of a wheel; `now` holds its readings alone, and `problem` is made of it and of those before.
    pub(super) fn of<'d>(
        drawn: &'d DrawnWheel<'d>,
        now: &Round,
        fitted: &[&Fitted],
        limit_deg: f64,
        problem: impl Fn(&Round) -> Problem<'d>,
    ) -> Option<Self> {
        let lengths: Vec<&Fitted> =
            fitted.iter().filter(|fitted| is_length(fitted.observation.number.shows)).copied().collect();
        let (share, is_finer_than_mm) = (share(&lengths), is_finer_than_mm(now));
        let is_below = |most: f64| share.is_some_and(|share| share < most);
        let is_probable = is_below(QUIET_SHARE) || is_below(DOUBTFUL_SHARE) && is_finer_than_mm;
        let is_doubtful = is_below(DOUBTFUL_SHARE) || share.is_none() && is_finer_than_mm;
        if lengths.is_empty() || !(is_probable || is_doubtful) {
            return None;
        }
        let worst_as_inches_deg = worst_as_inches_deg(drawn, now, problem);
        let matters = worst_as_inches_deg.is_some_and(|worst_deg| worst_deg > limit_deg);
        (is_probable || matters).then_some(Self { share, is_finer_than_mm, is_probable, worst_as_inches_deg })
    }
}

/// Of the likeliest wheel by the readings as inches, over the rows of its travel.
fn worst_as_inches_deg<'d>(
    drawn: &'d DrawnWheel<'d>,
    now: &Round,
    problem: impl Fn(&Round) -> Problem<'d>,
) -> Option<f64> {
    let in_inches = now.with_each(|reading| Misread::InInches.undone(reading));
    let LikelyWheel { errors_mm, toe_off_deg, changes, .. } =
        LikelyWheel::of(&Estimate::of(&problem(&in_inches)).ok()?, 0);
    let rows_mm = rows_mm(drawn.geometry);
    let changes_deg = drawn.finished(&errors_mm, &changes, toe_off_deg, &rows_mm)?.toe_changes_deg(&rows_mm)?;
    Some(changes_deg.into_iter().map(f64::abs).fold(0.0, f64::max))
}

/// How far residuals lie from the line through those beside them, over the noise of the gauge; `None` of too few.
///
/// What a fitted car does not follow changes slowly with height, and play all at once: so neighbours by height are looked at and
/// neighbours in the order of the file, of which the steadier ones count.
fn share(lengths: &[&Fitted]) -> Option<f64> {
    let mut by_height = lengths.to_vec();
    by_height.sort_by(|a, b| a.observation.reading.bump_mm.total_cmp(&b.observation.reading.bump_mm));
    let mut in_order = lengths.to_vec();
    in_order.sort_by_key(|fitted| fitted.observation.reading.line);
    [by_height, in_order].iter().filter_map(|lengths| off_neighbours(lengths)).reduce(f64::min)
}

fn off_neighbours(lengths: &[&Fitted]) -> Option<f64> {
    let off = lengths.windows(3).filter_map(|three| {
        let [before, at, after] = [0, 1, 2].map(|k| three[k].observation.reading.bump_mm);
        let share = if after == before { 0.5 } else { (at - before) / (after - before) };
        // At a stop, where the wheel turns round, both neighbours are on one side.
        (0.0..=1.0).contains(&share).then(|| {
            let weights = [share - 1.0, 1.0, -share];
            let off: f64 = weights.iter().zip(three).map(|(weight, fitted)| weight * fitted.residual).sum();
            off * off / weights.iter().map(|weight| weight * weight).sum::<f64>()
        })
    });
    let off: Vec<f64> = off.collect();
    (off.len() >= MIN_RESIDUALS).then(|| (off.iter().sum::<f64>() / off.len() as f64).sqrt())
}

/// Some dial or spot stands on no mark of a gauge in mm.
fn is_finer_than_mm(now: &Round) -> bool {
    let is_off = |mm: f64, mark_mm: f64| (mm / mark_mm - (mm / mark_mm).round()).abs() >= ON_MARK;
    now.readings.readings.iter().any(|reading| match reading.read {
        Read::Angles { .. } => false,
        Read::Dials { front_mm, rear_mm } => [front_mm, rear_mm].iter().any(|mm| is_off(*mm, DIAL_MARK_MM)),
        Read::Spot { wall_mm } => is_off(wall_mm, SPOT_MARK_MM),
    })
}

/// A number that could be in inches.
pub(super) fn is_length(shows: Shows) -> bool {
    matches!(shows, Shows::Dials { .. } | Shows::Spot { .. })
}

/// What a number in mm would be had it been read in inches.
pub(super) fn from_inches(number: f64) -> f64 {
    number * LengthUnit::Inch.in_mm()
}
