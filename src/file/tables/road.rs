//! `[road]`: whether both wheels stand on one level road.

use super::side::RawSide;
use super::wheel::RawWheel;
use crate::file::reader::{Diagnostics, Flag, Span, Table};
use crate::geometry::{Corner, LengthUnit};

/// How far the two contact points may differ in height on an even road.
const EVEN_ROAD_MM: f64 = 0.5;
/// A tyre whose road is z = 0 stands on it to this.
const ON_FLOOR_MM: f64 = 2.0;

#[derive(Default)]
pub(super) struct RawRoad {
    uneven: bool,
}

impl RawRoad {
    pub(super) fn read(mut table: Table) -> Self {
        let uneven = table.value("uneven", &Flag).unwrap_or(false);
        table.finish();
        Self { uneven }
    }

    /// Both tyres stand on it; `raw` is what the file says of the left and of the right side.
    pub(super) fn check(
        &self,
        (left, right): (&Corner, &Corner),
        raw: [&RawSide; 2],
        units: LengthUnit,
        diagnostics: &Diagnostics,
    ) {
        let apart_mm = (left.contact_height_mm() - right.contact_height_mm()).abs();
        let off = apart_mm > EVEN_ROAD_MM && !self.uneven;
        let Some(wheel) = raw[1].wheel.as_ref().filter(|_| off) else { return };
        let wheels = raw.into_iter().filter_map(|side| side.wheel.as_ref());
        if wheels.filter(|wheel| wheel.note_off_road(units, diagnostics)).count() > 0 {
            return;
        }
        let what = format!("the left and right tyres meet the road at heights {} apart", units.show(apart_mm));
        let wheels: Vec<&RawWheel> = raw.into_iter().filter_map(|side| side.wheel.as_ref()).collect();
        let with: Vec<&Span> = wheels.iter().flat_map(|wheel| wheel.heights()).collect();
        let heights_mm = [left, right].map(Corner::contact_height_mm);
        let of_others = [heights_mm[1], heights_mm[0]];
        let slips =
            wheels.iter().zip(heights_mm.into_iter().zip(of_others)).filter_map(|(wheel, (own_mm, other_mm))| {
                Some((wheel, other_mm, wheel.height_meant(other_mm - own_mm, units)?))
            });
        let mut slips: Vec<_> = slips.collect();
        if slips.len() > 1 {
            // Both ways round: the one whose other wheel stands on z = 0.
            slips.retain(|(_, other_mm, _)| other_mm.abs() <= EVEN_ROAD_MM);
        }
        if let [(wheel, _, meant)] = &slips[..] {
            return diagnostics.add_with((&wheel.centre.span, &with), what, meant);
        }
        let advice = "make both `centre` heights and tyre radii fit one road, or write [road] with uneven = true";
        // The wheel whose tyre does not stand on z = 0, where the other one's does.
        let stands = heights_mm.map(|mm| mm.abs() <= ON_FLOOR_MM);
        let at = match (&wheels[..], stands) {
            ([left, right], [true, false]) => right.off_road_of(left),
            ([left, right], [false, true]) => left.off_road_of(right),
            _ => &wheel.centre.span,
        };
        diagnostics.add_with((at, &with), what, advice);
    }
}
