//! Spread of the worst bump steer when every point is off by the error of the tape.

use serde::Serialize;

use super::errors::ErrorModel;
use super::rig::Rig;
use super::tolerance::WorstBumpSteer;
use crate::geometry::{Interval, Side};

/// Wheels built; the ends of the band are then good to a few per cent of its width.
const WHEELS: usize = 2000;
const SEED: u64 = 20;

/// Range of the worst bump steer of one wheel whose points are off by the error of the tape, deg.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TapeBand {
    /// One standard deviation of each measured coordinate, mm.
    pub tape_sd_mm: f64,
    /// Worst bump steer of the points as measured.
    pub as_drawn_deg: f64,
    /// 19 of 20 wheels that move lie in it.
    pub band_deg: Interval,
    /// Built to find it.
    pub wheels: usize,
    /// Wheels that do not get through their travel, and are not in the band.
    pub lost: usize,
}

/// Builds many wheels of one side with the errors of the tape alone, links adjusted; `None` without `[tape]`, or when the
/// side is singular or binds as drawn. Tested by `src/studies/tolerance/outside.rs`.
pub fn tape_band(rig: &Rig, side: Side) -> Option<TapeBand> {
    let tape = rig.geometry.tape?;
    let worst = WorstBumpSteer::of(rig, side, &ErrorModel::of_tape(tape), WHEELS, SEED)?;
    Some(TapeBand {
        tape_sd_mm: tape.sd_mm,
        as_drawn_deg: worst.as_drawn_deg,
        band_deg: worst.band_deg()?,
        wheels: worst.wheels(),
        lost: worst.lost(),
    })
}
