//! `[weld]` and `[tape]`: how exactly the car is made and was measured.

use crate::file::reader::{At, Diagnostics, Flag, LENGTH, Number, Table, Text, Texts, Word, nearest};
use crate::geometry::{End, Pickup, Tape, Weld, WeldGroup};

/// A bracket off by more was not welded to the drawing.
const WELD: Number = Number { most: 50.0, ..LENGTH };

pub(super) struct RawWeld {
    sd_mm: f64,
    within_mm: Option<f64>,
    upright_sd_mm: Option<f64>,
    uniform: bool,
    groups: Vec<RawGroup>,
}

struct RawGroup {
    name: At<String>,
    /// Ends of links as written: `toe link chassis`, `all upright`.
    pickups: Vec<At<String>>,
    sd_mm: f64,
    together: bool,
}

/// 19 of 20 lie within this many standard deviations of a normal distribution.
const SDS_IN_19_OF_20: f64 = 1.96;

impl RawWeld {
    pub(super) fn read(mut table: Table) -> Option<Self> {
        let sd = table.value("sd", &WELD);
        let within = table.value("within", &WELD);
        if table.has("sd") == table.has("within") {
            let advice = "write one: `sd` (one standard deviation) or `within` (19 of 20 coordinates are this near to the drawing; not \
                          the box `within` of a [[link]])";
            table.note(&table.header, "[weld] takes exactly one of `sd` and `within`", advice);
        }
        let upright_sd_mm = table.value("upright_sd", &WELD);
        let uniform = table.value("shape", &Word(&[("normal", false), ("uniform", true)])).unwrap_or(false);
        let groups = table.tables("group").into_iter().filter_map(read_group).collect();
        table.finish();
        // Of a uniform distribution all lie within √3 standard deviations.
        let sds_within = if uniform { f64::sqrt(3.0) } else { SDS_IN_19_OF_20 };
        let sd_mm = sd.or(within.map(|within| within / sds_within))?;
        Some(Self { sd_mm, within_mm: within.filter(|_| sd.is_none()), upright_sd_mm, uniform, groups })
    }

    /// The welds, each group's pickups found among the links of these names.
    pub(super) fn checked(&self, links: &[&str], diagnostics: &Diagnostics) -> Weld {
        let mut groups: Vec<WeldGroup> = Vec::new();
        for raw in &self.groups {
            if groups.iter().any(|other| other.name == raw.name.value) {
                let what = format!("two groups are called {:?}", raw.name.value);
                diagnostics.add(&raw.name.span, what, "give each group its own name");
            }
            let group = group(raw, links, &groups, diagnostics);
            groups.push(group);
        }
        Weld {
            sd_mm: self.sd_mm,
            within_mm: self.within_mm,
            upright_sd_mm: self.upright_sd_mm,
            groups,
            uniform: self.uniform,
        }
    }
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

fn group(raw: &RawGroup, links: &[&str], before: &[WeldGroup], diagnostics: &Diagnostics) -> WeldGroup {
    let mut pickups: Vec<Pickup> = Vec::new();
    for text in &raw.pickups {
        let found = named(text, links, diagnostics);
        if found.iter().any(|pickup| pickups.contains(pickup)) {
            let what = format!("{:?} stands twice in group {:?}", text.value, raw.name.value);
            diagnostics.add(&text.span, what, "name each pickup once; \"all\" takes in every link");
        }
        let elsewhere = |other: &&WeldGroup| {
            !raw.together && !other.together && found.iter().any(|pickup| other.pickups.contains(pickup))
        };
        if let Some(other) = before.iter().find(elsewhere) {
            let what = format!("{:?} has an `sd` of its own already, in group {:?}", text.value, other.name);
            let advice = "take it out of one of them, or write together = true for what is off as one";
            diagnostics.add(&text.span, what, advice);
        }
        pickups.extend(found);
    }
    WeldGroup { name: raw.name.value.clone(), pickups, sd_mm: raw.sd_mm, together: raw.together }
}

/// The pickups that a text such as `toe link chassis` or `all upright` means.
fn named(text: &At<String>, links: &[&str], diagnostics: &Diagnostics) -> Vec<Pickup> {
    let end_of = |word: &str| End::BOTH.into_iter().find(|end| end.name() == word);
    let parts = text.value.rsplit_once(' ').and_then(|(link, word)| Some((link, end_of(word)?)));
    let found: Vec<Pickup> = match parts {
        Some(("all", end)) => (0..links.len()).map(|link| Pickup { link, end }).collect(),
        Some((name, end)) => {
            links.iter().position(|link| *link == name).map(|link| Pickup { link, end }).into_iter().collect()
        }
        None => Vec::new(),
    };
    if found.is_empty() {
        note_unknown(text, links, diagnostics);
    }
    found
}

fn note_unknown(text: &At<String>, links: &[&str], diagnostics: &Diagnostics) {
    let known: Vec<String> =
        links.iter().chain(&["all"]).flat_map(|link| End::BOTH.map(|end| format!("{link} {}", end.name()))).collect();
    let known: Vec<&str> = known.iter().map(String::as_str).collect();
    let advice = match nearest(&text.value, &known) {
        Some(near) => format!("write {near:?}"),
        None => "write the name of a link and its end, \"chassis\" or \"upright\"; or \"all chassis\"".into(),
    };
    diagnostics.add(&text.span, format!("{:?} is no end of a link of this file", text.value), advice);
}

pub(super) fn read_tape(mut table: Table) -> Option<Tape> {
    let sd = table.required("sd", &WELD, "one standard deviation of a measured coordinate");
    table.finish();
    Some(Tape { sd_mm: sd?.value })
}
