//! The readings of all rounds as one least-squares problem with a prior.
//!
//! Unknown of each wheel are its pickup errors, the same in all rounds, and for each round the height that the builder took
//! for design height and how far static toe is off the drawing; unknown of each session are the offsets of its gauges. All of
//! them count in their own prior standard deviations, so that the prior is one residual of standard deviation 1 for each.
//!
//! Source: maximum a posteriori with normal errors; A. Tarantola, *Inverse Problem Theory*, ch. 3 (from memory). Tested by
//! `tests/correct/outside.rs`.

use nalgebra::{DMatrix, DVector};

use super::finished_wheel::{ByWheel, Changes, DrawnWheel, FinishedWheel};
use super::instrument::{Number, Seen, Shows, numbers};
use crate::gauge::{GaugeReading, ReadSide, Round};
use crate::geometry::{Coordinate, Side};
use crate::mechanism::Posture;
use crate::studies::errors::ErrorModel;
use crate::studies::least_squares::{LeastSquaresProblem, Linearisation};

/// Static toe as the builder set it, before any reading: common practice is far better, a wheel that was never set far worse.
const STATIC_TOE_SD_DEG: f64 = 0.5;

/// A number that was read, and where.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Observation {
    /// Index of the round.
    pub round: usize,
    pub reading: GaugeReading,
    pub number: Number,
    /// Index of its gauge's offset.
    offset: usize,
}

/// A gauge in a session: readings of it share an offset.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Gauge {
    round: usize,
    session: usize,
    side: ReadSide,
    of_camber: bool,
    offset_sd_deg: f64,
}

/// What is known of one wheel before any reading.
#[derive(Debug, Clone)]
pub(super) struct PriorWheel<'d> {
    pub drawn: &'d DrawnWheel<'d>,
    pub errors: ErrorModel,
    /// Changes that had been made when each round was read.
    pub changes: Vec<Changes>,
}

/// Readings of one wheel, or of two that were read together.
#[derive(Debug, Clone)]
pub(super) struct Problem<'d> {
    pub wheels: Vec<PriorWheel<'d>>,
    pub observations: Vec<Observation>,
    gauges: Vec<Gauge>,
    bump_zero_sd_mm: Vec<f64>,
}

/// A wheel does not close, or does not reach a height at which it was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct OutOfReach;

/// What the unknowns say of one wheel in one round.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct WheelUnknowns {
    pub errors_mm: [f64; Coordinate::COUNT],
    pub bump_zero_mm: f64,
    pub toe_off_deg: f64,
}

impl<'d> Problem<'d> {
    /// Of some wheels; the last of the rounds is that of the car as it stands.
    pub fn new(wheels: Vec<PriorWheel<'d>>, rounds: &[&Round]) -> Self {
        let bump_zero_sd_mm = rounds.iter().map(|round| round.noise.bump_zero_sd_mm).collect();
        let mut problem = Self { wheels, observations: Vec::new(), gauges: Vec::new(), bump_zero_sd_mm };
        for (index, round) in rounds.iter().enumerate() {
            for reading in &round.readings.readings {
                for number in numbers(round.readings.instrument, &round.noise, reading.side, reading.read) {
                    problem.observe(index, *reading, number);
                }
            }
        }
        problem
    }

    fn observe(&mut self, round: usize, reading: GaugeReading, number: Number) {
        let has = |side: Side| self.wheels.iter().any(|wheel| wheel.drawn.corner.side == side);
        let is_seen = match reading.side {
            ReadSide::One(side) => has(side),
            ReadSide::Both => Side::BOTH.into_iter().all(has),
        };
        if !is_seen {
            return;
        }
        let gauge = Gauge {
            round,
            session: reading.session,
            side: reading.side,
            of_camber: number.shows == Shows::Camber,
            offset_sd_deg: number.offset_sd_deg,
        };
        let offset = self.gauges.iter().position(|known| *known == gauge).unwrap_or_else(|| {
            self.gauges.push(gauge);
            self.gauges.len() - 1
        });
        self.observations.push(Observation { round, reading, number, offset });
    }

    /// The same with only some of the observations.
    pub fn with_only(&self, used: &[usize]) -> Self {
        Self { observations: used.iter().map(|&index| self.observations[index]).collect(), ..self.clone() }
    }

    pub fn rounds(&self) -> usize {
        self.bump_zero_sd_mm.len()
    }

    /// How many unknowns there are.
    pub fn unknowns(&self) -> usize {
        self.first_offset() + self.gauges.len()
    }

    /// Index of the first unknown of a wheel; its independent pickup errors come first.
    pub fn first_of(&self, wheel: usize) -> usize {
        self.wheels[..wheel].iter().map(|wheel| wheel.errors.independent() + 2 * self.rounds()).sum()
    }

    fn first_offset(&self) -> usize {
        self.first_of(self.wheels.len())
    }

    /// Indices of height and static toe of a wheel in a round.
    pub fn round_of(&self, wheel: usize, round: usize) -> [usize; 2] {
        let first = self.first_of(wheel) + self.wheels[wheel].errors.independent() + 2 * round;
        [first, first + 1]
    }

    /// Standard deviations of height, mm, and static toe, deg, in a round.
    pub fn round_sd(&self, round: usize) -> [f64; 2] {
        [self.bump_zero_sd_mm[round], STATIC_TOE_SD_DEG]
    }

    /// Unknowns in their units.
    pub fn wheel(&self, unknowns: &DVector<f64>, wheel: usize, round: usize) -> WheelUnknowns {
        let (first, errors) = (self.first_of(wheel), &self.wheels[wheel].errors);
        let [height, toe] = self.round_of(wheel, round);
        let [height_sd, toe_sd] = self.round_sd(round);
        WheelUnknowns {
            errors_mm: errors.of_units(&unknowns.as_slice()[first..first + errors.independent()]),
            bump_zero_mm: unknowns[height] * height_sd,
            toe_off_deg: unknowns[toe] * toe_sd,
        }
    }

    /// Wheels that an observation sees.
    pub fn seen_by<'p>(&'p self, observation: &'p Observation) -> impl Iterator<Item = usize> + 'p {
        let side_of = |wheel: usize| self.wheels[wheel].drawn.corner.side;
        (0..self.wheels.len()).filter(move |&wheel| match observation.reading.side {
            ReadSide::One(side) => side_of(wheel) == side,
            ReadSide::Both => true,
        })
    }

    /// Every wheel in every round as some unknowns have it.
    fn finished(&self, unknowns: &DVector<f64>) -> Option<Vec<Vec<FinishedWheel<'_>>>> {
        let of_round = |wheel: usize, round: usize| {
            let WheelUnknowns { errors_mm, bump_zero_mm, toe_off_deg } = self.wheel(unknowns, wheel, round);
            let read = self.observations.iter().filter(|observation| observation.round == round);
            let mut stations_mm: Vec<f64> = read.map(|seen| seen.reading.bump_mm + bump_zero_mm).collect();
            stations_mm.push(bump_zero_mm);
            let PriorWheel { drawn, changes, .. } = &self.wheels[wheel];
            drawn.finished(&errors_mm, &changes[round], toe_off_deg, &stations_mm)
        };
        (0..self.wheels.len()).map(|wheel| (0..self.rounds()).map(|round| of_round(wheel, round)).collect()).collect()
    }

    /// What an observation would show, less its value, over its standard deviation, and a row of derivatives.
    fn residual(
        &self,
        observation: &Observation,
        unknowns: &DVector<f64>,
        wheels: &[Vec<FinishedWheel<'_>>],
        row: &mut [f64],
    ) -> Option<f64> {
        let Observation { round, reading, number, offset } = *observation;
        let gauge = self.first_offset() + offset;
        let mut value = -number.value;
        for (nth, wheel) in self.seen_by(observation).enumerate() {
            // The gauge is off once, however many wheels it sees.
            let offset_sd_deg = if nth == 0 { number.offset_sd_deg } else { 0.0 };
            let finished = &wheels[wheel][round];
            let zero_mm = self.wheel(unknowns, wheel, round).bump_zero_mm;
            let offset_deg = unknowns[gauge] * offset_sd_deg;
            let there = Shown::at(finished, reading.bump_mm + zero_mm, number.shows, offset_deg)?;
            value += there.value;
            self.write(wheel, round, &there, 1.0, row);
            row[gauge] += there.by_offset * offset_sd_deg;
            if number.zeroed {
                let zero = Shown::at(finished, zero_mm, number.shows, 0.0)?;
                value -= zero.value;
                self.write(wheel, round, &zero, -1.0, row);
            }
        }
        row.iter_mut().for_each(|derivative| *derivative /= number.sd);
        Some(value / number.sd)
    }

    fn write(&self, wheel: usize, round: usize, shown: &Shown, times: f64, row: &mut [f64]) {
        let (first, errors) = (self.first_of(wheel), &self.wheels[wheel].errors);
        for (entry, effect) in row[first..].iter_mut().zip(errors.effects(&shown.by_wheel.errors)) {
            *entry += times * effect;
        }
        let round_sd = self.round_sd(round);
        for ((at, by), sd) in
            self.round_of(wheel, round).into_iter().zip([shown.by_bump, shown.by_wheel.toe]).zip(round_sd)
        {
            row[at] += times * by * sd;
        }
    }
}

/// What an instrument shows of one wheel, with derivatives.
struct Shown {
    value: f64,
    by_wheel: ByWheel,
    by_bump: f64,
    by_offset: f64,
}

impl Shown {
    fn at(finished: &FinishedWheel<'_>, bump_mm: f64, shows: Shows, offset_deg: f64) -> Option<Self> {
        let posture = finished.at(bump_mm)?;
        let seen = shows.through(seen(finished, &posture), offset_deg);
        let by = shows.by(&seen);
        Some(Self {
            value: shows.value(&seen),
            by_wheel: finished.by_wheel(&posture, &by)?,
            by_bump: finished.by_bump(&posture, &by),
            by_offset: if shows == Shows::Camber { by.camber } else { by.toe },
        })
    }
}

/// What there is to see of a wheel at a posture.
pub(super) fn seen(finished: &FinishedWheel<'_>, posture: &Posture) -> Seen {
    Seen { toe_deg: finished.toe_deg(posture), camber_deg: finished.camber_deg(posture), place: posture.displacement }
}

impl LeastSquaresProblem for Problem<'_> {
    type Failure = OutOfReach;

    fn linearised(&self, unknowns: &DVector<f64>) -> Result<Linearisation, OutOfReach> {
        let wheels = self.finished(unknowns).ok_or(OutOfReach)?;
        let (read, count) = (self.observations.len(), self.unknowns());
        let mut residuals = DVector::zeros(read + count);
        let mut jacobian = DMatrix::zeros(read + count, count);
        let mut row = vec![0.0; count];
        for (i, observation) in self.observations.iter().enumerate() {
            row.fill(0.0);
            residuals[i] = self.residual(observation, unknowns, &wheels, &mut row).ok_or(OutOfReach)?;
            jacobian.row_mut(i).copy_from_slice(&row);
        }
        // The prior: every unknown is 0 with a standard deviation of 1.
        residuals.rows_mut(read, count).copy_from(unknowns);
        jacobian.view_mut((read, 0), (count, count)).fill_with_identity();
        Ok(Linearisation { residuals, jacobian })
    }
}
