//! The rows of a study as CSV: full precision, one row a position and side. The header is a contract.

use ::csv::{Error, Terminator, WriterBuilder};

use crate::geometry::Side;
use crate::studies::Row;

/// Column names in their order; new ones go at the end.
pub const HEADER: [&str; 30] = [
    "side",
    "bump_mm",
    "body_roll_deg",
    "ride_height_change_mm",
    "toe_deg",
    "steer_deg",
    "camber_deg",
    "inclination_deg",
    "contact_x_mm",
    "contact_y_mm",
    "contact_z_mm",
    "scrub_mm",
    "recession_mm",
    "upright_pitch_deg",
    "wheel_centre_x_mm",
    "wheel_centre_y_mm",
    "wheel_centre_z_mm",
    "shaft_inner_angle_deg",
    "shaft_outer_angle_deg",
    "shaft_plunge_mm",
    "bump_steer_gradient_deg_per_mm",
    "camber_gradient_deg_per_mm",
    "roll_centre_height_mm",
    "roll_centre_lateral_mm",
    "wheel_centre_path_deg",
    "anti_squat_pct",
    "anti_lift_pct",
    "spring_length_mm",
    "damper_per_wheel",
    "residual_mm",
];

/// The rows of the sides asked for, in car axes, as the bytes of a CSV file with `\n` line ends.
pub fn rows_csv(rows: &[Row], sides: &[Side]) -> Result<Vec<u8>, Error> {
    let mut writer = WriterBuilder::new().terminator(Terminator::Any(b'\n')).from_writer(Vec::new());
    writer.write_record(HEADER)?;
    for row in rows.iter().filter(|row| sides.contains(&row.side)) {
        writer.write_record(std::iter::once(row.side.name().to_owned()).chain(cells(row).map(cell)))?;
    }
    writer.into_inner().map_err(|error| Error::from(error.into_error()))
}

/// The numbers of a row behind its side, in the order of [`HEADER`].
fn cells(row: &Row) -> [Option<f64>; 29] {
    let (wheel, road) = (&row.wheel, &row.road);
    let contact = row.side.to_car(road.contact);
    let centre = row.side.to_car(wheel.wheel_centre);
    [
        Some(row.bump_mm),
        Some(row.body_roll_deg),
        Some(row.ride_height_change_mm),
        Some(wheel.toe_deg),
        Some(wheel.steer_deg),
        Some(wheel.camber_deg),
        Some(road.inclination_deg),
        Some(contact.x),
        Some(contact.y),
        Some(contact.z),
        Some(road.scrub_mm),
        Some(wheel.recession_mm),
        Some(wheel.upright_pitch_deg),
        Some(centre.x),
        Some(centre.y),
        Some(centre.z),
        wheel.shaft.map(|shaft| shaft.inner_angle_deg),
        wheel.shaft.map(|shaft| shaft.outer_angle_deg),
        wheel.shaft.map(|shaft| shaft.plunge_mm),
        Some(wheel.bump_steer_gradient_deg_per_mm),
        Some(wheel.camber_gradient_deg_per_mm),
        row.roll_centre_height_mm,
        row.roll_centre_lateral_mm,
        Some(wheel.wheel_centre_path_deg),
        wheel.anti_squat_pct,
        road.anti_lift_pct,
        wheel.spring.map(|spring| spring.length_mm),
        wheel.spring.map(|spring| spring.ratio),
        Some(row.closure_error_mm),
    ]
}

/// Shortest text that reads back as the same number; empty where there is none. A zero has no sign.
pub(super) fn cell(value: Option<f64>) -> String {
    value.filter(|v| v.is_finite()).map_or_else(String::new, |v| (v + 0.0).to_string())
}
