//! `[[datum]]`: places of the real car that a tape starts from.

use nalgebra::Point3;

use super::SAME_POINT_MM;
use crate::file::reader::{At, Diagnostics, Frame, PointKind, Table, Text};
use crate::geometry::{Datum, End};

pub(super) struct RawDatum {
    name: At<String>,
    at: At<Point3<f64>>,
}

impl RawDatum {
    pub(super) fn read(mut table: Table) -> Option<Self> {
        let name = table.required("name", &Text, "what you call the place");
        if let Some(name) = &name {
            table.rename(format!("datum {:?}", name.value));
        }
        let at = table.required("at", &PointKind(Frame::Car), "where it is on the car");
        table.finish();
        Some(Self { name: name?, at: at? })
    }
}

/// The datums of the file, each checked beside the others and the links of these names.
pub(super) fn checked(raw: &[Option<RawDatum>], links: &[&str], diagnostics: &Diagnostics) -> Vec<Datum> {
    for (i, datum) in raw.iter().enumerate() {
        let Some(RawDatum { name, at }) = datum else { continue };
        let before = || raw[..i].iter().flatten();
        if before().any(|other| other.name.value == name.value) {
            let what = format!("two datums are called {:?}", name.value);
            diagnostics.add(&name.span, what, "give each datum its own name");
        }
        if let Some(other) = before().find(|other| (other.at.value - at.value).norm() < SAME_POINT_MM) {
            let what = format!("datums {:?} and {:?} are one place", other.name.value, name.value);
            diagnostics.add(&at.span, what, "write the place of each, or take one of them out");
        }
        let is_pickup = |link: &&str| End::BOTH.iter().any(|end| name.value == format!("{link} {}", end.name()));
        if links.iter().any(is_pickup) {
            let what = format!("datum {:?} is called like the end of a link", name.value);
            diagnostics.add(&name.span, what, "give it a name of its own: sheets tell places by their names");
        }
    }
    raw.iter().flatten().map(|raw| Datum { name: raw.name.value.clone(), at: raw.at.value }).collect()
}
