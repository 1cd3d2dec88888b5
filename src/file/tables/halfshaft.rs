//! `[halfshaft]`: its two joints and what they allow.

use std::ops::RangeInclusive;

use nalgebra::{Point3, Unit, Vector3};
use toml_edit::TableLike;

use super::free::read_points;
use super::halfshaft_make::RawMake;
use super::{SAME_POINT_MM, Y_ADVICE};
use crate::file::edits::Edits;
use crate::file::reader::{ANGLE, At, COORDINATE, Diagnostics, Direction, Frame, IntervalKind, PointKind, Table};
use crate::geometry::{Flange, Halfshaft, Interval, LengthUnit, PointAdjustment, UprightFrame, Wheel};

/// No wheel reaches further outboard of its centre plane, mm; its tyre, where the file says how wide it is, less.
const WHEEL_HALF_WIDTH_MM: f64 = 150.0;

const IN_CAR_AXES_ADVICE: &str = "count it from the hub, as `upright_axes` has the other points of the upright";
const OUTER_ADVICE: &str =
    "it runs in the hub: write its centre on the line of the spindle, and check `centre` of [wheel] and `upright_axes`";

#[derive(Clone)]
pub(super) struct RawHalfshaft {
    /// `None` where a final drive gives it.
    inner: Option<Point3<f64>>,
    axis: Unit<Vector3<f64>>,
    outer: At<Point3<f64>>,
    inner_limit_deg: Option<f64>,
    outer_limit_deg: Option<f64>,
    plunge_window_mm: Option<Interval>,
    make: RawMake,
    pub(super) free_inner: PointAdjustment,
}

impl RawHalfshaft {
    pub(super) fn read(mut table: Table) -> Option<Self> {
        let has_housing = table.scope.final_drive;
        let inner = match has_housing {
            true => table.optional("inner", &PointKind(Frame::Car)),
            false => table.required("inner", &PointKind(Frame::Car), "the centre of the inner joint"),
        };
        let outer = table.required("outer", &PointKind(Frame::Upright), "the centre of the outer joint");
        let axis = table.optional("axis", &Direction(Frame::Car));
        if let Some(axis) = axis.as_ref().filter(|axis| axis.value.y <= 0.0) {
            let advice =
                format!("write it from the final drive to the wheel: [0.0, {:?}, 0.0]", table.scope.side.sign());
            table.note(&axis.span, "`axis` does not point outboard", advice);
        }
        let inner_limit_deg = table.value("inner_limit", &ANGLE);
        let outer_limit_deg = table.value("outer_limit", &ANGLE);
        let plunge_window_mm = table.value("plunge_window", &IntervalKind(COORDINATE));
        let make = RawMake::read(&mut table);
        let free = table.table("free").map(|free| {
            if has_housing {
                let advice = "remove it, and write how far the housing may move as `free` of [final_drive]";
                free.note(
                    &free.header,
                    "the final drive carries `inner`, so the halfshaft has no `free` of its own",
                    advice,
                );
            }
            read_points(free, ["inner"])
        });
        table.finish();
        let axis = axis.map_or(Vector3::y_axis(), |at| at.value);
        let [free_inner] = free.unwrap_or_default();
        let inner = inner.map(|at| at.value);
        if inner.is_none() && !has_housing {
            return None;
        }
        let outer = outer?;
        Some(Self { inner, axis, outer, inner_limit_deg, outer_limit_deg, plunge_window_mm, make, free_inner })
    }

    /// The shaft of a side whose wheel is `wheel`, unless that could not be read, and whose inner joint a final drive carries
    /// at `flange`, when there is one; `None` when that could not be read.
    pub(super) fn checked(
        &self,
        flange: Option<Flange>,
        frame: &UprightFrame,
        (wheel, units): (Option<&Wheel>, LengthUnit),
        diagnostics: &Diagnostics,
    ) -> Option<Halfshaft> {
        let outer = frame.point(&self.outer.value);
        let inner = flange.map(|flange| flange.at).or(self.inner)?;
        if (outer - inner).norm() < SAME_POINT_MM {
            let advice = "the same point as `inner`; write the centres of its two joints";
            diagnostics.add(&self.outer.span, "the halfshaft has no length", advice);
        } else if outer.y <= 0.0 {
            diagnostics.add(&self.outer.span, "the outer joint is on the wrong side of the car", Y_ADVICE);
        } else if let Some(where_to) = wheel.and_then(|wheel| outside(wheel, &outer, units)) {
            // Where the others count from the hub, this one may have been typed in axes of the car; alike of both sides.
            let in_car = Point3::new(self.outer.value.x, self.outer.value.y.abs(), self.outer.value.z);
            let is_of_car = (in_car - outer).norm() > SAME_POINT_MM
                && wheel.is_some_and(|wheel| (in_car - wheel.centre).norm() < wheel.tyre_radius_mm);
            let (and, advice) = match is_of_car {
                true => (", and its numbers are in car axes those of a place in it", IN_CAR_AXES_ADVICE),
                false => ("", OUTER_ADVICE),
            };
            let what = format!("the outer joint lies outside the wheel, {where_to}{and}");
            diagnostics.add(&self.outer.span, what, advice);
        }
        Some(Halfshaft {
            inner,
            axis: flange.map_or(self.axis, |flange| flange.axis),
            outer,
            inner_limit_deg: self.inner_limit_deg,
            outer_limit_deg: self.outer_limit_deg,
            plunge_window_mm: self.plunge_window_mm,
            make: self.make.checked(diagnostics),
        })
    }
}

/// From the middle of any car to the centre of its wheel, mm.
const CENTRE_FROM_MIDDLE_MM: RangeInclusive<f64> = 150.0..=3000.0;

/// Where a place stands that no outer joint can have, in words; `None` inside the wheel.
fn outside(wheel: &Wheel, place: &Point3<f64>, units: LengthUnit) -> Option<String> {
    if !CENTRE_FROM_MIDDLE_MM.contains(&wheel.centre.y) {
        return None; // the centre is the mistake, and told as such
    }
    let (arm, spin) = (place - wheel.centre, wheel.spin_axis.into_inner());
    let (outboard_mm, from_spindle_mm) = (arm.dot(&spin), arm.cross(&spin).norm());
    let half_width_mm = wheel.tyre_width_mm.map_or(WHEEL_HALF_WIDTH_MM, |mm| 0.5 * mm);
    if outboard_mm > half_width_mm.min(WHEEL_HALF_WIDTH_MM) {
        let tyre = match wheel.tyre_width_mm.filter(|_| outboard_mm <= WHEEL_HALF_WIDTH_MM) {
            Some(mm) => format!(", and its tyre is {} wide", units.show(mm)),
            None => String::new(),
        };
        return Some(format!("{} outboard of its centre plane{tyre}", units.show(outboard_mm)));
    }
    (from_spindle_mm > wheel.tyre_radius_mm).then(|| format!("{} from its spindle", units.show(from_spindle_mm)))
}

pub(super) fn write(edits: &mut Edits, keys: &dyn TableLike, shaft: &Halfshaft, frame: &UprightFrame) {
    edits.point(keys, "inner", &frame.car_point(&shaft.inner));
    edits.point(keys, "outer", &frame.as_written(&shaft.outer));
    edits.direction(keys, "axis", &frame.car_direction(&shaft.axis));
}
