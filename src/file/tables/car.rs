//! `[car]`: wheelbase, centre of gravity and force shares, for anti-squat and anti-lift; mass and torque paths, for loads.

use crate::file::reader::{LENGTH, Number, NumberUnit, Table, Word};
use crate::geometry::{Car, TorquePath};

const SHARE: Number = Number { measure: NumberUnit::Share, least: 0.0, most: 1.0, least_included: true };
/// Of a car with everything in it.
const MASS: Number = Number::positive("kg", " in kg", 20_000.0);

pub(super) fn read(mut table: Table) -> Car {
    let car = Car {
        wheelbase_mm: table.value("wheelbase", &LENGTH),
        cg_height_mm: table.value("cg_height", &LENGTH),
        rear_drive_share: table.value("rear_drive_share", &SHARE),
        rear_brake_share: table.value("rear_brake_share", &SHARE),
        mass_kg: table.value("mass", &MASS),
        rear_mass_share: table.value("rear_mass_share", &SHARE),
        brake_torque_to: table.value("brake_torque_to", &Word(&TorquePath::BY_NAME)),
        drive_torque_to: table.value("drive_torque_to", &Word(&TorquePath::BY_NAME)),
    };
    table.finish();
    car
}
