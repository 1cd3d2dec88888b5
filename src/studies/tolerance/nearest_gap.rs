//! The least gap between the bodies of a built wheel over its travel.
//!
//! A weld brings few pairs of a hundred near. Those of the drawn wheel are taken the nearest first, and of each the places of its
//! travel where it comes nearest; a pair that the errors of the built wheel cannot bring below the least gap found so far
//! is passed over. What is told is the gap of the built bodies themselves.

use std::f64::consts::SQRT_2;

use nalgebra::{Matrix3, Vector3};

use crate::geometry::Corner;
use crate::measures::{Approach, Bodies, Pair, Placed};
use crate::mechanism::PickupErrors;
use crate::studies::clearance::places_of_least_gap;
use crate::studies::rig::RigWheel;

/// A gap has no place without a posture.
const NO_GAP_MM: f64 = f64::INFINITY;
/// Gaps that differ by less are equal to rounding, mm.
const SAME_GAP_MM: f64 = 1e-9;

/// The bodies of one wheel, ready to be looked at many times.
#[derive(Debug, Clone)]
pub(super) struct NearestGap {
    bodies: Bodies,
    /// The nearest first.
    places: Vec<DrawnPlace>,
    /// Bump travel of the rows of the heave study, mm.
    rows_mm: Vec<f64>,
    /// Displacement and rotation of the drawn wheel at every row of the heave study.
    drawn: Vec<(Vector3<f64>, Matrix3<f64>)>,
}

/// Where a pair of the drawn wheel is nearer than on either side.
#[derive(Debug, Clone, Copy)]
struct DrawnPlace {
    pair: Pair,
    /// Of the heave study, the nearest of those beside it.
    row: usize,
    gap_mm: f64,
    /// How much nearer it is there than the parabola through three rows says.
    beyond_parabola_mm: f64,
    approach: Approach,
}

/// What the errors of a built wheel move, at most.
struct Moved {
    /// Pickups of each link.
    in_frame_mm: [f64; 5],
    in_upright_mm: [f64; 5],
    wheel_centre_mm: f64,
    /// Of the upright, rad.
    turn: f64,
}

impl Moved {
    /// By how much the bodies of a place come together, at most.
    fn together_mm(&self, place: &DrawnPlace) -> f64 {
        let of_links = |mm: &[f64; 5]| place.approach.links().map(|link| mm[link]).fold(0.0, f64::max);
        let carried_mm = of_links(&self.in_upright_mm) + place.approach.carried_mm(self.wheel_centre_mm, self.turn);
        place.approach.together_mm(of_links(&self.in_frame_mm).max(carried_mm))
    }
}

impl NearestGap {
    /// Of a wheel that moves through its travel, at these rows.
    pub fn new(wheel: &RigWheel, rows_mm: &[f64]) -> Option<Self> {
        let corner = wheel.corner;
        let bodies = Bodies::of(wheel.geometry, corner.side);
        let postures: Option<Vec<_>> = rows_mm.iter().map(|&bump_mm| wheel.path.at(bump_mm)).collect();
        let postures = postures?;
        let mut places = Vec::new();
        for pair in bodies.pairs() {
            let gap_mm = |row: usize| bodies.gap_mm(pair, corner, &postures[row]).unwrap_or(NO_GAP_MM);
            let approach = Approach::of(&bodies, pair, corner);
            for least in places_of_least_gap(&bodies, pair, corner, &wheel.path) {
                let near = rows_mm.partition_point(|&bump_mm| bump_mm < least.at).min(rows_mm.len() - 1);
                let (row, on_parabola_mm) = least_from(near, rows_mm, gap_mm);
                let beyond_parabola_mm = least.value - on_parabola_mm;
                places.push(DrawnPlace { pair, row, gap_mm: least.value, beyond_parabola_mm, approach });
            }
        }
        places.retain(|place| place.gap_mm.is_finite());
        places.sort_by(|a, b| a.gap_mm.total_cmp(&b.gap_mm));
        let drawn = postures.iter().map(|posture| (posture.displacement, posture.rotation)).collect();
        Some(Self { bodies, places, rows_mm: rows_mm.to_vec(), drawn })
    }

    /// Of a built wheel, mm, overlap negative: its corner with the pickups where they came out, and where it stands at every row.
    /// `None` where no pair has a gap.
    pub fn least_mm(&self, built: &Corner, errors: &PickupErrors, placed: &[Placed<'_>]) -> Option<f64> {
        let moved = self.moved(errors, placed);
        let mut least_mm = NO_GAP_MM;
        for place in &self.places {
            if place.gap_mm - moved.together_mm(place) > least_mm {
                continue;
            }
            let gap_mm = |row: usize| self.bodies.gap_mm(place.pair, built, &placed[row]).unwrap_or(NO_GAP_MM);
            let (_, gap_mm) = least_from(place.row, &self.rows_mm, gap_mm);
            least_mm = least_mm.min(gap_mm + place.beyond_parabola_mm);
        }
        least_mm.is_finite().then_some(least_mm)
    }

    fn moved(&self, errors: &PickupErrors, placed: &[Placed<'_>]) -> Moved {
        let (mut way_square, mut turn_square): (f64, f64) = (0.0, 0.0);
        for (at, (displacement, rotation)) in placed.iter().zip(&self.drawn) {
            way_square = way_square.max((at.displacement - displacement).norm_squared());
            turn_square = turn_square.max((at.rotation - rotation).norm_squared());
        }
        let [in_frame_mm, in_upright_mm] = [&errors.chassis, &errors.upright].map(|ends| ends.map(|off| off.norm()));
        // The matrices differ by √2 times what the furthest direction turns by.
        Moved { in_frame_mm, in_upright_mm, wheel_centre_mm: way_square.sqrt(), turn: turn_square.sqrt() / SQRT_2 }
    }
}

/// The least value of a figure that falls from one of these rows on: the row that is nearest to it, and the value on the parabola
/// through that row and those beside it.
fn least_from(row: usize, rows_mm: &[f64], figure: impl Fn(usize) -> f64) -> (usize, f64) {
    let mut at = (row, figure(row));
    // The row after it and the row before it.
    let mut beside = [None; 2];
    for (k, step) in [1, -1].into_iter().enumerate() {
        while let Some(next) = at.0.checked_add_signed(step).filter(|&next| next < rows_mm.len()) {
            let value = figure(next);
            if value >= at.1 - SAME_GAP_MM {
                beside[k] = Some((rows_mm[next], value));
                break;
            }
            beside[1 - k] = Some((rows_mm[at.0], at.1));
            at = (next, value);
        }
    }
    let [Some(above), Some(below)] = beside else { return at };
    // Slopes from the row to those beside it, and the curvature that they make.
    let slope = |(mm, value): (f64, f64)| (value - at.1) / (mm - rows_mm[at.0]);
    let (up, down) = (slope(above), slope(below));
    let (to_above, to_below) = (above.0 - rows_mm[at.0], below.0 - rows_mm[at.0]);
    let curvature = (up - down) / (to_above - to_below);
    let slope_here = up - curvature * to_above;
    let fall = if curvature > 0.0 { slope_here * slope_here / (4.0 * curvature) } else { 0.0 };
    (at.0, at.1 - fall)
}
