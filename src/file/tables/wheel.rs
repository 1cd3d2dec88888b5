//! `[wheel]`: centre, tyre, static toe and camber.

use std::ops::RangeInclusive;

use nalgebra::Point3;
use toml_edit::TableLike;

use super::Y_ADVICE;
use super::free::ABOUT;
use crate::file::edits::Edits;
use crate::file::reader::{At, COORDINATE, Diagnostics, Frame, LENGTH, Number, NumberUnit, PointKind, Span, Table};
use crate::geometry::slips::{IS_DIAMETER, Slip, as_typed, meant_of_car, radius_on_floor};
use crate::geometry::{AdjustmentRange, LengthUnit, Link, Side, UprightAxes, UprightFrame, Wheel, toe_and_camber_rad};

/// No tyre of a road or race car is half as large.
const TYRE_RADIUS: Number = Number { most: 1000.0, ..LENGTH };
const TYRE_WIDTH: Number = Number { most: 600.0, ..LENGTH };
/// Toe or camber; a wheel that leans more rolls on its side wall.
const TOE_AND_CAMBER: Number = Number { measure: NumberUnit::Degrees, least: -20.0, most: 20.0, least_included: true };

/// Mounting face to centre plane; the rim of no wheel is twice as wide.
const OFFSET: Number = Number { least: -200.0, most: 200.0, ..COORDINATE };

/// Two wheels that were measured on one floor stand so near to one road, mm.
const ONE_ROAD_MM: f64 = 5.0;

#[derive(Clone)]
pub(super) struct RawWheel {
    header: Span,
    pub(super) centre: At<Point3<f64>>,
    tyre_radius_mm: At<f64>,
    toe_deg: f64,
    camber_deg: Option<At<f64>>,
    offset_mm: Option<f64>,
    /// The key stands there, readable or not.
    has_offset: bool,
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
        let camber_deg = table.optional("camber", &TOE_AND_CAMBER);
        let (has_offset, offset_mm) = (table.has("offset"), table.value("offset", &OFFSET));
        let toe_span_mm = table.value("toe_span", &LENGTH);
        let rim_radius_mm = table.optional("rim_radius", &LENGTH);
        let tyre_width_mm = table.value("tyre_width", &TYRE_WIDTH);
        let clock = table.value("clock", &ABOUT);
        let header = table.header.clone();
        table.finish();
        let (centre, tyre_radius_mm) = (centre?, tyre_radius?);
        Some(Self {
            header,
            centre,
            tyre_radius_mm,
            toe_deg,
            camber_deg,
            offset_mm,
            has_offset,
            toe_span_mm,
            rim_radius_mm,
            tyre_width_mm,
            clock,
        })
    }

    /// `None` for a wheel on the wrong side of the car, which is noted: nothing can be said of what it carries.
    pub(super) fn checked(&self, units: LengthUnit, diagnostics: &Diagnostics) -> Option<Wheel> {
        if self.centre.value.y <= 0.0 {
            diagnostics.add(&self.centre.span, "the wheel centre is on the wrong side of the car", Y_ADVICE);
            return None;
        }
        if let Some(rim) = self.rim_radius_mm.as_ref().filter(|rim| rim.value >= self.tyre_radius_mm.value) {
            note_radii(rim, &self.tyre_radius_mm, self.on_floor_mm(), units, diagnostics);
        }
        let wheel = Wheel::new(self.centre.value, self.toe_deg, self.camber_deg(), self.tyre_radius_mm.value);
        Some(Wheel {
            toe_span_mm: self.toe_span_mm.unwrap_or(wheel.toe_span_mm),
            offset_mm: self.offset_mm,
            rim_radius_mm: self.rim_radius_mm.as_ref().map(|at| at.value),
            tyre_width_mm: self.tyre_width_mm,
            ..wheel
        })
    }

    /// Notes a wheel so near the middle of the car that several ends of links, which count from its hub, are on the other side: one
    /// mistake and not one of each; true when it was noted.
    pub(super) fn note_upright_across(&self, links: &[Link], units: LengthUnit, diagnostics: &Diagnostics) -> bool {
        let across = links.iter().filter(|link| link.upright.y <= 0.0).count();
        if across < 2 || self.centre.value.y > NEAREST_MM {
            return false;
        }
        let written = as_typed(self.centre.value.y / units.in_mm());
        let is_usual = |number: f64| HALF_TRACK_MM.contains(&units.to_mm(number));
        let slip =
            meant_of_car(written, units).into_iter().find(|&(slip, number)| slip.is_of_size() && is_usual(number));
        let meant = slip.map_or(String::new(), |(slip, meant)| format!("; y is probably {meant:?}: {}", slip.words()));
        let what = format!(
            "the wheel centre is {} from the middle of the car, and {across} ends of links that count from its hub are on the other side",
            units.show(self.centre.value.y)
        );
        diagnostics.add(&self.centre.span, what, format!("y counts from the middle of the car{meant}"));
        true
    }

    /// What sets where its tyre meets the road.
    pub(super) fn heights(&self) -> [&Span; 2] {
        [&self.centre.span, &self.tyre_radius_mm.span]
    }

    /// What to write where one slip in the height of its centre explains that it stands off the road of the other wheel: with
    /// the centre higher by `higher_mm` it does not.
    pub(super) fn height_meant(&self, higher_mm: f64, units: LengthUnit) -> Option<String> {
        let written_mm = self.centre.value.z;
        let is_meant = |number: f64| (units.to_mm(number) - written_mm - higher_mm).abs() <= ONE_ROAD_MM;
        let slips = meant_of_car(as_typed(written_mm / units.in_mm()), units).into_iter();
        let (slip, meant) = { slips }.find(|&(_, number)| is_meant(number))?;
        Some(format!("the height of the wheel centre is probably {meant:?}: {}", slip.words()))
    }

    /// Where that stands which alone sets its tyre off the road of `other`: the height of its centre, or its radius where the centre
    /// is as high as the other one.
    pub(super) fn off_road_of(&self, other: &RawWheel) -> &Span {
        let is_as_high = (self.centre.value.z - other.centre.value.z).abs() <= AS_HIGH_MM;
        if is_as_high { &self.tyre_radius_mm.span } else { &self.centre.span }
    }

    /// The radius with which its tyre stands on z = 0, mm.
    fn on_floor_mm(&self) -> f64 {
        self.centre.value.z / self.camber_deg().to_radians().cos()
    }

    /// As the file has it, deg.
    fn camber_deg(&self) -> f64 {
        self.camber_deg.as_ref().map_or(0.0, |at| at.value)
    }

    /// Notes what of this wheel no wheel has and sets where its tyre meets the road; true when it was noted, here or for its rim.
    pub(super) fn note_off_road(&self, units: LengthUnit, diagnostics: &Diagnostics) -> bool {
        let (tyre, rim) = (&self.tyre_radius_mm, self.rim_radius_mm.as_ref());
        if rim.is_some_and(|rim| rim.value >= tyre.value) {
            return true;
        }
        if !Wheel::TYRE_RADIUS_MM.contains(&tyre.value) {
            let what = format!("no tyre has a radius of {}", units.show(tyre.value));
            diagnostics.add(&tyre.span, what, meant_tyre(tyre.value, self.on_floor_mm(), 0.0, units));
            return true;
        }
        let Some(camber) = self.camber_deg.as_ref().filter(|camber| !Wheel::CAMBER_DEG.contains(&camber.value)) else {
            return false;
        };
        let meant = as_typed(0.1 * camber.value);
        let advice = match meant < 0.0 {
            true => format!("probably {meant:?}: {}", Slip::PointShifted.words()),
            false => "write degrees, top inboard negative".to_owned(),
        };
        diagnostics.add(&camber.span, format!("no rear wheel has a camber of {:?} deg", camber.value), advice);
        true
    }

    /// The axes of the upright's points that this wheel carries; none when they are counted from its face and it has no
    /// `offset`, which is noted.
    pub(super) fn frame(
        &self,
        axes: UprightAxes,
        side: Side,
        units: LengthUnit,
        diagnostics: &Diagnostics,
    ) -> Option<UprightFrame> {
        if axes == UprightAxes::HubFace && self.offset_mm.is_none() {
            // What cannot be read of a key that is there is told already.
            if self.has_offset {
                return None;
            }
            let example = match units {
                LengthUnit::Millimetre => "write the number stamped on the wheel, `offset = 40.0` for ET40",
                LengthUnit::Inch => {
                    "write the number stamped on the wheel, which is in mm, in inches, `offset = 1.575` for ET40"
                }
            };
            let advice =
                format!("{example}: how far the face on which it seats lies outboard of the middle of its width");
            diagnostics.add(&self.header, "`upright_axes = \"hub face\"` needs the wheel's `offset`", advice);
            return None;
        }
        let lean_rad = (self.toe_deg.to_radians(), self.camber_deg().to_radians());
        Some(UprightFrame::new(axes, side, &self.centre.value, lean_rad, self.offset_mm))
    }
}

/// No wheel of a car is nearer to its middle, mm.
const NEAREST_MM: f64 = 350.0;
/// Of most cars.
const HALF_TRACK_MM: RangeInclusive<f64> = 450.0..=1000.0;
/// Two wheels of one axle stand as high as each other, mm.
const AS_HIGH_MM: f64 = 2.0;

/// A rim that is larger than its tyre: the one of the two that alone is none of a car is wrong.
fn note_radii(rim: &At<f64>, tyre: &At<f64>, on_floor_mm: f64, units: LengthUnit, diagnostics: &Diagnostics) {
    let half_mm = 0.5 * rim.value;
    let (at, what, advice) = if !Wheel::TYRE_RADIUS_MM.contains(&tyre.value) {
        (tyre, "`tyre_radius` is not larger than `rim_radius`", meant_tyre(tyre.value, on_floor_mm, rim.value, units))
    } else if RIM_MM.contains(&half_mm) && half_mm < tyre.value && TYRE_TO_RIM * half_mm > tyre.value {
        let half = half_mm / units.in_mm();
        let advice = format!(
            "if that is the diameter, write half of it, {half}: the radius inside the rim, where a bracket would touch"
        );
        (rim, "`rim_radius` is not smaller than `tyre_radius`", advice)
    } else {
        let advice = "write the radius inside the rim, where a bracket would touch".to_owned();
        (rim, "`rim_radius` is not smaller than `tyre_radius`", advice)
    };
    diagnostics.add(&at.span, what, advice);
}

/// What to write in place of a radius that no tyre has, which stands on a rim of so much, mm; what puts it on z = 0 before all else.
fn meant_tyre(tyre_mm: f64, on_floor_mm: f64, rim_mm: f64, units: LengthUnit) -> String {
    const HOW: &str = "hub centre to the floor, car on its wheels";
    let written = as_typed(tyre_mm / units.in_mm());
    let fits = |number: &f64| TYRE_MM.contains(&units.to_mm(*number)) && units.to_mm(*number) > rim_mm;
    let slips = meant_of_car(written, units).into_iter().filter(|(slip, _)| slip.is_of_size());
    let diameter = 0.5 * written;
    // Nearer to the tyre of most cars.
    let off = |number: f64| (units.to_mm(number) / USUAL_TYRE_MM).ln().abs();
    let is_diameter = |number: f64| fits(&diameter) && off(diameter) < off(number);
    let by_size = { slips }.find(|(_, number)| fits(number)).filter(|(_, number)| !is_diameter(*number));
    let by_size = by_size.map(|(slip, number)| (Some(slip), number)).or(fits(&diameter).then_some((None, diameter)));
    match radius_on_floor(written, on_floor_mm / units.in_mm(), units, |number| fits(&number)).or(by_size) {
        Some((Some(Slip::InInches), meant)) => {
            format!("{written} is a radius in inches; write it in mm, {meant:.1}: {HOW}")
        }
        Some((slip, meant)) => format!("probably {meant:?}, {HOW}: {}", slip.map_or(IS_DIAMETER, Slip::words)),
        None => format!("write the loaded radius in {}: {HOW}", units.symbol()),
    }
}

/// Loaded radii of tyres, and radii inside of rims, of most cars, mm.
const TYRE_MM: RangeInclusive<f64> = 150.0..=430.0;
const USUAL_TYRE_MM: f64 = 300.0;
const RIM_MM: RangeInclusive<f64> = 90.0..=250.0;
/// The tyre of most cars is at most so many times as large as the inside of its rim.
const TYRE_TO_RIM: f64 = 1.9;

pub(super) fn write(edits: &mut Edits, keys: &dyn TableLike, wheel: &Wheel, side: Side) {
    let (toe_rad, camber_rad) = toe_and_camber_rad(&wheel.spin_axis);
    edits.point(keys, "centre", &side.to_car(wheel.centre));
    edits.angle(keys, "toe", toe_rad);
    edits.angle(keys, "camber", camber_rad);
}
