//! Moves what is free until the wheel does not steer and everything else that is wanted holds.
//!
//! [`DesignVariables`] turn a car into numbers with bounds, [`TuneProblem`] turns a setting into figures with exact derivatives,
//! `descend` goes downhill from one setting, `search` does so from many and keeps the good ends.

mod descend;
mod freedom;
mod outcome;
mod problem;
mod room;
mod search;

pub use descend::{Bounds, Iterate, Objective, descend};
pub use freedom::{DesignVariable, DesignVariables, Moved, TubeWay, VariableKind};
pub use outcome::{
    Answer, HeldBack, Move, TuneError, TunedSide, WishReached, freedoms, tune, tuned_geometry, weld_sd_mm,
};
pub use problem::{Evaluation, Residual, ResidualOf, TuneProblem};
pub use search::{SearchOptions, bounds_of, changes_nothing, search};
