//! What of the links of a wheel is not checked for want of data, and the keys that would give it.

use super::margins::metal;
use crate::geometry::{Corner, End, Geometry, Link, RodEnd, Side, SpringMount};
use crate::strength::{Bolt, Material, MaterialError};
use crate::studies::inspection::Lacking;

/// What a check of a link needs: a name of keys, and whether a link lacks them.
type Needs<'c> = (&'static str, &'c dyn Fn(&Link) -> bool);

/// The checks in the order of the file's keys, then metals that are not known.
pub(super) fn of_links(geometry: &Geometry, wheels: &[Side]) -> Vec<Lacking> {
    let Some(first) = wheels.first() else { return Vec::new() };
    let corner = geometry.corner(*first);
    let rod_end = |link: &Link| link.hardware.rod_end.clone().unwrap_or_default();
    let is_bent = |link: &Link| bends_shanks(corner, link);
    let lever = |link: &Link, is_known: bool| is_bent(link) && !is_held(link) && !is_known;
    let lacking = |part: &str, needs: &[Needs], table: &str| of_check(&corner.links, part, needs, table);
    [
        lacking(
            "tube",
            &[
                ("od", &|link| link.tube.is_none()),
                ("wall", &|link| link.tube.as_ref().is_none_or(|tube| tube.wall_mm.is_none())),
                ("material", &|link| link.tube.as_ref().is_none_or(|tube| tube.material.is_none())),
            ],
            "its `tube`",
        ),
        lacking("rod ends", &[("static_kn", &|link| rod_end(link).static_n.is_none())], "[rod_end]"),
        lacking(
            "thread engagement",
            &[
                ("thread", &|link| rod_end(link).thread.is_none()),
                ("engagement", &|link| rod_end(link).engagement_mm.is_none()),
            ],
            "[rod_end]",
        ),
        lacking(
            "bent rod-end shanks",
            &[
                ("thread", &|link| is_bent(link) && rod_end(link).thread.is_none()),
                ("shank", &|link| lever(link, rod_end(link).shank_mm.is_some())),
                ("engagement", &|link| lever(link, rod_end(link).engagement_mm.is_some())),
                ("shank_yield_mpa", &|link| is_bent(link) && rod_end(link).shank_yield_mpa.is_none()),
            ],
            "[rod_end]",
        ),
        lacking("bolts", &[("thread and class", &|link| link.hardware.chassis_bolt.is_none())], "[bolt]"),
        lacking("bending of the bolts", &[("gap", &|link| bolts(link).any(|bolt| bolt.gap_mm.is_none()))], "[bolt]"),
    ]
    .into_iter()
    .flatten()
    .chain(corner.links.iter().filter_map(|link| of_metal(geometry, link)))
    .collect()
}

/// One check, of the links that lack any of its keys; only keys that one of them lacks are asked for.
fn of_check(links: &[Link], part: &str, needs: &[Needs], table: &str) -> Option<Lacking> {
    let lack = |link: &Link| needs.iter().any(|(_, lacks)| lacks(link));
    let names: Vec<&str> = links.iter().filter(|link| lack(link)).map(|link| &*link.name).collect();
    let of = if names.len() == links.len() { "every link".to_owned() } else { names.join(", ") };
    let keys: Vec<&str> = needs.iter().filter(|(_, lacks)| links.iter().any(lacks)).map(|(key, _)| *key).collect();
    let (last, others) = keys.split_last()?;
    let keys = if others.is_empty() { (*last).to_owned() } else { format!("{} and {last}", others.join(", ")) };
    Some(Lacking { what: format!("{part} of {of}"), needs: format!("{keys} in {table}") })
}

/// What bends the shank of a rod end of this link is there: the spring on the link, or a bracket that holds it.
fn bends_shanks(corner: &Corner, link: &Link) -> bool {
    let carries = corner.spring.as_ref().is_some_and(|spring| match spring.on {
        SpringMount::Upright => false,
        SpringMount::Link { index, .. } => corner.links[index].name == link.name,
    });
    let held = |rod_end: &RodEnd| End::BOTH.iter().any(|&end| rod_end.stand_off_mm(end).is_some());
    carries || link.hardware.rod_end.as_ref().is_some_and(held)
}

/// Brackets hold the shanks of both rod ends, so that their stand-off is the lever of all that bends them.
fn is_held(link: &Link) -> bool {
    let both = |rod_end: &RodEnd| End::BOTH.iter().all(|&end| rod_end.stand_off_mm(end).is_some());
    link.hardware.rod_end.as_ref().is_some_and(both)
}

fn bolts(link: &Link) -> impl Iterator<Item = &Bolt> {
    End::BOTH.into_iter().filter_map(|end| link.hardware.bolt(end))
}

/// A tube whose metal is not known well enough.
fn of_metal(geometry: &Geometry, link: &Link) -> Option<Lacking> {
    let tube = link.tube.as_ref().filter(|tube| tube.material.is_some())?;
    let why = metal(geometry, tube).err()?;
    let name = tube.material.as_deref().unwrap_or_default();
    let known: Vec<&str> = Material::known().collect();
    let needs = match why {
        MaterialError::Unknown => {
            format!("a `material` that is known ({}), or a [[material]] of that name", known.join(", "))
        }
        MaterialError::NoYield => "its yield strength from the certificate, in a [[material]] of that name".to_owned(),
    };
    Some(Lacking { what: format!("tube of {} ({name:?} {why})", link.name), needs })
}
