//! How many cars are built, and how.

use super::last_bracket::LastBracket;
use crate::geometry::{Geometry, PerSide};
use crate::mechanism::LinkSetting;
use crate::studies::errors::{ErrorModel, ErrorSource};

/// What is done about the links, and when, once the brackets are welded.
#[derive(Debug, Clone, PartialEq)]
pub enum Finish {
    /// Every link keeps its drawn length.
    Cut,
    /// Every link is adjusted until the wheel stands as drawn.
    Adjusted,
    /// The same, with one bracket welded only after the toe curve was gauged.
    Last(LastBracket),
}

impl Finish {
    /// How the links of a built wheel are set.
    pub(super) fn lengths(&self) -> LinkSetting {
        match self {
            Finish::Cut => LinkSetting::Cut,
            Finish::Adjusted | Finish::Last(_) => LinkSetting::Adjusted,
        }
    }
}

/// How many cars to build, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct MonteCarlo {
    /// How many are built.
    pub cars: usize,
    /// The same seed gives the same cars.
    pub seed: u64,
    /// Errors of the left and of the right wheel, drawn independently of each other.
    pub error_models: PerSide<ErrorModel>,
    /// What is done about the links.
    pub finish: Finish,
}

impl MonteCarlo {
    /// With these errors on both wheels, and those of the file's tape on top.
    pub fn new(geometry: &Geometry, errors: &ErrorSource, cars: usize, seed: u64, finish: Finish) -> Self {
        let error_models = PerSide::of(|side| ErrorModel::new(geometry, side, errors, geometry.tape));
        Self { cars, seed, error_models, finish }
    }
}

/// What goes on beside a study of many cars.
#[derive(Clone, Copy)]
pub struct Watch<'w> {
    /// True to end early, with the cars built by then.
    pub stop: &'w (dyn Fn() -> bool + Sync),
    /// Is told of every few cars that are built how many they are.
    pub built: &'w (dyn Fn(usize) + Sync),
}

impl Watch<'static> {
    /// Nobody looks on.
    pub const NONE: Self = Self { stop: &|| false, built: &|_| {} };
}
