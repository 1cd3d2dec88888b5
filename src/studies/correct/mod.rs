//! The finished car corrected: gauge readings → where the pickups most likely are → the few changes that bring bump steer
//! back to near zero.
//!
//! In reading order: `finding` (what is asked and told), `instrument` (what a gauge shows), `finished_wheel` (a wheel with its
//! toe set, and its derivatives), `problem` (all readings as one least-squares problem), `estimate` (the most likely car),
//! `told_apart`, `lash`, `adjuster` (what can be changed), `fitting_cars` (cars that fit the readings), `search`,
//! `prescription`, `study` (all of it for one car).

mod adjuster;
mod estimate;
mod finding;
mod finished_wheel;
mod fitting_cars;
mod instrument;
mod lash;
mod prescription;
mod problem;
mod search;
mod study;
mod told_apart;

pub use finding::{
    Advice, CamberNowAndAfter, Change, CorrectFindings, CorrectRequest, Estimated, FittedReading, GaugeNoise, Lash,
    NotCorrected, NowAndAfter, PickupEstimate, PrescribedChange, Round, SearchEffort, ToeBand, ToeSetting, ToldApart,
    What, WheelCorrection,
};
