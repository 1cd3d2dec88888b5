//! Two builders with the same car: one does what `correct` says, the other follows the rule of thumb.

use hubtrace::gauge::{Change, GaugeNoise, Round, What};
use hubtrace::geometry::{
    Axis, BracketAdjuster, Coordinate, Corner, End, Geometry, Interval, LengthAdjuster, LengthKind, PerSide, Side,
};
use hubtrace::studies::Rig;
use hubtrace::studies::Sensitivity;
use hubtrace::studies::correct::{CorrectFindings, CorrectRequest};
use nalgebra::Vector3;
use rand::rngs::StdRng;

use crate::shop::{FinishedCar, Gauge, slope_at_ride_height};

/// What a wheel steers after each round, and what was told of it.
#[derive(Debug, Clone)]
pub struct Life {
    /// Worst bump steer, deg: as welded, then after each round.
    pub worst_deg: Vec<f64>,
    /// 95th percentile told with each round's prescription, deg.
    pub told_p95_deg: Vec<f64>,
    /// How far everything was moved in all, mm.
    pub moved_mm: f64,
    /// Lines of all prescriptions.
    pub parts: usize,
}

impl Life {
    /// Of a car as welded.
    fn begun(car: &FinishedCar<'_>) -> Self {
        Self { worst_deg: vec![car.worst_bump_steer_deg()], told_p95_deg: Vec::new(), moved_mm: 0.0, parts: 0 }
    }
}

const SHIM_MM: f64 = 0.5;

/// 0.5 mm shims under every bracket on the frame, and half turns of an M10 × 1.25 rod end on every link.
pub fn with_shims_and_half_turns(corner: &mut Corner) {
    for link in &mut corner.links {
        link.adjusters.chassis = Some(BracketAdjuster {
            along: Vector3::z_axis(),
            step_mm: Some(SHIM_MM),
            range_mm: Interval::either_way(6.0),
        });
        link.adjusters.length = Some(LengthAdjuster {
            kind: LengthKind::End,
            pitch_mm: 1.25,
            step_turns: Some(0.5),
            range_turns: Interval::either_way(4.0),
        });
    }
    // Toe is set by a sleeve on the last link, which takes every length.
    let toe_link = &mut corner.links[4];
    toe_link.sets_toe = true;
    toe_link.adjusters.length =
        toe_link.adjusters.length.map(|length| LengthAdjuster { kind: LengthKind::Sleeve, step_turns: None, ..length });
}

/// Gauge, ask, change, set toe; again.
pub fn corrected(
    geometry: &Geometry,
    mut car: FinishedCar<'_>,
    gauge: &Gauge,
    rounds: usize,
    rng: &mut StdRng,
) -> Option<Life> {
    let noise = GaugeNoise {
        toe_sd_deg: gauge.toe_sd_deg,
        toe_offset_sd_deg: gauge.offset_sd_deg,
        bump_zero_sd_mm: gauge.bump_zero_sd_mm,
        ..GaugeNoise::default()
    };
    let mut life = Life::begun(&car);
    let mut earlier: Vec<Round> = Vec::new();
    for _ in 0..rounds {
        let readings = car.gauged(rng, gauge)?;
        let request = CorrectRequest { earlier: earlier.clone(), readings: readings.clone(), noise, seed: 1 };
        let found = CorrectFindings::of(geometry, &request).wheels.left.ok()?;
        let changes: Vec<Change> = found.changes.iter().map(|line| line.change).collect();
        if !changes.is_empty() {
            car.change(&changes);
            car.set_toe(rng, gauge);
        }
        life.parts += changes.len();
        life.worst_deg.push(car.worst_bump_steer_deg());
        life.told_p95_deg.push(found.worst_bump_steer_deg.expected_p95);
        earlier.push(Round { readings, noise, changes: PerSide { left: changes, right: Vec::new() } });
    }
    life.moved_mm = car.moved_mm;
    Some(life)
}

/// Gauge, and shim the toe link's bracket on the frame by the slope at ride height and what the drawing says that a millimetre does.
pub fn by_rule_of_thumb(
    geometry: &Geometry,
    mut car: FinishedCar<'_>,
    gauge: &Gauge,
    rounds: usize,
    rng: &mut StdRng,
) -> Option<Life> {
    let rig = Rig::new(geometry).ok()?;
    let toe_link = toe_link(&geometry.left);
    let height = Coordinate { link: toe_link, end: End::Chassis, axis: Axis::Z };
    let effects = Sensitivity::of(&rig, Side::Left)?.effects;
    let slope_per_mm = effects.iter().find(|effect| effect.coordinate == height)?.slope_deg_per_25mm / 25.0;
    let mut life = Life::begun(&car);
    for _ in 0..rounds {
        let by_mm = -slope_at_ride_height(&car.gauged(rng, gauge)?) / slope_per_mm;
        let shims = (by_mm / SHIM_MM).round();
        if shims != 0.0 {
            let what = What::Shim { end: End::Chassis, along: Vector3::z_axis() };
            car.change(&[Change { link: toe_link, what, by_mm: shims * SHIM_MM }]);
            car.set_toe(rng, gauge);
            life.parts += 1;
        }
        life.worst_deg.push(car.worst_bump_steer_deg());
    }
    life.moved_mm = car.moved_mm;
    Some(life)
}

/// The link that sets toe.
pub fn toe_link(corner: &Corner) -> usize {
    corner.links.iter().position(|link| link.sets_toe).unwrap_or(4)
}
