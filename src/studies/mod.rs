//! Many postures, one question. Knows nothing of files or of how a result is written down.

mod by_chance;
mod cure;
mod inspection;
mod random;
mod rig;
mod sensitivity;
mod stations;
mod sweep;
mod termination;
mod toe_curve;
pub mod tolerance;
pub mod tune;
mod verdicts;

pub use by_chance::WorstByChance;
pub use cure::{Cure, Mostly, cure};
pub use inspection::{Inspection, OVERTRAVEL_MM, track_mm};
pub use rig::{NoContact, Rig, RigWheel, STOP_TOLERANCE_MM, SingularDesign, WheelOnRoad, WheelStop};
pub use sensitivity::{Effect, Sensitivity};
pub use stations::stations;
pub use sweep::{MissingRow, RollStop, SideBind, Sweep, heave, heave_row, roll};
pub use termination::Termination;
pub use toe_curve::{RideHeightSteer, ToeCurve, ride_height_steer, slope_through_design};
pub use verdicts::{State, Verdict, axle_in_roll, verdicts};
