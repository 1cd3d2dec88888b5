//! `[wheel]`: centre, tyre, static toe and camber.

use nalgebra::Point3;
use toml_edit::TableLike;

use super::Y_ADVICE;
use super::free::ABOUT;
use crate::file::edits::Edits;
use crate::file::reader::{At, Diagnostics, Frame, LENGTH, Number, NumberUnit, PointKind, Table};
use crate::geometry::{AdjustmentRange, Side, UprightAxes, UprightFrame, Wheel, toe_and_camber_rad};

/// No tyre of a road or race car is half as large.
const TYRE_RADIUS: Number = Number { most: 1000.0, ..LENGTH };
const TYRE_WIDTH: Number = Number { most: 600.0, ..LENGTH };
/// Toe or camber; a wheel that leans more rolls on its side wall.
const TOE_AND_CAMBER: Number = Number { measure: NumberUnit::Degrees, least: -20.0, most: 20.0, least_included: true };

#[derive(Clone)]
pub(super) struct RawWheel {
    pub(super) centre: At<Point3<f64>>,
    tyre_radius_mm: f64,
    toe_deg: f64,
    camber_deg: f64,
    toe_span_mm: Option<f64>,
    rim_radius_mm: Option<At<f64>>,
    tyre_width_mm: Option<f64>,
    pub(super) clock: Option<AdjustmentRange>,
}

impl RawWheel {
    pub(super) fn read(mut table: Table) -> Option<Self> {
        let centre = table.required("centre", &PointKind(Frame::Car), "the wheel centre at design height");
        let tyre_radius = table.required("tyre_radius", &TYRE_RADIUS, "the loaded radius of the tyre");
        let toe_deg = table.value("toe", &TOE_AND_CAMBER).unwrap_or(0.0);
        let camber_deg = table.value("camber", &TOE_AND_CAMBER).unwrap_or(0.0);
        let toe_span_mm = table.value("toe_span", &LENGTH);
        let rim_radius_mm = table.optional("rim_radius", &LENGTH);
        let tyre_width_mm = table.value("tyre_width", &TYRE_WIDTH);
        let clock = table.value("clock", &ABOUT);
        table.finish();
        let tyre_radius_mm = tyre_radius?.value;
        Some(Self {
            centre: centre?,
            tyre_radius_mm,
            toe_deg,
            camber_deg,
            toe_span_mm,
            rim_radius_mm,
            tyre_width_mm,
            clock,
        })
    }

    pub(super) fn checked(&self, diagnostics: &Diagnostics) -> Wheel {
        if self.centre.value.y <= 0.0 {
            diagnostics.add(&self.centre.span, "the wheel centre is on the wrong side of the car", Y_ADVICE);
        }
        if let Some(rim) = self.rim_radius_mm.as_ref().filter(|rim| rim.value >= self.tyre_radius_mm) {
            let advice = "write the radius inside the rim, where a bracket would touch";
            diagnostics.add(&rim.span, "`rim_radius` is not smaller than `tyre_radius`", advice);
        }
        let wheel = Wheel::new(self.centre.value, self.toe_deg, self.camber_deg, self.tyre_radius_mm);
        Wheel {
            toe_span_mm: self.toe_span_mm.unwrap_or(wheel.toe_span_mm),
            rim_radius_mm: self.rim_radius_mm.as_ref().map(|at| at.value),
            tyre_width_mm: self.tyre_width_mm,
            ..wheel
        }
    }

    /// The axes of the upright's points that this wheel carries.
    pub(super) fn frame(&self, axes: UprightAxes, side: Side) -> UprightFrame {
        UprightFrame::new(axes, side, &self.centre.value, self.toe_deg.to_radians(), self.camber_deg.to_radians())
    }
}

pub(super) fn write(edits: &mut Edits, keys: &dyn TableLike, wheel: &Wheel, side: Side) {
    let (toe_rad, camber_rad) = toe_and_camber_rad(&wheel.spin_axis);
    edits.point(keys, "centre", &side.to_car(wheel.centre));
    edits.angle(keys, "toe", toe_rad);
    edits.angle(keys, "camber", camber_rad);
}
