//! What breaks first: the least reserve of every check, a bar each.

use super::ChartSource;
use super::context::Subject;
use super::forces::caption;
use super::frame::CHART;
use super::labels::{Area, broken};
use super::scale::Scale;
use super::sheet::{Anchor, PenError, Sheet, TextStyle};
use super::stroke::Stroke;
use crate::present::forces::{check, rating_divisor, reserve, reserve_verdict};
use crate::studies::forces::{ForcesFindings, Margin, WANTED_RESERVE};

/// Bars stand between these, their names to the left.
const BARS: Area = Area { left: 320.0, top: 26.0, right: 862.0, bottom: 462.0 };
/// Bars that are drawn; the others have more in hand.
const DRAWN: usize = 16;
/// A longer bar is cut off here, and its number tells.
const LONGEST: f64 = 5.0;
const GREY: u8 = 214;

pub fn margins(found: &ForcesFindings, source: ChartSource) -> Result<String, PenError> {
    let title = "What breaks first: strength over force";
    let mut caption = caption(found, title);
    caption.notes.splice(0..0, rating_divisor(found));
    caption.sheet(&Subject::new(found.geometry, source), CHART, |sheet| bars(sheet, found))
}

/// The least first, of every wheel.
fn ranked<'f>(found: &'f ForcesFindings) -> Vec<(&'f Margin, String)> {
    let several = found.margins.len() > 1;
    let named = |side: Option<&str>, margin: &Margin| {
        let whose = side.filter(|_| several).map(|side| format!(", {side}")).unwrap_or_default();
        format!("{}{whose}: {}", margin.part, check(margin.check))
    };
    let of = found.margins.iter().flat_map(|group| {
        let side = group.wheels.first().map(|side| side.name());
        let of_strength = group.ranked.iter().filter(|margin| !margin.is_long_enough());
        of_strength.map(move |margin| (margin, named(side, margin)))
    });
    let mut all: Vec<(&Margin, String)> = of.collect();
    all.sort_by(|a, b| a.0.before(b.0));
    all.truncate(DRAWN);
    all
}

fn bars(sheet: &Sheet, found: &ForcesFindings) -> Result<(), PenError> {
    let Area { left, top, right, bottom } = BARS;
    let across = Scale::covering([0.0, LONGEST], 1.0, 11.0);
    let x = |reserve: f64| left + across.share(reserve.min(LONGEST)) * BARS.width();
    for &tick in &across.ticks {
        sheet.line(&[(x(tick), top), (x(tick), bottom)], Stroke::GRID)?;
        sheet.words(&across.label(tick), (x(tick), bottom + 16.0), TextStyle::PLAIN.anchored(Anchor::Middle))?;
    }
    let title = "strength over force (below 1 it breaks on paper)";
    sheet.words(title, (BARS.middle().0, bottom + 39.0), TextStyle::PLAIN.anchored(Anchor::Middle))?;
    let rows = ranked(found);
    let pitch = BARS.height() / rows.len().max(1) as f64;
    let half = (0.34 * pitch).min(11.0);
    for (k, (margin, name)) in rows.iter().enumerate() {
        let y = top + pitch * (k as f64 + 0.5);
        let name = broken(name, 44, 1);
        let letters = TextStyle::PLAIN.anchored(Anchor::End);
        sheet.words(name.first().map_or("", |line| line), (left - 9.0, y), letters)?;
        let end = x(margin.reserve);
        sheet.region(&[(x(0.0), y - half), (end, y - half), (end, y + half), (x(0.0), y + half)], GREY)?;
        let said = format!("{} {}", reserve(margin.reserve), reserve_verdict(margin));
        sheet.words(said.trim_end(), (x(0.0) + 6.0, y), TextStyle::PLAIN.bold())?;
    }
    for (value, label) in [(1.0, "1"), (WANTED_RESERVE, "wanted")] {
        sheet.line(&[(x(value), top), (x(value), bottom)], Stroke::LIMIT)?;
        sheet.words(label, (x(value), top - 10.0), TextStyle::PLAIN.anchored(Anchor::Middle))?;
    }
    sheet.line(&[(left, top), (right, top), (right, bottom), (left, bottom), (left, top)], Stroke::THIN)
}
