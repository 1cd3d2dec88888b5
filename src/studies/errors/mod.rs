//! How far the pickups of a built car are off: the one model of error that every chance of the program is drawn from.
//!
//! An `ErrorModel` describes the thirty coordinates of one wheel: how well each bracket comes out (`[weld]`, or a class of
//! ISO 13920), which pickups are off together, and how well the points were measured (`[tape]`, or a
//! point's own `measured_sd`). It is used in two ways:
//! drawn, as the [`PickupErrors`](crate::mechanism::PickupErrors) of a car that is then built and solved, and to first
//! order, as the variance of a figure whose derivatives by the coordinates are known. Left and right wheels err independently.

mod iso13920;
pub(super) mod model;
mod proportion;
pub(super) mod random;

pub use iso13920::WeldClass;
pub use model::ErrorSource;
pub(super) use model::{ErrorModel, pickup_errors};
pub use proportion::Proportion;
