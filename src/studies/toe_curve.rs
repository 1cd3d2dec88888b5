//! The toe curve of one wheel over the heave travel, in the figures a builder acts on.

use super::rig::Rig;
use crate::geometry::Side;
use crate::measures::Row;

/// Bump steer of one wheel: the change of toe from design over the heave travel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToeCurve {
    /// Toe at design, deg.
    pub design_toe_deg: f64,
    /// The largest change of toe from design, deg per wheel, with its sign: toe-in gained positive. Its size is the worst
    /// bump steer.
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
    /// From the rows of a heave study; `None` when it has no design row for this side.
    pub fn of(heave: &[Row], side: Side) -> Option<Self> {
        let rows: Vec<&Row> = heave.iter().filter(|row| row.side == side).collect();
        let design = rows.iter().find(|row| row.bump_mm == 0.0)?;
        let changes: Vec<(f64, f64)> =
            rows.iter().map(|row| (row.bump_mm, row.wheel.toe_deg - design.wheel.toe_deg)).collect();
        let &(worst_at_bump_mm, worst) = changes.iter().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
        let slope_deg_per_mm = slope_through_design(&changes);
        let bow_deg = changes.iter().map(|(bump, change)| (change - slope_deg_per_mm * bump).abs()).fold(0.0, f64::max);
        Some(Self {
            design_toe_deg: design.wheel.toe_deg,
            worst_change_deg: worst,
            worst_at_bump_mm,
            gradient_deg_per_mm: design.wheel.bump_steer_gradient_deg_per_mm,
            slope_deg_per_mm,
            bow_deg,
        })
    }
}

/// Bump steer of one wheel about another ride height than the drawn one: the same path, read from another place on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RideHeightSteer {
    /// Ride-height change, mm, body up positive.
    pub ride_height_mm: f64,
    /// Bump travel at which the wheel then stands, mm.
    pub stands_at_bump_mm: f64,
    /// Largest change of toe from there over the whole travel, deg per wheel, with its sign.
    pub worst_change_deg: f64,
    /// Bump travel where it is reached, mm.
    pub worst_at_bump_mm: f64,
}

/// Bump steer about every ride height of `[travel]` that the wheel can stand at.
pub fn ride_height_steer(rig: &Rig, heave: &[Row], side: Side) -> Vec<RideHeightSteer> {
    let wheel = rig.wheel(side);
    let about = |&ride_height_mm: &f64| {
        let stands_at_bump_mm = wheel.bump_at_ride_height_mm(ride_height_mm)?;
        let there_deg = wheel.measures(rig.geometry, &wheel.path.at(stands_at_bump_mm)?).toe_deg;
        let rows = heave.iter().filter(|row| row.side == side);
        let (worst_at_bump_mm, worst_change_deg) = rows
            .map(|row| (row.bump_mm, row.wheel.toe_deg - there_deg))
            .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
        Some(RideHeightSteer { ride_height_mm, stands_at_bump_mm, worst_change_deg, worst_at_bump_mm })
    };
    rig.geometry.travel.ride_heights_mm.iter().filter_map(about).collect()
}

/// Least-squares slope of `(travel, change)` through the origin; 0 without travel.
pub fn slope_through_design(changes: &[(f64, f64)]) -> f64 {
    let square: f64 = changes.iter().map(|(b, _)| b * b).sum();
    if square == 0.0 { 0.0 } else { changes.iter().map(|(b, c)| b * c).sum::<f64>() / square }
}
