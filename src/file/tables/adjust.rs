//! `adjust` and `sets_toe` of a `[[link]]`: what of it can be adjusted at the finished car.

use toml_edit::{Item, TableLike};

use super::link::RawLink;
use crate::file::edits::Edits;
use crate::file::reader::{
    At, COORDINATE, Diagnostics, Direction, Frame, IntervalKind, LENGTH, Number, NumberUnit, Scope, Table, ValueError,
    ValueKind, Word,
};
use crate::geometry::{BracketAdjuster, Interval, LengthAdjuster, LengthKind, LinkAdjusters, UprightFrame};

/// No stack of shims is thicker, and no slot longer.
const SHIFT: Number = Number { least: -100.0, most: 100.0, ..COORDINATE };
/// No shim is thicker.
const SHIM: Number = Number { most: 100.0, ..LENGTH };
/// No thread of a rod end is coarser.
const PITCH: Number = Number { most: 10.0, ..LENGTH };
/// No link has a longer thread.
const TURNS: Number = Number { measure: NumberUnit::Turns, least: -100.0, most: 100.0, least_included: true };
/// 0 is every part of a turn.
const STEP_TURNS: Number = Number { least: 0.0, ..TURNS };
/// 0 is every place.
const STEP_MM: Number = Number { least_included: true, ..SHIM };
/// A rod end goes back on its bolt after half a turn.
const HALF_TURN: f64 = 0.5;

#[derive(Debug, Clone, Copy, PartialEq)]
enum BracketKind {
    Shim,
    Slot,
}

/// From where to where, counted from the car as drawn.
struct AroundDrawn(Number);

impl ValueKind for AroundDrawn {
    type Value = Interval;

    fn wants(&self, scope: Scope) -> String {
        format!("[low, high]{}, with 0 inside", self.0.measure.in_words(scope.units))
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<Interval, ValueError> {
        let range = IntervalKind(self.0).read(item, scope)?;
        match range.holds(&Interval::single(0.0)) {
            true => Ok(range),
            false => Err(ValueError::new("leaves out the car as drawn: 0 is not inside")),
        }
    }
}

pub(super) fn read(mut table: Table) -> LinkAdjusters {
    table.rename("`adjust`".into());
    if !["chassis", "upright", "length"].iter().any(|key| table.has(key)) {
        let advice = "write adjust = { chassis = { kind = \"shim\", along = [0.0, 0.0, 1.0], step = 0.5, range = [-6.0, \
            6.0] } }, or remove it";
        table.note(&table.header, "`adjust` names no end and no length", advice);
    }
    let [chassis, upright] = ["chassis", "upright"].map(|end| table.table(end).and_then(read_bracket));
    let length = table.table("length").and_then(read_length);
    table.finish();
    LinkAdjusters { chassis, upright, length }
}

fn read_bracket(mut table: Table) -> Option<BracketAdjuster> {
    let kinds = Word(&[("shim", BracketKind::Shim), ("slot", BracketKind::Slot)]);
    let kind = table.required("kind", &kinds, "what moves it").map(|at| at.value);
    let along = table.required("along", &Direction(Frame::Car), "the way that the pickup goes with a thicker stack");
    let step = match kind {
        Some(BracketKind::Shim) => table.required("step", &SHIM, "the thinnest shim that you have"),
        _ => table.optional("step", &STEP_MM),
    };
    let range =
        table.required("range", &AroundDrawn(SHIFT), "how far it may go in all, counted from the stack as drawn");
    if let Some(step) = step.as_ref().filter(|step| kind == Some(BracketKind::Slot) && step.value > 0.0) {
        let advice = "remove `step`, or write kind = \"shim\"";
        table.note(&step.span, "`step` is not for a slot, which takes every place", advice);
    }
    note_long_step(&table, &step, &range);
    table.finish();
    let step_mm = step.map(|at| at.value).filter(|&step_mm| step_mm > 0.0);
    Some(BracketAdjuster { along: along?.value, step_mm, range_mm: range?.value })
}

fn read_length(mut table: Table) -> Option<LengthAdjuster> {
    let kinds = Word(&[("sleeve", LengthKind::Sleeve), ("end", LengthKind::End)]);
    let kind = table.required("kind", &kinds, "what is turned").map(|at| at.value);
    let pitch = table.required("pitch", &PITCH, "of one thread, from crest to crest");
    let step = table.optional("step", &STEP_TURNS);
    let range = table.required("range", &AroundDrawn(TURNS), "how far it may be turned in all, longer positive");
    let is_half = |turns: f64| turns >= HALF_TURN && (turns / HALF_TURN).fract() == 0.0;
    if let Some(step) = step.as_ref().filter(|step| kind == Some(LengthKind::End) && !is_half(step.value)) {
        let advice = "write 0.5 or 1.0, or remove it; a link that turns on its two rod ends is kind = \"sleeve\"";
        table.note(&step.span, "`step` is no half turn, and a rod end on its bolt takes no other", advice);
    }
    note_long_step(&table, &step, &range);
    table.finish();
    let step_turns = step.map(|at| at.value).filter(|&turns| turns > 0.0);
    let step_turns = step_turns.or((kind == Some(LengthKind::End)).then_some(HALF_TURN));
    Some(LengthAdjuster { kind: kind?, pitch_mm: pitch?.value, step_turns, range_turns: range?.value })
}

fn note_long_step(table: &Table, step: &Option<At<f64>>, range: &Option<At<Interval>>) {
    let Some((step, range)) = step.as_ref().zip(range.as_ref()) else { return };
    if step.value > range.value.largest() {
        table.note(
            &step.span,
            "`step` is longer than `range`: nothing can move",
            "write a smaller step or a wider range",
        );
    }
}

/// One link of a side sets its toe.
pub(super) fn check_sets_toe(links: &[RawLink], diagnostics: &Diagnostics) {
    let mut setting = links.iter().filter_map(|link| Some((link, link.sets_toe.as_ref().filter(|at| at.value)?)));
    let Some((first, _)) = setting.next() else { return };
    for (other, at) in setting {
        let what = format!("links {:?} and {:?} of one side both set toe", first.name.value, other.name.value);
        diagnostics.add(
            &at.span,
            what,
            "keep `sets_toe = true` on the one that is turned to set toe, and remove the other",
        );
    }
}

/// Writes the directions; nothing else of an adjuster can change.
pub(super) fn write(edits: &mut Edits, keys: &dyn TableLike, adjusters: &LinkAdjusters, frame: &UprightFrame) {
    let Some(keys) = keys.get("adjust").and_then(Item::as_table_like) else { return };
    for (end, adjuster) in [("chassis", adjusters.chassis), ("upright", adjusters.upright)] {
        if let Some((keys, adjuster)) = keys.get(end).and_then(Item::as_table_like).zip(adjuster) {
            edits.direction(keys, "along", &frame.car_direction(&adjuster.along));
        }
    }
}
