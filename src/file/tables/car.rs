//! `[car]`: wheelbase, centre of gravity and force shares, for anti-squat and anti-lift.

use crate::file::reader::{LENGTH, Number, NumberUnit, Table};
use crate::geometry::Car;

const SHARE: Number = Number { measure: NumberUnit::Share, least: 0.0, most: 1.0, least_included: true };

pub(super) fn read(mut table: Table) -> Car {
    let car = Car {
        wheelbase_mm: table.value("wheelbase", &LENGTH),
        cg_height_mm: table.value("cg_height", &LENGTH),
        rear_drive_share: table.value("rear_drive_share", &SHARE),
        rear_brake_share: table.value("rear_brake_share", &SHARE),
    };
    table.finish();
    car
}
