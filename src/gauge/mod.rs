//! Readings of gauges at the finished car: toe plates, dial gauges on a plate, a laser on a wall; and what was changed after
//! them.
//!
//! In reading order: `model` (what was read), `counted_from` (heights that are not counted from design height) and `round` (how well, and what was changed then), `readings_file` with
//! `csv_text` and `columns` (a CSV file of readings), `rounds_file` (the rounds so far). It knows nothing of how a car is
//! found from it.

mod columns;
mod counted_from;
mod csv_text;
mod model;
mod readings_file;
mod round;
mod rounds_file;

pub use counted_from::TravelEnd;
pub use model::{Beam, GaugeReading, GaugeReadings, Instrument, Read, ReadSide};
pub use readings_file::GaugeFile;
pub use round::{Change, GaugeNoise, Round, What};
pub use rounds_file::{RoundsFile, with_round};
