//! Joints one after another, over one turn of the first shaft.

use std::f64::consts::PI;

use nalgebra::{Unit, Vector3};

use super::universal_joint::UniversalJoint;
use crate::geometry::{Propshaft, ShaftJointKind};
use crate::measures::least_places;

/// Below this a joint is straight, rad: its plane has no direction, and its speed is even to rounding.
const STRAIGHT_RAD: f64 = 1e-9;
/// Places of half a turn between which a speed or an acceleration has one extreme at most.
const PLACES: u32 = 360;
/// Extremes are found at a turn to this, rad: the value is then exact to its square.
const SETTLED_RAD: f64 = 1e-7;

/// Speed of one shaft while the first one turns evenly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShaftMotion {
    /// Over the mean speed, which all shafts share; no unit.
    pub speed: f64,
    /// Its change with the turn of the first shaft, 1/rad: acceleration over the square of the mean speed.
    pub slope: f64,
}

/// One bent universal joint of the chain.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Bend {
    joint: UniversalJoint,
    bend_rad: f64,
    /// Turn of its input fork, from its own plane, while the output fork of the universal joint before it stands square to the
    /// plane of that one; the phase included.
    offset_rad: f64,
    /// Index of the shaft that leaves it; 0 enters the first joint of all.
    shaft: usize,
}

/// A chain of joints, each bent by a fixed angle.
#[derive(Debug, Clone, PartialEq)]
pub struct Chain {
    bends: Vec<Bend>,
    /// One more than there are joints.
    shafts: usize,
    angles_rad: Vec<f64>,
}

impl Chain {
    /// Of the joints along these directions: one more of them than of kinds and phases (deg, see
    /// [`crate::geometry::ShaftJoint::phase_deg`]).
    ///
    /// Flexible couplings and splines are taken as passing their speed evenly.
    ///
    /// Source: `docs/theory.md`, "Propeller shaft". Tested by `tests/shafts/chain.rs` and
    /// `tests/outside/propshaft_reference.py`.
    pub fn new(directions: &[Unit<Vector3<f64>>], kinds: &[ShaftJointKind], phases_deg: &[f64]) -> Self {
        let mut bends: Vec<Bend> = Vec::new();
        let mut angles_rad = Vec::new();
        // Where the fork of the last universal joint stands while square to its plane, carried along and phased.
        let mut fork: Option<Vector3<f64>> = None;
        for (k, kind) in kinds.iter().enumerate() {
            let (before, after) = (directions[k].into_inner(), directions[k + 1].into_inner());
            let normal = before.cross(&after);
            let bend_rad = normal.norm().atan2(before.dot(&after));
            angles_rad.push(bend_rad);
            if *kind != ShaftJointKind::Universal {
                fork = fork.map(|fork| carried(&fork, &before, &after));
                continue;
            }
            let normal = if bend_rad > STRAIGHT_RAD { normal.normalize() } else { square_to(&before) };
            let in_plane = normal.cross(&before);
            let offset_rad = fork.map_or(0.0, |fork| fork.dot(&normal).atan2(fork.dot(&in_plane)));
            bends.push(Bend { joint: UniversalJoint::new(bend_rad), bend_rad, offset_rad, shaft: k + 1 });
            fork = Some(turned(&normal, &after, phases_deg[k].to_radians()));
        }
        Self { bends, shafts: kinds.len() + 1, angles_rad }
    }

    /// The chain of a propeller shaft; `None` where two of its joints coincide.
    pub fn of(shaft: &Propshaft) -> Option<Self> {
        let phases_deg: Vec<f64> = shaft.joints.iter().map(|joint| joint.phase_deg).collect();
        Self::with_phases(shaft, &phases_deg)
    }

    /// The same with other phases, one for each joint, deg.
    pub fn with_phases(shaft: &Propshaft, phases_deg: &[f64]) -> Option<Self> {
        let directions = Propshaft::directions(&shaft.places(), shaft.input_axis, shaft.output_axis)?;
        let kinds: Vec<ShaftJointKind> = shaft.joints.iter().map(|joint| joint.kind).collect();
        Some(Self::new(&directions, &kinds, phases_deg))
    }

    /// By how much each joint is bent, rad, from the first to the last.
    pub fn angles_rad(&self) -> &[f64] {
        &self.angles_rad
    }

    /// Every shaft at a turn of the first one, rad; 0 has the input fork of the first universal joint in the plane of its
    /// shafts.
    pub fn at(&self, turn_rad: f64) -> Vec<ShaftMotion> {
        let mut now = ShaftMotion { speed: 1.0, slope: 0.0 };
        let mut all = Vec::with_capacity(self.shafts);
        let mut fork_rad = turn_rad;
        for bend in &self.bends {
            all.resize(bend.shaft, now);
            fork_rad += bend.offset_rad;
            let ratio = bend.joint.speed_ratio(fork_rad);
            let slope = now.slope * ratio + now.speed * now.speed * bend.joint.speed_ratio_slope(fork_rad);
            fork_rad = bend.joint.output_turn_rad(fork_rad);
            now = ShaftMotion { speed: now.speed * ratio, slope };
        }
        all.resize(self.shafts, now);
        all
    }

    /// Speed of a shaft over its mean, highest less lowest of one turn; no unit.
    pub fn ripple(&self, shaft: usize) -> f64 {
        let speed = |turn_rad: f64| self.at(turn_rad)[shaft].speed;
        highest(speed) + highest(|turn_rad| -speed(turn_rad))
    }

    /// The same of the shaft that leaves the chain.
    pub fn output_ripple(&self) -> f64 {
        self.ripple(self.shafts - 1)
    }

    /// Largest acceleration of a shaft either way over the square of its mean speed, 1/rad².
    pub fn acceleration(&self, shaft: usize) -> f64 {
        highest(|turn_rad| self.at(turn_rad)[shaft].slope.abs())
    }

    /// The same of the shaft that leaves the chain.
    pub fn output_acceleration(&self) -> f64 {
        self.acceleration(self.shafts - 1)
    }

    /// The largest of the shafts between the first joint and the last, the first shaft turning evenly.
    pub fn inner_acceleration(&self) -> f64 {
        self.inner_shafts().map(|shaft| self.acceleration(shaft)).fold(0.0, f64::max)
    }

    /// The same with the last shaft turning evenly, as with the wheels driving the engine.
    ///
    /// With ω of the shaft and Ω of the last one: `d(ω/Ω)/dθ / Ω = (ω′Ω − ωΩ′) / Ω³`.
    pub fn inner_coast_acceleration(&self) -> f64 {
        let of = |shaft: usize| {
            highest(|turn_rad| {
                let all = self.at(turn_rad);
                let (this, last) = (all[shaft], all[self.shafts - 1]);
                ((this.slope * last.speed - this.speed * last.slope) / last.speed.powi(3)).abs()
            })
        };
        self.inner_shafts().map(of).fold(0.0, f64::max)
    }

    fn inner_shafts(&self) -> std::ops::Range<usize> {
        1..self.shafts - 1
    }

    /// Angle of the one universal joint whose ripple is that of the whole chain to first order, rad:
    /// `√|Σ βᵢ² exp(2i φᵢ)|`, φ the turn of each input fork from its plane.
    ///
    /// Source: Elbe, calculation data 3, for planes and phases at any angle. Tested by `tests/shafts/chain.rs`.
    pub fn equivalent_angle_rad(&self) -> f64 {
        let mut fork_rad = 0.0;
        let (mut along, mut across) = (0.0, 0.0);
        for bend in &self.bends {
            fork_rad += bend.offset_rad;
            let size = bend.bend_rad * bend.bend_rad;
            along += size * (2.0 * fork_rad).cos();
            across += size * (2.0 * fork_rad).sin();
        }
        f64::hypot(along, across).sqrt()
    }

    /// Change of each universal joint's phase that leaves the least equivalent angle, rad in ±a quarter turn, in their order,
    /// that of the last one 0: the first-order answer, which is exact for two universal joints.
    ///
    /// Each phase turns everything behind it, so one phase at a time is set against the sum before it, from several starts.
    ///
    /// Tested by `tests/shafts/chain.rs` (brute search over the phases).
    pub fn best_phase_changes_rad(&self) -> Vec<f64> {
        let mut fork_rad = 0.0;
        let vectors: Vec<[f64; 2]> = self
            .bends
            .iter()
            .map(|bend| {
                fork_rad += bend.offset_rad;
                let size = bend.bend_rad * bend.bend_rad;
                [size * (2.0 * fork_rad).cos(), size * (2.0 * fork_rad).sin()]
            })
            .collect();
        let starts = (0..8).map(|start| settled_phases(&vectors, f64::from(start) * PI / 8.0));
        let best = starts.min_by(|a, b| length(&turned_sum(&vectors, a)).total_cmp(&length(&turned_sum(&vectors, b))));
        best.unwrap_or_default().into_iter().map(|rad| rad - PI * (rad / PI).round()).collect()
    }
}

/// Rounds over all phases; each round cannot make it worse, and two phases are settled by one.
const ROUNDS: usize = 60;

/// The phases after setting one at a time, all beginning at `start_rad`.
fn settled_phases(vectors: &[[f64; 2]], start_rad: f64) -> Vec<f64> {
    let mut phases = vec![start_rad; vectors.len()];
    if let Some(last) = phases.last_mut() {
        *last = 0.0;
    }
    for _ in 0..ROUNDS {
        for k in 0..vectors.len().saturating_sub(1) {
            let (mut before, mut behind, mut turn_rad) = ([0.0; 2], [0.0; 2], 0.0);
            for (i, vector) in vectors.iter().enumerate() {
                let sum = if i <= k { &mut before } else { &mut behind };
                add_turned(sum, vector, turn_rad);
                turn_rad += phases[i];
            }
            if length(&before) > 0.0 && length(&behind) > 0.0 {
                let off_rad = before[1].atan2(before[0]) + PI - behind[1].atan2(behind[0]);
                phases[k] += 0.5 * off_rad;
            }
        }
    }
    phases
}

fn turned_sum(vectors: &[[f64; 2]], phases: &[f64]) -> [f64; 2] {
    let (mut sum, mut turn_rad) = ([0.0; 2], 0.0);
    for (vector, phase) in vectors.iter().zip(phases) {
        add_turned(&mut sum, vector, turn_rad);
        turn_rad += phase;
    }
    sum
}

/// Adds a vector turned by twice an angle.
fn add_turned(sum: &mut [f64; 2], vector: &[f64; 2], turn_rad: f64) {
    let (sin, cos) = (2.0 * turn_rad).sin_cos();
    sum[0] += cos * vector[0] - sin * vector[1];
    sum[1] += sin * vector[0] + cos * vector[1];
}

fn length(vector: &[f64; 2]) -> f64 {
    vector[0].hypot(vector[1])
}

/// Highest value of something that repeats every half turn.
fn highest(value: impl Fn(f64) -> f64) -> f64 {
    let place = |k: u32| f64::from(k) * PI / f64::from(PLACES);
    let known: Vec<(f64, f64)> = (0..=PLACES).map(|k| (place(k), -value(place(k)))).collect();
    let found = least_places(&known, |turn_rad| -value(turn_rad), SETTLED_RAD);
    -found.into_iter().map(|place| place.value).fold(f64::INFINITY, f64::min)
}

/// A direction square to the shaft before a joint that passes its speed evenly, as it stands behind it: carried by the least
/// turn that takes the one shaft to the other.
fn carried(v: &Vector3<f64>, before: &Vector3<f64>, after: &Vector3<f64>) -> Vector3<f64> {
    let axis = before.cross(after);
    v * before.dot(after) + axis.cross(v) + axis * (axis.dot(v) / (1.0 + before.dot(after)))
}

/// A direction turned about a shaft to which it is square.
fn turned(v: &Vector3<f64>, about: &Vector3<f64>, by_rad: f64) -> Vector3<f64> {
    v * by_rad.cos() + about.cross(v) * by_rad.sin()
}

/// Any direction square to a shaft.
fn square_to(shaft: &Vector3<f64>) -> Vector3<f64> {
    let off = if shaft.z.abs() < 0.9 { Vector3::z() } else { Vector3::x() };
    (off - shaft * off.dot(shaft)).normalize()
}
