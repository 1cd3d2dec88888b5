//! The spring at design height: what of it reaches the wheel, how fast the car bounces on it, how it is set up.

use serde::Serialize;

use crate::geometry::{Car, Corner, SpringMount};
use crate::measures::{SpringMeasures, spring, spring_mount_point};
use crate::mechanism::{Acceleration, Posture};
use crate::studies::RigWheel;

/// One spring at design height.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SpringFindings {
    /// Damper mm per wheel mm; no unit.
    pub motion_ratio: f64,
    /// Change of the motion ratio with bump travel, 1/mm.
    pub motion_ratio_slope_per_mm: f64,
    /// Eye to eye at design.
    pub length_mm: f64,
    /// That holds the corner's mass up; `None` without it.
    pub static_force_n: Option<f64>,
    /// Rate at the wheel, `k m² + F dm/db`; `None` without a rate. Without a mass F counts as 0.
    pub wheel_rate_n_per_mm: Option<f64>,
    /// Undamped, of the corner's mass on that rate and a rigid tyre.
    pub frequency_hz: Option<f64>,
    /// The spring itself under the static force; needs its free length.
    pub static_spring_mm: Option<f64>,
    /// By how much the spring is squeezed with the damper fully open, so that the car stands at design height: turns of the
    /// perch beyond just touching. Negative: it would rattle.
    pub preload_mm: Option<f64>,
}

impl SpringFindings {
    /// `None` without a spring, and where the links hold the wheel in no place.
    pub(super) fn of(wheel: &RigWheel) -> Option<Self> {
        let (corner, posture) = (wheel.corner, wheel.design_posture());
        let SpringMeasures { length_mm, ratio } = spring(corner, posture)?;
        let slope = motion_ratio_slope_per_mm(corner, posture)?;
        let make = &corner.spring.as_ref()?.make;
        let weight_n = make.corner_mass_kg.map(|kg| kg * Car::GRAVITY_N_PER_KG);
        let static_force_n = weight_n.map(|n| n / ratio).filter(|n| n.is_finite());
        let wheel_rate_n_per_mm =
            make.rate_n_per_mm.map(|rate| rate * ratio * ratio + static_force_n.unwrap_or(0.0) * slope);
        let on_rate = |(n_per_mm, kg): (f64, f64)| (1000.0 * n_per_mm / kg).sqrt() / std::f64::consts::TAU;
        let squeezed_mm = static_force_n.zip(make.rate_n_per_mm).map(|(n, rate)| n / rate);
        Some(Self {
            motion_ratio: ratio,
            motion_ratio_slope_per_mm: slope,
            length_mm,
            static_force_n,
            wheel_rate_n_per_mm,
            frequency_hz: wheel_rate_n_per_mm.zip(make.corner_mass_kg).map(on_rate).filter(|hz| hz.is_finite()),
            static_spring_mm: squeezed_mm.zip(make.free_length_mm).map(|(squeezed, free)| free - squeezed),
            preload_mm: squeezed_mm.zip(make.open_mm).map(|(squeezed, open)| squeezed - (open - length_mm)),
        })
    }
}

/// Change of the motion ratio with bump travel, 1/mm: with e the unit vector along the spring, v and a the velocity and the second
/// derivative of its moving eye, `−(|v|² − (e·v)²)/L − e·a`.
///
/// Source: derivative of the motion ratio. Tested by `tests/driveline/spring.rs` (differences; a hinge arm on paper).
fn motion_ratio_slope_per_mm(corner: &Corner, posture: &Posture) -> Option<f64> {
    let spring = corner.spring.as_ref()?;
    let second = Acceleration::of(corner, posture)?;
    let mount = spring_mount_point(corner, spring, posture);
    let (velocity, acceleration) = match spring.on {
        SpringMount::Upright => (posture.velocity_at(&mount), second.at(posture, &mount)),
        SpringMount::Link { index, share } => {
            let outer = posture.point(&corner.links[index].upright);
            (posture.velocity_at(&outer) * share, second.at(posture, &outer) * share)
        }
    };
    let along = mount - spring.chassis;
    let length_mm = along.norm();
    let e = along / length_mm;
    let stretch = e.dot(&velocity);
    Some(-(velocity.norm_squared() - stretch * stretch) / length_mm - e.dot(&acceleration))
}
