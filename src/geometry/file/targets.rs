//! The keys that say what tuning aims at.

use toml_edit::{Item, Value};

use super::super::interval::Interval;
use super::super::model::LengthUnit;
use super::super::reader::Table;
use super::super::targets::{Target, Targets, ToeTarget, Wanted};
use super::super::values::{
    ANGLE, ANGLE_CHANGE, COORDINATE, HEIGHT, IntervalKind, Number, NumberUnit, PERCENT, Scope, ValueError, ValueKind,
    WEIGHT, kind_name, numbers_of,
};

/// Toe change that still counts as none, deg: rounding of a line between two rows.
const NO_CHANGE_DEG: f64 = 1e-9;

pub(super) fn read_targets(mut table: Table) -> Targets {
    use Single::{EitherWay, Exactly, UpTo};
    let toe = read_toe(&mut table);
    let list = [
        ("camber_gain", Wanted::CamberGain, ANGLE_CHANGE, Exactly),
        ("roll_centre_height", Wanted::RollCentreHeight, COORDINATE, Exactly),
        ("roll_centre_migration", Wanted::RollCentreMigration, COORDINATE, UpTo),
        ("anti_squat", Wanted::AntiSquat, PERCENT, Exactly),
        ("scrub", Wanted::Scrub, COORDINATE, EitherWay),
        ("plunge", Wanted::Plunge, COORDINATE, EitherWay),
        ("inner_joint_angle", Wanted::InnerJointAngle, ANGLE, UpTo),
        ("outer_joint_angle", Wanted::OuterJointAngle, ANGLE, UpTo),
    ];
    let wish = |(key, what, of, single)| read_wish(&mut table, key, what, &TargetKind { of, single });
    let list = list.into_iter().filter_map(wish).collect();
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

fn read_wish(table: &mut Table, key: &'static str, what: Wanted, aim: &TargetKind) -> Option<Target> {
    if !table.holds_table(key) {
        return table.value(key, aim).map(|band| Target { what, band, weight: 1.0 });
    }
    let mut wish = table.table(key)?;
    let value = wish.value("value", &aim.number()).map(|number| aim.single.band(number));
    let band = wish.value("band", &TargetInterval(*aim));
    let weight = wish.value("weight", &WEIGHT).unwrap_or(1.0);
    if wish.has("value") == wish.has("band") {
        let advice = "write `value` for one number or `band` for [low, high]";
        wish.note(&wish.header, format!("`{key}` takes exactly one of `value` and `band`"), advice);
    }
    wish.finish();
    Some(Target { what, band: value.or(band)?, weight })
}

/// What a single number asks for.
#[derive(Clone, Copy)]
enum Single {
    /// This value.
    Exactly,
    /// At most this, of something that is never negative.
    UpTo,
    /// At most this either way, of something that is 0 at design height.
    EitherWay,
}

impl Single {
    fn band(self, number: f64) -> Interval {
        match self {
            Single::Exactly => Interval { low: number, high: number },
            Single::UpTo => Interval { low: 0.0, high: number },
            Single::EitherWay => Interval { low: -number, high: number },
        }
    }
}

/// A number or `[low, high]`.
#[derive(Clone, Copy)]
struct TargetKind {
    of: Number,
    single: Single,
}

impl TargetKind {
    fn number(&self) -> Number {
        match self.single {
            Single::Exactly => self.of,
            Single::UpTo | Single::EitherWay => Number { least: 0.0, least_included: true, ..self.of },
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
        self.number().read(item, scope).map(|number| self.single.band(number))
    }
}

/// `[low, high]` of an aim.
struct TargetInterval(TargetKind);

impl TargetInterval {
    fn range(&self) -> IntervalKind {
        let signed = matches!(self.0.single, Single::EitherWay);
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
        let out = matches!(self.0.single, Single::EitherWay) && (band.low > 0.0 || band.high < 0.0);
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
