//! What the charts are about: a moved car, the wheels asked for, and the builder's unit of length.

use super::ChartSource;
use super::frame::Paper;
use super::scale::short;
use super::stroke::Stroke;
use crate::geometry::{Geometry, Side};
use crate::measures::Row;
use crate::present::LengthFormat;
use crate::present::words::stage;
use crate::studies::{CurvePoint, Curves, JudgedCar, Roll, Verdict, WheelStop};

/// A wheel that gets a curve of its own. A mirrored car has one for both of its wheels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WheelStyle {
    pub side: Side,
    pub name: &'static str,
    /// Its line, and the paler one for a second curve in the same chart.
    pub stroke: Stroke,
    pub pale: Stroke,
    /// Of another car behind this one.
    pub beside: Stroke,
}

impl WheelStyle {
    pub fn of(side: Side) -> Self {
        let (stroke, pale, beside) = match side {
            Side::Left => (Stroke::CURVE, Stroke::PALE, Stroke::BESIDE),
            Side::Right => (Stroke::DASHED, Stroke::PALE_DASHED, Stroke::BESIDE_DASHED),
        };
        Self { side, name: side.name(), stroke, pale, beside }
    }

    /// The line of a curve that carries a number, counted from 0; those of a right wheel are pale.
    pub fn numbered(&self, index: usize) -> Stroke {
        let stroke = Stroke::NUMBERED[index % Stroke::NUMBERED.len()];
        match self.side {
            Side::Left => stroke,
            Side::Right => Stroke { grey: self.pale.grey, ..stroke },
        }
    }
}

/// Which car a sheet shows, and of which file.
#[derive(Debug, Clone, Copy)]
pub struct Subject<'s> {
    /// What the builder calls the car.
    pub name: &'s str,
    pub source: ChartSource<'s>,
    /// Whether the car is drawn or measured: `as drawn`, `as measured`.
    pub stage: &'static str,
}

impl<'s> Subject<'s> {
    pub fn new(geometry: &'s Geometry, source: ChartSource<'s>) -> Self {
        Self { name: &geometry.name, source, stage: stage(geometry) }
    }
}

pub struct ChartContext<'s> {
    pub car: &'s JudgedCar<'s>,
    pub curves: &'s Curves,
    /// The sides asked for.
    pub asked: Vec<Side>,
    pub subject: Subject<'s>,
    /// The wheels with a curve of their own against wheel travel.
    pub wheels: Vec<WheelStyle>,
    /// What it is drawn on, when it is one panel against wheel travel.
    pub paper: Paper,
    /// A car whose curves stand behind those of this one, to compare with.
    pub beside: Option<(&'static str, Box<ChartContext<'s>>)>,
}

impl<'s> ChartContext<'s> {
    pub fn new(car: &'s JudgedCar<'s>, curves: &'s Curves, sides: &[Side], source: ChartSource<'s>) -> Self {
        let asked: Vec<Side> = Side::BOTH.into_iter().filter(|side| sides.contains(side)).collect();
        let mut wheels: Vec<WheelStyle> = asked.iter().copied().map(WheelStyle::of).collect();
        if let ([first, _], true) = (&mut wheels[..], car.geometry().looks_alike()) {
            first.name = "left and right";
            wheels.truncate(1);
        }
        Self {
            car,
            curves,
            asked,
            subject: Subject::new(car.geometry(), source),
            wheels,
            paper: Paper::WIDE,
            beside: None,
        }
    }

    /// What the wheels asked for, and the axle, came to.
    pub fn verdicts(&self) -> impl Iterator<Item = &'s Verdict> {
        self.car.verdicts.iter().filter(|verdict| verdict.side.is_none_or(|side| self.asked.contains(&side)))
    }

    pub fn lengths(&self) -> LengthFormat {
        LengthFormat(self.car.geometry().units)
    }

    /// `mm` or `in`, as the file has it.
    pub fn unit_name(&self) -> &'static str {
        self.lengths().symbol()
    }

    /// A length in the unit of the file.
    pub fn length(&self, mm: f64) -> f64 {
        self.lengths().value(mm)
    }

    /// A length with its unit, as fine as callipers read.
    pub fn length_words(&self, mm: f64) -> String {
        self.with_decimals(mm, self.lengths().decimals())
    }

    /// A length with its unit, as fine as dial gauges read.
    pub fn fine_length_words(&self, mm: f64) -> String {
        self.with_decimals(mm, self.lengths().decimals() + 1)
    }

    fn with_decimals(&self, mm: f64, decimals: usize) -> String {
        format!("{} {}", short(self.length(mm), decimals), self.unit_name())
    }

    /// Wheel travel as the shop says it: `12.5 mm of bump`.
    pub fn travel_words(&self, bump_mm: f64) -> String {
        if bump_mm == 0.0 {
            return "design height".to_owned();
        }
        format!("{} of {}", self.length_words(bump_mm.abs()), if bump_mm < 0.0 { "droop" } else { "bump" })
    }

    /// The number of a curve, with the first letter of its side where two wheels have curves: `3` or `3l`.
    pub fn numbered(&self, number: usize, wheel: &WheelStyle) -> String {
        let letter = if self.wheels.len() > 1 { wheel.side.name().get(..1).unwrap_or_default() } else { "" };
        format!("{number}{letter}")
    }

    /// A wheel between the ends of its reach, close enough together for a smooth curve.
    pub fn curve_points(&self, side: Side) -> &'s [CurvePoint] {
        &self.curves.travel[side]
    }

    /// Both wheels in body roll, close enough together for a smooth curve.
    pub fn roll_curve(&self) -> &'s Roll {
        self.curves.roll(&self.car.rig)
    }

    /// A wheel at design height.
    pub fn design(&self, side: Side) -> &'s Row {
        &self.car.heave.design[side]
    }

    /// Whether a wheel shown binds on its way to a stop.
    pub fn binds_towards(&self, stop: WheelStop) -> bool {
        self.car.heave.binds.iter().any(|bind| bind.towards == stop && self.asked.contains(&bind.side))
    }

    /// Where a wheel binds inside its travel, mm.
    pub fn bind_heights_mm(&self, side: Side) -> impl Iterator<Item = f64> {
        self.car.heave.binds_of(side).map(|bind| bind.at_bump_mm)
    }

    /// Where each wheel shown binds before the end of its travel, in words.
    pub fn binds(&self) -> Vec<String> {
        let of_wheel = |wheel: &WheelStyle| {
            let binds = self.car.heave.binds_of(wheel.side);
            let places: Vec<String> = binds.map(|bind| self.travel_words(bind.at_bump_mm)).collect();
            let verb = if wheel.name == wheel.side.name() { "wheel binds" } else { "wheels bind" };
            (!places.is_empty())
                .then(|| format!("The {} {verb} at {}; nothing is drawn beyond.", wheel.name, places.join(" and at ")))
        };
        self.wheels.iter().filter_map(of_wheel).collect()
    }
}
