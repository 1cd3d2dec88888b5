//! Tuning: moves the free coordinates and lengths of a car until toe stays as wanted over the travel and the limits hold.
//!
//! `DesignVariables` turn what is free into a design vector with bounds, `TuneProblem` turns a design vector into residuals
//! with exact gradients, `descend` minimises from one start, `search` does so from many starts and keeps the good ends.

mod already_tuned;
mod answer;
mod as_built;
mod clearance;
mod descent;
mod figures;
mod findings;
mod forgiveness;
mod given_up;
mod held_back;
mod iterate;
mod limits;
mod most_forgiving;
mod odds;
mod other_shaft;
mod others_first;
mod outcome;
mod problem;
mod qp;
mod residual;
mod search;
mod spacing;
mod stages;
#[cfg(test)]
mod tests;
mod through_travel;
mod too_near;
mod tune_error;
mod tuned_car;
mod whole_steps;

pub use super::design_variables::{Part, TubeWay, VariableKind};
pub use answer::{Answer, Choice, Move, NewLength, TargetReached, TunedSide};
pub use clearance::UnclearedPair;
pub(super) use descent::{Descent, NoPosture, descend, descend_on};
pub use findings::{SideFindings, Strength, TuneFindings, TuneRun};
pub use given_up::GivenUp;
pub use held_back::HeldBack;
pub(super) use iterate::Objective;
pub use odds::{BuildOdds, OtherOdds, TunedOdds, WorstOfWheel, other_answers};
pub use outcome::tune;
pub(super) use problem::TuneProblem;
pub use residual::ResidualOf;
pub(super) use search::LIMIT_TOLERANCE;
pub use search::SearchOptions;
pub use through_travel::{AsDrawn, AsWritten, hidden_doubts};
pub use tune_error::TuneError;
pub use tuned_car::{all_free_moved, new_coordinate_mm, tuned_geometry};
