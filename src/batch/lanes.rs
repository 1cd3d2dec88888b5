//! Sixteen cars side by side, one in each lane.
//!
//! The loops over lanes hold straight-line arithmetic, so that the compiler turns each into SIMD of the width for which the
//! function around it is compiled (`width`).

use super::plan::{Plan, Station, equation, pose_of};
use crate::mechanism::kernel::{Lu5, Triple, cross, dot, link_residual, rodrigues_rate, rotation, turned};
use crate::mechanism::{LinkSetting, Linkage, PickupErrors, Posture, ROTATION_SCALE_MM};

/// Cars solved together: a multiple of every width, and few enough to stay in the nearest cache.
pub(super) const LANES: usize = 16;

/// One number of each car.
type Row = [f64; LANES];
const ZERO: Row = [0.0; LANES];

/// Newton steps that a car may take at one station.
const MAX_ITERATIONS: usize = 6;
/// Each Newton step is at most this proportion of the one before: a quarter means that the iteration is well inside the
/// region where it converges quadratically.
const MAX_STEP_RATIO: f64 = 0.25;
/// Smallest pivot of a car over that of the drawn one.
const MIN_PIVOT_RATIO: f64 = 0.25;
/// Smallest determinant of a car over that of the drawn one.
const MIN_DETERMINANT_RATIO: f64 = 0.5;
/// Largest determinant of a car over that of the drawn one.
const MAX_DETERMINANT_RATIO: f64 = 2.0;
/// Largest tangent of the angle between a car's wheel and the drawn one; the series of [`small_atan`] is good to
/// 2·10⁻¹² deg inside.
const MAX_TANGENT: f64 = 0.15;

/// One link of each car (as [`crate::mechanism::LinkConstants`]), its rows aligned to cache lines.
#[derive(Debug, Clone)]
#[repr(align(64))]
struct Links {
    base: [Row; 3],
    arm: [Row; 3],
    length_squared: Row,
}

/// The results of each car at one station.
#[derive(Debug, Clone)]
#[repr(align(64))]
struct Results {
    /// Pose of the car less that of the drawn one: x, y (mm), Rodrigues parameters.
    deviation: [Row; 5],
    toe_deg: Row,
    camber_deg: Row,
    /// What a millimetre of the varied link's length does to toe, deg/mm.
    toe_by_length: Row,
    /// How far the varied link has turned since the drawn wheel height: the change of its direction, no unit.
    turned: [Row; 3],
}

/// Sixteen cars and their results at every station.
#[derive(Debug, Clone)]
pub(super) struct LaneBlock {
    /// In the order of elimination.
    links: [Links; 5],
    /// One for each station of the plan.
    results: Vec<Results>,
    /// 1 while nothing about a car was out of the ordinary, else 0.
    valid: [u64; LANES],
    /// The link by whose length toe is differentiated, by its place in the elimination.
    varied: Option<usize>,
}

impl LaneBlock {
    /// With room for every station of the plan; `varied` is the link (file order) by whose length toe is differentiated.
    pub(super) fn new(plan: &Plan, varied: Option<usize>) -> Self {
        let links = Links { base: [ZERO; 3], arm: [ZERO; 3], length_squared: ZERO };
        let results =
            Results { deviation: [ZERO; 5], toe_deg: ZERO, camber_deg: ZERO, toe_by_length: ZERO, turned: [ZERO; 3] };
        Self {
            links: std::array::from_fn(|_| links.clone()),
            results: vec![results; plan.stations.len()],
            valid: [0; LANES],
            varied: varied.and_then(|link| plan.order.iter().position(|&index| index == link)),
        }
    }

    /// Takes up to sixteen cars; lanes that are left over carry the last of them once more.
    pub(super) fn load(&mut self, drawn: &Linkage, plan: &Plan, cars: &[PickupErrors], lengths: LinkSetting) {
        self.valid = [1; LANES];
        for lane in 0..LANES {
            let Some(car) = cars.get(lane).or(cars.last()) else { return };
            let built = drawn.built(car, lengths);
            for (links, &index) in self.links.iter_mut().zip(&plan.order) {
                let link = &built.links[index];
                for axis in 0..3 {
                    links.base[axis][lane] = link.base[axis];
                    links.arm[axis][lane] = link.arm[axis];
                }
                links.length_squared[lane] = link.length_squared;
            }
        }
    }

    /// False for a car that must be solved by itself.
    pub(super) fn is_valid(&self, lane: usize) -> bool {
        self.valid[lane] == 1
    }

    pub(super) fn toe_deg(&self, row: usize, lane: usize) -> f64 {
        self.results[row].toe_deg[lane]
    }

    pub(super) fn camber_deg(&self, row: usize, lane: usize) -> f64 {
        self.results[row].camber_deg[lane]
    }

    /// deg/mm; of no meaning for a car that was solved by itself, or when no link is varied.
    pub(super) fn toe_by_length(&self, row: usize, lane: usize) -> f64 {
        self.results[row].toe_by_length[lane]
    }

    /// Change of the varied link's direction since the drawn wheel height, side axes; of meaning like [`Self::toe_by_length`].
    pub(super) fn turned(&self, row: usize, lane: usize) -> Triple {
        of_lane(&self.results[row].turned, lane)
    }

    /// x, y of the wheel centre's displacement (mm) and Rodrigues parameters of a car at a station.
    pub(super) fn pose(&self, row: usize, lane: usize, station: &Station) -> [f64; 5] {
        std::array::from_fn(|c| station.pose[c] + self.results[row].deviation[c][lane])
    }

    /// Writes the results of a car that was solved by itself.
    pub(super) fn write(
        &mut self,
        row: usize,
        lane: usize,
        station: &Station,
        posture: &Posture,
        toe: f64,
        camber: f64,
    ) {
        let results = &mut self.results[row];
        let poses = pose_of(posture).into_iter().zip(station.pose);
        for (deviation, (pose, drawn)) in results.deviation.iter_mut().zip(poses) {
            deviation[lane] = pose - drawn;
        }
        (results.toe_deg[lane], results.camber_deg[lane]) = (toe, camber);
    }
}

/// Solves every station of the plan for the cars of the lanes.
#[inline(always)]
pub(super) fn solve(plan: &Plan, lanes: &mut LaneBlock) {
    for (row, station) in plan.stations.iter().enumerate() {
        let mut deviation = extrapolated(station, &lanes.results);
        newton(&lanes.links, station, plan.last_step_square, &mut deviation, &mut lanes.valid);
        let results = &mut lanes.results[row];
        results.deviation = deviation;
        toe_and_camber(plan, station, results, &mut lanes.valid);
        if let Some(varied) = lanes.varied {
            toe_by_length(plan, station, &lanes.links, varied, results);
        }
    }
}

/// Deviation of every car at a station, extrapolated from the stations before.
#[inline(always)]
fn extrapolated(station: &Station, results: &[Results]) -> [Row; 5] {
    let mut deviation = [ZERO; 5];
    for &(row, weight) in &station.nodes {
        for (sum, known) in deviation.iter_mut().zip(&results[row].deviation) {
            for lane in 0..LANES {
                sum[lane] += weight * known[lane];
            }
        }
    }
    deviation
}

/// Newton's method, for each car until its last step may be the last; a car that has converged stays as it is while others
/// go on, so that its result does not depend on the cars beside it.
#[inline(always)]
fn newton(
    links: &[Links; 5],
    station: &Station,
    last_step_square: f64,
    deviation: &mut [Row; 5],
    valid: &mut [u64; LANES],
) {
    let mut squares = [f64::INFINITY; LANES];
    for _ in 0..MAX_ITERATIONS {
        squares = newton_step(links, station, last_step_square, &squares, deviation, valid);
        let open = squares.iter().zip(valid.iter()).any(|(&square, &valid)| valid == 1 && square > last_step_square);
        if !open {
            return;
        }
    }
    for lane in 0..LANES {
        valid[lane] &= u64::from(squares[lane] <= last_step_square);
    }
}

#[inline(always)]
fn of_lane(rows: &[Row; 3], lane: usize) -> Triple {
    [rows[0][lane], rows[1][lane], rows[2][lane]]
}

/// One Newton step of every car that has not converged: from the squares of the steps before to those of this one, mm²
/// (rotations times 100 mm).
#[inline(always)]
fn newton_step(
    links: &[Links; 5],
    station: &Station,
    last_step_square: f64,
    before: &Row,
    deviation: &mut [Row; 5],
    valid: &mut [u64; LANES],
) -> Row {
    let mut squares = ZERO;
    for lane in 0..LANES {
        let displacement =
            [station.pose[0] + deviation[0][lane], station.pose[1] + deviation[1][lane], station.bump_mm];
        let rodrigues = rodrigues_of(station, deviation, lane);
        let turn = rotation(rodrigues);
        let mut rows = [[0.0; 6]; 5];
        for (row, link) in rows.iter_mut().zip(links) {
            let (base, arm) = (of_lane(&link.base, lane), of_lane(&link.arm, lane));
            *row = equation(link_residual(base, arm, link.length_squared[lane], displacement, &turn));
        }
        let lu = Lu5::of(rows);
        let [x, y, omega @ ..] = lu.solution(5);
        let rate = rodrigues_rate(rodrigues, omega);
        let moves = before[lane] > last_step_square;
        for (c, change) in [x, y, rate[0], rate[1], rate[2]].into_iter().enumerate() {
            deviation[c][lane] += if moves { change } else { 0.0 };
        }
        let square = x * x + y * y + ROTATION_SCALE_MM * ROTATION_SCALE_MM * dot(omega, omega);
        squares[lane] = if moves { square } else { before[lane] };

        let (mut determinant_ratio, mut pivots_hold) = (1.0, true);
        for k in 0..5 {
            let ratio = lu.pivots()[k] * station.inverse_pivots[k];
            determinant_ratio *= ratio;
            pivots_hold &= ratio >= MIN_PIVOT_RATIO;
        }
        let shrinks = (square <= station.max_step_square) & (square <= MAX_STEP_RATIO * MAX_STEP_RATIO * before[lane]);
        // Comparisons with a NaN are false: such a car is not valid.
        let holds = pivots_hold
            & (MIN_DETERMINANT_RATIO..=MAX_DETERMINANT_RATIO).contains(&determinant_ratio)
            & (shrinks | (square <= last_step_square));
        valid[lane] &= u64::from(holds | !moves);
    }
    squares
}

/// Toe and camber of every car, from the angles between its wheel and the drawn one.
#[inline(always)]
fn toe_and_camber(plan: &Plan, station: &Station, results: &mut Results, valid: &mut [u64; LANES]) {
    let [drawn_x, drawn_y, drawn_z] = station.spin_axis;
    let drawn_level = (drawn_x * drawn_x + drawn_y * drawn_y).sqrt();
    let (mut toe, mut camber) = (ZERO, ZERO);
    for lane in 0..LANES {
        let rodrigues = rodrigues_of(station, &results.deviation, lane);
        let [x, y, z] = turned(&rotation(rodrigues), plan.spin_axis);
        let level = (x * x + y * y).sqrt();
        let (ahead, beside) = (x * drawn_y - y * drawn_x, x * drawn_x + y * drawn_y);
        let (over, along) = (drawn_z * level - z * drawn_level, level * drawn_level + z * drawn_z);
        let (plan_view, lean) = (ahead / beside, over / along);
        toe[lane] = station.toe_deg + small_atan(plan_view) * DEGREES;
        camber[lane] = station.camber_deg + small_atan(lean) * DEGREES;
        let near = (beside > 0.0) & (plan_view.abs() <= MAX_TANGENT) & (along > 0.0) & (lean.abs() <= MAX_TANGENT);
        valid[lane] &= u64::from(near);
    }
    (results.toe_deg, results.camber_deg) = (toe, camber);
}

/// Toe by the length of one link: the turn that a millimetre of it gives the upright, seen from above; and how the link itself
/// has turned.
#[inline(always)]
fn toe_by_length(plan: &Plan, station: &Station, links: &[Links; 5], varied: usize, results: &mut Results) {
    let Links { arm: varied_arm, length_squared: varied_square, .. } = &links[varied];
    let (mut by_length, mut changed) = (ZERO, [ZERO; 3]);
    for lane in 0..LANES {
        let [x, y, ..] = results.deviation.each_ref().map(|row| row[lane]);
        let displacement = [station.pose[0] + x, station.pose[1] + y, station.bump_mm];
        let turn = rotation(rodrigues_of(station, &results.deviation, lane));
        let length = varied_square[lane].sqrt();
        let mut rows = [[0.0; 6]; 5];
        for (i, (row, link)) in rows.iter_mut().zip(links).enumerate() {
            let (base, arm) = (of_lane(&link.base, lane), of_lane(&link.arm, lane));
            *row = equation(link_residual(base, arm, link.length_squared[lane], displacement, &turn));
            // The derivative of ½ (e·e − L²) = 0 by L.
            row[5] = if i == varied { length } else { 0.0 };
        }
        let [_, _, omega @ ..] = Lu5::of(rows).solution(5);
        let axis = turned(&turn, plan.spin_axis);
        let turning = cross(omega, axis);
        let level_square = axis[0] * axis[0] + axis[1] * axis[1];
        by_length[lane] = (turning[0] * axis[1] - turning[1] * axis[0]) / level_square * DEGREES;
        let (arm, inverse_length) = (of_lane(varied_arm, lane), 1.0 / length);
        let [along_x, along_y, along_z] = turned(&turn, arm);
        changed[0][lane] = (displacement[0] + along_x - arm[0]) * inverse_length;
        changed[1][lane] = (displacement[1] + along_y - arm[1]) * inverse_length;
        changed[2][lane] = (displacement[2] + along_z - arm[2]) * inverse_length;
    }
    (results.toe_by_length, results.turned) = (by_length, changed);
}

#[inline(always)]
fn rodrigues_of(station: &Station, deviation: &[Row; 5], lane: usize) -> Triple {
    [station.pose[2] + deviation[2][lane], station.pose[3] + deviation[3][lane], station.pose[4] + deviation[4][lane]]
}

const DEGREES: f64 = 180.0 / std::f64::consts::PI;

/// Arc tangent, rad, for arguments up to [`MAX_TANGENT`]: the first seven terms of its series.
#[inline(always)]
fn small_atan(t: f64) -> f64 {
    let q = t * t;
    let mut sum = 1.0 / 13.0;
    for term in [-1.0 / 11.0, 1.0 / 9.0, -1.0 / 7.0, 1.0 / 5.0, -1.0 / 3.0, 1.0] {
        sum = sum * q + term;
    }
    t * sum
}

#[cfg(test)]
mod tests {
    use super::{MAX_TANGENT, small_atan};

    #[test]
    fn the_short_series_is_the_arc_tangent() {
        for k in -100..=100 {
            let tangent = MAX_TANGENT * f64::from(k) / 100.0;
            let off_deg = (small_atan(tangent) - tangent.atan()).to_degrees();
            assert!(off_deg.abs() < 2e-12, "{tangent}: {off_deg}");
        }
    }
}
