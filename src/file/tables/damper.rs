//! What spring and damper are made of, in `[spring]`: rate, lengths, bump rubber, droop strap. Lengths that do not go together
//! are told and leave these keys out; the two eyes stay.

use nalgebra::Point3;

use crate::file::reader::{At, Diagnostics, Frame, LENGTH, Number, PointKind, Span, Table};
use crate::geometry::{BumpRubber, LengthUnit, SpringMake, Strap, UprightFrame};

const RATE: Number = Number::positive("N/mm", " in N/mm", 5000.0);
const MASS: Number = Number::positive("kg", " in kg", 5000.0);
/// No damper is longer, mm.
const EYE_TO_EYE: Number = Number { most: 2000.0, ..LENGTH };

#[derive(Clone)]
pub(super) struct RawDamper {
    rate_n_per_mm: Option<f64>,
    free_length_mm: Option<f64>,
    corner_mass_kg: Option<f64>,
    closed: Option<At<f64>>,
    open: Option<At<f64>>,
    rubber: Option<RawRubber>,
    strap: Option<RawStrap>,
}

#[derive(Clone)]
struct RawRubber {
    length: At<f64>,
    solid: At<f64>,
}

#[derive(Clone)]
struct RawStrap {
    chassis: Point3<f64>,
    upright: Point3<f64>,
    length_mm: Option<f64>,
}

impl RawDamper {
    /// Takes its keys out of `[spring]`.
    pub(super) fn read(table: &mut Table) -> Self {
        Self {
            rate_n_per_mm: table.value("rate", &RATE),
            free_length_mm: table.value("free_length", &EYE_TO_EYE),
            corner_mass_kg: table.value("corner_mass", &MASS),
            closed: table.optional("closed", &EYE_TO_EYE),
            open: table.optional("open", &EYE_TO_EYE),
            rubber: table.table("bump_rubber").and_then(RawRubber::read),
            strap: table.table("strap").and_then(RawStrap::read),
        }
    }

    /// What is known of the spring; nothing at all when something about it was told. `length_mm`: eye to eye at design, by what
    /// stands at `eyes`.
    pub(super) fn checked(
        &self,
        (length_mm, eyes): (f64, &[&Span]),
        frame: &UprightFrame,
        units: LengthUnit,
        diagnostics: &Diagnostics,
    ) -> SpringMake {
        let notes = [self.note_lengths((length_mm, eyes), units, diagnostics), self.note_rubber(diagnostics)];
        if notes.contains(&true) {
            return SpringMake::default();
        }
        SpringMake {
            rate_n_per_mm: self.rate_n_per_mm,
            free_length_mm: self.free_length_mm,
            corner_mass_kg: self.corner_mass_kg,
            closed_mm: self.closed.as_ref().map(|at| at.value),
            open_mm: self.open.as_ref().map(|at| at.value),
            bump_rubber: self
                .rubber
                .as_ref()
                .map(|rubber| BumpRubber { length_mm: rubber.length.value, solid_mm: rubber.solid.value }),
            strap: self.strap.as_ref().map(|strap| Strap {
                chassis: strap.chassis,
                upright: frame.point(&strap.upright),
                length_mm: strap.length_mm,
            }),
        }
    }

    fn note_lengths(&self, (length_mm, eyes): (f64, &[&Span]), units: LengthUnit, diagnostics: &Diagnostics) -> bool {
        let drawn = units.show(length_mm);
        if let Some((closed, open)) = self.closed.as_ref().zip(self.open.as_ref()).filter(|(c, o)| o.value <= c.value) {
            let what = format!(
                "open the damper is {}, no longer than {} closed",
                units.show(open.value),
                units.show(closed.value)
            );
            diagnostics.set_aside(
                &open.span,
                what,
                "measure both from eye to eye: `closed` fully in, `open` fully out",
            );
            return true;
        }
        if let Some(closed) = self.closed.as_ref().filter(|closed| closed.value >= length_mm) {
            let what = format!("at design height its eyes are {drawn} apart: the damper is closed before that");
            diagnostics.set_aside_with((&closed.span, eyes), what, "check `closed`, and the points of [spring]");
            return true;
        }
        if let Some(open) = self.open.as_ref().filter(|open| open.value <= length_mm) {
            let what = format!("at design height its eyes are {drawn} apart: the damper does not reach that far");
            diagnostics.set_aside_with((&open.span, eyes), what, "check `open`, and the points of [spring]");
            return true;
        }
        false
    }

    fn note_rubber(&self, diagnostics: &Diagnostics) -> bool {
        let Some(rubber) = &self.rubber else { return false };
        let (at, what, advice) = if self.closed.is_none() {
            ("", "a bump rubber sits on a damper whose `closed` length is missing", "add `closed`, eye to eye fully in")
        } else if rubber.solid.value > rubber.length.value {
            (
                "solid",
                "squashed solid the bump rubber is longer than free",
                "`solid` is what is left of `length` at the stop",
            )
        } else {
            return false;
        };
        let span = if at == "solid" { &rubber.solid.span } else { &rubber.length.span };
        diagnostics.set_aside(span, what, advice);
        true
    }
}

impl RawRubber {
    fn read(mut table: Table) -> Option<Self> {
        table.rename("`bump_rubber`".into());
        let length = table.required("length", &EYE_TO_EYE, "the rubber as it lies on the bench");
        let solid = table.required("solid", &EYE_TO_EYE, "the rubber squashed as far as it goes");
        table.finish();
        Some(Self { length: length?, solid: solid? })
    }
}

impl RawStrap {
    fn read(mut table: Table) -> Option<Self> {
        table.rename("`strap`".into());
        let chassis = table.required("chassis", &PointKind(Frame::Car), "its end on the frame");
        let upright = table.required("upright", &PointKind(Frame::Upright), "its end on the upright");
        let length_mm = table.value("length", &EYE_TO_EYE);
        table.finish();
        Some(Self { chassis: chassis?.value, upright: upright?.value, length_mm })
    }
}
