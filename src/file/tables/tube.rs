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
        table.finish();
        Some(Self { name: name?, from: from?.value, to: to?, od_mm })
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
    let tube =
        |raw: &RawTube| Tube { name: raw.name.value.clone(), from: raw.from, to: raw.to.value, od_mm: raw.od_mm };
    raw.iter().map(|raw| raw.as_ref().map(tube)).collect()
}
