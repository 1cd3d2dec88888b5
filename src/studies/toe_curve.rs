//! The toe curve of one wheel over the heave travel, in the figures a builder acts on.

use serde::Serialize;

use super::rig::RigWheel;
use super::rows::Rows;
use crate::measures::{Row, toe_mm};

/// Bump steer of one wheel: the change of toe from design over the heave travel.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ToeCurve {
    /// Toe at design, deg.
    pub design_toe_deg: f64,
    /// Size of the largest change of toe from design, deg per wheel.
    pub worst_bump_steer_deg: f64,
    /// The same with its sign: toe-in gained positive.
    pub worst_change_deg: f64,
    /// Bump travel where it is reached, mm.
    pub worst_at_bump_mm: f64,
    /// d toe / d bump travel at design, deg/mm, from the exact derivative.
    pub gradient_deg_per_mm: f64,
    /// Slope of the least-squares line through the changes, zero at design, deg/mm. One bracket's height cures it.
    pub slope_deg_per_mm: f64,
    /// What the line leaves, worst, deg. Link length and lean cure it.
    pub bow_deg: f64,
}

impl ToeCurve {
    /// From the rows of a heave study and the wheel at design.
    pub fn of(heave: &Rows, design: &Row) -> Self {
        let (side, design) = (design.side, &design.wheel);
        let change = |row: &Row| (row.bump_mm, row.wheel.toe_deg - design.toe_deg);
        let changes: Vec<(f64, f64)> = heave.of(side).map(change).collect();
        let (worst_at_bump_mm, worst_change_deg) = worst(changes.iter().copied());
        let slope_deg_per_mm = slope_through_design(&changes);
        let bow_deg = changes.iter().map(|(bump, change)| (change - slope_deg_per_mm * bump).abs()).fold(0.0, f64::max);
        Self {
            design_toe_deg: design.toe_deg,
            worst_bump_steer_deg: worst_change_deg.abs(),
            worst_change_deg,
            worst_at_bump_mm,
            gradient_deg_per_mm: design.bump_steer_gradient_deg_per_mm,
            slope_deg_per_mm,
            bow_deg,
        }
    }
}

/// The angles of a toe curve as they are read at the wheel, mm over a span; signs as in [`ToeCurve`].
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ToeOverSpan {
    /// Over which toe is read.
    pub span_mm: f64,
    /// The largest change of toe.
    pub worst_change_mm: f64,
    /// mm per 25 mm of bump.
    pub slope_mm_per_25mm: f64,
    /// See [`ToeCurve::bow_deg`].
    pub bow_mm: f64,
    /// At design height.
    pub design_toe_mm: f64,
}

impl ToeCurve {
    /// Slope over 25 mm of bump, deg.
    pub fn slope_deg_per_25mm(&self) -> f64 {
        self.slope_deg_per_mm * 25.0
    }

    /// As it is read over a span, mm.
    pub fn over_span(&self, span_mm: f64) -> ToeOverSpan {
        let read = |deg: f64| toe_mm(deg, span_mm);
        ToeOverSpan {
            span_mm,
            worst_change_mm: read(self.worst_change_deg),
            slope_mm_per_25mm: read(self.slope_deg_per_25mm()),
            bow_mm: read(self.bow_deg),
            design_toe_mm: read(self.design_toe_deg),
        }
    }
}

/// The largest of `(travel, change)` either way, the last one of equals.
fn worst(changes: impl Iterator<Item = (f64, f64)>) -> (f64, f64) {
    changes.fold((0.0, 0.0), |worst: (f64, f64), this| if this.1.abs() >= worst.1.abs() { this } else { worst })
}

/// Bump steer of one wheel about another ride height than the drawn one: the same path, read from another place on it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RideHeightSteer {
    /// Ride-height change, mm, body up positive.
    pub ride_height_mm: f64,
    /// Bump travel at which the wheel then stands, mm.
    pub stands_at_bump_mm: f64,
    /// Size of the largest change of toe from there over the whole travel, deg per wheel.
    pub worst_bump_steer_deg: f64,
    /// The same with its sign: toe-in gained positive.
    pub worst_change_deg: f64,
    /// Bump travel where it is reached, mm.
    pub worst_at_bump_mm: f64,
}

impl RideHeightSteer {
    /// About every ride height of `[travel]` that the wheel can stand at, over the rows of a heave study.
    pub fn all(wheel: &RigWheel, heave: &Rows) -> Vec<Self> {
        let about = |&ride_height_mm: &f64| {
            let stands_at_bump_mm = wheel.bump_at_ride_height_mm(ride_height_mm)?;
            let there_deg = wheel.measures(&wheel.path.at(stands_at_bump_mm)?).toe_deg;
            let rows = heave.of(wheel.corner.side);
            let (worst_at_bump_mm, worst_change_deg) =
                worst(rows.map(|row| (row.bump_mm, row.wheel.toe_deg - there_deg)));
            Some(Self {
                ride_height_mm,
                stands_at_bump_mm,
                worst_bump_steer_deg: worst_change_deg.abs(),
                worst_change_deg,
                worst_at_bump_mm,
            })
        };
        wheel.geometry.travel.ride_heights_mm.iter().filter_map(about).collect()
    }
}

/// Least-squares slope of `(travel, change)` through the origin; 0 without travel.
pub fn slope_through_design(changes: &[(f64, f64)]) -> f64 {
    let square: f64 = changes.iter().map(|(b, _)| b * b).sum();
    if square == 0.0 { 0.0 } else { changes.iter().map(|(b, c)| b * c).sum::<f64>() / square }
}

#[cfg(test)]
mod tests {
    use super::ToeCurve;

    /// Half a degree over 400 mm is 3.491 mm by any pocket calculator.
    #[test]
    fn a_slope_is_told_over_25_mm_of_bump() {
        let curve = ToeCurve {
            design_toe_deg: 0.0,
            worst_bump_steer_deg: 1.0,
            worst_change_deg: -1.0,
            worst_at_bump_mm: 60.0,
            gradient_deg_per_mm: 0.01,
            slope_deg_per_mm: 0.02,
            bow_deg: 0.25,
        };
        assert_eq!(curve.slope_deg_per_25mm(), 0.5);
        let span = curve.over_span(400.0);
        assert!(
            (span.slope_mm_per_25mm - 3.491).abs() < 1e-3 && (span.worst_change_mm + 6.982).abs() < 2e-3,
            "{span:?}"
        );
    }
}
