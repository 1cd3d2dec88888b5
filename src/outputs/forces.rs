//! The forces of a car for other programs: `forces.csv`, `brackets.csv` and the summary.

use std::collections::BTreeMap;

use ::csv::Error;
use serde::Serialize;

use super::csv::{cell, text_cell};
use super::tables::{finished, writer};
use crate::geometry::{Corner, Side};
use crate::present::forces::{CAUTION, TABLE_CAUTION, unit_load};
use crate::studies::forces::{
    CaseForces, Deflection, ForcesFindings, HalfshaftTorque, Held, Masses, MountFindings, Part, StrapOffItsLength,
    StrapSlack, UnitResponse, WANTED_RESERVE, WheelCompliance, WheelExtremes, WheelForces, WheelFrame, WheelInCase,
    WheelMargins,
};
use crate::studies::plausibility::Doubt;
use crate::studies::{Lacking, SideBind};

/// The summary of a study of forces, for [`super::summary_json`].
#[derive(Debug, Serialize)]
pub struct ForcesSummary<'f> {
    name: &'f str,
    warnings: &'f [Doubt],
    pub(super) forces: ForcesMember<'f>,
}

#[derive(Debug, Serialize)]
pub(super) struct ForcesMember<'f> {
    caution: &'static str,
    static_wheel_load_n: Option<f64>,
    common_practice: bool,
    cases: Vec<CaseMember<'f>>,
    extremes: &'f [WheelExtremes],
    wanted_reserve: f64,
    margins: &'f [WheelMargins],
    compliance: &'f [WheelCompliance],
    frame: &'f [WheelFrame],
    mounts: Option<&'f MountFindings>,
    masses: &'f Masses,
    not_checked: &'f [Lacking],
    spring_fails: Vec<SpringFailsMember>,
    strap_slack: &'f [StrapSlack],
    strap_off_its_length: &'f [StrapOffItsLength],
    binds: BTreeMap<Side, Vec<&'f SideBind>>,
    equilibrium_error: f64,
}

#[derive(Debug, Serialize)]
struct CaseMember<'f> {
    case: &'f str,
    common_practice: bool,
    #[serde(flatten)]
    wheels: BTreeMap<Side, WheelMember<'f>>,
}

#[derive(Debug, Serialize)]
struct WheelMember<'f> {
    contact_n: [f64; 3],
    centre_n: [f64; 3],
    moment_nm: [f64; 3],
    torque_to: Option<&'static str>,
    positions: Vec<PositionMember<'f>>,
}

#[derive(Debug, Serialize)]
struct PositionMember<'f> {
    bump_mm: f64,
    links: Vec<LinkMember<'f>>,
    spring_n: f64,
    strap_n: Option<f64>,
    halfshaft: Option<HalfshaftTorque>,
    deflection: Option<Deflection>,
    brackets: Vec<BracketMember>,
}

#[derive(Debug, Serialize)]
struct LinkMember<'f> {
    link: &'f str,
    axial_n: f64,
    axial_chassis_n: f64,
    axial_upright_n: f64,
    shear_n: f64,
    bending_nm: f64,
}

#[derive(Debug, Serialize)]
struct BracketMember {
    bracket: String,
    at_mm: [f64; 3],
    force_xyz_n: [f64; 3],
}

#[derive(Debug, Serialize)]
struct SpringFailsMember {
    side: Side,
    at_bump_mm: f64,
}

impl<'f> ForcesSummary<'f> {
    /// Of a finished study.
    pub fn of(found: &'f ForcesFindings) -> Self {
        let geometry = found.geometry;
        let binds =
            found.sides.iter().map(|&side| (side, found.binds.iter().filter(|bind| bind.side == side).collect()));
        let fails = found.spring_fails.iter();
        Self {
            name: &geometry.name,
            warnings: &found.warnings,
            forces: ForcesMember {
                caution: CAUTION,
                static_wheel_load_n: found.static_wheel_load_n,
                common_practice: found.common_practice,
                cases: found.cases.iter().map(|case| CaseMember::of(case, found)).collect(),
                extremes: &found.extremes,
                wanted_reserve: WANTED_RESERVE,
                margins: &found.margins,
                compliance: &found.compliance,
                frame: &found.frame,
                mounts: found.mounts.as_ref(),
                masses: &found.masses,
                not_checked: &found.lacking,
                spring_fails: fails.map(|f| SpringFailsMember { side: f.side, at_bump_mm: f.at_bump_mm }).collect(),
                strap_slack: &found.strap_slack,
                strap_off_its_length: &found.strap_off_its_length,
                binds: binds.collect(),
                equilibrium_error: found.worst_equilibrium_error(),
            },
        }
    }
}

impl<'f> CaseMember<'f> {
    fn of(case: &'f CaseForces, found: &'f ForcesFindings) -> Self {
        let wheel = |(&side, wheel): (&Side, &'f WheelInCase)| {
            let corner = found.geometry.corner(side);
            let member = WheelMember {
                contact_n: wheel.load.contact_n.into(),
                centre_n: wheel.load.centre_n.into(),
                moment_nm: wheel.load.moment_nm.into(),
                torque_to: wheel.load.torque_to.map(|to| to.name()),
                positions: wheel.positions.iter().map(|forces| PositionMember::of(forces, corner)).collect(),
            };
            (side, member)
        };
        Self {
            case: &case.name,
            common_practice: case.common_practice,
            wheels: case.wheels.iter().map(wheel).collect(),
        }
    }
}

impl<'f> PositionMember<'f> {
    fn of(forces: &WheelForces, corner: &'f Corner) -> Self {
        let links = corner.links.iter().zip(&forces.links).map(|(link, force)| LinkMember {
            link: &link.name,
            axial_n: force.axial_n,
            axial_chassis_n: force.axial_chassis_n,
            axial_upright_n: force.axial_upright_n,
            shear_n: force.shear_n(),
            bending_nm: force.bending_nm,
        });
        let brackets = forces.brackets.iter().map(|bracket| BracketMember {
            bracket: bracket.part.bracket(corner),
            at_mm: corner.side.to_car(bracket.at).into(),
            force_xyz_n: corner.side.to_car(bracket.force_n.into()).into(),
        });
        Self {
            bump_mm: forces.bump_mm,
            links: links.collect(),
            spring_n: forces.spring_n,
            strap_n: forces.strap_n,
            halfshaft: forces.halfshaft,
            deflection: forces.deflection,
            brackets: brackets.collect(),
        }
    }
}

/// `forces.csv`: the force along every part in every case, pull positive, with what bends a link that carries the spring.
pub fn forces_csv(found: &ForcesFindings) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record([
        "case",
        "side",
        "bump_mm",
        "part",
        "axial_n",
        "axial_chassis_n",
        "axial_upright_n",
        "shear_n",
        "bending_nm",
        "caution",
    ])?;
    for (case, side, forces) in found.all() {
        let corner = found.geometry.corner(side);
        for part in Part::all(corner) {
            let name = part.name(corner);
            let of = forces.of_part(part);
            let numbers = [of.axial_n, of.axial_chassis_n, of.axial_upright_n, of.shear_n(), of.bending_nm];
            let place = [text_cell(&case.name), side.name().to_owned(), cell(Some(forces.bump_mm)), text_cell(name)];
            let numbers = numbers.map(|number| cell(Some(number)));
            writer.write_record(place.into_iter().chain(numbers).chain([TABLE_CAUTION.to_owned()]))?;
        }
    }
    finished(writer)
}

/// `brackets.csv`: the force of every link, of the spring and of the strap on the frame in every case, car axes.
pub fn brackets_csv(found: &ForcesFindings) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record([
        "case",
        "side",
        "bump_mm",
        "bracket",
        "x_mm",
        "y_mm",
        "z_mm",
        "force_x_n",
        "force_y_n",
        "force_z_n",
        "force_n",
        "caution",
    ])?;
    for (case, side, forces) in found.all() {
        let corner = found.geometry.corner(side);
        for bracket in &forces.brackets {
            let (at, force) = (side.to_car(bracket.at), side.to_car(bracket.force_n.into()));
            let bump = cell(Some(forces.bump_mm));
            let names = [text_cell(&case.name), side.name().to_owned(), bump, text_cell(&bracket.part.bracket(corner))];
            let numbers = [at.x, at.y, at.z, force.x, force.y, force.z, bracket.force_n.norm()];
            let numbers = numbers.map(|number| cell(Some(number)));
            writer.write_record(names.into_iter().chain(numbers).chain([TABLE_CAUTION.to_owned()]))?;
        }
    }
    finished(writer)
}

/// `margins.csv`: the least reserve of every check of every link, what breaks first above.
pub fn margins_csv(found: &ForcesFindings) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    let columns = ["wheels", "part", "check", "reserve", "load_n", "case", "side", "bump_mm", "caution"];
    writer.write_record(columns)?;
    for group in &found.margins {
        let wheels: Vec<&str> = group.wheels.iter().map(|side| side.name()).collect();
        for margin in &group.ranked {
            let at = margin.at.as_ref();
            writer.write_record([
                wheels.join(" and "),
                text_cell(&margin.part),
                margin.check.name().to_owned(),
                cell(Some(margin.reserve)),
                cell(margin.load_n),
                at.map_or_else(String::new, |at| text_cell(&at.case)),
                at.map_or("", |at| at.side.name()).to_owned(),
                cell(at.map(|at| at.bump_mm)),
                TABLE_CAUTION.to_owned(),
            ])?;
        }
    }
    finished(writer)
}

/// `compliance.csv`: what one unit of load does to each wheel, then what every load case does, links giving along themselves.
pub fn compliance_csv(found: &ForcesFindings) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record(["side", "bump_mm", "load", "held", "toe_deg", "camber_deg", "lateral_mm", "caution"])?;
    let units = found.compliance.iter().flat_map(|wheel| {
        let load = |response: &UnitResponse| (unit_load(response.load).to_owned(), response.held, response.deflection);
        wheel.responses.iter().map(move |response| (wheel.side, wheel.bump_mm, load(response)))
    });
    let cases = found.all().filter_map(|(case, side, forces)| {
        Some((side, forces.bump_mm, (text_cell(&case.name), Held::WheelTravel, forces.deflection?)))
    });
    for (side, bump_mm, (load, held, deflection)) in units.chain(cases) {
        let numbers =
            [deflection.toe_deg, deflection.camber_deg, deflection.lateral_mm].map(|number| cell(Some(number)));
        let place = [side.name().to_owned(), cell(Some(bump_mm)), load, held.name().to_owned()];
        writer.write_record(place.into_iter().chain(numbers).chain([TABLE_CAUTION.to_owned()]))?;
    }
    finished(writer)
}

/// `mounts.csv`: what every bolt of the final drive carries in every case, car axes; `None` when nothing is known of them.
pub fn mounts_csv(found: &ForcesFindings) -> Option<Result<Vec<u8>, Error>> {
    let mounts = found.mounts.as_ref()?;
    Some(mounts_table(mounts))
}

fn mounts_table(mounts: &MountFindings) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record([
        "case",
        "bump_mm",
        "pinion_nm",
        "left_nm",
        "right_nm",
        "hole",
        "x_mm",
        "y_mm",
        "z_mm",
        "force_x_n",
        "force_y_n",
        "force_z_n",
        "pull_out_n",
        "shear_n",
        "reserve",
        "caution",
    ])?;
    for case in &mounts.cases {
        for bolt in &case.bolts {
            let torques = [case.bump_mm, case.pinion_nm, case.output_nm.left, case.output_nm.right];
            let torques = torques.map(|number| cell(Some(number)));
            let (at, force) = (bolt.at, bolt.force_n);
            let numbers = [at.x, at.y, at.z, force.x, force.y, force.z, bolt.pull_out_n, bolt.shear_n, bolt.reserve];
            let numbers = numbers.map(|number| cell(Some(number)));
            let row = [text_cell(&case.case)].into_iter().chain(torques).chain([bolt.hole.to_string()]).chain(numbers);
            writer.write_record(row.chain([TABLE_CAUTION.to_owned()]))?;
        }
    }
    finished(writer)
}
