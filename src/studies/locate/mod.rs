//! Points from a survey: a least-squares adjustment of all readings, a search for those that were misread, how well each
//! point is known, and the parts that sit on them.
//!
//! In reading order: `observation` (readings and known places as numbers with derivatives), `network` (those that share
//! unknown places, as one least-squares problem), `start` (about where each place is), `snooping` (gross errors, one by
//! one), `branches` (the other side of a plane), `adjustment` (all readings of one survey),
//! `common` (one error behind several readings), `misreading` (what a suspect
//! reading probably was), `extra_reading` (what to measure next), `seating` (parts on their mounting points), `findings`
//! (what is told), `teller` (all of it for one survey).

mod adjustment;
mod branches;
mod common;
mod extra_reading;
mod findings;
mod misreading;
mod network;
mod observation;
mod seating;
mod snooping;
mod start;
mod statistics;
mod teller;

pub use extra_reading::ExtraReading;
pub use findings::{
    AdjustedDatum, Contradiction, LocateFindings, Located, LocatedPoint, Noise, NotDetermined, PrincipalSd,
    ReadingFinding, Suspect, TapeZero, WhyNot, WrongDatum,
};
pub use misreading::{Misreading, Slip};
pub use seating::{Misfit, NotSeated, SeatedPart, registration};
pub(super) use statistics::{critical_residual, sum_by_chance};
