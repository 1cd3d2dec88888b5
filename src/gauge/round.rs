//! A gauging that lies behind, and what was changed after it.

use nalgebra::{Unit, Vector3};
use serde::Serialize;

use super::model::{GaugeReading, GaugeReadings};
use crate::geometry::{End, PerSide};

/// How well the instruments read: one standard deviation each, common practice in the shop where nothing better is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GaugeNoise {
    /// Of one toe reading of an angle gauge; of toe plates, of the total.
    pub toe_sd_deg: f64,
    /// Of one camber reading.
    pub camber_sd_deg: f64,
    /// Of one dial.
    pub dial_sd_mm: f64,
    /// Of the place of a laser's spot.
    pub spot_sd_mm: f64,
    /// Of what all toe readings of one session and side are off by in common.
    pub toe_offset_sd_deg: f64,
    /// The same of camber readings.
    pub camber_offset_sd_deg: f64,
    /// Of the height that the builder took for design height.
    pub bump_zero_sd_mm: f64,
}

impl Default for GaugeNoise {
    fn default() -> Self {
        Self {
            toe_sd_deg: 0.02,
            camber_sd_deg: 0.05,
            dial_sd_mm: 0.1,
            spot_sd_mm: 0.5,
            toe_offset_sd_deg: 0.05,
            camber_offset_sd_deg: 0.1,
            bump_zero_sd_mm: 1.0,
        }
    }
}

/// One gauging of the car that lies behind, and what was changed after it.
#[derive(Debug, Clone, PartialEq)]
pub struct Round {
    /// What was read.
    pub readings: GaugeReadings,
    /// How well.
    pub noise: GaugeNoise,
    /// What was changed then; toe was set to the gauge after it.
    pub changes: PerSide<Vec<Change>>,
}

impl Round {
    /// The same with the readings of these lines left out.
    pub fn without(&self, lines: &[usize]) -> Self {
        let mut left = self.clone();
        left.readings.readings.retain(|reading| !lines.contains(&reading.line));
        left
    }

    /// The same with each reading changed so.
    pub fn with_each(&self, change: impl Fn(GaugeReading) -> GaugeReading) -> Self {
        let mut changed = self.clone();
        changed.readings.readings.iter_mut().for_each(|reading| *reading = change(*reading));
        changed
    }
}

/// Something that was, or is to be, changed at one link.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// Index into [`Corner::links`](crate::geometry::Corner::links).
    pub link: usize,
    /// What of it.
    pub what: What,
    /// How much: mm along the direction of a shim or slot; of a length, eye to eye, longer positive.
    pub by_mm: f64,
}

/// What of a link is changed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum What {
    /// A pickup is moved by shims or spacers.
    Shim {
        /// Which one.
        end: End,
        /// Unit direction, side axes; an upright's as the upright stands in the drawing.
        along: Unit<Vector3<f64>>,
    },
    /// A pickup is moved in its slot; the same as a shim to everything but the shop.
    Slot {
        /// Which one.
        end: End,
        /// As of a shim.
        along: Unit<Vector3<f64>>,
    },
    /// The link is made longer or shorter.
    Length,
}

impl What {
    /// `shim`, `slot` or `length`, as files write it.
    pub fn name(self) -> &'static str {
        match self {
            What::Shim { .. } => "shim",
            What::Slot { .. } => "slot",
            What::Length => "length",
        }
    }

    /// The pickup that is moved and which way, side axes; `None` of a length.
    pub fn moves(self) -> Option<(End, Unit<Vector3<f64>>)> {
        match self {
            What::Shim { end, along } | What::Slot { end, along } => Some((end, along)),
            What::Length => None,
        }
    }
}
