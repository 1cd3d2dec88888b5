//! Sixteen cars side by side.
//!
//! The loops over lanes hold straight-line arithmetic, so that the compiler turns each into SIMD of the width that the
//! function around it is allowed (`width`).

use super::plan::{Plan, Station, equation, place_of};
use crate::mechanism::kernel::{Lu5, Triple, dot, gibbs_rate, link_residual, rotation, turned};
use crate::mechanism::{LinkSetting, Linkage, PickupErrors, Posture, ROTATION_SCALE_MM};

/// Cars worked together: a multiple of every width, and few enough to stay in the nearest cache.
pub(super) const LANES: usize = 16;

/// One number of each car.
type Row = [f64; LANES];
const ZERO: Row = [0.0; LANES];

/// Newton steps that a car may take at one station.
const MAX_STEPS: usize = 6;
/// Each step is at most this share of the one before. A quarter and less means that Newton's basin is all around.
const MAX_SHRINKING: f64 = 0.25;
/// Smallest pivot, and limits of the determinant, as shares of the nominal car's.
const MIN_PIVOT: f64 = 0.25;
const MIN_DETERMINANT: f64 = 0.5;
const MAX_DETERMINANT: f64 = 2.0;
/// Largest tangent of the angle between a car's wheel and the nominal one; the series of [`small_atan`] is good to
/// 2·10⁻¹² deg inside.
const MAX_TURNED: f64 = 0.15;

/// One link of each car, its rows on the edges of cache lines.
#[derive(Debug, Clone)]
#[repr(align(64))]
struct Links {
    base: [Row; 3],
    arm: [Row; 3],
    length_squared: Row,
}

/// The answers of each car at one station.
#[derive(Debug, Clone)]
#[repr(align(64))]
struct Answers {
    /// Place of the upright less that of the nominal car: x, y (mm), Gibbs vector.
    apart: [Row; 5],
    toe_deg: Row,
    camber_deg: Row,
}

#[derive(Debug, Clone)]
pub(super) struct LaneBlock {
    /// In the order of elimination.
    links: [Links; 5],
    answers: Vec<Answers>,
    /// 1 while nothing about a car was out of the ordinary, else 0.
    sound: [u64; LANES],
}

impl LaneBlock {
    pub(super) fn new(stations: usize) -> Self {
        let links = Links { base: [ZERO; 3], arm: [ZERO; 3], length_squared: ZERO };
        let answers = Answers { apart: [ZERO; 5], toe_deg: ZERO, camber_deg: ZERO };
        Self { links: std::array::from_fn(|_| links.clone()), answers: vec![answers; stations], sound: [0; LANES] }
    }

    /// Takes up to sixteen cars; lanes that are left over carry the last of them once more.
    pub(super) fn load(&mut self, nominal: &Linkage, plan: &Plan, cars: &[PickupErrors], lengths: LinkSetting) {
        self.sound = [1; LANES];
        for lane in 0..LANES {
            let Some(car) = cars.get(lane).or(cars.last()) else { return };
            let built = nominal.varied(car, lengths);
            for (links, &index) in self.links.iter_mut().zip(&plan.order) {
                let bar = &built.links[index];
                for axis in 0..3 {
                    links.base[axis][lane] = bar.base[axis];
                    links.arm[axis][lane] = bar.arm[axis];
                }
                links.length_squared[lane] = bar.length_squared;
            }
        }
    }

    pub(super) fn is_sound(&self, lane: usize) -> bool {
        self.sound[lane] == 1
    }

    pub(super) fn toe_deg(&self, row: usize, lane: usize) -> f64 {
        self.answers[row].toe_deg[lane]
    }

    pub(super) fn camber_deg(&self, row: usize, lane: usize) -> f64 {
        self.answers[row].camber_deg[lane]
    }

    pub(super) fn place(&self, row: usize, lane: usize, station: &Station) -> [f64; 5] {
        std::array::from_fn(|c| station.place[c] + self.answers[row].apart[c][lane])
    }

    /// Puts the answers of a car that was solved alone where the batch would have put them.
    pub(super) fn write(
        &mut self,
        row: usize,
        lane: usize,
        station: &Station,
        posture: &Posture,
        toe: f64,
        camber: f64,
    ) {
        let answers = &mut self.answers[row];
        let places = place_of(posture).into_iter().zip(station.place);
        for (apart, (place, nominal)) in answers.apart.iter_mut().zip(places) {
            apart[lane] = place - nominal;
        }
        (answers.toe_deg[lane], answers.camber_deg[lane]) = (toe, camber);
    }
}

/// Solves every station of the plan for the cars of the lanes.
#[inline(always)]
pub(super) fn solve(plan: &Plan, lanes: &mut LaneBlock) {
    for (row, station) in plan.stations.iter().enumerate() {
        let mut apart = extrapolated(station, &lanes.answers);
        settle(&lanes.links, station, plan.last_square, &mut apart, &mut lanes.sound);
        let answers = &mut lanes.answers[row];
        answers.apart = apart;
        aim(plan, station, answers, &mut lanes.sound);
    }
}

#[inline(always)]
fn extrapolated(station: &Station, answers: &[Answers]) -> [Row; 5] {
    let mut apart = [ZERO; 5];
    for &(row, weight) in &station.known {
        for (sum, known) in apart.iter_mut().zip(&answers[row].apart) {
            for lane in 0..LANES {
                sum[lane] += weight * known[lane];
            }
        }
    }
    apart
}

/// Newton, for each car until its last step leaves nothing; a car that has settled stays as it is while others go on, so
/// that its answer does not depend on who stands beside it.
#[inline(always)]
fn settle(links: &[Links; 5], station: &Station, last_square: f64, apart: &mut [Row; 5], sound: &mut [u64; LANES]) {
    let mut squares = [f64::INFINITY; LANES];
    for _ in 0..MAX_STEPS {
        squares = newton_step(links, station, last_square, &squares, apart, sound);
        let open = squares.iter().zip(sound.iter()).any(|(&square, &sound)| sound == 1 && square > last_square);
        if !open {
            return;
        }
    }
    for lane in 0..LANES {
        sound[lane] &= u64::from(squares[lane] <= last_square);
    }
}

#[inline(always)]
fn of_lane(rows: &[Row; 3], lane: usize) -> Triple {
    [rows[0][lane], rows[1][lane], rows[2][lane]]
}

/// One Newton step of every car that moves yet: from the squares of the steps before to those of this one, mm²
/// (rotations times 100 mm).
#[inline(always)]
fn newton_step(
    links: &[Links; 5],
    station: &Station,
    last_square: f64,
    before: &Row,
    apart: &mut [Row; 5],
    sound: &mut [u64; LANES],
) -> Row {
    let mut squares = ZERO;
    for lane in 0..LANES {
        let displacement = [station.place[0] + apart[0][lane], station.place[1] + apart[1][lane], station.bump_mm];
        let gibbs = gibbs_of(station, apart, lane);
        let turn = rotation(gibbs);
        let mut rows = [[0.0; 6]; 5];
        for (row, link) in rows.iter_mut().zip(links) {
            let (base, arm) = (of_lane(&link.base, lane), of_lane(&link.arm, lane));
            *row = equation(link_residual(base, arm, link.length_squared[lane], displacement, &turn));
        }
        let eliminated = Lu5::of(rows);
        let [x, y, omega @ ..] = eliminated.solution(5);
        let rate = gibbs_rate(gibbs, omega);
        let moves = before[lane] > last_square;
        for (c, change) in [x, y, rate[0], rate[1], rate[2]].into_iter().enumerate() {
            apart[c][lane] += if moves { change } else { 0.0 };
        }
        let square = x * x + y * y + ROTATION_SCALE_MM * ROTATION_SCALE_MM * dot(omega, omega);
        squares[lane] = if moves { square } else { before[lane] };

        let (mut determinant, mut pivots_hold) = (1.0, true);
        for k in 0..5 {
            let share = eliminated.pivots()[k] * station.inverse_pivots[k];
            determinant *= share;
            pivots_hold &= share >= MIN_PIVOT;
        }
        let shrinks = (square <= station.most_square) & (square <= MAX_SHRINKING * MAX_SHRINKING * before[lane]);
        // Comparisons with a NaN are false: such a car is not sound.
        let holds = pivots_hold
            & (MIN_DETERMINANT..=MAX_DETERMINANT).contains(&determinant)
            & (shrinks | (square <= last_square));
        sound[lane] &= u64::from(holds | !moves);
    }
    squares
}

/// Toe and camber of every car, from the angles between its wheel and the nominal one.
#[inline(always)]
fn aim(plan: &Plan, station: &Station, answers: &mut Answers, sound: &mut [u64; LANES]) {
    let [nominal_x, nominal_y, nominal_z] = station.spin_axis;
    let nominal_level = (nominal_x * nominal_x + nominal_y * nominal_y).sqrt();
    let (mut toe, mut camber) = (ZERO, ZERO);
    for lane in 0..LANES {
        let gibbs = gibbs_of(station, &answers.apart, lane);
        let [x, y, z] = turned(&rotation(gibbs), plan.spin_axis);
        let level = (x * x + y * y).sqrt();
        let (ahead, beside) = (x * nominal_y - y * nominal_x, x * nominal_x + y * nominal_y);
        let (over, along) = (nominal_z * level - z * nominal_level, level * nominal_level + z * nominal_z);
        let (plan_view, lean) = (ahead / beside, over / along);
        toe[lane] = station.toe_deg + small_atan(plan_view) * DEGREES;
        camber[lane] = station.camber_deg + small_atan(lean) * DEGREES;
        let near = (beside > 0.0) & (plan_view.abs() <= MAX_TURNED) & (along > 0.0) & (lean.abs() <= MAX_TURNED);
        sound[lane] &= u64::from(near);
    }
    (answers.toe_deg, answers.camber_deg) = (toe, camber);
}

#[inline(always)]
fn gibbs_of(station: &Station, apart: &[Row; 5], lane: usize) -> Triple {
    [station.place[2] + apart[2][lane], station.place[3] + apart[3][lane], station.place[4] + apart[4][lane]]
}

const DEGREES: f64 = 180.0 / std::f64::consts::PI;

/// Arc tangent, rad, for arguments up to [`MAX_TURNED`]: the first seven terms of its series.
#[inline(always)]
fn small_atan(t: f64) -> f64 {
    let q = t * t;
    let mut sum = 1.0 / 13.0;
    for term in [-1.0 / 11.0, 1.0 / 9.0, -1.0 / 7.0, 1.0 / 5.0, -1.0 / 3.0, 1.0] {
        sum = sum * q + term;
    }
    t * sum
}
