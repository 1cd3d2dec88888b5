//! What `correct` is asked: gauge readings of one round and of those before it, and what was changed between them.

use crate::gauge::{GaugeNoise, GaugeReadings, Round};

/// What is asked: the gaugings in their order, the last one being of the car as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct CorrectRequest {
    /// Gaugings before the last change, the first one first.
    pub earlier: Vec<Round>,
    /// What was read of the car as it stands.
    pub readings: GaugeReadings,
    /// How well.
    pub noise: GaugeNoise,
    /// Of the cars that are drawn from what the readings leave open.
    pub seed: u64,
}
