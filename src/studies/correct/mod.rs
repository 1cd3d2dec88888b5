//! The finished car corrected: gauge readings → where the pickups most likely are → the few changes that bring bump steer
//! back to near zero.
//!
//! In reading order: `request` (what is asked), `finding` and `refusal` (what is told), `instrument` (what a gauge shows),
//! `finished_wheel` (a wheel with its toe set, and its derivatives), `problem` (all readings as one least-squares problem),
//! `estimate` (the most likely car), `misread` and `other_ways` (columns with a sign turned or in another unit), `mirrored` (toe that is the
//! mirror of the file's), `steadiness` (a gauge that was stuck), `in_inches` (dials and spots that are perhaps in inches), `told_apart`, `lash`, `adjuster` (what can be changed), `fitting_cars` (cars that fit the readings), `steps` (in
//! which order), `search`, `likely_wheel` (both wheels as they most likely stand), `limits_held`, `held_back` (what costs no limit),
//! `corrections` (what helps one wheel), `prescription` (what is told of it), `choice` and `both_wheels` (what is done about both), `rounds` (all gaugings of a car), `fitted_readings`, `study` (all
//! of it for one car).

mod adjuster;
mod both_wheels;
mod choice;
mod corrections;
mod estimate;
mod finding;
mod finished_wheel;
mod fitted_readings;
mod fitting_cars;
mod held_back;
mod in_inches;
mod instrument;
mod lash;
mod likely_wheel;
mod limits_held;
mod mirrored;
mod misread;
mod other_ways;
mod prescription;
mod problem;
mod refusal;
mod request;
mod rounds;
mod search;
mod steadiness;
mod steps;
mod study;
mod told_apart;

pub use adjuster::assumed_shim_mm;
pub use finding::{
    Advice, CamberNowAndAfter, CorrectFindings, Estimated, FittedReading, Lash, NowAndAfter, PickupEstimate,
    PrescribedChange, SearchEffort, ToeBand, ToeSetting, ToldApart, WheelCorrection, WheelMove,
};
pub use in_inches::Quiet;
pub use limits_held::BrokenLimit;
pub use mirrored::MirroredToe;
pub use misread::Misread;
pub use other_ways::{ByHeights, OtherWay};
pub use refusal::NotCorrected;
pub use request::CorrectRequest;
pub use steadiness::Stuck;
