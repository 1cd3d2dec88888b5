//! A window in which a halfshaft may plunge, beside how far that of this car does.

use super::{Doubt, is_in};
use crate::geometry::slips::{Slip, as_measured, as_typed};
use crate::geometry::{Corner, Geometry, Interval, LengthUnit, Side, Travel};
use crate::measures::shaft;
use crate::mechanism::{Linkage, WheelPath};

/// From end to end, mm: what is less leaves a shaft nothing.
pub(super) const WINDOW_MM: [f64; 2] = [0.5, 200.0];
/// A window that is wider is told by what the shaft does elsewhere, mm; a shaft of fixed length has less.
const NARROW_MM: f64 = 3.0;
/// What most joints that plunge have, end to end, mm.
const USUAL_MM: [f64; 2] = [12.0, 80.0];
/// A shaft that goes so many times as far out as its window lets it has another one; no unit.
const FAR_OUT: f64 = 2.0;

/// A narrow window of which the shaft is far out over the travel, and inside of it in another unit.
pub(super) fn doubt(geometry: &Geometry) -> Option<Doubt> {
    Side::BOTH.into_iter().find_map(|side| of_side(geometry, side))
}

fn of_side(geometry: &Geometry, side: Side) -> Option<Doubt> {
    let (corner, units) = (geometry.corner(side), geometry.units);
    let window = corner.halfshaft.as_ref()?.plunge_window_mm?;
    let wide_mm = window.width();
    if !is_in(wide_mm, [WINDOW_MM[0], NARROW_MM]) {
        return None;
    }
    let plunges_mm = plunges_mm(corner, &geometry.travel);
    let are_in = |times: f64| plunges_mm.iter().all(|mm| is_in(*mm, [times * window.low, times * window.high]));
    let furthest_mm = plunges_mm.iter().copied().max_by(|a, b| a.abs().total_cmp(&b.abs()))?;
    let slips: &[(Slip, f64)] = match units {
        LengthUnit::Millimetre => &[(Slip::InCentimetres, 10.0), (Slip::InInches, 25.4), (Slip::InMetres, 1000.0)],
        LengthUnit::Inch => &[(Slip::PointShifted, 10.0)],
    };
    let is_meant = |(_, times): &&(Slip, f64)| is_in(times * wide_mm, USUAL_MM) && are_in(*times);
    let (slip, times) = slips.iter().find(is_meant).filter(|_| !are_in(FAR_OUT))?;
    let Interval { low, high } = window;
    let [written, meant] = [1.0, *times].map(|times| [low, high].map(|mm| times * mm / units.in_mm()));
    let (written, meant) = (written.map(as_typed), meant.map(|number| as_measured(number, units)));
    let sentence = format!(
        "`plunge_window`: {written:?} is probably {meant:?}: {}; over the travel the shaft plunges {}, far out of it.",
        slip.words(),
        units.show(furthest_mm)
    );
    Some(Doubt::new(None, "plunge_window", Some(format!("{meant:?}")), sentence))
}

/// At full droop and at full bump, as far as the wheel goes, mm.
fn plunges_mm(corner: &Corner, travel: &Travel) -> Vec<f64> {
    let ends_mm = [-travel.droop_mm, travel.bump_mm];
    let Ok(path) = WheelPath::follow(&Linkage::new(corner), &ends_mm) else { return Vec::new() };
    let at = |mm: f64| Some(shaft(corner, &path.at(mm)?)?.plunge_mm);
    ends_mm.into_iter().filter_map(at).collect()
}
