//! What of a link may move: its keys `free` and `within`.

use toml_edit::{Item, TableLike};

use crate::file::edits::Edits;
use crate::file::reader::{At, COORDINATE, Diagnostics, EdgeKind, Span, Table};
use crate::geometry::slips::as_measured;
use crate::geometry::{
    AdjustmentRange, ChassisPlace, Interval, LinkAdjustments, PointAdjustment, Side, Tube, TubeAdjustment,
};

use super::free::{self, ABOUT, STRAIGHT, coordinates, note_empty, table_of_free};
use super::link::RawLink;
use super::{SAME_POINT_MM, name_advice};

/// `free` as written.
#[derive(Clone, Default)]
pub(super) struct RawFree {
    /// Where `chassis` stands, when it does.
    chassis_at: Option<Span>,
    chassis: PointAdjustment,
    chassis_bolt: Option<At<AdjustmentRange>>,
    slide: Option<At<AdjustmentRange>>,
    stand_off: Option<At<AdjustmentRange>>,
    turn: Option<At<AdjustmentRange>>,
    upright: PointAdjustment,
    upright_bolt: Option<At<AdjustmentRange>>,
    length: Option<AdjustmentRange>,
}

impl RawFree {
    pub(super) fn read(mut table: Table) -> Self {
        table.rename("`free`".into());
        note_empty(&table, &["chassis", "upright", "length"], "point", "free = { chassis = { z = [-25.0, 25.0] } }");
        let mut free = Self { length: table.value("length", &STRAIGHT), ..Self::default() };
        if let Some(mut end) = table.table("chassis") {
            let keys = ["x", "y", "z", "bolt", "slide", "stand_off", "turn"];
            note_empty(&end, &keys, "coordinate of this point", "z = [-25.0, 25.0]");
            free.chassis_at = Some(end.header.clone());
            free.chassis = coordinates(&mut end);
            free.chassis_bolt = end.optional("bolt", &STRAIGHT);
            free.slide = end.optional("slide", &STRAIGHT);
            free.stand_off = end.optional("stand_off", &STRAIGHT);
            free.turn = end.optional("turn", &ABOUT);
            end.finish();
        }
        if let Some(mut end) = table.table("upright") {
            note_empty(&end, &["x", "y", "z", "bolt"], "coordinate of this point", "z = [-25.0, 25.0]");
            free.upright = coordinates(&mut end);
            free.upright_bolt = end.optional("bolt", &STRAIGHT);
            end.finish();
        }
        table.finish();
        free
    }

    /// Notes a spacer along a bolt that the table of the link does not have.
    pub(super) fn note_missing_bolts(&self, table: &Table) {
        for (key, bolt) in [("chassis_bolt", &self.chassis_bolt), ("upright_bolt", &self.upright_bolt)] {
            if let Some(bolt) = bolt.as_ref().filter(|_| !table.has(key)) {
                let what = format!("`bolt` moves a spacer along the bolt, and the link has no `{key}`");
                table.note(&bolt.span, what, format!("add {key} = [1.0, 0.0, 0.0], the way the bolt points"));
            }
        }
    }
}

/// The box of a chassis point that is not there yet, in side axes.
pub(super) fn read_within(mut table: Table) -> Option<At<[Interval; 3]>> {
    table.rename("`within` of [[link]]".into());
    let side = table.scope.side;
    let mut edge = |axis, meaning: &str| table.required(axis, &EdgeKind(COORDINATE), meaning).map(|at| at.value);
    let x = edge("x", "how far back and how far forward the point may be");
    let y = edge("y", "the two sides of its room, y counted to the left").map(|y| match side {
        Side::Left => y,
        Side::Right => y.reversed(),
    });
    let z = edge("z", "how low and how high the point may be");
    if let Some(y) = y.filter(|y| y.low < 0.0) {
        note_across(&table, y);
    }
    let span = table.header.clone();
    table.finish();
    Some(At { value: [x?, y?, z?], span })
}

/// Notes a box that is not on its own side of the car; `y` of it in side axes.
fn note_across(table: &Table, y: Interval) {
    let units = table.scope.units;
    let (is, begins) = match table.scope.side {
        Side::Left => ("above 0 on the left", "begins at 0 or more"),
        Side::Right => ("below 0 on the right", "ends at 0 or less"),
    };
    let (what, advice) = if y.high <= 0.0 {
        let meant = if table.scope.side == Side::Left { y.reversed() } else { y };
        let [low, high] = [meant.low, meant.high].map(|mm| as_measured(mm / units.in_mm(), units) + 0.0);
        let advice = format!("write y = [{low:?}, {high:?}]: y counts to the left, and is {is}");
        ("`within` of [[link]] is on the other side of the car", advice)
    } else {
        let advice = format!(
            "write a `y` that {begins}: y counts to the left, and is {is}; the box is where the point may be in the axes \
             of the car, not how far it may move"
        );
        ("`within` of [[link]] reaches across the centreline of the car", advice)
    };
    table.note(&table.header, what, advice);
}

/// Writes what of a link may move.
pub(super) fn write(edits: &mut Edits, keys: &dyn TableLike, may: &LinkAdjustments, side: Side) {
    if let Some(end) = table_of_free(keys, "chassis") {
        free::write(edits, end, &may.chassis, side);
        edits.range(end, "bolt", may.chassis_bolt);
        edits.range(end, "slide", may.tube.and_then(|tube| tube.slide));
        edits.range(end, "stand_off", may.tube.and_then(|tube| tube.stand_off));
        edits.angle_range(end, "turn", may.tube.and_then(|tube| tube.turn));
    }
    if let Some(end) = table_of_free(keys, "upright") {
        free::write(edits, end, &may.upright, side);
        edits.range(end, "bolt", may.upright_bolt);
    }
    if let Some(free) = keys.get("free").and_then(Item::as_table_like) {
        edits.range(free, "length", may.length);
    }
}

/// What of a link may move; without `tubes` nothing is said about the one that it names.
pub(super) fn adjustments(raw: &RawLink, tubes: Option<&[Tube]>, diagnostics: &Diagnostics) -> LinkAdjustments {
    let free = &raw.free;
    if let Some(at) = free.chassis_at.as_ref().filter(|_| !raw.is_placed()) {
        let what = format!("link {:?} has no chassis point yet that could move", raw.name.value);
        let advice = match raw.place {
            ChassisPlace::Nowhere => "give the link its `chassis`; or, before there is one, remove `chassis` here",
            _ => "remove `chassis` here; `within` already says where the point may be",
        };
        diagnostics.add(at, what, advice);
    }
    LinkAdjustments {
        place: raw.place,
        chassis: free.chassis,
        upright: free.upright,
        chassis_bolt: alone(&free.chassis_bolt),
        upright_bolt: alone(&free.upright_bolt),
        tube: tubes.and_then(|tubes| ride(raw, tubes, diagnostics)),
        length: free.length,
    }
}

fn alone(range: &Option<At<AdjustmentRange>>) -> Option<AdjustmentRange> {
    range.as_ref().map(|at| at.value)
}

/// How the bracket of a link rides on its tube.
fn ride(raw: &RawLink, tubes: &[Tube], diagnostics: &Diagnostics) -> Option<TubeAdjustment> {
    let free = &raw.free;
    let (slide, stand_off, turn) = (&free.slide, &free.stand_off, &free.turn);
    let first = [("slide", slide), ("stand_off", stand_off), ("turn", turn)]
        .into_iter()
        .find_map(|(key, range)| range.as_ref().map(|at| (key, &at.span)));
    if let Some((key, span)) = first.filter(|_| free.chassis.iter().any(Option::is_some)) {
        let what = format!("`{key}` and a coordinate beside it move the same point twice");
        diagnostics.add(span, what, "keep `slide`, `stand_off` and `turn`, or `x`, `y` and `z`");
    }
    let Some(name) = &raw.chassis_tube else {
        if let Some((key, span)) = first {
            let what = format!("`{key}` moves a bracket on a tube, and link {:?} names none", raw.name.value);
            diagnostics.add(span, what, "add `chassis_tube`, the name of its [[tube]], to the link");
        }
        return None;
    };
    let Some(index) = tubes.iter().position(|tube| tube.name == name.value) else {
        let known: Vec<_> = tubes.iter().map(|tube| tube.name.as_str()).collect();
        let advice = if known.is_empty() {
            "add [[tube]] with its `name`, `from` and `to`".into()
        } else {
            name_advice(&name.value, &known)
        };
        diagnostics.add(&name.span, format!("the file has no tube {:?}", name.value), advice);
        return None;
    };
    if raw.is_placed() {
        check_ride(raw, &tubes[index], diagnostics);
    }
    Some(TubeAdjustment { tube: index, slide: alone(slide), stand_off: alone(stand_off), turn: alone(turn) })
}

/// A bracket on the centre line itself has no way to stand off or to turn. A tube without length has its own mistake.
fn check_ride(raw: &RawLink, tube: &Tube, diagnostics: &Diagnostics) {
    let is_on_line = tube.length_mm() >= SAME_POINT_MM && tube.off_mm(&raw.chassis.value) < SAME_POINT_MM;
    if let Some(at) = raw.free.turn.as_ref().or(raw.free.stand_off.as_ref()).filter(|_| is_on_line) {
        let what =
            format!("the chassis point of link {:?} is on the centre line of tube {:?}", raw.name.value, tube.name);
        diagnostics.add(&at.span, what, "a bracket stands off its tube; check the point and the ends of the tube");
    }
}
