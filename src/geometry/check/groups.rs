//! Groups of pickups that are welded together or to a measure of their own.

use super::super::axis::{End, Pickup};
use super::super::file::{RawGroup, RawWeld};
use super::super::problem::Diagnostics;
use super::super::reader::{At, nearest};
use super::super::weld::{Weld, WeldGroup};

/// The welds, each group's pickups found among the links of these names.
pub(in crate::geometry) fn weld(raw: &RawWeld, links: &[&str], diagnostics: &Diagnostics) -> Weld {
    let mut groups: Vec<WeldGroup> = Vec::new();
    for raw in &raw.groups {
        if groups.iter().any(|other| other.name == raw.name.value) {
            let what = format!("two groups are called {:?}", raw.name.value);
            diagnostics.add(&raw.name.span, what, "give each group its own name");
        }
        let group = group(raw, links, &groups, diagnostics);
        groups.push(group);
    }
    Weld { sd_mm: raw.sd_mm, groups, uniform: raw.uniform }
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
            diagnostics.add(
                &text.span,
                what,
                "take it out of one of them, or write together = true for what is off as one",
            );
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
