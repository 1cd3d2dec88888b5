//! How a halfshaft is made, in `[halfshaft]`: joints, length, plunge. What does not go together is told and leaves these keys
//! out; the joint centres stay.

use toml_edit::{Item, Value};

use crate::file::reader::{
    At, COORDINATE, Diagnostics, LENGTH, Number, NumberUnit, Scope, Table, ValueError, ValueKind, Word, kind_name,
    numbers_of,
};
use crate::geometry::{HalfshaftJoint, HalfshaftLength, HalfshaftMake, Interval, WindowAtAngle};

const SHAFT: Number = Number { most: 3000.0, ..LENGTH };
const PHASE: Number = Number { measure: NumberUnit::Degrees, least: -180.0, most: 180.0, least_included: true };
/// Of a joint, 0 included.
const JOINT_ANGLE: Number = Number { measure: NumberUnit::Degrees, least: 0.0, most: 90.0, least_included: true };

#[derive(Clone)]
pub(super) struct RawMake {
    inner: Option<HalfshaftJoint>,
    outer: Option<HalfshaftJoint>,
    length: Option<At<f64>>,
    length_min: Option<At<f64>>,
    length_max: Option<At<f64>>,
    /// Both are there, whether they can be read or not.
    has_both_ends: bool,
    plunge: Option<At<f64>>,
    narrows: Option<At<Vec<[f64; 3]>>>,
    phase_deg: Option<At<f64>>,
}

impl RawMake {
    /// Takes its keys out of `[halfshaft]`.
    pub(super) fn read(table: &mut Table) -> Self {
        let joint = Word(&HalfshaftJoint::BY_NAME);
        let has_both_ends = table.has("length_min") && table.has("length_max");
        Self {
            has_both_ends,
            inner: table.value("inner_type", &joint),
            outer: table.value("outer_type", &joint),
            length: table.optional("length", &SHAFT),
            length_min: table.optional("length_min", &SHAFT),
            length_max: table.optional("length_max", &SHAFT),
            plunge: table.optional("plunge", &SHAFT),
            narrows: table.optional("narrows", &Narrowing),
            phase_deg: table.optional("phase", &PHASE),
        }
    }

    /// What is known of the shaft; nothing at all when something about it was told.
    pub(super) fn checked(&self, diagnostics: &Diagnostics) -> HalfshaftMake {
        let length = self.checked_length(diagnostics);
        let narrowing = self.checked_narrowing(diagnostics);
        let phase_deg = self.checked_phase(diagnostics);
        let plunge = self.checked_plunge(diagnostics);
        match (length, narrowing, phase_deg, plunge) {
            (Ok(length), Ok(narrowing), Ok(phase_deg), Ok(plunge_mm)) => {
                HalfshaftMake { inner: self.inner, outer: self.outer, length, plunge_mm, narrowing, phase_deg }
            }
            _ => HalfshaftMake::default(),
        }
    }

    fn checked_length(&self, diagnostics: &Diagnostics) -> Result<Option<HalfshaftLength>, Told> {
        let (Some(low), Some(high)) = (&self.length_min, &self.length_max) else {
            if self.has_both_ends {
                return Err(Told); // what cannot be read of one is told already
            }
            if let Some(alone) = self.length_min.as_ref().or(self.length_max.as_ref()) {
                let advice = "a shaft that is there has both: `length_min` pushed in, `length_max` pulled out";
                diagnostics.set_aside(&alone.span, "one of `length_min` and `length_max` is missing", advice);
                return Err(Told);
            }
            return Ok(self.length.as_ref().map(|length| HalfshaftLength::Made(length.value)));
        };
        if let Some(length) = &self.length {
            let advice = "`length` is for a shaft to be made: remove it, or `length_min` and `length_max`";
            diagnostics.set_aside(&length.span, "a shaft that is there has no `length` to be made", advice);
            return Err(Told);
        }
        if low.value >= high.value {
            let advice = "measure both between the joint centres: `length_min` pushed in, `length_max` pulled out";
            diagnostics.set_aside(&high.span, "pulled out the shaft is no longer than pushed in", advice);
            return Err(Told);
        }
        if high.value - low.value >= low.value {
            let advice = "measure both between the joint centres, the shaft pushed in and pulled out";
            diagnostics.set_aside(&low.span, "the shaft is shorter than its plunge", advice);
            return Err(Told);
        }
        Ok(Some(HalfshaftLength::Donor(Interval { low: low.value, high: high.value })))
    }

    fn checked_plunge(&self, diagnostics: &Diagnostics) -> Result<Option<f64>, Told> {
        let Some(plunge) = &self.plunge else { return Ok(None) };
        let (what, advice) = if self.length_min.is_some() || self.length_max.is_some() {
            ("`length_min` and `length_max` say already how far the shaft plunges", "remove `plunge`")
        } else if self.length.as_ref().is_some_and(|length| length.value <= plunge.value) {
            (
                "the shaft is shorter than its plunge",
                "`plunge` is from fully pushed in to fully pulled out; check `length`",
            )
        } else {
            return Ok(Some(plunge.value));
        };
        diagnostics.set_aside(&plunge.span, what, advice);
        Err(Told)
    }

    fn checked_narrowing(&self, diagnostics: &Diagnostics) -> Result<Vec<WindowAtAngle>, Told> {
        let Some(narrows) = &self.narrows else { return Ok(Vec::new()) };
        let rows = &narrows.value;
        let crossed = rows.iter().find(|[_, low, high]| low >= high);
        let out_of_order = rows.windows(2).find(|pair| pair[0][0] >= pair[1][0]);
        let (what, advice) = match (crossed, out_of_order) {
            (Some([angle, ..]), _) => (
                format!("the plunge window crosses over at {angle:?} deg: its low end is not below its high end"),
                "write [angle, low, high] in each row, low below high, pulled apart positive",
            ),
            (None, Some(pair)) => (
                format!("the angles of the plunge window do not rise: {:?} deg after {:?} deg", pair[1][0], pair[0][0]),
                "sort the rows by angle, each angle once",
            ),
            (None, None) => {
                let row =
                    |&[angle_deg, low, high]: &[f64; 3]| WindowAtAngle { angle_deg, window_mm: Interval { low, high } };
                return Ok(rows.iter().map(row).collect());
            }
        };
        diagnostics.set_aside(&narrows.span, what, advice);
        Err(Told)
    }

    fn checked_phase(&self, diagnostics: &Diagnostics) -> Result<f64, Told> {
        let Some(phase) = &self.phase_deg else { return Ok(0.0) };
        let is_universal = |joint: Option<HalfshaftJoint>| joint == Some(HalfshaftJoint::Universal);
        if is_universal(self.inner) && is_universal(self.outer) {
            return Ok(phase.value);
        }
        let advice = "remove it, or write \"universal\" as `inner_type` and as `outer_type`";
        diagnostics.set_aside(&phase.span, "a halfshaft has a phase between two universal joints alone", advice);
        Err(Told)
    }
}

/// Something about the shaft was told.
struct Told;

/// `[[angle, low, high], …]`.
struct Narrowing;

impl ValueKind for Narrowing {
    type Value = Vec<[f64; 3]>;

    fn wants(&self, scope: Scope) -> String {
        let lengths = NumberUnit::Length.in_words(scope.units);
        format!("rows of [angle, low, high], the angle in deg, low and high{lengths}")
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<Self::Value, ValueError> {
        let rows =
            item.as_array().ok_or_else(|| ValueError::new(format!("is {}, not a list of rows", kind_name(item))))?;
        let row = |value: &Value| {
            let list = value.as_array().ok_or_else(|| ValueError::new("holds something that is no row").at(value))?;
            numbers_of(list, [&JOINT_ANGLE, &COORDINATE, &COORDINATE], scope).map_err(|error| error.at(value))
        };
        if rows.len() < 2 {
            return Err(ValueError::new("needs two rows or more: a window at a small angle and one at a large one"));
        }
        rows.iter().map(row).collect()
    }
}
