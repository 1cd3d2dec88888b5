//! Threads by their designation: `M10x1.25`, `M10`, `3/8-24`.

use std::f64::consts::PI;
use std::fmt;
use std::str::FromStr;

/// A screw thread of 60 degrees.
#[derive(Debug, Clone, PartialEq)]
pub struct Thread {
    /// As it was written.
    pub name: String,
    /// Nominal diameter, mm.
    pub diameter_mm: f64,
    /// From crest to crest, mm.
    pub pitch_mm: f64,
    /// Of a bar with the stress area, mm: `d − 0.9382 p`; of a unified thread `d − 0.9743 p`, as its tables have it.
    pub stress_diameter_mm: f64,
}

/// A text that names no thread.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ThreadError;

impl fmt::Display for ThreadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("names no thread")
    }
}

impl std::error::Error for ThreadError {}

/// Diameter and pitch of the coarse series of ISO 262, mm (from memory; M8 to M16 as in tables to ISO 898-1).
const COARSE: [(f64, f64); 12] = [
    (4.0, 0.7),
    (5.0, 0.8),
    (6.0, 1.0),
    (8.0, 1.25),
    (10.0, 1.5),
    (12.0, 1.75),
    (14.0, 2.0),
    (16.0, 2.0),
    (18.0, 2.5),
    (20.0, 2.5),
    (22.0, 2.5),
    (24.0, 3.0),
];
const INCH_MM: f64 = 25.4;

impl Thread {
    /// Stress area, mm²: `π/4` times the square of its stress diameter.
    ///
    /// Source: ISO 898-1; unified threads ASME B1.1 (from memory). Tested by `tests/strength/bolts.rs`.
    pub fn stress_area_mm2(&self) -> f64 {
        PI / 4.0 * self.stress_diameter_mm.powi(2)
    }
}

impl FromStr for Thread {
    type Err = ThreadError;

    fn from_str(text: &str) -> Result<Self, ThreadError> {
        let written = text.trim();
        let ((diameter_mm, pitch_mm), pitches_lost) = match written.strip_prefix(['M', 'm']) {
            Some(metric) => (metric_sizes(metric)?, 0.9382),
            None => (unified_sizes(written)?, 0.9743),
        };
        let is_thread = (2.0..=60.0).contains(&diameter_mm) && pitch_mm >= 0.2 && pitch_mm <= 0.3 * diameter_mm;
        let stress_diameter_mm = diameter_mm - pitches_lost * pitch_mm;
        is_thread
            .then(|| Self { name: written.to_owned(), diameter_mm, pitch_mm, stress_diameter_mm })
            .ok_or(ThreadError)
    }
}

/// `10x1.25`, `10`.
fn metric_sizes(text: &str) -> Result<(f64, f64), ThreadError> {
    let number = |text: &str| text.trim().parse::<f64>().map_err(|_| ThreadError);
    if let Some((diameter, pitch)) = text.split_once(['x', 'X', '×']) {
        return Ok((number(diameter)?, number(pitch)?));
    }
    let diameter_mm = number(text)?;
    COARSE.into_iter().find(|(diameter, _)| *diameter == diameter_mm).ok_or(ThreadError)
}

/// `3/8-24`, `0.375-24`, `1/2-20 UNF`: inches and threads to the inch.
fn unified_sizes(text: &str) -> Result<(f64, f64), ThreadError> {
    let (diameter, threads) = text.split_once('-').ok_or(ThreadError)?;
    let number = |text: &str| text.trim().parse::<f64>().map_err(|_| ThreadError);
    let inches = match diameter.split_once('/') {
        Some((over, under)) => number(over)? / number(under)?,
        None => number(diameter)?,
    };
    let to_the_inch = number(threads.split_whitespace().next().unwrap_or_default())?;
    Ok((inches * INCH_MM, INCH_MM / to_the_inch))
}
