//! How far something may move: the values and tables that `free` of links, halfshaft and spring share.

use toml_edit::{Item, TableLike};

use crate::file::edits::Edits;
use crate::file::reader::{COORDINATE, Number, NumberUnit, Scope, Table, ValueError, ValueKind, counted, numbers};
use crate::geometry::{AdjustmentRange, Axis, PointAdjustment, Side};

/// Of a full turn either way what tuning leaves is counted from where it ended.
const TURN: Number = Number { measure: NumberUnit::Degrees, least: -360.0, most: 360.0, least_included: true };
/// Along a line.
pub(super) const STRAIGHT: AdjustmentKind = AdjustmentKind { of: COORDINATE, mirrored: false };
/// About an axis.
pub(super) const ABOUT: AdjustmentKind = AdjustmentKind { of: TURN, mirrored: false };

/// How far something may move around where it stands: `[low, high]` or `[low, high, step]`, with zero inside.
pub(super) struct AdjustmentKind {
    of: Number,
    /// It counts the other way in side axes.
    mirrored: bool,
}

impl ValueKind for AdjustmentKind {
    type Value = AdjustmentRange;

    fn wants(&self, scope: Scope) -> String {
        let unit = self.of.measure.in_words(scope.units);
        format!("how far it may move, [low, high]{unit}, with 0 inside; or [low, high, step]")
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<AdjustmentRange, ValueError> {
        let (low, high, step) = match item.as_array() {
            Some(list) if list.len() == 3 => {
                let [low, high, step] = numbers(item, &self.of, scope)?;
                (low, high, Some(step))
            }
            Some(list) if list.len() != 2 => return Err(ValueError::new(format!("has {}, not 2 or 3", counted(list)))),
            _ => {
                let [low, high] = numbers(item, &self.of, scope)?;
                (low, high, None)
            }
        };
        if low >= high {
            return Err(ValueError::new("leaves no room: its low end is not below its high end"));
        }
        if low > 0.0 || high < 0.0 {
            return Err(ValueError::new("leaves out where it stands: 0 is not inside"));
        }
        if step.is_some_and(|step| step <= 0.0) {
            return Err(ValueError::new("has a step that is not above 0"));
        }
        if step.is_some_and(|step| step > high && step > -low) {
            return Err(ValueError::new("has a step longer than the room: nothing can move"));
        }
        let (low, high) = if self.mirrored { (-high, -low) } else { (low, high) };
        Ok(AdjustmentRange { low, high, step })
    }
}

/// `free` of a part that is no link: each of its points, with its three coordinates.
pub(super) fn read_points<const N: usize>(mut table: Table, points: [&'static str; N]) -> [PointAdjustment; N] {
    table.rename("`free`".into());
    note_empty(&table, &points, "point", &format!("free = {{ {} = {{ z = [-25.0, 25.0] }} }}", points[0]));
    let free = points.map(|point| table.table(point).map(read_point).unwrap_or_default());
    table.finish();
    free
}

fn read_point(mut table: Table) -> PointAdjustment {
    note_empty(&table, &Axis::ALL.map(Axis::name), "coordinate of this point", "z = [-25.0, 25.0]");
    let free = coordinates(&mut table);
    table.finish();
    free
}

pub(super) fn coordinates(table: &mut Table) -> PointAdjustment {
    let right = table.scope.side == Side::Right;
    Axis::ALL.map(|axis| table.value(axis.name(), &AdjustmentKind { mirrored: right && axis == Axis::Y, ..STRAIGHT }))
}

/// Writes how far a point may move.
pub(super) fn write(edits: &mut Edits, keys: &dyn TableLike, free: &PointAdjustment, side: Side) {
    for (axis, range) in Axis::ALL.into_iter().zip(free) {
        edits.range(keys, axis.name(), range.map(|range| as_in_file(side, axis, range)));
    }
}

/// The ranges of a point that has none in the file yet, as a table; `None` of nothing.
pub(super) fn new_text(edits: &Edits, free: &PointAdjustment, side: Side) -> Option<String> {
    let text = |(axis, range): (Axis, &Option<AdjustmentRange>)| {
        Some(format!("{} = {}", axis.name(), edits.range_text(&as_in_file(side, axis, (*range)?))))
    };
    let all: Vec<String> = Axis::ALL.into_iter().zip(free).filter_map(text).collect();
    (!all.is_empty()).then(|| format!("{{ {} }}", all.join(", ")))
}

/// A range along an axis of the car.
fn as_in_file(side: Side, axis: Axis, range: AdjustmentRange) -> AdjustmentRange {
    match side == Side::Right && axis == Axis::Y {
        true => AdjustmentRange { low: -range.high, high: -range.low, ..range },
        false => range,
    }
}

/// A table in the `free` of a part.
pub(super) fn table_of_free<'k>(keys: &'k dyn TableLike, point: &str) -> Option<&'k dyn TableLike> {
    keys.get("free")?.as_table_like()?.get(point)?.as_table_like()
}

/// Notes a table of `free` in which nothing is free.
pub(super) fn note_empty(table: &Table, keys: &[&str], lacks: &str, example: &str) {
    if !keys.iter().any(|key| table.has(key)) {
        table.note(&table.header, format!("`free` names no {lacks}"), format!("write {example}, or remove it"));
    }
}
