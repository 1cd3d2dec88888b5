//! Values with the bands that they should lie in, which the search minimises or holds.

use super::figures::Figure;
use crate::geometry::{Interval, Quantity, Unit};
use crate::measures::Measure;

/// Margin kept inside each limit, as a proportion of its width: a few times the error of the QP solver.
const INSIDE: f64 = 5e-5;
/// The same, added, in the unit of the limit: what the last digits of a written file change toe by, deg.
const WRITTEN: f64 = 2e-5;
/// The same of anti-squat and anti-lift, percentage points: a millimetre changes them by many times as much as a degree of toe.
const WRITTEN_PERCENT: f64 = 1e-3;

/// What a residual is taken of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ResidualOf {
    /// Change of toe, deg, between where the wheel stands at a ride height of the file and one station of the travel.
    Toe {
        /// Bump travel of the station, mm, up positive.
        bump_mm: f64,
    },
    /// Change of toe, deg, at one station with one standard deviation of one independent pickup error; for the most
    /// forgiving answer alone.
    Spread,
    /// Whether one of the wheels that are built passes every limit.
    Built,
    /// A target of the file.
    Target(Quantity),
    /// A limit of the file.
    Limit(Quantity),
    /// Toe or camber at design height, deg, which must stay as drawn although the length of a link may change.
    AsSet(Measure),
    /// Distance, mm, from a chassis pickup that the file leaves to tuning to another one.
    PickupsApart,
    /// How far, mm, a chassis pickup that moves stands outboard of the halfshaft's inner joint.
    OutboardOfJoint,
    /// How far, mm, a link is from running through the frame tube that carries its bracket, and its rod end's eye from standing in it.
    ClearOfTube,
    /// Length, mm, of a link whose chassis pickup the file leaves to tuning.
    LinkLength,
    /// Gap, mm, between parts that are too near as drawn and that nothing free parts as far as the file asks.
    TooNear,
    /// How far, mm, the joints of the halfshaft are from the shortest or the longest that the file's shaft reaches.
    ShaftLength,
}

/// A value, the band that it should lie in, and its gradient by the design vector.
#[derive(Debug, Clone, PartialEq)]
pub struct Residual {
    /// What it is about.
    pub subject: ResidualOf,
    /// In the unit of its subject.
    pub value: f64,
    /// The residual is zero while the value lies in it.
    pub band: Interval,
    /// One over the departure from the band that matters in the shop, per unit of the value: makes residuals of different
    /// units comparable. A target's weight is a factor of it.
    pub scale: f64,
    /// Derivative of the value by each design variable, per mm or deg.
    pub gradient: Vec<f64>,
}

/// A limit, and what the errors of a built car make of it.
#[derive(Debug, Clone)]
pub(super) struct Limited {
    pub residual: Residual,
    /// Derivatives of the value by the errors of this wheel's pickups and of the other wheel's, per mm; empty when it depends
    /// on none.
    pub by_own: Vec<f64>,
    pub by_other: Vec<f64>,
    /// It counts in the chance that is made large; what holds for the drawing alone does not.
    pub is_tried: bool,
}

impl Limited {
    pub(super) fn of(subject: ResidualOf, band: Interval, scale: f64, figure: Figure) -> Self {
        let Figure { value, gradient, by_own, by_other } = figure;
        let is_tried = matches!(subject, ResidualOf::Limit(_));
        Self { residual: Residual { subject, value, band, scale, gradient }, by_own, by_other, is_tried }
    }

    /// Let go as far as this band, which holds for the drawing alone: nobody builds a car to it.
    pub(super) fn let_go(self, band: Interval) -> Self {
        let own = self.residual.band;
        let band = Interval { low: own.low.min(band.low), high: own.high.max(band.high) };
        // A limit that is open above has no width to be scaled by.
        let scale = if band.high.is_finite() { limit_scale(&band) } else { self.residual.scale };
        let residual = Residual { band, scale, ..self.residual };
        Self { residual: residual.wider(), by_own: Vec::new(), by_other: Vec::new(), is_tried: false }
    }
}

impl Residual {
    /// Departure from the band times the scale, above it positive; 0 inside. At 1 it matters in the shop.
    pub fn scaled(&self) -> f64 {
        (self.value - self.value.clamp(self.band.low, self.band.high)) * self.scale
    }

    /// The same limit, narrower by a margin on both sides, so that what the QP solver and the digits of the written file
    /// leave over cannot break it; a limit that is narrower than both margins stays as the file has it.
    pub(super) fn inside(self) -> Residual {
        let margin = self.margin();
        if 2.0 * margin < self.band.width() { self.narrower(margin) } else { self }
    }

    fn margin(&self) -> f64 {
        let written = match self.subject {
            ResidualOf::Limit(quantity) if quantity.unit() == Unit::Percent => WRITTEN_PERCENT,
            _ => WRITTEN,
        };
        INSIDE * self.band.width().min(100.0 / self.scale) + written
    }

    /// The other way, twice: a value at an end of the band is inside with the margin taken off.
    fn wider(mut self) -> Residual {
        let margin = 2.0 * self.margin();
        self.band = Interval { low: self.band.low - margin, high: self.band.high + margin };
        self
    }

    /// The same limit with a margin at either end, of which a band of two ends keeps at least half for itself.
    pub(super) fn narrower(mut self, margin: f64) -> Residual {
        let margin = margin.min(0.25 * self.band.width());
        self.band = Interval { low: self.band.low + margin, high: self.band.high - margin };
        self
    }
}

/// The residuals of every target and every limit at one design vector.
#[derive(Debug, Clone)]
pub struct Evaluation {
    /// Residuals to be minimised.
    pub objective: Vec<Residual>,
    /// Residuals to be held at zero.
    pub limits: Vec<Residual>,
    /// Worst change of toe from design over the travel, about the worst ride height, deg per wheel.
    pub worst_bump_steer_deg: f64,
}

impl Evaluation {
    /// The largest of the objective by size, scaled.
    pub fn worst_residual(&self) -> f64 {
        self.objective.iter().map(|residual| residual.scaled().abs()).fold(0.0, f64::max)
    }

    /// The largest of the limits by size, scaled; 0 when all hold.
    pub fn worst_violation(&self) -> f64 {
        self.limits.iter().map(|residual| residual.scaled().abs()).fold(0.0, f64::max)
    }

    /// What the limits that are broken by more than so much, scaled, are of; each once, in their order.
    pub(super) fn broken_by(&self, least: f64) -> Vec<ResidualOf> {
        let mut list = Vec::new();
        for residual in self.limits.iter().filter(|residual| residual.scaled().abs() > least) {
            if !list.contains(&residual.subject) {
                list.push(residual.subject);
            }
        }
        list
    }

    /// Targets that are a band of some width and hold wherever they are read.
    pub(super) fn targets_with_room_reached(&self) -> Vec<Quantity> {
        let is_reached = |residual: &Residual| residual.band.width() > 0.0 && residual.scaled() == 0.0;
        let of_target = |residual: &Residual| match residual.subject {
            ResidualOf::Target(quantity) => Some((quantity, is_reached(residual))),
            _ => None,
        };
        let read: Vec<(Quantity, bool)> = self.objective.iter().filter_map(of_target).collect();
        let holds = |of: &Quantity| read.iter().all(|(quantity, is_reached)| quantity != of || *is_reached);
        read.iter().map(|(quantity, _)| *quantity).filter(holds).collect()
    }

    /// Half the sum of squares of what is wanted.
    pub fn half_square(&self) -> f64 {
        self.objective.iter().map(|residual| 0.5 * residual.scaled().powi(2)).sum()
    }
}

/// Scale of a limit: a departure of a hundredth of its width is 1; the width of one that is open below is its upper end.
pub(super) fn limit_scale(band: &Interval) -> f64 {
    let width = if band.low.is_finite() { band.width() } else { band.high };
    1.0 / (0.01 * width.max(1e-6))
}

#[cfg(test)]
mod tests {
    use super::{Figure, Interval, Limited, Quantity, Residual, ResidualOf};

    fn held(band: Interval) -> Interval {
        Residual { subject: ResidualOf::LinkLength, value: 0.0, band, scale: 1.0, gradient: Vec::new() }.inside().band
    }

    #[test]
    fn a_limit_is_held_a_little_inside() {
        let wide = held(Interval::either_way(0.05));
        assert!(wide.high < 0.05 && wide.high > 0.0499 && wide.low == -wide.high, "{wide:?}");
        let open = held(Interval { low: 30.0, high: f64::INFINITY });
        assert!(open.low > 30.0 && open.low < 30.01 && open.high == f64::INFINITY, "{open:?}");
    }

    /// A coordinate is written to a tenth of a micrometre, and a millimetre of it changes anti-squat by some two per cent.
    #[test]
    fn a_percentage_is_held_further_inside_than_the_digits_of_a_file_change_it() {
        let band = Interval { low: 24.0, high: 26.0 };
        let subject = ResidualOf::Limit(Quantity::AntiSquat);
        let held = Residual { subject, value: 0.0, band, scale: 50.0, gradient: Vec::new() }.inside().band;
        let (digits_mm, percent_per_mm, coordinates) = (0.5e-4, 2.0, 9.0);
        assert!(held.low - 24.0 > digits_mm * percent_per_mm * coordinates && held.low < 24.01, "{held:?}");
    }

    /// A gap of 5 mm where the file asks for 6 mm; 3.5 mm are three times what matters further away.
    #[test]
    fn a_gap_that_is_let_go_as_far_as_it_is_drawn_comes_no_nearer() {
        let gap = |value: f64| {
            let figure = Figure { value, gradient: Vec::new(), by_own: Vec::new(), by_other: Vec::new() };
            let band = |low: f64| Interval { low, high: f64::INFINITY };
            let asked = Limited::of(ResidualOf::Limit(Quantity::Clearance), band(6.0), 2.0, figure);
            asked.let_go(band(5.0)).residual.scaled()
        };
        assert_eq!(gap(5.0), 0.0);
        assert!((gap(3.5) + 3.0).abs() < 0.02, "{}", gap(3.5));
    }

    #[test]
    fn a_limit_that_is_narrower_than_the_margin_loses_the_margin_and_not_the_limit() {
        for size in [0.0, 5e-324, 1e-6, 2e-5] {
            assert_eq!(held(Interval::either_way(size)), Interval::either_way(size));
        }
    }
}
