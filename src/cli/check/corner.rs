//! One corner at design: the wheel, the lengths to compare with the car, and how near it is to binding.

use crate::geometry::{Interval, Travel};
use crate::present::words::{listed, sentence_start};
use crate::present::{LengthFormat, assumed_sizes, rounded};
use crate::studies::{
    Assembled, CheckFindings, GapAtDesign, Health, Inspection, LinkInspection, OVERTRAVEL_MM, SideBind, State,
};

use super::super::layout::{column, wrapped};

const NAME_COLUMNS: usize = 28;
/// Gaps that are told beside those that are too small.
const GAPS: usize = 2;

pub fn lines(inspection: &Inspection, found: &CheckFindings, travel: &Travel, lengths: LengthFormat) -> Vec<String> {
    let mut lines = vec![String::new()];
    lines.extend(wheel(inspection, lengths));
    lines.extend(links(inspection, lengths));
    match &inspection.assembled {
        Some(assembled) => lines.extend(binding(assembled, travel, lengths)),
        None => lines.push(wrapped("  ", &not_placed(inspection))),
    }
    lines.extend(clearance(inspection, found, lengths));
    lines
}

/// The nearest bodies as drawn, and every pair that is too near.
fn clearance(inspection: &Inspection, found: &CheckFindings, lengths: LengthFormat) -> Vec<String> {
    if inspection.clearance.is_empty() {
        return Vec::new();
    }
    let shown = inspection.clearance.iter().enumerate().filter(|(k, gap)| *k < GAPS || gap.state == State::Fail);
    let gap = |gap: &GapAtDesign| match gap.state {
        State::Fail => format!("{} {} (FAIL)", gap.pair, lengths.number_beside(gap.gap_mm, found.least_gap_mm)),
        _ => format!("{} {}", gap.pair, lengths.number(gap.gap_mm)),
    };
    let gaps: Vec<String> = shown.map(|(_, pair)| gap(pair)).collect();
    let (unit, least) = (lengths.symbol(), lengths.limit(found.least_gap_mm));
    let told = format!("nearest bodies at design, {unit} (at least {least}): {}", gaps.join("; "));
    let default_mm = found.least_gap_is_default.then_some(found.least_gap_mm);
    let taken = assumed_sizes(lengths, &inspection.assumed, default_mm);
    [Some(told), taken].into_iter().flatten().map(|sentence| wrapped("  ", &sentence)).collect()
}

fn wheel(inspection: &Inspection, lengths: LengthFormat) -> Vec<String> {
    let place = inspection.contact_mm.map(|mm| lengths.number(mm)).join(", ");
    let halfshaft = inspection.halfshaft_mm.map(|mm| format!("; halfshaft {} joint to joint", lengths.with_unit(mm)));
    let halfshaft = halfshaft.unwrap_or_default();
    vec![
        format!(
            "{} wheel: toe {} deg per wheel ({} {} over {}), camber {} deg",
            sentence_start(inspection.side.name()),
            rounded(inspection.toe_deg, 2),
            rounded(lengths.value(inspection.toe_mm), 3),
            lengths.symbol(),
            lengths.with_unit(inspection.toe_span_mm),
            rounded(inspection.camber_deg, 2)
        ),
        format!("  contact point ({place}) {}{halfshaft}", lengths.symbol()),
    ]
}

fn links(inspection: &Inspection, lengths: LengthFormat) -> Vec<String> {
    let unit = lengths.symbol();
    let holes = (2..=5).map(|n| format!("{:>8}", format!("to {n}"))).collect::<String>();
    let head = [
        format!("  {:<NAME_COLUMNS$}  {:>10}   upright, hole to hole, {unit}", "link", "eye to eye"),
        format!("  {:<NAME_COLUMNS$}  {unit:>10}{holes}", ""),
    ];
    let rows = inspection.links.iter().enumerate().map(|(index, link)| link_row(index, link, lengths));
    head.into_iter().chain(rows).collect()
}

fn link_row(index: usize, link: &LinkInspection, lengths: LengthFormat) -> String {
    let before = (0..index).map(|_| String::new());
    let holes = before.chain(link.holes_mm.iter().map(|&mm| lengths.number(mm)));
    let holes = holes.map(|hole| format!("{hole:>8}")).collect::<String>();
    let (name, length) =
        (column(&link.name, NAME_COLUMNS), link.eye_to_eye_mm.map_or("-".to_owned(), |mm| lengths.number(mm)));
    format!("  {} {name}{length:>10}{holes}", index + 1).trim_end().to_owned()
}

/// Before the frame has all its brackets: what was read of the upright is shown, and nothing can be moved.
fn not_placed(inspection: &Inspection) -> String {
    let without = inspection.links.iter().filter(|link| link.eye_to_eye_mm.is_none());
    let names: Vec<String> = without.map(|link| format!("{:?}", link.name)).collect();
    let have = if names.len() == 1 { "has" } else { "have" };
    let cure = match inspection.links.iter().any(|link| link.lacks_room) {
        true => "give each link the room that the frame leaves its bracket, as `within`, and `hubtrace tune` finds one",
        false => "`hubtrace tune` finds one",
    };
    format!("{} {have} no chassis point yet, so nothing can be moved; {cure}", listed(&names))
}

fn binding(assembled: &Assembled, travel: &Travel, lengths: LengthFormat) -> Vec<String> {
    let words = match assembled.health {
        Health::AllButBinding => "all but binding",
        Health::CloseToBinding => "close to binding",
        Health::LessThanHealthy => "clear of binding, by less than is healthy,",
        Health::WellClear => "well clear of binding",
    };
    let margin = match assembled.health {
        Health::AllButBinding => format!("{:.0e}", assembled.margin),
        _ => format!("{:.3}", assembled.margin),
    };
    let mut lines = vec![format!("  {words} at design: margin {margin} (0 binds, above 0.1 is healthy)")];
    lines.extend(assembled.halfshaft_over_travel_mm.map(|Interval { low, high }| {
        let (low, high) = (lengths.number(low), lengths.with_unit(high));
        format!("  halfshaft {low} to {high} joint to joint over travel")
    }));
    match (&assembled.binds_in_bump, &assembled.binds_in_droop) {
        (None, None) => {
            let far = lengths.with_unit(OVERTRAVEL_MM);
            lines.push(format!("  driven on beyond its stops it does not bind within {far} either way"));
        }
        (bump, droop) => {
            lines.push(driven_on(("bump", travel.bump_mm), bump.as_ref(), lengths));
            lines.push(driven_on(("droop", travel.droop_mm), droop.as_ref(), lengths));
        }
    }
    lines
}

fn driven_on((way, stop_mm): (&str, f64), bind: Option<&SideBind>, lengths: LengthFormat) -> String {
    let Some(bind) = bind else {
        return format!("  driven on in {way} it does not bind within {}", lengths.with_unit(OVERTRAVEL_MM));
    };
    let names = bind.links.iter().map(|name| format!("{name:?}")).collect::<Vec<_>>().join(", ");
    let at_mm = bind.at_bump_mm.abs();
    let (at, stop) = (lengths.with_unit(at_mm), lengths.with_unit(stop_mm));
    wrapped(
        "  ",
        &match at_mm < stop_mm {
            true => format!("warning: in {way} it binds at {at}, before its stop at {stop}; {names} carry the bind"),
            false => format!("driven on in {way} it binds at {at}, beyond its stop at {stop}; {names} carry the bind"),
        },
    )
}
