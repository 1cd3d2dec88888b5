//! `[[load]]`: the loads that a builder wants to know the link forces of.

use nalgebra::Vector3;

use crate::file::reader::{At, Diagnostics, EachAxis, Number, NumberUnit, Table, Text, Word};
use crate::geometry::{Load, Side, TorquePath, WheelLoad};

/// More than any racing car puts on one wheel, N.
const FORCE: Number = Number { least: -2e5, least_included: true, ..Number::positive("N", " in N", 2e5) };
/// In static wheel loads.
const TIMES: Number = Number { measure: NumberUnit::Bare, least: -20.0, most: 20.0, least_included: true };
const MOMENT: Number = Number { least: -5e4, least_included: true, ..Number::positive("N·m", " in N·m", 5e4) };

pub(super) struct RawLoad {
    case: At<String>,
    side: Option<Side>,
    on_wheel: WheelLoad,
}

impl RawLoad {
    pub(super) fn read(mut table: Table) -> Option<Self> {
        let case = table.required("name", &Text, "what you call the load; loads of one name act together");
        if let Some(case) = &case {
            table.rename(format!("load {:?}", case.value));
        }
        let side =
            table.value("side", &Word(&[("left", Some(Side::Left)), ("right", Some(Side::Right)), ("both", None)]));
        let contact = table.optional("contact", &EachAxis(FORCE));
        let times = table.optional("contact_times_static", &EachAxis(TIMES));
        if let (Some(_), Some(times)) = (&contact, &times) {
            let advice = "remove one of them: newtons, or multiples of the static wheel load";
            table.note(&times.span, "the force at the contact point is given twice", advice);
        }
        let centre = table.value("centre", &EachAxis(FORCE));
        let moment = table.value("moment", &EachAxis(MOMENT));
        let torque_to = table.value("torque_to", &Word(&TorquePath::BY_NAME));
        let along = contact.as_ref().or(times.as_ref()).filter(|force| force.value[0] != 0.0);
        if let Some(force) = along.filter(|_| !table.has("torque_to")) {
            let advice = "add `torque_to = \"upright\"` (a brake on the upright) or `torque_to = \"halfshaft\"` (drive, or a \
                          brake on the final drive); link forces hang on it";
            table.note(&force.span, "this force along the car has no `torque_to`", advice);
        }
        table.finish();
        let vector = |at: [f64; 3]| Vector3::from(at);
        let on_wheel = WheelLoad {
            contact_n: contact.map(|at| vector(at.value)),
            contact_times_static: times.map(|at| vector(at.value)),
            centre_n: centre.map(vector),
            moment_nm: moment.map(vector),
            torque_to,
        };
        Some(Self { case: case?, side: side.flatten(), on_wheel })
    }
}

/// The loads of the file; no wheel has two in one case.
pub(super) fn checked(raw: Vec<RawLoad>, diagnostics: &Diagnostics) -> Vec<Load> {
    for (i, load) in raw.iter().enumerate() {
        let meets = |other: &&RawLoad| {
            let both = load.side.is_none() || other.side.is_none() || load.side == other.side;
            other.case.value == load.case.value && both
        };
        if raw[..i].iter().any(|other| meets(&other)) {
            let what = format!("load {:?} is given twice for one wheel", load.case.value);
            let advice = "give each case its own name; loads of one name act together, one with `side = \"left\"` and one with \
                          `side = \"right\"`";
            diagnostics.add(&load.case.span, what, advice);
        }
    }
    raw.into_iter().map(|raw| Load { case: raw.case.value, side: raw.side, on_wheel: raw.on_wheel }).collect()
}
