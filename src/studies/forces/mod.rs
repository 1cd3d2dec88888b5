//! What each link, the spring or droop strap, and each bracket carry, and how near that is to what they bear.
//!
//! In reading order: `cases` (the loads of the file, or the usual ones), `wheel_load` (what a load does to the upright at a
//! posture), `part` and `balance` (the forces in the parts of one wheel at one position), `strap` (where a droop strap takes the place
//! of the spring), `extremes` (the largest of all cases), `margins`
//! (how near each part is to what it bears), `compliance` (what the loads do to toe and camber), `frame` (the tubes under the
//! brackets), `mounts` (the bolts of the final drive), `findings` (the finished study). Statics only: the car is a rigid frame that stands still under each load.

mod balance;
mod cases;
mod compliance;
mod extremes;
mod findings;
mod frame;
mod lacking;
mod margins;
mod mounts;
mod part;
mod strap;
mod wheel_load;

pub use balance::{BracketForce, PartForce, StrapFails, WheelForces};
pub use cases::{CaseLoad, LoadCase, load_cases};
pub use compliance::{Deflection, Held, UnitLoad, UnitResponse, link_stiffness_n_per_mm};
pub use extremes::{BracketExtreme, Extreme, PartExtremes, WheelExtremes};
pub use findings::{CaseForces, ForcesFindings, SpringFails, WheelCompliance, WheelFrame, WheelInCase, WheelMargins};
pub use frame::{BracketOnTube, Masses, OtherTube, TubeForm};
pub use margins::{Check, LightestTube, Margin, MarginPlace, SizedTube, WANTED_RESERVE};
pub use mounts::{BoltInCase, HousingBolt, MountCase, MountFindings, NearTube, TubeLoad};
pub use part::Part;
pub use strap::{StrapOffItsLength, StrapSlack};
pub use wheel_load::HalfshaftTorque;
