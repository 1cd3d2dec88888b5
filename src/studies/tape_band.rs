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
    /// One standard deviation of each measured coordinate, mm; `None` without `[tape]`.
    pub tape_sd_mm: Option<f64>,
    /// Pickups that have standard deviations of their own in its place.
    pub measured_points: usize,
    /// Worst bump steer of the points as measured.
    pub as_drawn_deg: f64,
    /// 19 of 20 wheels that move lie in it.
    pub band_deg: Interval,
    /// Built to find it.
    pub wheels: usize,
    /// Wheels that do not get through their travel, and are not in the band.
    pub lost: usize,
}

/// Builds many wheels of one side with the errors of measuring alone, links adjusted; `None` when the file says nothing of
/// these, or when the side is singular or binds as drawn. Tested by `src/studies/tolerance/outside.rs`.
pub fn tape_band(rig: &Rig, side: Side) -> Option<TapeBand> {
    let (tape, measured_points) = (rig.geometry.tape, rig.geometry.measured_points(side));
    if tape.is_none() && measured_points == 0 {
        return None;
    }
    let errors = ErrorModel::of_measuring(rig.geometry.corner(side), tape);
    let worst = WorstBumpSteer::of(rig, side, &errors, WHEELS, SEED)?;
    Some(TapeBand {
        tape_sd_mm: tape.map(|tape| tape.sd_mm),
        measured_points,
        as_drawn_deg: worst.as_drawn_deg,
        band_deg: worst.band_deg()?,
        wheels: worst.wheels(),
        lost: worst.lost(),
    })
}
