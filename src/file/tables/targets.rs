//! `[targets]`: what tuning aims at.

use toml_edit::{Item, Value};

use super::travel::HEIGHT;
use crate::file::reader::{
    ANGLE_CHANGE, IntervalKind, LENGTH, Number, NumberUnit, Scope, Table, ValueError, ValueKind, kind_name, numbers_of,
};
use crate::geometry::{Interval, LengthUnit, Quantity, Target, TargetForm, TargetKey, Targets, ToeTarget};

const WEIGHT: Number = Number { measure: NumberUnit::Bare, most: 1e6, ..LENGTH };
/// Toe change that still counts as none, deg: rounding of a line between two rows.
const NO_CHANGE_DEG: f64 = 1e-9;

pub(super) fn read(mut table: Table) -> Targets {
    let toe = read_toe(&mut table);
    let keys = Quantity::ALL.iter().filter_map(|&quantity| Some((quantity, quantity.definition().target?)));
    let list = keys.filter_map(|(quantity, target)| read_target(&mut table, quantity, &target)).collect();
    table.finish();
    Targets { toe, list }
}

fn read_toe(table: &mut Table) -> Option<ToeTarget> {
    if !table.holds_table("toe") {
        return table.value("toe", &CurveKind).map(|curve| ToeTarget { curve, weight: 1.0 });
    }
    let mut toe = table.table("toe")?;
    let curve = toe.required("curve", &CurveKind, "the toe change wanted");
    let weight = toe.value("weight", &WEIGHT).unwrap_or(1.0);
    toe.finish();
    Some(ToeTarget { curve: curve?.value, weight })
}

fn read_target(table: &mut Table, quantity: Quantity, target: &TargetKey) -> Option<Target> {
    let (key, aim) = (target.key, &TargetKind { of: Number::of_unit(quantity.unit()), form: target.form });
    if !table.holds_table(key) {
        return table.value(key, aim).map(|band| Target { quantity, band, weight: 1.0 });
    }
    let mut asked = table.table(key)?;
    let value = asked.value("value", &aim.number()).map(|number| aim.form.interval(number));
    let band = asked.value("band", &TargetInterval(*aim));
    let weight = asked.value("weight", &WEIGHT).unwrap_or(1.0);
    if asked.has("value") == asked.has("band") {
        let advice = "write `value` for one number or `band` for [low, high]";
        asked.note(&asked.header, format!("`{key}` takes exactly one of `value` and `band`"), advice);
    }
    asked.finish();
    Some(Target { quantity, band: value.or(band)?, weight })
}

/// A number or `[low, high]`.
#[derive(Clone, Copy)]
struct TargetKind {
    of: Number,
    form: TargetForm,
}

impl TargetKind {
    fn number(&self) -> Number {
        match self.form {
            TargetForm::Exactly => self.of,
            TargetForm::UpTo | TargetForm::EitherWay => Number { least: 0.0, least_included: true, ..self.of },
        }
    }
}

impl ValueKind for TargetKind {
    type Value = Interval;

    fn wants(&self, scope: Scope) -> String {
        format!("{}; or [low, high]", self.number().wants(scope))
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<Interval, ValueError> {
        if item.is_array() {
            return TargetInterval(*self).read(item, scope);
        }
        self.number().read(item, scope).map(|number| self.form.interval(number))
    }
}

/// `[low, high]` of an aim.
struct TargetInterval(TargetKind);

impl TargetInterval {
    fn range(&self) -> IntervalKind {
        let signed = matches!(self.0.form, TargetForm::EitherWay);
        IntervalKind(if signed { self.0.of } else { self.0.number() })
    }
}

impl ValueKind for TargetInterval {
    type Value = Interval;

    fn wants(&self, scope: Scope) -> String {
        self.range().wants(scope)
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<Interval, ValueError> {
        let band = self.range().read(item, scope)?;
        let out = matches!(self.0.form, TargetForm::EitherWay) && (band.low > 0.0 || band.high < 0.0);
        if out { Err(ValueError::new("leaves out 0, which it always is at design height")) } else { Ok(band) }
    }
}

/// `[[bump, toe change], …]`, bump rising, no change at design height.
struct CurveKind;

impl ValueKind for CurveKind {
    type Value = Vec<(f64, f64)>;

    fn wants(&self, scope: Scope) -> String {
        let unit = NumberUnit::Length.in_words(scope.units);
        let most = match scope.units {
            LengthUnit::Millimetre => "60.0",
            LengthUnit::Inch => "2.5",
        };
        format!(
            "rows of [bump{unit}, toe change in deg] with bump rising, such as [[-{most}, 0.05], [0.0, 0.0], [{most}, -0.05]]"
        )
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<Self::Value, ValueError> {
        let list =
            item.as_array().ok_or_else(|| ValueError::new(format!("is {}, not a list of rows", kind_name(item))))?;
        let curve: Vec<_> = list.iter().map(|row| read_row(row, scope)).collect::<Result<_, _>>()?;
        if curve.len() < 2 {
            return Err(ValueError::new("has fewer than two rows"));
        }
        if let Some(i) = (1..curve.len()).find(|i| curve[*i].0 <= curve[i - 1].0) {
            return Err(list.get(i).map_or_else(out_of_order, |row| out_of_order().at(row)));
        }
        if curve[0].0 > 0.0 || curve[curve.len() - 1].0 < 0.0 {
            return Err(ValueError::new("leaves out design height: no bump of 0 inside"));
        }
        let toe = ToeTarget { curve, weight: 1.0 };
        let at_design_deg = toe.toe_change_deg(0.0);
        if at_design_deg.abs() > NO_CHANGE_DEG {
            let what = format!("asks for {at_design_deg} deg at design height, where toe has not changed yet");
            return Err(ValueError::new(what));
        }
        Ok(toe.curve)
    }
}

fn out_of_order() -> ValueError {
    ValueError::new("has a row whose bump is not above the one before")
}

fn read_row(row: &Value, scope: Scope) -> Result<(f64, f64), ValueError> {
    let in_row = |error: ValueError| ValueError { what: format!("holds a row that {}", error.what), ..error }.at(row);
    let list = row.as_array().ok_or_else(|| in_row(ValueError::new("is not [bump, toe change]")))?;
    numbers_of(list, [&HEIGHT, &ANGLE_CHANGE], scope).map(|[bump, toe]| (bump, toe)).map_err(in_row)
}
