//! The car as named points and lines, in its own axes: what CAD and drawings at true size begin with.

use nalgebra::Point3;

use crate::geometry::{Corner, CornerPoint, End, Geometry, Pickup, Side, Tube};

/// A point with its name.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedPoint {
    /// Unlike that of any other: `toe link chassis`, `right toe link chassis`, the name of a datum.
    pub name: String,
    /// The wheel that it belongs to; `None` for a datum.
    pub side: Option<Side>,
    /// Of a wheel: which of its points.
    pub point: Option<CornerPoint>,
    /// mm, axes of the car (y left).
    pub at: Point3<f64>,
}

/// What a line stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineKind {
    /// Between the two eyes of a link.
    Link,
    /// Between its joint centres.
    Halfshaft,
    /// Between its ends.
    Spring,
    /// Centre line of a member of the frame.
    Tube,
}

/// A straight line between two places.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedLine {
    /// What the builder calls it, with `right` before it on the right.
    pub name: String,
    /// The wheel that it belongs to; `None` for a member of the frame.
    pub side: Option<Side>,
    /// What it stands for.
    pub kind: LineKind,
    /// Outside diameter, mm, when the file gives it.
    pub od_mm: Option<f64>,
    /// One end, mm, axes of the car.
    pub from: Point3<f64>,
    /// The other end.
    pub to: Point3<f64>,
}

/// What sheets of both wheels call a thing of one of them.
pub(super) fn on_side(side: Side, name: &str) -> String {
    match side {
        Side::Left => name.to_owned(),
        Side::Right => format!("right {name}"),
    }
}

/// Name of a pickup on a side.
pub(super) fn pickup_name(corner: &Corner, pickup: Pickup) -> String {
    on_side(corner.side, &corner.name_of(CornerPoint::Pickup(pickup)))
}

/// Place of a pickup, mm, axes of the car.
pub(super) fn pickup_place(corner: &Corner, Pickup { link, end }: Pickup) -> Point3<f64> {
    corner.side.to_car(match end {
        End::Chassis => corner.links[link].chassis,
        End::Upright => corner.links[link].upright,
    })
}

/// The points of these wheels in the order of the file, then the datums.
pub fn named_points(geometry: &Geometry, sides: &[Side]) -> Vec<NamedPoint> {
    let of_side = |&side: &Side| {
        let corner = geometry.corner(side);
        corner.points().into_iter().map(move |(point, place)| NamedPoint {
            name: on_side(side, &corner.name_of(point)),
            side: Some(side),
            point: Some(point),
            at: side.to_car(place),
        })
    };
    let datums = geometry.datums.iter().map(|datum| NamedPoint {
        name: datum.name.clone(),
        side: None,
        point: None,
        at: datum.at,
    });
    sides.iter().flat_map(of_side).chain(datums).collect()
}

/// Links, halfshaft and spring of these wheels, then the frame on both sides.
pub fn named_lines(geometry: &Geometry, sides: &[Side]) -> Vec<NamedLine> {
    let mut lines: Vec<NamedLine> = sides.iter().flat_map(|&side| lines_of(geometry.corner(side))).collect();
    for tube in &geometry.tubes {
        lines.push(member(tube, Side::Left));
        let mirrored = member(tube, Side::Right);
        if !is_own_mirror(tube) {
            lines.push(mirrored);
        }
    }
    lines
}

fn lines_of(corner: &Corner) -> Vec<NamedLine> {
    let side = corner.side;
    let line = |kind, name: &str, od_mm, from, to| NamedLine {
        name: on_side(side, name),
        side: Some(side),
        kind,
        od_mm,
        from: side.to_car(from),
        to: side.to_car(to),
    };
    let links = corner.links.iter().map(|link| {
        let od_mm = link.tube.as_ref().map(|tube| tube.od_mm);
        line(LineKind::Link, &link.name, od_mm, link.chassis, link.upright)
    });
    let shaft = corner.halfshaft.iter().map(|of| line(LineKind::Halfshaft, "halfshaft", None, of.inner, of.outer));
    let spring = corner.spring.iter().map(|of| line(LineKind::Spring, "spring", None, of.chassis, of.mount));
    links.chain(shaft).chain(spring).collect()
}

fn member(tube: &Tube, side: Side) -> NamedLine {
    NamedLine {
        name: on_side(side, &tube.name),
        side: None,
        kind: LineKind::Tube,
        od_mm: tube.od_mm,
        from: side.to_car(tube.from),
        to: side.to_car(tube.to),
    }
}

/// A member that lies in the centreline plane, or square across it, is there once.
fn is_own_mirror(tube: &Tube) -> bool {
    let [from, to] = [tube.from, tube.to].map(|end| Side::Right.to_car(end));
    (from == tube.from && to == tube.to) || (from == tube.to && to == tube.from)
}
