//! The tables that lie beside a report.

use ::csv::Error;

use crate::outputs::driveline::{halfshaft_angles_csv, halfshaft_csv, propshaft_csv, runs_out_csv};
use crate::outputs::forces::{brackets_csv, compliance_csv, forces_csv, margins_csv, mounts_csv};
use crate::outputs::tables::{clearance_csv, rod_ends_csv, sensitivity_csv};
use crate::outputs::{rows_csv, tolerance_csv};
use crate::studies::ReportFindings;

/// A file beside the report.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReportTable {
    /// Of the file.
    pub name: &'static str,
    /// What a reader finds in it.
    pub holds: &'static str,
    /// Of the file.
    pub contents: Vec<u8>,
}

/// Every table that the data of the car make, as the other commands write them.
pub fn report_tables(found: &ReportFindings) -> Result<Vec<ReportTable>, Error> {
    let mut tables = Vec::new();
    let mut add = |name, holds, contents: Vec<u8>| tables.push(ReportTable { name, holds, contents });
    let (sweep, car) = (&found.sweep, &found.sweep.car);
    let names = [
        ("heave.csv", "every row of bump and droop"),
        ("roll.csv", "every row of body roll"),
        ("grid.csv", "ride height and roll together"),
    ];
    for ((name, holds), rows) in names.into_iter().zip(sweep.rows()) {
        add(name, holds, rows_csv(rows, &car.sides)?);
    }
    add("clearance.csv", "the least gap of every pair of parts", clearance_csv(&car.heave)?);
    if car.heave.values().any(|wheel| !wheel.rod_ends.is_empty()) {
        add("rod-ends.csv", "the largest misalignment of every rod end", rod_ends_csv(&car.heave)?);
    }
    if let Ok(study) = &found.weld {
        let geometry = study.car.geometry();
        let effects: Vec<_> =
            study.sides.iter().map(|&side| (geometry.corner(side), &study.sensitivities[side])).collect();
        add("sensitivity.csv", "what one millimetre of each pickup does", sensitivity_csv(&effects)?);
        add("tolerance.csv", "how built cars spread", tolerance_csv(&study.study, &study.sides)?);
    }
    let driveline = &found.driveline.driveline;
    if driveline.halfshafts().next().is_some() {
        add("halfshaft.csv", "the halfshafts over the wheel travel", halfshaft_csv(driveline)?);
        add("halfshaft-angles.csv", "how long each joint runs at which angle", halfshaft_angles_csv(driveline)?);
    }
    if !driveline.is_empty() {
        add("runs-out.csv", "what runs out on the way up and down", runs_out_csv(driveline)?);
    }
    if let Some(shaft) = &driveline.propshaft {
        add("propshaft.csv", "the propeller shaft over one turn", propshaft_csv(shaft)?);
    }
    if let Some(forces) = found.forces.as_ref().filter(|found| !found.cases.is_empty()) {
        add("forces.csv", "the force in every part, in every case", forces_csv(forces)?);
        add("brackets.csv", "the force on every bracket of the frame", brackets_csv(forces)?);
        add("margins.csv", "the reserve of every part, what breaks first at the head", margins_csv(forces)?);
        if !forces.compliance.is_empty() {
            add("compliance.csv", "what loads do to toe, camber and tyre", compliance_csv(forces)?);
        }
        if let Some(mounts) = mounts_csv(forces) {
            add("mounts.csv", "the bolts of the final drive", mounts?);
        }
    }
    Ok(tables)
}
