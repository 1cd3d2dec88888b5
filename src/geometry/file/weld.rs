//! The keys of tape and welds.

use super::super::reader::{At, Table};
use super::super::values::{Flag, Text, Texts, WELD, Word};
use super::super::weld::Tape;

pub(in crate::geometry) struct RawWeld {
    pub(in crate::geometry) sd_mm: f64,
    pub(in crate::geometry) uniform: bool,
    pub(in crate::geometry) groups: Vec<RawGroup>,
}

pub(in crate::geometry) struct RawGroup {
    pub(in crate::geometry) name: At<String>,
    /// Ends of links as written: `toe link chassis`, `all upright`.
    pub(in crate::geometry) pickups: Vec<At<String>>,
    pub(in crate::geometry) sd_mm: f64,
    pub(in crate::geometry) together: bool,
}

/// 19 of 20 lie within this many standard deviations of a normal distribution.
const SDS_IN_19_OF_20: f64 = 1.96;

pub(super) fn read_weld(mut table: Table) -> Option<RawWeld> {
    let sd = table.value("sd", &WELD);
    let within = table.value("within", &WELD);
    if table.has("sd") == table.has("within") {
        let advice = "write one: `sd` (one standard deviation) or `within` (19 of 20 brackets are this near)";
        table.note(&table.header, "[weld] takes exactly one of `sd` and `within`", advice);
    }
    let uniform = table.value("shape", &Word(&[("normal", false), ("uniform", true)])).unwrap_or(false);
    let groups = table.tables("group").into_iter().filter_map(read_group).collect();
    table.finish();
    // Of a uniform distribution all lie within √3 standard deviations.
    let sds_within = if uniform { f64::sqrt(3.0) } else { SDS_IN_19_OF_20 };
    let sd_mm = sd.or(within.map(|within| within / sds_within))?;
    Some(RawWeld { sd_mm, uniform, groups })
}

fn read_group(mut table: Table) -> Option<RawGroup> {
    let name = table.required("name", &Text, "what you call the group");
    if let Some(name) = &name {
        table.rename(format!("group {:?}", name.value));
    }
    let pickups = table.required("pickups", &Texts, "the ends of links in it, such as \"toe link chassis\"");
    let sd = table.required("sd", &WELD, "one standard deviation");
    let together = table.value("together", &Flag).unwrap_or(false);
    table.finish();
    Some(RawGroup { name: name?, pickups: pickups?.value, sd_mm: sd?.value, together })
}

pub(super) fn read_tape(mut table: Table) -> Option<Tape> {
    let sd = table.required("sd", &WELD, "one standard deviation of a measured coordinate");
    table.finish();
    Some(Tape { sd_mm: sd?.value })
}
