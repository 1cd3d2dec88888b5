//! The chance that a tuned car passes once it is built, with the weld and tape errors of its file.

use super::outcome::{Choice, TunedSide, tuned_geometry};
use crate::geometry::{Geometry, Interval, PerSide};
use crate::studies::errors::ErrorModel;
use crate::studies::rig::Rig;
use crate::studies::tolerance::{CarChance, WorstBumpSteer, chance_of};

/// Seed of a tolerance study that is given none: the same cars, hence the same figures.
const SEED: u64 = 1;

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
        let geometry = &Geometry { travel: geometry.travel.in_at_most(MAX_ROWS), ..geometry.clone() };
        let error_models = ErrorModel::of_file(geometry);
        let rig = Rig::new(geometry).ok()?;
        let worst = PerSide::of(|side| {
            let built = WorstBumpSteer::of(&rig, side, &error_models[side], cars, SEED)?;
            let (p90_deg, band_deg) = (built.percentile_deg(0.9)?, built.band_deg()?);
            Some(WorstOfWheel { as_drawn_deg: built.as_drawn_deg, p90_deg, band_deg })
        });
        let worst = worst.both()?;
        let chance = chance_of(geometry, error_models, cars, SEED).ok()?;
        Some(Self { cars, seed: SEED, chance, worst })
    }
}

/// The odds of the two answers that a tuning offers.
#[derive(Debug, Clone, PartialEq)]
pub struct TunedOdds {
    /// Of the flattest answer.
    pub flattest: Option<BuildOdds>,
    /// `None` when no side has such an answer.
    pub most_forgiving: Option<BuildOdds>,
    /// The one that is written.
    pub written: Choice,
}

impl TunedOdds {
    /// Of the car as it is written, and of the other answer.
    pub fn of(geometry: &Geometry, tuned: &[TunedSide], written: &Geometry, asked: Choice, cars: usize) -> Self {
        let has_forgiving = tuned.iter().any(|side| side.forgiving.is_some());
        let choice = if has_forgiving { asked } else { Choice::Flattest };
        let odds = |of: Choice| {
            if of == choice {
                return BuildOdds::of(written, cars);
            }
            let answers: Vec<_> = tuned.iter().map(|side| (side.side, side.chosen(of))).collect();
            BuildOdds::of(&tuned_geometry(geometry, &answers), cars)
        };
        let most_forgiving = has_forgiving.then(|| odds(Choice::MostForgiving)).flatten();
        Self { flattest: odds(Choice::Flattest), most_forgiving, written: choice }
    }

    /// Of the answer in `tuned.toml`.
    pub fn written(&self) -> Option<&BuildOdds> {
        match self.written {
            Choice::MostForgiving => self.most_forgiving.as_ref(),
            Choice::Flattest => self.flattest.as_ref(),
        }
    }
}
