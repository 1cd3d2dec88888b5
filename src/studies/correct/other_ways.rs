//! A column that was written wrongly as a whole: the ways to read it, each tried on the drawn car and its errors.
//!
//! Each way is fitted like the readings themselves. Half the difference of two sums of squares is the logarithm of the odds of one
//! way against the other, for all have the same prior. Play, which is the same at all heights, is taken out first, and a quarter of
//! the readings may be wrong one by one: neither is a column that is wrong as a whole.
//!
//! A smaller unit fits every reading better, for its noise shrinks with it. So toe is told to be in one only where it scatters far
//! more than its gauge and stands far from the toe of the file, which the smaller unit brings near.
//!
//! Tested by `tests/correct/misread.rs`.

use super::estimate::Misfit;
use super::finished_wheel::DrawnWheel;
use super::lash::without_play;
use super::misread::Misread;
use super::problem::Problem;
use crate::gauge::{GaugeReadings, Read, ReadSide, Round, TravelEnd};
use crate::geometry::{Interval, Side};
use crate::studies::tolerance::percentile;

/// A sum of squares that is less by this is told: odds of 20,000 to 1.
const FAR_LESS: f64 = 20.0;
/// Ways whose sums of squares differ by less leave open which it is: odds of about 1 in 90.
pub(super) const AS_LIKELY: f64 = 9.0;
/// Readings fit a way when they scatter no more than this, in standard deviations of the gauge.
const FITS: f64 = 2.5;
/// Toe in a smaller unit scatters at least so much as it is written; a ruler in place of a gauge comes to 3 ...
const SCATTERED: f64 = 4.0;
/// ... is off the toe of the file by this at least, deg ...
const LEAST_OFF_DEG: f64 = 0.25;
/// ... and in its unit so many times less.
const NEARER: f64 = 3.0;
/// What scatters so much is no reading of toe in degrees; in its unit it need only be no further off than this, deg, or than as written.
const FAR_SCATTERED: f64 = 6.0;
const NEAR_DEG: f64 = 0.2;
/// Heights that fill no more of the travel than this are in another unit if they are in reach with it: a gauging goes from stop to stop.
const NO_TRAVEL: f64 = 0.11;
/// In inches they then fill this share of the travel, in cm, which heights about design height may be taken for, all but the whole.
const FILLED_BY_INCHES: f64 = 0.4;
const FILLED_BY_CM: f64 = 0.8;
/// A height in reach may lie beyond a stop by so much, mm, as rounded inches do.
const BEYOND_STOP_MM: f64 = 1.0;
/// Fewer heights are no gauging from stop to stop.
const MIN_HEIGHTS: usize = 4;

/// A way to read a column in which the readings of a wheel fit the drawn car and its errors far better.
#[derive(Debug, Clone, PartialEq)]
pub struct OtherWay {
    /// The likeliest first; more than one where the readings do not tell.
    pub how: Vec<Misread>,
    /// What of the heights alone says so.
    pub by_heights: Option<ByHeights>,
}

/// What heights say before any car is fitted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ByHeights {
    /// They fill next to nothing of the travel.
    NoTravel {
        /// From the lowest to the highest, mm as they stand.
        span_mm: f64,
        /// Between the stops, mm.
        travel_mm: f64,
    },
    /// They go beyond one stop and not to the other, and from stop to stop with their sign turned.
    Turned,
    /// They go from 0 far beyond one stop, over about the whole travel.
    FromEnd {
        /// Of the readings that tell it, mm as they stand.
        gauged: Interval,
        /// From stop to stop, mm.
        travel: Interval,
    },
}

/// The readings of a wheel in one way.
struct Tried {
    how: Misread,
    misfit: Misfit,
}

/// All ways for the readings of some wheels that are found together.
pub(super) struct Ways {
    as_written: Option<Misfit>,
    tried: Vec<Tried>,
    told: Option<OtherWay>,
    /// Ends of the travel from which its heights may be counted where those of the other wheel are.
    may_be_from_end: Vec<Misread>,
}

impl Ways {
    /// Of the last gauging of these wheels; `problem` is made of it and of those before. `all` holds the readings of the other wheel too.
    pub fn of<'d>(
        wheels: &[&DrawnWheel<'_>],
        now: &Round,
        all: &GaugeReadings,
        problem: impl Fn(&Round) -> Problem<'d>,
    ) -> Option<Self> {
        let drawn = wheels.first()?;
        let travel = &drawn.geometry.travel;
        let travel = Interval { low: -travel.droop_mm, high: travel.bump_mm };
        let steady = without_play(now);
        let as_written = Misfit::of(&problem(&steady));
        let in_reach = |how: &Misread| match how {
            Misread::HeightsTurned | Misread::HeightsInInches | Misread::HeightsInCm => reaches(*how, now, travel),
            _ => true,
        };
        let ways = Misread::of(&now.readings, drawn.corner.wheel.toe_span_mm).into_iter().filter(in_reach);
        let tried = ways.filter_map(|how| {
            let misfit = Misfit::of(&problem(&steady.with_each(|reading| how.undone(reading))))?;
            Some(Tried { how, misfit })
        });
        let sides: Vec<Side> = wheels.iter().map(|drawn| drawn.corner.side).collect();
        let may_be_from_end = [TravelEnd::FullDroop, TravelEnd::FullBump].into_iter();
        let may_be_from_end =
            may_be_from_end.filter(|end| sides.iter().all(|side| all.may_be_counted_from(*side, travel, *end)));
        let may_be_from_end = may_be_from_end.map(|end| Misread::HeightsFrom { end }).collect();
        let mut ways = Self { as_written, tried: tried.collect(), told: None, may_be_from_end };
        let file_deg = |side: ReadSide| {
            let of_side = |drawn: &&&DrawnWheel<'_>| [ReadSide::One(drawn.corner.side), ReadSide::Both].contains(&side);
            wheels.iter().filter(of_side).map(|drawn| drawn.toe_deg()).sum::<f64>()
        };
        ways.told = ways.by_heights(now, all, &sides, travel).or_else(|| ways.by_fit(now, file_deg));
        Some(ways)
    }

    /// What is told; `None` where the readings are taken as they stand.
    pub fn told(&self) -> Option<&OtherWay> {
        self.told.as_ref()
    }

    /// What is told of the other wheel may be so of this one: its readings fit that way as well as they stand. A sign of toe or camber
    /// is often turned on one side alone.
    pub fn may_be(&self, other: &OtherWay) -> Option<OtherWay> {
        if matches!(other.by_heights, Some(ByHeights::FromEnd { .. })) {
            return self.may_be_from_end.iter().any(|how| other.how.contains(how)).then(|| other.clone());
        }
        let as_written = self.as_written.map_or(f64::INFINITY, |misfit| misfit.sum);
        let may_be =
            |how: &&Misread| self.tried.iter().any(|way| way.how == **how && way.misfit.sum < as_written + AS_LIKELY);
        let how: Vec<Misread> = other.how.iter().filter(|how| !how.is_of_one_side()).filter(may_be).copied().collect();
        (!how.is_empty()).then_some(OtherWay { how, by_heights: other.by_heights })
    }

    fn by_heights(&self, now: &Round, all: &GaugeReadings, sides: &[Side], travel: Interval) -> Option<OtherWay> {
        if all.reach_when_turned(travel) {
            return Some(OtherWay { how: vec![Misread::HeightsTurned], by_heights: Some(ByHeights::Turned) });
        }
        let mut heights: Vec<f64> = now.readings.readings.iter().map(|reading| reading.bump_mm).collect();
        heights.sort_by(f64::total_cmp);
        heights.dedup();
        if let Some(end) = sides.iter().find_map(|side| all.counted_from(*side, travel)) {
            let gauged = Interval { low: *heights.first()?, high: *heights.last()? };
            let by_heights = Some(ByHeights::FromEnd { gauged, travel });
            return Some(OtherWay { how: vec![Misread::HeightsFrom { end }], by_heights });
        }
        let (span_mm, travel_mm) = (heights.last()? - heights.first()?, travel.high - travel.low);
        if heights.len() < MIN_HEIGHTS || span_mm > NO_TRAVEL * travel_mm {
            return None;
        }
        let fills = |how: &Misread| how.stretches_heights().map_or(0.0, |times| times * span_mm / travel_mm);
        let least = |how: &Misread| if *how == Misread::HeightsInCm { FILLED_BY_CM } else { FILLED_BY_INCHES };
        let as_written = self.as_written.map_or(f64::INFINITY, |misfit| misfit.sum);
        let may_be = self.tried.iter().filter(|way| way.misfit.sum < as_written + FAR_LESS).map(|way| way.how);
        let mut how: Vec<Misread> = may_be.filter(|how| fills(how) >= least(how)).collect();
        how.truncate(1);
        (!how.is_empty()).then_some(OtherWay { how, by_heights: Some(ByHeights::NoTravel { span_mm, travel_mm }) })
    }

    fn by_fit(&self, now: &Round, file_deg: impl Fn(ReadSide) -> f64) -> Option<OtherWay> {
        let as_written = self.as_written?;
        let is_told = |way: &&Tried| {
            let is_better = way.misfit.sum < as_written.sum - FAR_LESS && way.misfit.scatter < FITS;
            is_better && (way.how.shrinks_toe() == 1.0 || is_in_smaller_unit(as_written, now, way.how, &file_deg))
        };
        // Of two units the smaller one leaves less of any reading: the odds of one reading are those of its density.
        let readings = now.readings.readings.len() as f64;
        let cost = |way: &Tried| way.misfit.sum + 2.0 * readings * way.how.shrinks_toe().ln();
        let mut told: Vec<(Misread, f64)> = self.tried.iter().filter(is_told).map(|way| (way.how, cost(way))).collect();
        told.sort_by(|a, b| a.1.total_cmp(&b.1));
        let least = told.first()?.1;
        let how = told.into_iter().take_while(|(_, cost)| *cost < least + AS_LIKELY).map(|(how, _)| how).collect();
        Some(OtherWay { how, by_heights: None })
    }
}

/// Heights read this way lie between the stops.
fn reaches(how: Misread, now: &Round, travel: Interval) -> bool {
    let travel = Interval { low: travel.low - BEYOND_STOP_MM, high: travel.high + BEYOND_STOP_MM };
    now.readings.readings.iter().all(|reading| travel.holds(&Interval::single(how.undone(*reading).bump_mm)))
}

/// Toe as it is written is no reading in degrees, and one in this smaller unit.
fn is_in_smaller_unit(as_written: Misfit, now: &Round, how: Misread, file_deg: &impl Fn(ReadSide) -> f64) -> bool {
    let [off_deg, then_deg] = [None, Some(how)].map(|how| toe_off_deg(now, how, file_deg));
    let is_nearer = off_deg >= LEAST_OFF_DEG && NEARER * then_deg <= off_deg;
    let may_be = then_deg <= off_deg.max(NEAR_DEG);
    (as_written.scatter >= SCATTERED && is_nearer) || (as_written.scatter >= FAR_SCATTERED && may_be)
}

/// How far toe is from that of the file, deg: the median of all readings.
fn toe_off_deg(now: &Round, how: Option<Misread>, file_deg: &impl Fn(ReadSide) -> f64) -> f64 {
    let off_deg = now.readings.readings.iter().filter_map(|reading| {
        let meant = how.map_or(*reading, |how| how.undone(*reading));
        match meant.read {
            Read::Angles { toe_rad, .. } => Some(toe_rad.to_degrees() - file_deg(meant.side)),
            Read::Dials { .. } | Read::Spot { .. } => None,
        }
    });
    percentile(&mut off_deg.collect::<Vec<f64>>(), 0.5).map_or(f64::NAN, f64::abs)
}
