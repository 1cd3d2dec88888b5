//! The halfshaft of the other wheel of a mirrored car with a lopsided final drive: the wheels move alike, their shafts do not.

use super::clearance::HeldGaps;
use crate::geometry::{Corner, Geometry, Halfshaft, Side};
use crate::studies::design_variables::{DesignVariables, Moved};

/// What tuning one wheel holds for the shaft of the other.
///
/// Tested by `src/studies/tune/tests/freedoms.rs` (the figures of a sweep; derivatives against differences).
#[derive(Clone)]
pub(super) struct OtherShaft {
    pub side: Side,
    /// As drawn, side axes.
    pub shaft: Halfshaft,
    /// Gaps between that shaft and the parts about it.
    pub gaps: HeldGaps,
}

impl OtherShaft {
    /// `None` of a car whose sides are alike, and of one whose sides have points of their own: there each wheel is tuned by itself.
    pub fn of(geometry: &Geometry, side: Side, variables: &DesignVariables, stations_mm: &[f64]) -> Option<Self> {
        if !geometry.mirrored || geometry.looks_alike() {
            return None;
        }
        let side = side.other();
        let shaft = geometry.corner(side).halfshaft.clone()?;
        let gaps = HeldGaps::of_other_shaft(geometry, (side, &shaft), variables, stations_mm);
        Some(Self { side, shaft, gaps })
    }
}

/// A moved wheel with the shaft of the other one in the place of its own; the joint in the upright has moved with it.
pub(super) fn with_shaft(moved: &Moved, shaft: &Halfshaft) -> Moved {
    let outer = moved.corner.halfshaft.as_ref().map_or(shaft.outer, |own| own.outer);
    let shaft = Halfshaft { outer, ..shaft.clone() };
    Moved { corner: Corner { halfshaft: Some(shaft), ..moved.corner.clone() }, longer_mm: moved.longer_mm }
}

/// What a pair of parts about that shaft is called beside those of the tuned wheel.
pub(super) fn of_other_shaft(pair: &str, side: Side) -> String {
    format!("{pair}, {},", side.name())
}
