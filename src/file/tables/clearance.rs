//! `[clearance]`: the least gap between parts, and the bodies that have no table of their own.

use crate::file::reader::{LENGTH, Number, Span, Table};
use crate::geometry::{Boots, Clearance};

/// A gap; 0 lets parts touch.
const GAP: Number = Number { least_included: true, most: 200.0, ..LENGTH };
/// Half the thickness of a part.
const RADIUS: Number = Number { most: 200.0, ..LENGTH };
const BOOT_LENGTH: Number = Number { most: 300.0, ..LENGTH };

pub(super) fn read(mut table: Table) -> Clearance {
    let least_mm = table.value("least", &GAP);
    let shaft_radius_mm = table.value("shaft_radius", &RADIUS);
    let spring_radius_mm = table.value("spring_radius", &RADIUS);
    let boots = [table.optional("boot_radius", &RADIUS), table.optional("boot_length", &BOOT_LENGTH)];
    let boots = match boots {
        [Some(radius), Some(length)] => Some(Boots { radius_mm: radius.value, length_mm: length.value }),
        [Some(alone), None] => {
            note_half_a_boot(&table, &alone.span, "boot_radius", "boot_length");
            None
        }
        [None, Some(alone)] => {
            note_half_a_boot(&table, &alone.span, "boot_length", "boot_radius");
            None
        }
        [None, None] => None,
    };
    table.finish();
    Clearance { least_mm, shaft_radius_mm, boots, spring_radius_mm }
}

/// A boot needs both; one that could not be read has its own mistake.
fn note_half_a_boot(table: &Table, at: &Span, there: &str, lacking: &str) {
    if !table.has(lacking) {
        let advice =
            format!("add `{lacking}` (a boot reaches from its joint centre along the shaft), or remove `{there}`");
        table.note(at, format!("a boot has `{there}` and no `{lacking}`"), advice);
    }
}
