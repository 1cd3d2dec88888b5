//! The chance that a built car passes.

use super::model::NoWheelModel;
use super::monte_carlo::{Finish, MonteCarlo, Watch};
use super::study::ToleranceStudy;
use super::tried::{LimitCount, TriedLimits};
use crate::geometry::{Geometry, PerSide, Quantity};
use crate::studies::errors::{ErrorModel, Proportion};
use crate::studies::judged_car::JudgedCar;
use crate::studies::rig::Rig;

/// Share of cars whose two wheels and axle keep every limit that was tried on them, and how many of the file's those are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CarChance {
    /// `None` without `[limits]`, or when none of them can be tried.
    pub share: Option<Proportion>,
    /// How many limits of the file were tried.
    pub limits: LimitCount,
}

/// Chances of the same cars.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::studies) struct Chances {
    pub all: CarChance,
    /// Inside the limits that were not let go; `None` where none was.
    pub kept: Option<CarChance>,
}

/// Of cars that are built with these errors and links adjusted: inside all limits, and inside those that were not let go.
///
/// The same cars as those of a tolerance study with this seed, so that both say the same. Tested by
/// `tests/cli/tune/odds.rs`.
pub(in crate::studies) fn chances_of(
    geometry: &Geometry,
    error_models: PerSide<ErrorModel>,
    cars: usize,
    seed: u64,
    let_go: &[Quantity],
    watch: Watch<'_>,
) -> Result<Chances, NoWheelModel> {
    let rig = Rig::new(geometry).map_err(|singular| NoWheelModel::Singular { side: singular.side })?;
    let mut car = JudgedCar::of(rig);
    let study = ToleranceStudy::new(&car)?;
    let options = MonteCarlo { cars, seed, error_models, finish: Finish::Adjusted };
    let [all, kept] = study.shares_within(&options, let_go, watch);
    let all = CarChance { share: all, limits: study.limits.count() };
    car.verdicts.retain(|verdict| !let_go.contains(&verdict.quantity));
    let held = TriedLimits::of(&car);
    let kept = CarChance { share: kept.filter(|_| !held.is_empty()), limits: held.count() };
    Ok(Chances { all, kept: (!let_go.is_empty()).then_some(kept) })
}
