//! The first bending critical speed of a shaft made of pieces.
//!
//! A turning shaft whirls at the frequency at which it would swing as a beam, so this is the first root of the frequency
//! equation of a beam made of uniform pieces, solved piece by piece with the exact solution of Euler and Bernoulli. Shear,
//! rotary inertia, yokes and torque are left out.

use std::f64::consts::PI;

use argmin::core::{CostFunction, Error, Executor, State};
use argmin::solver::brent::BrentRoot;
use nalgebra::{Matrix4, Vector4};

/// A piece of one section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BeamPiece {
    /// Bending stiffness E·I, N·mm².
    pub stiffness_n_mm2: f64,
    /// kg/mm.
    pub mass_kg_per_mm: f64,
    /// mm.
    pub length_mm: f64,
}

/// What holds an end of the shaft.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BeamEnd {
    /// It may tilt and cannot move aside.
    Pinned,
    /// It may tilt, and a spring holds it aside, N/mm.
    Spring(f64),
}

/// From the softest springs of any coupling to the first frequency of the stiffest, lightest piece: where the search begins, as
/// a share of where it ends.
const LOWEST_SHARE: f64 = 1e-5;
/// Steps of the search; the second frequency is well above this factor over the first.
const STEP: f64 = 1.02;
/// Of the frequency, as a share of it.
const SETTLED_SHARE: f64 = 1e-13;

/// Lowest frequency at which the shaft swings between its two ends, rad/s; `None` without a piece.
///
/// Source: Euler-Bernoulli beam; transfer matrices of uniform pieces (Pestel and Leckie, *Matrix Methods in
/// Elastomechanics*; from memory). Tested by `tests/shafts/bending.rs`.
pub fn first_critical_rad_per_s(pieces: &[BeamPiece], ends: [BeamEnd; 2]) -> Option<f64> {
    let length_mm: f64 = pieces.iter().map(|piece| piece.length_mm).sum();
    // No shaft swings slower than one piece of the least stiffness with the most mass between pins, nor faster than the
    // reverse.
    let largest = |value: fn(&BeamPiece) -> f64| pieces.iter().map(value).reduce(f64::max);
    let stiffest = largest(|piece| piece.stiffness_n_mm2)?;
    let lightest = -largest(|piece| -piece.mass_kg_per_mm)?;
    let highest = (PI / length_mm).powi(2) * (stiffest / (1e-3 * lightest)).sqrt() * STEP;
    let equation = FrequencyEquation { pieces, ends };
    let mut low = LOWEST_SHARE * highest;
    let sign = equation.value(low).signum();
    loop {
        let high = low * STEP;
        if equation.value(high).signum() != sign {
            return equation.root(low, high);
        }
        low = high;
        if low > highest {
            return None;
        }
    }
}

#[derive(Clone, Copy)]
struct FrequencyEquation<'p> {
    pieces: &'p [BeamPiece],
    ends: [BeamEnd; 2],
}

impl FrequencyEquation<'_> {
    /// Zero at a frequency: the determinant of the conditions of the far end on the two free unknowns of the near one.
    fn value(&self, rad_per_s: f64) -> f64 {
        // Deflection, slope, moment and shear force of a piece's end.
        let mut states = match self.ends[0] {
            BeamEnd::Pinned => [Vector4::new(0.0, 1.0, 0.0, 0.0), Vector4::new(0.0, 0.0, 0.0, 1.0)],
            BeamEnd::Spring(n_per_mm) => [Vector4::new(0.0, 1.0, 0.0, 0.0), Vector4::new(1.0, 0.0, 0.0, -n_per_mm)],
        };
        for piece in self.pieces {
            let transfer = transfer(piece, rad_per_s);
            states = states.map(|state| transfer * state);
        }
        let conditions = states.map(|state| match self.ends[1] {
            BeamEnd::Pinned => [state[0], state[2]],
            BeamEnd::Spring(n_per_mm) => [state[3] - n_per_mm * state[0], state[2]],
        });
        conditions[0][0] * conditions[1][1] - conditions[0][1] * conditions[1][0]
    }

    fn root(self, low: f64, high: f64) -> Option<f64> {
        let solver = BrentRoot::new(low, high, SETTLED_SHARE * high);
        let found = Executor::new(self, solver).configure(|state| state.max_iters(200)).ctrlc(false).run().ok()?;
        found.state().get_best_param().copied()
    }
}

impl CostFunction for FrequencyEquation<'_> {
    type Param = f64;
    type Output = f64;

    fn cost(&self, rad_per_s: &f64) -> Result<f64, Error> {
        Ok(self.value(*rad_per_s))
    }
}

/// From the near end of a piece to its far one, at a frequency: the functions of Krylov.
fn transfer(piece: &BeamPiece, rad_per_s: f64) -> Matrix4<f64> {
    let ei = piece.stiffness_n_mm2;
    // Tonnes, millimetres, newtons and seconds go together.
    let k = (1e-3 * piece.mass_kg_per_mm * rad_per_s * rad_per_s / ei).powf(0.25);
    let x = k * piece.length_mm;
    let (s, t) = (0.5 * (x.cosh() + x.cos()), 0.5 * (x.sinh() + x.sin()));
    let (u, v) = (0.5 * (x.cosh() - x.cos()), 0.5 * (x.sinh() - x.sin()));
    let (k2, k3) = (k * k, k * k * k);
    Matrix4::new(
        s,
        t / k,
        u / (ei * k2),
        v / (ei * k3),
        k * v,
        s,
        t / (ei * k),
        u / (ei * k2),
        ei * k2 * u,
        ei * k * v,
        s,
        t / k,
        ei * k3 * t,
        ei * k2 * u,
        k * v,
        s,
    )
}
