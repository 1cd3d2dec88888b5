//! How far the wheels move, and in which steps that is shown.

/// Wheel travel between the stops and the steps in which it is shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Travel {
    /// From design height up to the stop.
    pub bump_mm: f64,
    /// From design height down to the stop; positive.
    pub droop_mm: f64,
    /// Between rows of bump and droop, and of ride height.
    pub step_mm: f64,
    /// Body roll, both ways.
    pub roll_deg: f64,
    /// Between rows of body roll.
    pub step_roll_deg: f64,
    /// Ride heights about which the toe curve is judged, mm from the drawn one, body up positive, as the file has them; empty
    /// for the drawn one alone.
    pub ride_heights_mm: Vec<f64>,
}

/// What a file without `[travel]` has.
impl Default for Travel {
    fn default() -> Self {
        let (bump_mm, droop_mm, step_mm) = (60.0, 60.0, 5.0);
        Self { bump_mm, droop_mm, step_mm, roll_deg: 3.0, step_roll_deg: 0.5, ride_heights_mm: Vec::new() }
    }
}

impl Travel {
    /// No wheel goes further from design height, mm.
    pub const MAX_MM: f64 = 500.0;
    /// No body rolls further, deg.
    pub const MAX_ROLL_DEG: f64 = 45.0;
    /// Ride heights about which one toe curve can be judged.
    pub const MAX_RIDE_HEIGHTS: usize = 20;

    /// Rows that one study may have; more is a slip of a finger.
    const MAX_ROWS: f64 = 20_000.0;
    /// Rows that the study of heave and roll together may have.
    const MAX_GRID_ROWS: f64 = 300_000.0;

    /// Ride heights of the file but for the drawn one, about which the toe curve is judged whether the file names it or not.
    pub fn other_ride_heights_mm(&self) -> impl Iterator<Item = f64> {
        self.ride_heights_mm.iter().copied().filter(|&height_mm| height_mm != 0.0)
    }

    /// Rows of bump and droop that the steps make; a remainder at an end is left out.
    pub fn heave_rows(&self) -> f64 {
        (self.bump_mm + self.droop_mm) / self.step_mm + 1.0
    }

    /// The same travel in steps so long that no study has more than about `most` rows: each a whole multiple of the step it
    /// was, so that every row is a row of the finer study too.
    #[must_use]
    pub fn in_at_most(&self, most: f64) -> Self {
        let longer = |step: f64, rows: f64| step * (rows / most).ceil().max(1.0);
        Self {
            step_mm: longer(self.step_mm, self.heave_rows()),
            step_roll_deg: longer(self.step_roll_deg, self.roll_rows()),
            ..self.clone()
        }
    }

    /// Rows of body roll that the steps make; a remainder at an end is left out.
    fn roll_rows(&self) -> f64 {
        2.0 * self.roll_deg / self.step_roll_deg + 1.0
    }

    /// Says how many rows the steps make when those are more than anybody can want.
    pub fn too_many_rows(&self) -> Option<String> {
        let heave = self.heave_rows();
        let roll = self.roll_rows();
        let most = heave.max(roll);
        let (max_rows, max_grid) = (Self::MAX_ROWS, Self::MAX_GRID_ROWS);
        (most > max_rows || heave * roll > max_grid).then(|| {
            format!(
                "these steps make {heave:.0} rows of heave and {roll:.0} of roll; each may have {max_rows}, both together \
                 {max_grid}"
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::Travel;

    #[test]
    fn longer_steps_are_whole_multiples_and_only_as_long_as_they_must_be() {
        let fine = Travel { step_mm: 0.1, step_roll_deg: 0.01, ..Travel::default() };
        let coarse = fine.in_at_most(75.0);
        // 1201 rows and 601.
        assert_eq!([coarse.step_mm, coarse.step_roll_deg], [0.1 * 17.0, 0.01 * 9.0]);
        assert!(coarse.heave_rows() <= 75.0 && coarse.roll_rows() <= 75.0);
        assert_eq!(Travel { step_mm: 0.1, step_roll_deg: 0.01, ..coarse }, fine);
        assert_eq!(Travel::default().in_at_most(75.0), Travel::default());
    }
}
