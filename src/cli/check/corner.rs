//! One corner at design: the wheel, the lengths to compare with the car, and how near it is to binding.

use hubtrace::geometry::{Corner, Travel};
use hubtrace::mechanism::{Bind, NEARLY_SINGULAR};
use hubtrace::studies::{Inspection, OVERTRAVEL_MM};

use super::super::lengths::{LengthFormat, rounded};
use super::super::terminal::{column, wrapped};

/// Below this margin a corner is told to be close to binding: a healthy one has ten times as much.
const CLOSE_TO_BINDING: f64 = 0.02;
const NAME_COLUMNS: usize = 28;

pub fn lines(inspection: &Inspection<'_>, travel: &Travel, lengths: LengthFormat) -> Vec<String> {
    let mut lines = vec![String::new()];
    lines.extend(wheel(inspection, lengths));
    lines.extend(links(inspection, lengths));
    lines.extend(binding(inspection, travel, lengths));
    lines
}

fn wheel(inspection: &Inspection<'_>, lengths: LengthFormat) -> Vec<String> {
    let side = inspection.corner.side;
    let contact = side.to_car(inspection.contact);
    let place = [contact.x, contact.y, contact.z].map(|mm| lengths.number(mm)).join(", ");
    vec![
        format!(
            "{} wheel: toe {} deg per wheel ({} {} over {}), camber {} deg",
            capital(side.name()),
            rounded(inspection.toe_deg, 2),
            rounded(inspection.toe_mm / lengths.0.in_mm(), 3),
            lengths.0.symbol(),
            lengths.with_unit(inspection.corner.wheel.toe_span_mm),
            rounded(inspection.camber_deg, 2)
        ),
        format!("  contact point ({place}) {}", lengths.0.symbol()),
    ]
}

fn links(inspection: &Inspection<'_>, lengths: LengthFormat) -> Vec<String> {
    let unit = lengths.0.symbol();
    let holes = (2..=5).map(|n| format!("{:>8}", format!("to {n}"))).collect::<String>();
    let head = [
        format!("  {:<NAME_COLUMNS$}  {:>10}   upright, hole to hole, {unit}", "link", "eye to eye"),
        format!("  {:<NAME_COLUMNS$}  {unit:>10}{holes}", ""),
    ];
    head.into_iter().chain((0..5).map(|link| link_row(inspection, link, lengths))).collect()
}

fn link_row(inspection: &Inspection<'_>, i: usize, lengths: LengthFormat) -> String {
    let link = &inspection.corner.links[i];
    let to = |j| if j > i { lengths.number(inspection.hole_to_hole_mm(i, j)) } else { String::new() };
    let holes = (1..5).map(|j| format!("{:>8}", to(j))).collect::<String>();
    let (name, length) = (column(&link.name, NAME_COLUMNS), lengths.number(link.length_mm()));
    format!("  {} {name}{length:>10}{holes}", i + 1).trim_end().to_owned()
}

fn binding(inspection: &Inspection<'_>, travel: &Travel, lengths: LengthFormat) -> Vec<String> {
    let margin = inspection.margin;
    let words = match margin {
        m if m < NEARLY_SINGULAR => "all but binding",
        m if m < CLOSE_TO_BINDING => "close to binding",
        _ => "well clear of binding",
    };
    let margin = margin_text(margin);
    let mut lines = vec![format!("  {words} at design: margin {margin} (0 binds, above 0.1 is healthy)")];
    match (&inspection.binds_in_bump, &inspection.binds_in_droop) {
        (None, None) => {
            let far = lengths.with_unit(OVERTRAVEL_MM);
            lines.push(format!("  driven on beyond its stops it does not bind within {far} either way"));
        }
        (bump, droop) => {
            lines.push(driven_on(inspection.corner, ("bump", travel.bump_mm), bump.as_ref(), lengths));
            lines.push(driven_on(inspection.corner, ("droop", travel.droop_mm), droop.as_ref(), lengths));
        }
    }
    lines
}

fn driven_on(corner: &Corner, (way, stop_mm): (&str, f64), bind: Option<&Bind>, lengths: LengthFormat) -> String {
    let Some(bind) = bind else {
        return format!("  driven on in {way} it does not bind within {}", lengths.with_unit(OVERTRAVEL_MM));
    };
    let carriers = corner.links.iter().zip(bind.links).filter(|(_, carries)| *carries);
    let names = carriers.map(|(link, _)| format!("{:?}", link.name)).collect::<Vec<_>>().join(", ");
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

fn margin_text(margin: f64) -> String {
    if margin < NEARLY_SINGULAR { format!("{margin:.0e}") } else { format!("{margin:.3}") }
}

fn capital(word: &str) -> String {
    let mut chars = word.chars();
    chars.next().map(|first| first.to_uppercase().chain(chars).collect()).unwrap_or_default()
}
