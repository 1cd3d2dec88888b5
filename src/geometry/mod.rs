//! A checked car in millimetres and degrees: what every later stage starts from. It knows no file.
//!
//! In reading order: `side`, `axis`, `interval`, `units` (the small types), `upright_frame` (the axes in which
//! a file may give the upright), `corner` (one wheel with its links), `hardware` (what
//! links end in) and `points`
//! (its points by name), `model` (the whole car), `quantity` (the catalogue of
//! what can be limited, aimed at and judged), `travel`, `targets`, `weld`, `clearance`, `tube`, `datum`, `load`, `adjustments` and
//! `adjusters` (what is asked of it, how exactly it is made, what it carries, what of it may move on paper and at the finished car),
//! `halfshaft` and `propshaft` (what drives the axle), `slips` (what a hand makes of a number of a file).

mod adjusters;
mod adjustments;
mod axis;
mod clearance;
mod corner;
mod damper;
mod datum;
mod final_drive;
mod halfshaft;
mod hardware;
mod interval;
mod load;
mod measured;
mod model;
mod points;
mod propshaft;
mod quantity;
mod side;
pub(crate) mod slips;
mod targets;
mod travel;
mod tube;
mod units;
mod upright_frame;
mod weld;

pub use adjusters::{BracketAdjuster, LengthAdjuster, LengthKind, LinkAdjusters};
pub use adjustments::{AdjustmentRange, Adjustments, ChassisPlace, LinkAdjustments, PointAdjustment, TubeAdjustment};
pub use axis::{Axis, Coordinate, End, Pickup};
pub use clearance::{Boots, Clearance, LinkTube};
pub use corner::{Corner, Halfshaft, Link, Spring, SpringMount, Wheel};
pub use damper::{BumpRubber, SpringMake, Strap};
pub use datum::Datum;
pub use final_drive::{FinalDrive, Flange, HousingMount, HousingPlace, HousingRoom};
pub use halfshaft::{HalfshaftJoint, HalfshaftLength, HalfshaftMake, WindowAtAngle};
pub use hardware::{LinkHardware, RodEnd};
pub use interval::Interval;
pub use load::{Load, TorquePath, WheelLoad};
pub use measured::{MeasuredPoint, MeasuredSd};
pub use model::{Car, Geometry};
pub use points::CornerPoint;
pub use propshaft::{Propshaft, PropshaftCase, ShaftJoint, ShaftJointKind, ShaftTube, TubePiece, TubeSection};
pub use quantity::{Definition, LimitKey, Limits, Needs, Over, Quantity, TargetForm, TargetKey, Unit, Whose};
pub use side::{PerSide, Side};
pub use targets::{Target, Targets, ToeTarget};
pub use travel::Travel;
pub use tube::Tube;
pub use units::LengthUnit;
pub use upright_frame::UprightAxes;
pub(crate) use upright_frame::{UprightFrame, toe_and_camber_rad};
pub use weld::{Tape, Weld, WeldGroup};
