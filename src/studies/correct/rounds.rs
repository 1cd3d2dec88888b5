//! All gaugings of a car: whether their readings are fit to be used, and where they put each wheel.

use std::sync::Arc;

use super::corrections::limit_deg;
use super::estimate::{Estimate, Fitted, NoEstimate};
use super::finding::Lash;
use super::finished_wheel::{Changes, DrawnWheel};
use super::in_inches::Quiet;
use super::lash::{contradiction, lash};
use super::likely_wheel::LikelyWheel;
use super::mirrored::{MirroredToe, mirrored_toe};
use super::other_ways::{OtherWay, Ways};
use super::problem::{PriorWheel, Problem};
use super::refusal::NotCorrected;
use super::request::CorrectRequest;
use crate::gauge::{Change, GaugeReading, ReadSide, Round};
use crate::geometry::{Coordinate, Geometry, PerSide, Side};
use crate::studies::errors::ErrorModel;
use crate::studies::stations::stations;

/// What is looser than this, deg, is not corrected: play of about 0.1 mm in both ends of a toe link.
const MAX_LASH_DEG: f64 = 0.1;

/// Rows of bump and droop, mm.
pub(super) fn rows_mm(geometry: &Geometry) -> Vec<f64> {
    let travel = &geometry.travel;
    stations(-travel.droop_mm, travel.bump_mm, travel.step_mm)
}

/// All gaugings of a car, the last one of the car as it stands.
pub(super) struct Rounds<'r> {
    all: Vec<Round>,
    pub request: &'r CorrectRequest,
}

impl<'r> Rounds<'r> {
    pub fn new(request: &'r CorrectRequest) -> Self {
        let now = Round { readings: request.readings.clone(), noise: request.noise, changes: PerSide::default() };
        Self { all: request.earlier.iter().cloned().chain([now]).collect(), request }
    }

    /// Some round has readings of both wheels together, so that both must be found together.
    fn reads_both_at_once(&self) -> bool {
        self.all.iter().flat_map(|round| &round.readings.readings).any(|reading| reading.side == ReadSide::Both)
    }

    pub fn now(&self) -> &Round {
        &self.all[self.all.len() - 1]
    }

    fn readings_of(&self, side: Side) -> impl Iterator<Item = &GaugeReading> {
        let of_side = move |reading: &&GaugeReading| [ReadSide::One(side), ReadSide::Both].contains(&reading.side);
        self.now().readings.readings.iter().filter(of_side)
    }

    /// The wheels whose readings are fit to be used.
    pub fn ready<'d>(
        &self,
        drawn: &'d PerSide<Result<DrawnWheel<'d>, NotCorrected>>,
    ) -> PerSide<Result<&'d DrawnWheel<'d>, NotCorrected>> {
        let read = PerSide::of(|side| {
            let drawn = drawn[side].as_ref().map_err(Clone::clone)?;
            self.has_curve(side).map(|()| drawn)
        });
        let other_ways = self.other_ways(&read);
        PerSide::of(|side| {
            let drawn = read[side].clone()?;
            if let Some(other_way) = other_ways[side].clone() {
                let line = self.readings_of(side).next().map_or(0, |first| first.line);
                let instrument = self.now().readings.instrument;
                return Err(NotCorrected::OtherWay { side, line, instrument, other_way });
            }
            self.checked(drawn).map(|()| drawn)
        })
    }

    /// The readings of a wheel are of several heights.
    fn has_curve(&self, side: Side) -> Result<(), NotCorrected> {
        let first = self.readings_of(side).next().ok_or(NotCorrected::NoReadings { side })?;
        let is_there = |reading: &GaugeReading| reading.bump_mm == first.bump_mm;
        match self.readings_of(side).all(is_there) {
            true => Err(NotCorrected::OneHeight { side, line: first.line }),
            false => Ok(()),
        }
    }

    /// Columns of the last round that are written wrongly as a whole. What is told of one wheel holds for the other one too where it
    /// may be so: both stand in the same column.
    fn other_ways(&self, read: &PerSide<Result<&DrawnWheel<'_>, NotCorrected>>) -> PerSide<Option<OtherWay>> {
        let of = |wheels: &[&DrawnWheel<'_>]| {
            let all = &self.now().readings;
            Ways::of(wheels, &self.of_wheels_now(wheels), all, |now| self.problem(wheels, now))
        };
        if let PerSide { left: Ok(left), right: Ok(right) } = read
            && self.reads_both_at_once()
        {
            let told = of(&[left, right]).and_then(|ways| ways.told().cloned());
            return PerSide { left: told.clone(), right: told };
        }
        let one = |side: Side| read[side].as_ref().ok().and_then(|drawn| of(&[drawn]));
        let (left, right) = rayon::join(|| one(Side::Left), || one(Side::Right));
        let ways = PerSide { left, right };
        PerSide::of(|side| {
            let (here, there) = (ways[side].as_ref()?, ways[side.other()].as_ref());
            let told = |ways: &Ways| ways.told().cloned();
            told(here).or_else(|| here.may_be(&told(there?)?))
        })
    }

    /// Whether the readings of a wheel are fit to be used.
    fn checked(&self, drawn: &DrawnWheel<'_>) -> Result<(), NotCorrected> {
        let side = drawn.corner.side;
        let travel = &drawn.geometry.travel;
        let is_beyond = |reading: &&GaugeReading| !(-travel.droop_mm..=travel.bump_mm).contains(&reading.bump_mm);
        if let Some(GaugeReading { line, bump_mm, .. }) = self.readings_of(side).find(is_beyond) {
            return Err(NotCorrected::BeyondReach { side, line: *line, bump_mm: *bump_mm });
        }
        // At one height alone play cannot be told from a reading that is wrong.
        let loose = lash(self.now(), side).filter(|lash| lash.is_loose && lash.heights > 1);
        if let Some(Lash { up_less_down_deg, in_inches, .. }) =
            loose.filter(|lash| lash.up_less_down_deg.abs() > MAX_LASH_DEG)
        {
            return Err(NotCorrected::Loose { side, up_less_down_deg, in_inches });
        }
        let sides = [ReadSide::One(side), ReadSide::Both];
        sides.into_iter().find_map(|side| contradiction(self.now(), side)).map_or(Ok(()), Err)
    }

    /// Changes of one wheel that had been made when each round was read.
    fn changes(&self, side: Side) -> Vec<Changes> {
        let mut so_far = Changes::default();
        let of_round = |round: &Round| {
            let before = so_far;
            so_far = so_far.with(&round.changes[side]);
            before
        };
        self.all.iter().map(of_round).collect()
    }

    /// Both wheels, found together where they were read so.
    pub fn located<'d>(
        &self,
        ready: &PerSide<Result<&'d DrawnWheel<'d>, NotCorrected>>,
    ) -> PerSide<Result<Located<'d>, NotCorrected>> {
        match ready {
            PerSide { left: Ok(left), right: Ok(right) } if self.reads_both_at_once() => {
                match self.found_together(&[left, right]) {
                    Ok((estimate, mirrored)) => PerSide {
                        left: Ok(Located { estimate: Arc::clone(&estimate), wheel: 0, mirrored }),
                        right: Ok(Located { estimate, wheel: 1, mirrored }),
                    },
                    Err(why) => {
                        PerSide { left: Err(self.no_estimate(left, &why)), right: Err(self.no_estimate(right, &why)) }
                    }
                }
            }
            _ => {
                let one = |side: Side| {
                    let drawn = ready[side].clone()?;
                    match self.found_together(&[drawn]) {
                        Ok((estimate, mirrored)) => Ok(Located { estimate, wheel: 0, mirrored }),
                        Err(why) => Err(self.no_estimate(drawn, &why)),
                    }
                };
                let (left, right) = rayon::join(|| one(Side::Left), || one(Side::Right));
                PerSide { left, right }
            }
        }
    }

    /// A wheel that was not read in the last round, or cannot be found by it: as the rounds before have it, with their changes.
    pub fn unread<'d>(&self, drawn: &'d DrawnWheel<'d>) -> Option<LikelyWheel<'d>> {
        let mut rounds = self.all.clone();
        rounds.last_mut()?.readings.readings.clear();
        let problem = Problem::new(vec![self.prior(drawn)], &rounds.iter().collect::<Vec<_>>());
        let estimate = Estimate::of(&problem).ok();
        let changes = *self.changes(drawn.corner.side).last()?;
        let as_drawn = LikelyWheel { drawn, errors_mm: [0.0; Coordinate::COUNT], toe_off_deg: 0.0, changes };
        let found = estimate.filter(|_| !problem.observations.is_empty()).map(|estimate| LikelyWheel::of(&estimate, 0));
        Some(found.unwrap_or(as_drawn))
    }

    fn prior<'d>(&self, drawn: &'d DrawnWheel<'d>) -> PriorWheel<'d> {
        let side = drawn.corner.side;
        PriorWheel { drawn, errors: ErrorModel::of_file(drawn.geometry)[side].clone(), changes: self.changes(side) }
    }

    /// All rounds of some wheels, the last one with these readings.
    fn problem<'d>(&self, wheels: &[&'d DrawnWheel<'d>], now: &Round) -> Problem<'d> {
        let earlier = self.all[..self.all.len() - 1].iter();
        let prior = wheels.iter().map(|drawn| self.prior(drawn)).collect();
        Problem::new(prior, &earlier.chain([now]).collect::<Vec<_>>())
    }

    /// Wheels that are found together, in their order.
    fn found_together<'d>(
        &self,
        wheels: &[&'d DrawnWheel<'d>],
    ) -> Result<(Arc<Estimate<'d>>, Option<MirroredToe>), NoEstimate> {
        let estimate = Estimate::of(&self.problem(wheels, self.now()))?;
        Ok((Arc::new(estimate), mirrored_toe(&self.of_wheels_now(wheels), |now| self.problem(wheels, now))))
    }

    /// The last gauging with the readings of these wheels alone.
    fn of_wheels_now(&self, wheels: &[&DrawnWheel<'_>]) -> Round {
        let mut now = self.now().clone();
        let is_read = |side: ReadSide| match side {
            ReadSide::One(side) => wheels.iter().any(|drawn| drawn.corner.side == side),
            ReadSide::Both => true,
        };
        now.readings.readings.retain(|reading| is_read(reading.side));
        now
    }

    /// Whether dials or a spot of a wheel in the last round are in inches.
    pub fn quiet<'d>(&self, drawn: &'d DrawnWheel<'d>, fitted: &[&Fitted]) -> Option<Quiet> {
        let wheels = [drawn];
        Quiet::of(drawn, &self.of_wheels_now(&wheels), fitted, limit_deg(drawn.geometry), |now| {
            self.problem(&wheels, now)
        })
    }

    fn no_estimate(&self, drawn: &DrawnWheel<'_>, why: &NoEstimate) -> NotCorrected {
        let side = drawn.corner.side;
        match why {
            NoEstimate::OutOfReach => match self.impossible_round(drawn) {
                Some(round) => NotCorrected::ImpossibleRound { side, round },
                None => NotCorrected::NotMoving { side },
            },
            NoEstimate::DoesNotFit(worst) => NotCorrected::DoesNotFit {
                side,
                lines: worst.iter().take(3).map(|fitted| fitted.observation.reading.line).collect(),
                sds: worst.first().map_or(f64::NAN, |fitted| fitted.residual.abs()),
            },
        }
    }

    /// The first round after whose changes the drawn wheel no longer moves through its travel; counted from 1.
    fn impossible_round(&self, drawn: &DrawnWheel<'_>) -> Option<usize> {
        let moves =
            |changes: &Changes| drawn.finished(&[0.0; Coordinate::COUNT], changes, 0.0, &rows_mm(drawn.geometry));
        // What was changed in a round shows in the readings of the next.
        self.changes(drawn.corner.side).iter().position(|changes| moves(changes).is_none())
    }

    /// Every change that was made at a wheel so far.
    pub fn made(&self, side: Side) -> Vec<Change> {
        self.request.earlier.iter().flat_map(|round| round.changes[side].iter().copied()).collect()
    }
}

/// A wheel that the readings have found.
pub(super) struct Located<'d> {
    pub estimate: Arc<Estimate<'d>>,
    /// Index of the wheel in it.
    pub wheel: usize,
    pub mirrored: Option<MirroredToe>,
}

impl<'d> Located<'d> {
    pub fn drawn(&self) -> &'d DrawnWheel<'d> {
        self.estimate.problem.wheels[self.wheel].drawn
    }
}
