//! What the charts are about: a finished sweep, the wheels asked for, and the builder's unit of length.

use super::scale::short;
use super::stroke::Stroke;
use crate::geometry::{LengthUnit, Side};
use crate::measures::Row;
use crate::studies::{Sweep, heave_row, roll, stations};

/// Rows between the ends of a wheel's travel that make a curve smooth in print.
const ROWS_OF_A_CURVE: f64 = 120.0;

/// A wheel that gets a curve of its own. A mirrored car has one for both of its wheels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WheelStyle {
    pub side: Side,
    pub name: &'static str,
    /// Its line, and the paler one for a second curve in the same chart.
    pub stroke: Stroke,
    pub pale: Stroke,
}

impl WheelStyle {
    pub fn of(side: Side) -> Self {
        let (stroke, pale) = match side {
            Side::Left => (Stroke::CURVE, Stroke::PALE),
            Side::Right => (Stroke::DASHED, Stroke::PALE_DASHED),
        };
        Self { side, name: side.name(), stroke, pale }
    }
}

pub struct ChartContext<'s> {
    pub sweep: &'s Sweep<'s>,
    /// The sides asked for.
    pub asked: Vec<Side>,
    /// The wheels with a curve of their own against wheel travel.
    pub wheels: Vec<WheelStyle>,
}

impl<'s> ChartContext<'s> {
    pub fn new(sweep: &'s Sweep<'s>, sides: &[Side]) -> Self {
        let asked: Vec<Side> = Side::BOTH.into_iter().filter(|side| sides.contains(side)).collect();
        let mut wheels: Vec<WheelStyle> = asked.iter().copied().map(WheelStyle::of).collect();
        if let ([first, _], true) = (&mut wheels[..], sweep.geometry().mirrored) {
            first.name = "left and right";
            wheels.truncate(1);
        }
        Self { sweep, asked, wheels }
    }

    pub fn car(&self) -> &'s str {
        &self.sweep.geometry().name
    }

    fn unit(&self) -> LengthUnit {
        self.sweep.geometry().units
    }

    /// `mm` or `in`, as the file has it.
    pub fn unit_name(&self) -> &'static str {
        self.unit().symbol()
    }

    /// A length in the unit of the file.
    pub fn length(&self, mm: f64) -> f64 {
        mm / self.unit().in_mm()
    }

    /// A length with its unit, as fine as callipers read.
    pub fn length_words(&self, mm: f64) -> String {
        self.with_decimals(mm, [1, 3])
    }

    /// A length with its unit, as fine as dial gauges read.
    pub fn fine_length_words(&self, mm: f64) -> String {
        self.with_decimals(mm, [2, 4])
    }

    fn with_decimals(&self, mm: f64, [millimetres, inches]: [usize; 2]) -> String {
        let decimals = match self.unit() {
            LengthUnit::Millimetre => millimetres,
            LengthUnit::Inch => inches,
        };
        format!("{} {}", short(self.length(mm), decimals), self.unit_name())
    }

    /// WheelStyle travel as the shop says it: `12.5 mm of bump`.
    pub fn travel_words(&self, bump_mm: f64) -> String {
        if bump_mm == 0.0 {
            return "design height".to_owned();
        }
        format!("{} of {}", self.length_words(bump_mm.abs()), if bump_mm < 0.0 { "droop" } else { "bump" })
    }

    /// A wheel between the ends of its reach, close enough together for a smooth curve.
    pub fn curve_rows(&self, side: Side) -> impl Iterator<Item = Row> {
        let rig = &self.sweep.rig;
        let (low_mm, high_mm) = rig.wheel(side).path.reach_mm();
        let travel_mm = stations(low_mm, high_mm, (high_mm - low_mm) / ROWS_OF_A_CURVE);
        travel_mm.into_iter().filter_map(move |bump_mm| heave_row(rig, side, bump_mm))
    }

    /// Both wheels in body roll, close enough together for a smooth curve.
    pub fn roll_rows(&self) -> Vec<Row> {
        let most_deg = self.sweep.geometry().travel.roll_deg;
        roll(&self.sweep.rig, &stations(-most_deg, most_deg, 2.0 * most_deg / ROWS_OF_A_CURVE))
    }

    /// The row of the heave study of a wheel at a travel; design height is at 0.
    pub fn row_at(&self, side: Side, bump_mm: f64) -> Option<&'s Row> {
        self.sweep.heave.iter().find(|row| row.side == side && row.bump_mm == bump_mm)
    }

    /// Where each wheel shown binds before the end of its travel, in words.
    pub fn binds(&self) -> Vec<String> {
        let of_wheel = |wheel: &WheelStyle| {
            let binds = self.sweep.binds.iter().filter(|bind| bind.side == wheel.side);
            let places: Vec<String> = binds.map(|bind| self.travel_words(bind.bind.at_bump_mm)).collect();
            let verb = if wheel.name == wheel.side.name() { "wheel binds" } else { "wheels bind" };
            (!places.is_empty())
                .then(|| format!("The {} {verb} at {}; it is not drawn beyond.", wheel.name, places.join(" and at ")))
        };
        self.wheels.iter().filter_map(of_wheel).collect()
    }
}

/// Words with a capital letter at their start.
pub fn sentence_start(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}
