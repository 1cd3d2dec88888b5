//! Moves what is free until the wheel does not steer and everything else that is wanted holds.
//!
//! [`Freedoms`] turn a car into numbers with bounds, [`Judge`] turns a setting into figures with exact derivatives,
//! `descend` goes downhill from one setting, `search` does so from many and keeps the good ends.

mod descend;
mod freedom;
mod judge;
mod outcome;
mod room;
mod search;

pub use descend::{Aim, Bounds, Settled, descend};
pub use freedom::{Freedom, Freedoms, Moved, Place, TubeWay};
pub use judge::{Judge, Judgement, LimitOn, Subject, Term};
pub use outcome::{
    Answer, HeldBack, Move, TuneError, TunedSide, WishReached, freedoms, tune, tuned_geometry, weld_sd_mm,
};
pub use search::{SearchOptions, bounds_of, changes_nothing, search};
