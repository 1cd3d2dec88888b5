//! The weld study (Monte Carlo): many cars of one drawing, built with random errors of weld and tape, each solved and judged.
//!
//! [`ToleranceFindings`] is the whole study: it builds and counts the cars, says which dimensions a jig should
//! hold and which bracket to weld last. A car depends on the seed and its own number alone, so any number of threads gives the same
//! figures. A car that binds or does not assemble is counted by itself: it passes no limit and is in no percentile.

mod bump_steer;
#[cfg(test)]
mod by_hand;
mod chance;
mod columns;
mod counts;
mod findings;
#[cfg(test)]
pub(super) mod forgiving;
mod jigs;
mod last_bracket;
mod limited_rod_ends;
mod model;
mod monte_carlo;
mod nearest_gap;
#[cfg(test)]
mod outside;
mod placing;
mod results;
mod statistics;
mod study;
#[cfg(test)]
mod swept;
mod tried;
mod worst;

pub use bump_steer::BumpSteerOdds;
pub use chance::CarChance;
pub(super) use chance::{Chances, chances_of};
pub use findings::{
    LastBracketGain, LinksAfterWelding, NoTolerance, ToleranceFindings, ToleranceRequest, USUAL_CARS,
    USUAL_GAUGE_SD_DEG, USUAL_JIG_SD_MM, USUAL_PLACING_SD_MM,
};
pub use jigs::{JigBudget, JigSet, Jigged, TARGET_YIELD};
pub use last_bracket::{LastBracket, NoLastBracket, SLOTS_AND_SHIMS_MM};
pub use model::NoWheelModel;
pub use monte_carlo::{Finish, Watch};
pub use results::{LostCars, Spread, Tolerance};
pub(super) use statistics::percentile;
pub use statistics::{CurveBand, Histogram};
pub use tried::{LimitCount, NotTried};
pub(super) use worst::WorstBumpSteer;
