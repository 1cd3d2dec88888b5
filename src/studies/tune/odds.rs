//! The chance that a tuned car passes once it is built, with the weld and tape errors of its file.

use std::sync::atomic::{AtomicUsize, Ordering};

use super::answer::{Answer, Choice, TunedSide};
use super::as_built::BuiltCar;
use super::through_travel::AsWritten;
use super::tuned_car::tuned_geometry;
use crate::geometry::{Geometry, Interval, PerSide, Quantity, Side};
use crate::studies::errors::{ErrorModel, Proportion};
use crate::studies::rig::Rig;
use crate::studies::tolerance::{CarChance, Chances, USUAL_CARS, Watch, WorstBumpSteer, chances_of};

/// Seed of a tolerance study that is given none: the same cars, hence the same figures.
const SEED: u64 = 1;

/// Cars that are built of each answer whether it is stopped or not: they take no longer than a person does.
const AT_LEAST: usize = USUAL_CARS as usize;

/// Rows in which each built car is moved; between two of them no figure differs by more than a shop can measure, and the time
/// grows with rows times cars.
const MAX_ROWS: f64 = 200.0;

/// The odds of a car that is built with adjusted links.
#[derive(Debug, Clone, PartialEq)]
pub struct BuildOdds {
    /// How many were built.
    pub cars: usize,
    /// Of the random errors.
    pub seed: u64,
    /// Of cars: both wheels, every limit that is tried on them.
    pub chance: CarChance,
    /// The same inside the limits that were not let go; `None` where none was.
    pub kept: Option<CarChance>,
    /// Worst bump steer of one wheel.
    pub worst: PerSide<WorstOfWheel>,
}

/// How the worst bump steer of one wheel of a side spreads, deg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WorstOfWheel {
    /// Without errors.
    pub as_drawn_deg: f64,
    /// 9 of 10 wheels stay below.
    pub p90_deg: f64,
    /// 19 of 20 wheels lie in it.
    pub band_deg: Interval,
}

impl WorstOfWheel {
    /// As drawn it is better than nearly every wheel that is built.
    pub fn is_flatter_than_built(&self) -> bool {
        self.as_drawn_deg < self.band_deg.low
    }
}

impl BuildOdds {
    /// Of a car with the errors of its file; `None` when it is singular or binds as drawn.
    pub fn of(geometry: &Geometry, cars: usize) -> Option<Self> {
        Self::beside(geometry, cars, &[], Watch::NONE)
    }

    /// The same of a car for which these limits were let go: every built one breaks them, so that the others alone tell one such
    /// car from another.
    pub(super) fn beside(geometry: &Geometry, cars: usize, let_go: &[Quantity], watch: Watch<'_>) -> Option<Self> {
        let geometry = &Geometry { travel: geometry.travel.in_at_most(MAX_ROWS), ..geometry.clone() };
        let error_models = ErrorModel::of_file(geometry);
        let Chances { all: chance, kept } = Self::chances_of(geometry, cars, let_go, watch)?;
        let rig = Rig::new(geometry).ok()?;
        let worst = PerSide::of(|side| {
            let built = WorstBumpSteer::watched(&rig, side, (&error_models[side], cars, SEED), watch)?;
            let (p90_deg, band_deg) = (built.percentile_deg(0.9)?, built.band_deg()?);
            Some((built.wheels(), WorstOfWheel { as_drawn_deg: built.as_drawn_deg, p90_deg, band_deg }))
        });
        let worst = worst.both()?;
        // After a stop: of the cars that were built by then, or without a limit of the wheels.
        let built = [chance.share, kept.and_then(|kept| kept.share)].into_iter().flatten().map(|share| share.of).min();
        let cars = built.unwrap_or_else(|| worst.iter().map(|(_, (wheels, _))| *wheels).fold(cars, usize::min));
        let worst = worst.map(|(_, worst)| worst);
        Some(Self { cars, seed: SEED, chance, kept, worst })
    }

    /// Its chances alone: inside all limits, and where some were let go inside the others.
    fn chances_of(geometry: &Geometry, cars: usize, let_go: &[Quantity], watch: Watch<'_>) -> Option<Chances> {
        let geometry = &Geometry { travel: geometry.travel.in_at_most(MAX_ROWS), ..geometry.clone() };
        let built = AtomicUsize::new(0);
        let watch = Watch {
            stop: &|| built.load(Ordering::Relaxed) >= AT_LEAST && (watch.stop)(),
            built: &|few| {
                built.fetch_add(few, Ordering::Relaxed);
                (watch.built)(few);
            },
        };
        chances_of(geometry, ErrorModel::of_file(geometry), cars, SEED, let_go, watch).ok()
    }

    /// The share of cars by which answers are compared.
    pub(super) fn share_of_kept(&self) -> Option<Proportion> {
        self.kept.unwrap_or(self.chance).share
    }
}

/// The other good answers of a car, one from each side; a side that has fewer keeps its chosen one.
pub fn other_answers(tuned: &[TunedSide], choice: Choice) -> Vec<Vec<(Side, &Answer)>> {
    let most = tuned.iter().map(|side| side.others(choice).len()).max().unwrap_or(0);
    let of_rank = |rank: usize| {
        let of_side = |side| (TunedSide::others(side, choice).get(rank)).copied().unwrap_or(side.chosen(choice));
        tuned.iter().map(|side| (side.side, of_side(side))).collect()
    };
    (0..most).map(of_rank).collect()
}

/// The limits that tuning let go, on either side.
fn let_go(tuned: &[TunedSide]) -> Vec<Quantity> {
    let of_sides: Vec<Quantity> = tuned.iter().flat_map(TunedSide::let_go).collect();
    Quantity::ALL.iter().copied().filter(|quantity| of_sides.contains(quantity)).collect()
}

/// The odds of the answers that a tuning offers, each of the car as it reads back from its file.
#[derive(Debug, Clone, PartialEq)]
pub struct TunedOdds {
    /// Of the flattest answer.
    pub flattest: Option<BuildOdds>,
    /// `None` when no side has such an answer.
    pub most_forgiving: Option<BuildOdds>,
    /// The one that is written.
    pub written: Choice,
    /// The chances of each other good answer, in the order of [`TunedSide::others`].
    pub others: Vec<OtherOdds>,
}

/// Shares of cars of an answer that is not written.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct OtherOdds {
    /// Inside all limits; `None` where no limit is tried.
    pub chance: Option<Proportion>,
    /// Inside those that were not let go; `None` where none was.
    pub kept: Option<Proportion>,
}

impl TunedOdds {
    /// Of every answer.
    pub fn of(
        geometry: &Geometry,
        tuned: &[TunedSide],
        as_written: AsWritten,
        asked: Choice,
        cars: usize,
        watch: Watch<'_>,
    ) -> Self {
        let has_forgiving = tuned.iter().any(|side| side.forgiving.is_some());
        let choice = if has_forgiving { asked } else { Choice::Flattest };
        let let_go = let_go(tuned);
        let read_back = |answers: &[(Side, &Answer)]| {
            let car = tuned_geometry(geometry, answers);
            as_written(&car).unwrap_or(car)
        };
        // Of a car with both wheels alike it was known already, to choose between its answers.
        let known = |car: &Geometry| {
            let is_this = |built: &&BuiltCar| {
                built.odds.cars == cars
                    && built.let_go == let_go
                    && built.corners.left == car.left
                    && built.corners.right == car.right
            };
            tuned.iter().flat_map(|side| &side.built).find(is_this).map(|built| built.odds.clone())
        };
        let odds = |of: Choice| {
            let answers: Vec<_> = tuned.iter().map(|side| (side.side, side.chosen(of))).collect();
            let car = read_back(&answers);
            known(&car).or_else(|| BuildOdds::beside(&car, cars, &let_go, watch))
        };
        let most_forgiving = has_forgiving.then(|| odds(Choice::MostForgiving)).flatten();
        let flattest = odds(Choice::Flattest);
        let is_flattest = |answers: &[(Side, &Answer)]| {
            answers.iter().zip(tuned).all(|((_, answer), side)| std::ptr::eq(*answer, side.chosen(Choice::Flattest)))
        };
        let chances = |answers: &[(Side, &Answer)]| match &flattest {
            Some(known) if is_flattest(answers) => Some(Chances { all: known.chance, kept: known.kept }),
            _ => {
                let car = read_back(answers);
                let known = known(&car).map(|known| Chances { all: known.chance, kept: known.kept });
                known.or_else(|| BuildOdds::chances_of(&car, cars, &let_go, watch))
            }
        };
        let chance = |answers: Vec<(Side, &Answer)>| {
            let of = chances(&answers);
            OtherOdds { chance: of.and_then(|of| of.all.share), kept: of.and_then(|of| of.kept?.share) }
        };
        let others = other_answers(tuned, asked).into_iter().map(chance).collect();
        Self { flattest, most_forgiving, written: choice, others }
    }

    /// Of the answer in `tuned.toml`.
    pub fn written(&self) -> Option<&BuildOdds> {
        match self.written {
            Choice::MostForgiving => self.most_forgiving.as_ref(),
            Choice::Flattest => self.flattest.as_ref(),
        }
    }
}
