//! How thick the parts are and how near they may come to each other.

/// What `[clearance]` says, on both sides alike; a value that is not given has a default or leaves a part without a body.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Clearance {
    /// Least gap between the surfaces of two parts, mm; see [`Clearance::least_mm`].
    pub least_mm: Option<f64>,
    /// Of the halfshaft between its joints, mm; see [`Clearance::shaft_radius_mm`].
    pub shaft_radius_mm: Option<f64>,
    /// Over the joints of the halfshaft; without it they have no body of their own.
    pub boots: Option<Boots>,
    /// Outside of the spring with its damper, mm; without it the spring has no body.
    pub spring_radius_mm: Option<f64>,
}

/// The boots over the two joints of a halfshaft.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Boots {
    /// Outside radius, mm.
    pub radius_mm: f64,
    /// From the joint centre along the shaft, mm.
    pub length_mm: f64,
}

impl Clearance {
    /// Least gap while the file names none, mm: common practice for parts on rod ends.
    pub const DEFAULT_LEAST_MM: f64 = 5.0;
    /// Radius of the halfshaft while the file gives none, mm.
    pub const DEFAULT_SHAFT_RADIUS_MM: f64 = 14.0;

    /// Least gap that two parts must keep, mm.
    pub fn least_mm(&self) -> f64 {
        self.least_mm.unwrap_or(Self::DEFAULT_LEAST_MM)
    }

    /// Radius of the halfshaft, mm.
    pub fn shaft_radius_mm(&self) -> f64 {
        self.shaft_radius_mm.unwrap_or(Self::DEFAULT_SHAFT_RADIUS_MM)
    }
}

/// The tube that a link is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct LinkTube {
    /// Outside diameter, mm.
    pub od_mm: f64,
    /// Wall, mm, when given.
    pub wall_mm: Option<f64>,
    /// As the builder names it, when given.
    pub material: Option<String>,
}

impl LinkTube {
    /// Outside diameter of a link while the file gives none, mm.
    pub const DEFAULT_OD_MM: f64 = 25.4;
}
