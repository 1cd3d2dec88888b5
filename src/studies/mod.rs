//! Many postures, one question. Knows nothing of files or of how a result is written down.

mod inspection;
mod rig;
mod stations;
mod sweep;
mod toe_curve;

pub use inspection::{DRIVEN_ON_MM, Inspection, track_mm};
pub use rig::{Placed, Rig, STOP_TOLERANCE_MM, SingularDesign, Wheel, WheelStop};
pub use stations::stations;
pub use sweep::{RollStop, Row, SideBind, Sweep, heave};
pub use toe_curve::{ToeCurve, slope_through_design};
