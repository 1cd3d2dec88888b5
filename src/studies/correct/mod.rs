//! The finished car corrected: gauge readings → where the pickups most likely are → the few changes that bring bump steer
//! back to near zero.

mod finding;

pub use finding::{
    Advice, CamberNowAndAfter, Change, CorrectFindings, CorrectRequest, Estimated, FittedReading, GaugeNoise, Lash,
    NotCorrected, NowAndAfter, PickupEstimate, PrescribedChange, Round, SearchEffort, ToeBand, ToeSetting, ToldApart,
    What, WheelCorrection,
};
