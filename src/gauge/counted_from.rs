//! Heights that are counted from an end of the travel in place of design height.
//!
//! Tested by `tests/gauge/counted_from.rs`.

use serde::Serialize;

use super::model::{GaugeReading, GaugeReadings};
use crate::geometry::{Interval, Side};

/// Fewer heights, in all and beyond a stop, may be slips of single lines.
const MIN_HEIGHTS: usize = 4;
const MIN_BEYOND: usize = 3;
/// The first height is 0 give or take this share of the travel: nobody finds full droop to the mm.
const AT_ZERO: f64 = 0.1;
/// Heights from stop to stop span so much of the travel; from design height to one stop they span less.
const WHOLE_TRAVEL: [f64; 2] = [0.75, 1.1];
/// They go so far beyond one stop and stay so far from the other, as a share of the travel.
const SHIFTED: f64 = 0.15;

/// An end of the travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum TravelEnd {
    /// The wheel hangs.
    FullDroop,
    /// The wheel is up against its stop.
    FullBump,
}

impl TravelEnd {
    /// As sentences have it.
    pub fn name(self) -> &'static str {
        match self {
            Self::FullDroop => "full droop",
            Self::FullBump => "full bump",
        }
    }

    /// A travel or heights with this end below: those of full bump are turned over.
    fn below(self, of: Interval) -> Interval {
        match self {
            Self::FullDroop => of,
            Self::FullBump => Interval { low: -of.high, high: -of.low },
        }
    }
}

impl GaugeReadings {
    /// The end of this travel, mm, from which the heights of a wheel are counted; `None` where they may be counted from design height.
    pub fn counted_from(&self, side: Side, travel: Interval) -> Option<TravelEnd> {
        let heights = self.heights(side);
        let gauged = Interval { low: *heights.first()?, high: *heights.last()? };
        let beyond = heights.iter().filter(|mm| !travel.holds(&Interval::single(**mm))).count();
        let whole = travel.high - travel.low;
        let is_from = |end: &TravelEnd| {
            let (gauged, travel) = (end.below(gauged), end.below(travel));
            let span = (gauged.high - gauged.low) / whole;
            let shifted = (gauged.high - travel.high).min(gauged.low - travel.low);
            gauged.low.abs() <= AT_ZERO * whole
                && (WHOLE_TRAVEL[0]..=WHOLE_TRAVEL[1]).contains(&span)
                && shifted >= SHIFTED * whole
        };
        let is_gauging = heights.len() >= MIN_HEIGHTS && beyond >= MIN_BEYOND;
        [TravelEnd::FullDroop, TravelEnd::FullBump].into_iter().find(is_from).filter(|_| is_gauging)
    }

    /// The heights of a wheel may be counted from there, where those of the other wheel are: none lies on the far side of that end.
    pub fn may_be_counted_from(&self, side: Side, travel: Interval, end: TravelEnd) -> bool {
        let least = -AT_ZERO * (travel.high - travel.low);
        self.heights(side).iter().all(|mm| end.below(Interval::single(*mm)).low >= least)
    }

    /// Takes out the readings at heights outside of this travel, mm, and gives them back: slips of single lines. Heights that are
    /// wrong as a whole, turned or counted from an end of the travel, are told as that, and none of them is taken out.
    pub fn take_slips_beyond(&mut self, travel: Interval) -> Vec<GaugeReading> {
        if self.reach_when_turned(travel) {
            return Vec::new();
        }
        let from = Side::BOTH.map(|side| (side, self.counted_from(side, travel)));
        let is_wrong = |side: Side| {
            from.iter()
                .any(|(of, end)| end.is_some_and(|end| *of == side || self.may_be_counted_from(side, travel, end)))
        };
        let wrong: Vec<Side> = Side::BOTH.into_iter().filter(|side| is_wrong(*side)).collect();
        let is_slip = |reading: &GaugeReading| {
            let is_of_wrong = wrong.iter().any(|side| reading.side.is_of(*side));
            !is_of_wrong && !travel.holds(&Interval::single(reading.bump_mm))
        };
        let (beyond, kept) = self.readings.drain(..).partition(is_slip);
        self.readings = kept;
        beyond
    }

    /// Heights at which a wheel was read, from the lowest to the highest, mm.
    fn heights(&self, side: Side) -> Vec<f64> {
        let of_side = self.readings.iter().filter(|reading| reading.side.is_of(side));
        let mut heights: Vec<f64> = of_side.map(|reading| reading.bump_mm).collect();
        heights.sort_by(f64::total_cmp);
        heights.dedup();
        heights
    }
}
