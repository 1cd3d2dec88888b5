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
    let errors = ErrorModel::of_measuring(rig.geometry, side, tape);
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

#[cfg(test)]
mod tests {
    use super::{SEED, WHEELS, tape_band};
    use crate::file::GeometryFile;
    use crate::geometry::{Side, Tape};
    use crate::mechanism::{LinkSetting, Linkage, WheelPath};
    use crate::studies::errors::ErrorModel;
    use crate::studies::errors::model::pickup_errors;
    use crate::studies::{JudgedCar, Rig};

    /// Its stop stands 0.3 mm before the wheel binds, so that many wheels of a rough tape are lost: each is followed by itself.
    #[test]
    fn wheels_that_bind_are_told_and_the_drawing_is_the_one_that_a_sweep_shows() {
        let text = include_str!("../../tests/outside/near-fold.toml");
        let mut geometry = GeometryFile::parse("near fold", text).expect("a sound car").geometry;
        geometry.tape = Some(Tape { sd_mm: 0.3 });
        let judged = JudgedCar::of(Rig::new(&geometry).expect("the drawing holds its wheels"));
        let band = tape_band(&judged.rig, Side::Left).expect("the drawing moves");
        let errors = ErrorModel::of_measuring(&geometry, Side::Left, geometry.tape);
        let bump_mm: Vec<f64> = judged.rig.left.postures_shown().map(|posture| posture.bump_mm).collect();
        let linkage = Linkage::new(&geometry.left);
        let binds = |wheel: &u64| {
            let drawn = pickup_errors(&errors.draw(SEED, *wheel, Side::Left));
            WheelPath::follow_built(&linkage, &drawn, LinkSetting::Adjusted, &bump_mm).is_err()
        };
        let lost = (0..WHEELS as u64).filter(binds).count();
        assert!(lost > WHEELS / 10 && lost < WHEELS / 2, "{lost}");
        assert_eq!((band.lost, band.wheels), (lost, WHEELS));
        let swept = judged.toe.left.worst_bump_steer_deg;
        assert!((band.as_drawn_deg - swept).abs() < 1e-9 && swept > 0.01, "{} for {swept}", band.as_drawn_deg);
    }
}
