//! `[[tube]]`: members of the frame, on which brackets ride and which links must clear.

use nalgebra::Point3;

use super::SAME_POINT_MM;
use crate::file::reader::{At, Diagnostics, Frame, LENGTH, Number, PointKind, Table, Text};
use crate::geometry::Tube;

/// Outside diameter of a tube, of the frame or of a link.
pub(super) const DIAMETER: Number = Number { most: 400.0, ..LENGTH };

pub(super) struct RawTube {
    name: At<String>,
    from: Point3<f64>,
    to: At<Point3<f64>>,
    od_mm: Option<f64>,
    wall_mm: Option<f64>,
    material: Option<String>,
}

impl RawTube {
    pub(super) fn read(mut table: Table) -> Option<Self> {
        let name = table.required("name", &Text, "what you call the tube");
        if let Some(name) = &name {
            table.rename(format!("tube {:?}", name.value));
        }
        let from = table.required("from", &PointKind(Frame::Car), "one end of its centre line");
        let to = table.required("to", &PointKind(Frame::Car), "the other end of its centre line");
        let od_mm = table.value("od", &DIAMETER);
        let wall = table.optional("wall", &LENGTH);
        let material = table.value("material", &Text);
        if let Some((od_mm, wall)) = od_mm.zip(wall.as_ref()).filter(|(od_mm, wall)| wall.value > 0.5 * od_mm) {
            let advice = format!("write a wall up to {}", table.scope.units.show(0.5 * od_mm));
            table.note(&wall.span, "`wall` is more than half of `od`", advice);
        }
        table.finish();
        let wall_mm = wall.map(|at| at.value);
        Some(Self { name: name?, from: from?.value, to: to?, od_mm, wall_mm, material })
    }
}

/// The tubes of the file, each checked; `None` when one of them could not be read.
pub(super) fn checked(raw: &[Option<RawTube>], diagnostics: &Diagnostics) -> Option<Vec<Tube>> {
    for (i, tube) in raw.iter().enumerate() {
        let Some(tube) = tube else { continue };
        let name = &tube.name;
        if raw[..i].iter().flatten().any(|other| other.name.value == name.value) {
            let what = format!("two tubes are called {:?}", name.value);
            diagnostics.add(&name.span, what, "give each tube its own name");
        }
        if (tube.to.value - tube.from).norm() < SAME_POINT_MM {
            let what = format!("tube {:?} has no length", name.value);
            diagnostics.add(&tube.to.span, what, "the same point as `from`; write the two ends of its centre line");
        }
    }
    let tube = |raw: &RawTube| Tube {
        name: raw.name.value.clone(),
        from: raw.from,
        to: raw.to.value,
        od_mm: raw.od_mm,
        wall_mm: raw.wall_mm,
        material: raw.material.clone(),
    };
    raw.iter().map(|raw| raw.as_ref().map(tube)).collect()
}
