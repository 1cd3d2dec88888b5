//! Many postures, one question. Knows nothing of files or of how a result is written down.

mod axles_on_road;
mod cure;
pub mod errors;
mod grid;
mod heave;
mod inspection;
mod judged_car;
mod rig;
mod roll;
mod rows;
mod sensitivity;
mod stations;
mod sweep;
mod tape_band;
mod termination;
mod toe_curve;
pub mod tolerance;
pub mod tune;
mod verdicts;

pub use axles_on_road::MissingRow;
pub use cure::{Cure, Mostly, cure};
pub use grid::Grid;
pub use heave::{Heave, SideBind};
pub use inspection::{Inspection, OVERTRAVEL_MM, track_mm};
pub use judged_car::{Curves, JudgedCar};
pub use rig::{NoContact, Rig, RigWheel, STOP_TOLERANCE_MM, SingularDesign, WheelOnRoad, WheelStop};
pub use roll::{Roll, RollStop};
pub use rows::Rows;
pub use sensitivity::{Effect, Sensitivity};
pub use stations::stations;
pub use sweep::SweepFindings;
pub use tape_band::{TapeBand, tape_band};
pub use termination::Termination;
pub use toe_curve::{RideHeightSteer, ToeCurve, slope_through_design};
pub use verdicts::{State, Verdict, verdicts};
