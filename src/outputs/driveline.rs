//! The tables of the driveline.

use ::csv::Error;

use super::csv::{cell, text_cell};
use super::tables::{finished, writer};
use crate::geometry::Interval;
use crate::studies::driveline::{Driveline, PropshaftFindings};

/// `halfshaft.csv`: length, plunge and joint angles of the wheels shown at the rows of bump and droop.
pub fn halfshaft_csv(found: &Driveline) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record([
        "side",
        "bump_mm",
        "length_mm",
        "plunge_mm",
        "inner_angle_deg",
        "outer_angle_deg",
        "window_low_mm",
        "window_high_mm",
    ])?;
    for (side, shaft) in found.halfshafts() {
        for row in &shaft.rows {
            let end = |end: fn(Interval) -> f64| row.window_mm.map(end);
            let measured = [row.shaft.plunge_mm, row.shaft.inner_angle_deg, row.shaft.outer_angle_deg];
            let numbers = [row.bump_mm, row.length_mm].into_iter().chain(measured).map(Some);
            let numbers = numbers.chain([end(|window| window.low), end(|window| window.high)]);
            writer.write_record([side.name().to_owned()].into_iter().chain(numbers.map(cell)))?;
        }
    }
    finished(writer)
}

/// `runs-out.csv`: what runs out on the way up and down, in order of travel.
pub fn runs_out_csv(found: &Driveline) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record(["side", "way", "what", "at_bump_mm", "typical"])?;
    for (side, wheel) in &found.wheels {
        let ways = wheel.runs_out.iter().flat_map(|found| [("bump", &found.bump), ("droop", &found.droop)]);
        for (way, out) in ways.flat_map(|(way, list)| list.iter().map(move |out| (way, out))) {
            let typical = if out.typical { "yes" } else { "" };
            let cells = [side.name(), way, &text_cell(&out.what), &cell(Some(out.at_bump_mm)), typical];
            writer.write_record(cells)?;
        }
    }
    finished(writer)
}

/// `halfshaft-angles.csv`: over what share of the travel each joint stands at which angle.
pub fn halfshaft_angles_csv(found: &Driveline) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record(["side", "joint", "from_deg", "to_deg", "share_of_travel"])?;
    for (side, shaft) in found.halfshafts() {
        for class in &shaft.angle_shares {
            let numbers = [class.from_deg, class.to_deg, class.share_of_travel].map(|number| cell(Some(number)));
            let names = [side.name().to_owned(), class.joint.to_owned()];
            writer.write_record(names.into_iter().chain(numbers))?;
        }
    }
    finished(writer)
}

/// `propshaft.csv`: every shaft of the chain over one turn of the gearbox output, as drawn and in every case.
pub fn propshaft_csv(found: &PropshaftFindings) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record(["case", "after_joint", "turn_deg", "speed_over_mean", "acceleration_rad_per_s2"])?;
    for row in &found.turns {
        let names = [text_cell(row.case.as_deref().unwrap_or("as drawn")), row.after_joint.to_string()];
        let numbers = [Some(row.turn_deg), Some(row.speed_over_mean), row.acceleration_rad_per_s2];
        writer.write_record(names.into_iter().chain(numbers.map(cell)))?;
    }
    finished(writer)
}
