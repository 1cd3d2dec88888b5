//! `measured_sd` of a `[[link]]`: how well its two points are known.

use toml_edit::{Item, TableLike, Value};

use crate::file::edits::Edits;
use crate::file::reader::{EachAxis, LENGTH, Number, Table};
use crate::geometry::MeasuredSd;

/// A point that is known no better was not measured; 0 is exact.
const MEASURED_SD: Number = Number { most: 500.0, least_included: true, ..LENGTH };

pub(super) fn read(mut table: Table) -> MeasuredSd {
    table.rename("`measured_sd`".into());
    let [chassis_mm, upright_mm] = ["chassis", "upright"].map(|end| table.value(end, &EachAxis(MEASURED_SD)));
    table.finish();
    MeasuredSd { chassis_mm, upright_mm }
}

/// Writes what is known of each end where it stands; a link that had nothing of an end has the whole key anew, behind its
/// upright point when it had none of it.
pub(super) fn write(edits: &mut Edits, keys: &dyn TableLike, measured_sd: &MeasuredSd) {
    let ends = [("chassis", measured_sd.chassis_mm), ("upright", measured_sd.upright_mm)];
    let known: Vec<_> = ends.into_iter().filter_map(|(end, sd_mm)| Some((end, sd_mm?))).collect();
    let old = keys.get("measured_sd");
    let table = old.and_then(Item::as_table_like);
    if let Some(table) = table.filter(|table| known.iter().all(|(end, _)| table.contains_key(end))) {
        known.iter().for_each(|(end, sd_mm)| edits.sds(table, end, *sd_mm));
        return;
    }
    let texts: Vec<String> = known.iter().map(|(end, sd_mm)| format!("{end} = {}", edits.sds_text(*sd_mm))).collect();
    if texts.is_empty() {
        return;
    }
    let text = format!("measured_sd = {{ {} }}", texts.join(", "));
    match old {
        None => {
            if let Some(upright) = keys.get("upright").and_then(Item::span) {
                edits.insert_key_behind(upright, text);
            }
        }
        Some(old) => {
            let key = keys.key("measured_sd").and_then(|key| key.span());
            if let Some((key, value)) = key.zip(old.as_value().and_then(Value::span)) {
                edits.replace(key.start..value.end, text);
            }
        }
    }
}
