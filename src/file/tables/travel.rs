//! `[travel]`: how far the wheels move, and in which steps that is shown.

use crate::file::reader::{At, COORDINATE, Number, NumberUnit, Numbers, Table};
use crate::geometry::Travel;

const TRAVEL: Number = Number { least: 0.0, most: Travel::MAX_MM, ..COORDINATE };
/// Of a wheel or of the body, up or down.
pub(super) const HEIGHT: Number = Number { least: -Travel::MAX_MM, ..TRAVEL };
const STEP: Number = Number { least_included: false, ..TRAVEL };
const ROLL: Number =
    Number { measure: NumberUnit::Degrees, least: 0.0, most: Travel::MAX_ROLL_DEG, least_included: true };
const ROLL_STEP: Number = Number { least_included: false, ..ROLL };

pub(super) fn read(table: Option<Table>) -> Travel {
    let mut travel = Travel::default();
    let Some(mut table) = table else { return travel };
    let set = |target: &mut f64, read: Option<f64>| *target = read.unwrap_or(*target);
    set(&mut travel.bump_mm, table.value("bump", &TRAVEL));
    set(&mut travel.droop_mm, table.value("droop", &TRAVEL));
    set(&mut travel.roll_deg, table.value("roll", &ROLL));
    set(&mut travel.step_mm, table.value("step", &STEP));
    set(&mut travel.step_roll_deg, table.value("step_roll", &ROLL_STEP));
    let heights = table.optional("ride_heights", &Numbers { each: HEIGHT, most: Travel::MAX_RIDE_HEIGHTS });
    note_rows(&travel, &table);
    if let Some(heights) = heights {
        note_heights(&travel, &heights, &table);
        travel.ride_heights_mm = heights.value;
    }
    table.finish();
    travel
}

fn note_rows(travel: &Travel, table: &Table) {
    if let Some(what) = travel.too_many_rows() {
        table.note(
            &table.header,
            what,
            "write a larger `step` or `step_roll`; 5 mm and 0.5 deg are fine enough for any chart",
        );
    }
}

/// A body that is up by some height has both wheels down by it.
fn note_heights(travel: &Travel, heights: &At<Vec<f64>>, table: &Table) {
    let inside = -travel.bump_mm..=travel.droop_mm;
    if heights.value.iter().any(|height| !inside.contains(height)) {
        let what = "`ride_heights` puts a wheel beyond its stop";
        table.note(&heights.span, what, "body up is droop: write heights from minus `bump` to `droop`");
    }
}
