//! The keys that say what may move, and on which tube of the frame.

use nalgebra::Point3;

use super::super::freedom::AdjustmentRange;
use super::super::interval::Interval;
use super::super::problem::Span;
use super::super::reader::{At, Table};
use super::super::side::Side;
use super::super::values::{AdjustmentKind, COORDINATE, Frame, IntervalKind, PointKind, TURN, Text};

/// `free` of a link as written.
#[derive(Clone, Default)]
pub(in crate::geometry) struct RawFree {
    /// Where `chassis` stands, when it does.
    pub(in crate::geometry) chassis_at: Option<Span>,
    pub(in crate::geometry) chassis: [Option<AdjustmentRange>; 3],
    pub(in crate::geometry) chassis_bolt: Option<At<AdjustmentRange>>,
    pub(in crate::geometry) slide: Option<At<AdjustmentRange>>,
    pub(in crate::geometry) stand_off: Option<At<AdjustmentRange>>,
    pub(in crate::geometry) turn: Option<At<AdjustmentRange>>,
    pub(in crate::geometry) upright: [Option<AdjustmentRange>; 3],
    pub(in crate::geometry) upright_bolt: Option<At<AdjustmentRange>>,
    pub(in crate::geometry) length: Option<AdjustmentRange>,
}

pub(in crate::geometry) struct RawTube {
    pub(in crate::geometry) name: At<String>,
    pub(in crate::geometry) from: Point3<f64>,
    pub(in crate::geometry) to: At<Point3<f64>>,
}

const STRAIGHT: AdjustmentKind = AdjustmentKind { of: COORDINATE, mirrored: false };
pub(super) const ABOUT: AdjustmentKind = AdjustmentKind { of: TURN, mirrored: false };

pub(super) fn read_free(mut table: Table) -> RawFree {
    table.rename("`free`".into());
    note_empty(&table, &["chassis", "upright", "length"], "point", "free = { chassis = { z = [-25.0, 25.0] } }");
    let mut free = RawFree { length: table.value("length", &STRAIGHT), ..RawFree::default() };
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

/// `free` of a part that is no link: each of its points, with its three coordinates.
pub(super) fn read_points<const N: usize>(
    mut table: Table,
    points: [&'static str; N],
) -> [[Option<AdjustmentRange>; 3]; N] {
    table.rename("`free`".into());
    note_empty(&table, &points, "point", &format!("free = {{ {} = {{ z = [-25.0, 25.0] }} }}", points[0]));
    let room = points.map(|point| table.table(point).map(read_point).unwrap_or_default());
    table.finish();
    room
}

fn read_point(mut table: Table) -> [Option<AdjustmentRange>; 3] {
    note_empty(&table, &["x", "y", "z"], "coordinate of this point", "z = [-25.0, 25.0]");
    let room = coordinates(&mut table);
    table.finish();
    room
}

fn coordinates(table: &mut Table) -> [Option<AdjustmentRange>; 3] {
    let right = table.scope.side == Side::Right;
    ["x", "y", "z"].map(|axis| table.value(axis, &AdjustmentKind { mirrored: right && axis == "y", ..STRAIGHT }))
}

fn note_empty(table: &Table, keys: &[&str], lacks: &str, example: &str) {
    if !keys.iter().any(|key| table.has(key)) {
        table.note(&table.header, format!("`free` names no {lacks}"), format!("write {example}, or remove it"));
    }
}

/// The box of a chassis point that is not there yet, in side axes.
pub(super) fn read_within(mut table: Table) -> Option<At<[Interval; 3]>> {
    table.rename("`within`".into());
    let side = table.scope.side;
    let mut edge = |axis, meaning: &str| table.required(axis, &IntervalKind(COORDINATE), meaning).map(|at| at.value);
    let x = edge("x", "how far back and how far forward the point may be");
    let y = edge("y", "the two sides of its room, y counted to the left").map(|y| match side {
        Side::Left => y,
        Side::Right => Interval { low: -y.high, high: -y.low },
    });
    let z = edge("z", "how low and how high the point may be");
    let span = table.header.clone();
    table.finish();
    Some(At { value: [x?, y?, z?], span })
}

pub(super) fn read_tube(mut table: Table) -> Option<RawTube> {
    let name = table.required("name", &Text, "what you call the tube");
    if let Some(name) = &name {
        table.rename(format!("tube {:?}", name.value));
    }
    let from = table.required("from", &PointKind(Frame::Car), "one end of its centre line");
    let to = table.required("to", &PointKind(Frame::Car), "the other end of its centre line");
    table.finish();
    Some(RawTube { name: name?, from: from?.value, to: to? })
}
