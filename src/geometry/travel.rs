//! How far the wheels move, and in which steps that is shown.

/// Wheel travel between the stops and the steps in which it is shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Travel {
    pub bump_mm: f64,
    pub droop_mm: f64,
    pub step_mm: f64,
    pub roll_deg: f64,
    pub step_roll_deg: f64,
    /// Ride heights about which the toe curve is judged, mm from the drawn one, body up positive, as the file has them; empty
    /// for the drawn one alone.
    pub ride_heights_mm: Vec<f64>,
}

impl Travel {
    /// Rows that one study may have; more is a slip of a finger.
    const MAX_ROWS: f64 = 20_000.0;
    /// Rows that the study of heave and roll together may have.
    const MAX_GRID_ROWS: f64 = 1_000_000.0;

    /// Says how many rows the steps make when those are more than anybody can want.
    pub fn too_many_rows(&self) -> Option<String> {
        let heave = (self.bump_mm + self.droop_mm) / self.step_mm + 1.0;
        let roll = 2.0 * self.roll_deg / self.step_roll_deg + 1.0;
        let most = heave.max(roll);
        (most > Self::MAX_ROWS || heave * roll > Self::MAX_GRID_ROWS)
            .then(|| format!("these steps make {heave:.0} rows of heave and {roll:.0} of roll"))
    }
}
