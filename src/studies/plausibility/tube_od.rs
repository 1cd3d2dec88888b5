//! How thick a tube of the frame is, beside the others.

use super::Doubt;
use crate::geometry::Geometry;
use crate::geometry::slips::{Slip, as_typed, meant};

/// A tube of a tube frame is rarely thicker, mm; a backbone is.
const THICK_MM: f64 = 65.0;
/// Written as one number, mm.
const SAME_MM: f64 = 0.06;

/// A tube that is thicker than all others of its frame, and as thick as one of them with two digits swapped.
pub(super) fn doubts(geometry: &Geometry) -> Vec<Doubt> {
    let (tubes, units) = (&geometry.tubes, geometry.units);
    let thick =
        tubes.iter().enumerate().filter_map(|(at, tube)| Some((at, tube, tube.od_mm.filter(|mm| *mm > THICK_MM)?)));
    let told = thick.filter_map(|(at, tube, od_mm)| {
        let others_mm =
            || tubes.iter().enumerate().filter(|(other, _)| *other != at).filter_map(|(_, other)| other.od_mm);
        let is_of_other = |number: f64| others_mm().any(|mm| (units.to_mm(number) - mm).abs() <= SAME_MM);
        let written = as_typed(od_mm / units.in_mm());
        let mut swapped = meant(written, units).into_iter().filter(|(slip, _)| *slip == Slip::DigitsSwapped);
        let (slip, meant) = swapped.find(|&(_, number)| is_of_other(number) && others_mm().all(|mm| mm < THICK_MM))?;
        let (name, symbol) = (&tube.name, units.symbol());
        let sentence = format!(
            "tube {name:?} od: {written:?} {symbol} is probably {meant:?}: {}; as written no other tube is as thick.",
            slip.words()
        );
        Some(Doubt::new(None, format!("tube {name:?} od"), Some(format!("{meant:?}")), sentence))
    });
    told.collect()
}
