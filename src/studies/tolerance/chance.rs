//! The chance that a built car passes.

use super::model::NoWheelModel;
use super::study::{Finish, MonteCarlo, ToleranceStudy};
use crate::geometry::{Geometry, PerSide};
use crate::studies::errors::{ErrorModel, Proportion};
use crate::studies::rig::Rig;

/// Share of cars, built with these errors and links adjusted, whose two wheels and axle keep every limit of the file that can
/// be checked; `None` without `[limits]`.
///
/// The same cars as those of a tolerance study with this seed, so that both say the same. Tested by
/// `tests/cli/tune/odds.rs`.
pub fn chance_of(
    geometry: &Geometry,
    error_models: PerSide<ErrorModel>,
    cars: usize,
    seed: u64,
) -> Result<Option<Proportion>, NoWheelModel> {
    let rig = Rig::new(geometry).map_err(|singular| NoWheelModel::Singular { side: singular.side })?;
    let options = MonteCarlo { cars, seed, error_models, finish: Finish::Adjusted };
    Ok(ToleranceStudy::new(&rig)?.share_within_all_limits(&options))
}
