//! The driveline: what the shafts from the gearbox to the wheels suffer, and what is left of what they allow.

mod angle_shares;
mod check;
mod envelope;
mod findings;
mod halfshaft;
mod halfshaft_checks;
mod placing;
mod plunge;
mod propshaft;
mod propshaft_checks;
mod propshaft_tubes;
mod runs_out;
mod spring;

pub use angle_shares::AngleShare;
pub use check::Check;
pub use envelope::Envelope;
pub use findings::{Driveline, DrivelineFindings, WheelDriveline};
pub use halfshaft::{HalfshaftFindings, HalfshaftRipple, ShaftRow, ShaftToMake};
pub use placing::{PlaceFindings, Placing};
pub use plunge::{HalfTrackRoom, PlungeMargin};
pub use propshaft::{Phasing, PropshaftCaseFindings, PropshaftFindings, PropshaftMotion, ShaftTurn};
pub use propshaft_tubes::{OtherTube, SpanFindings, SpanHold, TubeFindings, WeldFindings};
pub use runs_out::{Exhaustion, PartStops, RunsOut, StrapLength};
pub use spring::SpringFindings;
