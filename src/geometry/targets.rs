//! What tuning aims at, beside the limits that it keeps.

use super::interval::Interval;
use super::quantity::Quantity;

/// What tuning aims at. Without a curve toe shall not change; what is not wished for is left free.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Targets {
    /// The toe curve wanted.
    pub toe: Option<ToeTarget>,
    /// Each measure at most once.
    pub list: Vec<Target>,
}

/// The toe change wanted over bump travel.
#[derive(Debug, Clone, PartialEq)]
pub struct ToeTarget {
    /// Bump travel in mm and toe change from design in deg (toe-in positive), bump rising; passes through no change at
    /// design height.
    pub curve: Vec<(f64, f64)>,
    /// How much it counts beside the other targets; above 0, 1 by default (no unit).
    pub weight: f64,
}

impl ToeTarget {
    /// The toe change wanted at a bump travel, deg: straight lines between the rows, the end rows held beyond them.
    ///
    /// Tested by `a_toe_curve_is_straight_between_its_rows` in `tests/geometry_keys.rs`.
    pub fn toe_change_deg(&self, bump_mm: f64) -> f64 {
        let after = self.curve.partition_point(|(bump, _)| *bump < bump_mm);
        match (after.checked_sub(1).and_then(|before| self.curve.get(before)), self.curve.get(after)) {
            (Some((from, low)), Some((to, high))) => low + (high - low) * (bump_mm - from) / (to - from),
            (Some((_, end)), None) | (None, Some((_, end))) => *end,
            (None, None) => 0.0,
        }
    }
}

/// One measure that shall come to lie in a band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Target {
    /// What shall come to lie in it.
    pub quantity: Quantity,
    /// In its unit; `low` equals `high` where a single value is wanted.
    pub band: Interval,
    /// How much it counts beside the others; above 0, 1 by default (no unit).
    pub weight: f64,
}
