//! The tables of a tuning: what moved, and what a millimetre of each pickup does.

use std::collections::BTreeMap;

use ::csv::{Error, Terminator, Writer, WriterBuilder};

use super::csv::{cell, text_cell};
use crate::geometry::{Axis, Corner, Side};
use crate::studies::tune::Move;
use crate::studies::{Sensitivity, ToeFindings};

/// `moves.csv`: every point that moved, car axes; a new pickup comes from nowhere.
pub fn moves_csv(moves: &[(Side, &[Move])]) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record([
        "side",
        "point",
        "from_x_mm",
        "from_y_mm",
        "from_z_mm",
        "to_x_mm",
        "to_y_mm",
        "to_z_mm",
        "distance_mm",
    ])?;
    for (side, moves) in moves {
        for made in *moves {
            let from = (0..3).map(|axis| made.from.map(|point| point[axis]));
            let numbers = from.chain(made.to.iter().copied().map(Some)).chain([made.distance_mm()]);
            let names = [side.name().to_owned(), text_cell(&made.point)];
            writer.write_record(names.into_iter().chain(numbers.map(cell)))?;
        }
    }
    finished(writer)
}

/// `clearance.csv`: the least gap of every pair of bodies over bump and droop, the nearest first.
pub fn clearance_csv(wheels: &BTreeMap<Side, ToeFindings>) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record(["side", "pair", "least_mm", "at_bump_mm"])?;
    for (side, wheel) in wheels {
        for pair in &wheel.clearance.pairs {
            let numbers = [pair.least_mm, pair.at_bump_mm].map(|mm| cell(Some(mm)));
            writer.write_record([side.name().to_owned(), text_cell(&pair.pair)].into_iter().chain(numbers))?;
        }
    }
    finished(writer)
}

/// `rod-ends.csv`: the largest misalignment of every rod end over bump and droop, the nearest to its limit first.
pub fn rod_ends_csv(wheels: &BTreeMap<Side, ToeFindings>) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record(["side", "link", "end", "worst_deg", "at_bump_mm", "limit_deg", "state"])?;
    for (side, wheel) in wheels {
        for tilt in &wheel.rod_ends {
            let names = [side.name().to_owned(), text_cell(&tilt.link), tilt.end.to_owned()];
            let numbers = [tilt.worst_deg, tilt.at_bump_mm, tilt.limit_deg].map(cell);
            let state = tilt.state.name().to_owned();
            writer.write_record(names.into_iter().chain(numbers).chain([state]))?;
        }
    }
    finished(writer)
}

/// `sensitivity.csv`: the change with one millimetre of each coordinate (y outboard), the link following its points.
pub fn sensitivity_csv(sides: &[(&Corner, &Sensitivity)]) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record([
        "side",
        "link",
        "end",
        "axis",
        "slope_deg_per_25mm_per_mm",
        "bow_deg_per_mm",
        "worst_bump_steer_deg_per_mm",
        "camber_change_deg_per_mm",
        "plunge_mm_per_mm",
        "roll_centre_height_mm_per_mm",
    ])?;
    for (corner, sensitivity) in sides {
        for effect in &sensitivity.effects {
            let place = effect.coordinate;
            let link = text_cell(&corner.links[place.link].name);
            let names = [corner.side.name(), &link, place.end.name(), axis_name(place.axis)];
            let numbers = [
                Some(effect.slope_deg_per_25mm),
                Some(effect.bow_deg),
                Some(effect.worst_deg),
                Some(effect.camber_change_deg),
                effect.plunge_mm,
                effect.roll_centre_height_mm,
            ];
            writer.write_record(names.map(str::to_owned).into_iter().chain(numbers.map(cell)))?;
        }
    }
    finished(writer)
}

/// As `sensitivity.csv` has it: y counts otherwise than in the other tables.
fn axis_name(axis: Axis) -> &'static str {
    match axis {
        Axis::X | Axis::Z => axis.name(),
        Axis::Y => "y outboard",
    }
}

pub(super) fn writer() -> Writer<Vec<u8>> {
    WriterBuilder::new().terminator(Terminator::Any(b'\n')).from_writer(Vec::new())
}

pub(super) fn finished(writer: Writer<Vec<u8>>) -> Result<Vec<u8>, Error> {
    writer.into_inner().map_err(|error| Error::from(error.into_error()))
}
