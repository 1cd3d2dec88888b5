//! What the charts are about: a finished sweep, the wheels asked for, and the builder's unit of length.

use super::scale::short;
use super::stroke::Stroke;
use crate::geometry::{LengthUnit, Side};
use crate::studies::{Row, Sweep};

/// A wheel that gets a curve of its own. A mirrored car has one for both of its wheels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wheel {
    pub side: Side,
    pub name: &'static str,
    /// Its line, and the paler one for a second curve in the same chart.
    pub stroke: Stroke,
    pub pale: Stroke,
}

pub struct Subject<'s> {
    pub sweep: &'s Sweep<'s>,
    pub wheels: Vec<Wheel>,
}

impl<'s> Subject<'s> {
    pub fn new(sweep: &'s Sweep<'s>, sides: &[Side]) -> Self {
        let asked = Side::BOTH.into_iter().filter(|side| sides.contains(side));
        let mut wheels: Vec<Wheel> = asked.map(wheel).collect();
        if let ([first, _], true) = (&mut wheels[..], sweep.geometry().mirrored) {
            first.name = "left and right";
            wheels.truncate(1);
        }
        Self { sweep, wheels }
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

    /// A length with its unit, no finer than callipers read.
    pub fn length_words(&self, mm: f64) -> String {
        let decimals = match self.unit() {
            LengthUnit::Millimetre => 2,
            LengthUnit::Inch => 3,
        };
        format!("{} {}", short(self.length(mm), decimals), self.unit_name())
    }

    /// Wheel travel as the shop says it: `12.5 mm of bump`.
    pub fn travel_words(&self, bump_mm: f64) -> String {
        if bump_mm == 0.0 {
            return "design height".to_owned();
        }
        format!("{} of {}", self.length_words(bump_mm.abs()), if bump_mm < 0.0 { "droop" } else { "bump" })
    }

    pub fn rows(&self, side: Side) -> impl Iterator<Item = &'s Row> {
        self.sweep.heave.iter().filter(move |row| row.side == side)
    }

    /// The row of a wheel at design height.
    pub fn design(&self, side: Side) -> Option<&'s Row> {
        self.rows(side).find(|row| row.bump_mm == 0.0)
    }

    /// Where a shown wheel binds before the end of its travel, in words.
    pub fn binds(&self) -> Vec<String> {
        let shown = self.wheels.iter().flat_map(|wheel| {
            let binds = self.sweep.binds.iter().filter(|bind| bind.side == wheel.side);
            binds.map(|bind| (wheel.name, bind.bind.at_bump_mm))
        });
        shown
            .map(|(name, at_mm)| {
                let (wheels, bind) = if name == "left and right" { ("wheels", "bind") } else { ("wheel", "binds") };
                format!("The {name} {wheels} {bind} at {}; the curve ends there.", self.travel_words(at_mm))
            })
            .collect()
    }
}

fn wheel(side: Side) -> Wheel {
    let (stroke, pale) = match side {
        Side::Left => (Stroke::CURVE, Stroke::PALE),
        Side::Right => (Stroke::DASHED, Stroke::PALE_DASHED),
    };
    Wheel { side, name: side.name(), stroke, pale }
}
