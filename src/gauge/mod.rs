//! Readings of gauges at the finished car: toe plates, dial gauges on a plate, a laser on a wall.
//!
//! In reading order: `model` (what was read). It knows nothing of how a car is found from it.

mod model;

pub use model::{Beam, GaugeReading, GaugeReadings, Instrument, Read, ReadSide};
