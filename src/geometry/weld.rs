//! How exactly the car was measured, and how exactly its brackets come out.

use super::axis::Pickup;

/// How exactly the points of the file were measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tape {
    /// One standard deviation of each coordinate of each point that has none of its own
    /// ([`Link::measured_sd`](super::Link::measured_sd)), mm.
    pub sd_mm: f64,
}

/// How exactly a bracket comes out where it was drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Weld {
    /// One standard deviation of each coordinate of each pickup, mm.
    pub sd_mm: f64,
    /// 19 of 20 coordinates are this near to the drawing, mm: what the file gives in place of the standard deviation.
    pub within_mm: Option<f64>,
    /// That of the holes in the upright in its place, mm: they are drilled already and only measured.
    pub upright_sd_mm: Option<f64>,
    /// Pickups that are more or less exact than that, or off together.
    pub groups: Vec<WeldGroup>,
    /// Every error up to √3 standard deviations is equally likely and none is larger; normally distributed when false.
    pub uniform: bool,
}

impl Weld {
    /// Normally distributed, every pickup alike.
    pub fn new(sd_mm: f64) -> Self {
        Self { sd_mm, within_mm: None, upright_sd_mm: None, groups: Vec::new(), uniform: false }
    }
}

/// Pickups that share their error, or its size.
#[derive(Debug, Clone, PartialEq)]
pub struct WeldGroup {
    /// What the builder calls it.
    pub name: String,
    /// At least one, each once.
    pub pickups: Vec<Pickup>,
    /// One standard deviation of each coordinate, mm.
    pub sd_mm: f64,
    /// True: the whole bracket or subframe is off as one by this, each pickup's own error coming on top. False: each
    /// pickup has this in place of `Weld::sd_mm`; no pickup is in two such groups.
    pub together: bool,
}
