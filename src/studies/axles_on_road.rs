//! Both wheels on the road at pairs of ride height and body roll, as the roll study and the grid have them.

use serde::Serialize;

use super::rig::{NoContact, Rig};
use super::rows::Rows;
use crate::geometry::{PerSide, Side};
use crate::measures::{Row, roll_centre};

/// A place of the road on which a wheel cannot stand, though neither a stop nor a bind forbids it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MissingRow {
    /// Of the wheel that finds no place.
    pub side: Side,
    /// Deg, left side of the body up positive.
    pub body_roll_deg: f64,
    /// Mm, body up positive.
    pub ride_height_change_mm: f64,
}

/// What came of the pairs asked for.
#[derive(Debug, Clone, Default)]
pub struct AxlesOnRoad {
    pub rows: Rows,
    /// Pairs that a stop forbids: neither wheel has a row.
    pub left_out: usize,
    /// A wheel binds or finds no place at a pair that the stops allow.
    pub cut_short: bool,
    pub missing: Vec<MissingRow>,
}

impl AxlesOnRoad {
    /// Every ride height with every angle of roll, in this order.
    pub fn place(rig: &Rig, ride_heights_mm: &[f64], rolls_deg: &[f64]) -> Self {
        let mut found = Self::default();
        let pairs = ride_heights_mm.iter().flat_map(|&height_mm| rolls_deg.iter().map(move |&deg| (deg, height_mm)));
        found.rows = pairs.filter_map(|(roll_deg, height_mm)| found.axle(rig, roll_deg, height_mm)).collect();
        found
    }

    /// Both wheels on one road; `None` where a stop forbids it.
    fn axle(&mut self, rig: &Rig, roll_deg: f64, ride_height_mm: f64) -> Option<PerSide<Option<Row>>> {
        let mut axle = PerSide::of(|side| wheel_on_road(rig, side, roll_deg, ride_height_mm));
        if axle.iter().any(|(_, met)| matches!(met, Err(NoContact::BeyondStop))) {
            self.left_out += 1;
            return None;
        }
        self.cut_short |= axle.iter().any(|(_, met)| met.is_err());
        if let PerSide { left: Ok(left), right: Ok(right) } = &mut axle {
            set_roll_centre(left, right, rig.geometry.mirrored && roll_deg == 0.0);
        }
        let lost = axle.iter().filter(|(_, met)| matches!(met, Err(NoContact::NotLifted)));
        self.missing.extend(lost.map(|(side, _)| MissingRow {
            side,
            body_roll_deg: roll_deg,
            ride_height_change_mm: ride_height_mm,
        }));
        Some(axle.map(Result::ok))
    }
}

fn wheel_on_road(rig: &Rig, side: Side, roll_deg: f64, ride_height_mm: f64) -> Result<Row, NoContact> {
    let wheel = rig.wheel(side);
    let road = wheel.road(roll_deg, ride_height_mm);
    // Small roll about the middle of the car: the wheel takes up its share of the height.
    let near_mm = -ride_height_mm - road.roll_rad() * wheel.design_contact.point.y;
    let on = wheel.place_on(&road, near_mm)?;
    let row = Row::on_road(wheel.corner, &rig.geometry.car, &on.posture, &wheel.design_contact, (&road, roll_deg));
    Ok(Row { closure_error_mm: row.closure_error_mm.max(on.contact_error_mm), ..row })
}

/// Writes the axle's roll centre into both rows. A mirrored level car has it in its middle, also when the lines of both
/// sides are one and the same.
fn set_roll_centre(left: &mut Row, right: &mut Row, mirrored_and_level: bool) {
    let (height_mm, lateral_mm) = if mirrored_and_level {
        let own_mm = left.road.roll_centre_line.own_side_height_mm();
        (own_mm, own_mm.map(|_| 0.0))
    } else {
        let met = roll_centre(&left.road.roll_centre_line, &right.road.roll_centre_line);
        (met.map(|c| c.height_mm), met.map(|c| c.lateral_mm))
    };
    for row in [left, right] {
        row.roll_centre_height_mm = height_mm;
        row.roll_centre_lateral_mm = lateral_mm;
    }
}
