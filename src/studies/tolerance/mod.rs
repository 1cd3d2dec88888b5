//! What welds and tape make of a drawing: many cars built with small errors, each solved and judged.
//!
//! A [`ToleranceStudy`] builds the cars of an [`MonteCarlo`] and counts; [`jig_budget`] says which dimensions to hold better; [`best_last_bracket`] which
//! bracket to weld last. A car depends on the seed and its own number alone, so any number of threads gives the same
//! figures. A car that binds or does not assemble is counted by itself: it passes no limit and is in no percentile.

mod chance;
mod columns;
mod findings;
mod forgiving;
mod jigs;
mod last_bracket;
mod model;
mod statistics;
mod study;
mod tried;
mod worst;

pub use chance::{CarChance, chance_of};
pub use findings::{
    BumpSteerOdds, LastBracketGain, LinksAfterWelding, NoTolerance, NotChecked, ToleranceFindings, ToleranceRequest,
};
pub use forgiving::expected_square_bump_steer;
pub use jigs::{JigBudget, JigSet, Jigged, TARGET_YIELD, jig_budget};
pub use last_bracket::{LastBracket, NoLastBracket, best_last_bracket, move_of, plane_of};
pub use model::{BuiltWheel, NoWheelModel, WheelModel};
pub use statistics::{CurveBand, Histogram, percentile};
pub use study::{Finish, LostCars, MonteCarlo, Spread, Tolerance, ToleranceStudy};
pub use tried::{LimitCount, NotTried, SEE_SWEEP, TriedLimits};
pub use worst::WorstBumpSteer;
