//! `[limits]`: what the builder demands.

use crate::file::reader::{IntervalKind, Number, Table};
use crate::geometry::{Interval, LimitKey, Limits, Quantity};

pub(super) fn read(mut table: Table) -> Limits {
    let mut limits = Limits::default();
    for &quantity in Quantity::ALL {
        let of = Number::of_unit(quantity.unit());
        let given = match quantity.definition().limit {
            LimitKey::EitherWay(key) => {
                let size = Number { least: 0.0, least_included: false, ..of };
                table.value(key, &size).map(Interval::either_way)
            }
            LimitKey::Pair(key) => table.value(key, &IntervalKind(of)),
            _ => None,
        };
        limits.set(quantity, given);
    }
    table.finish();
    limits
}
