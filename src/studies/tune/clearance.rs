//! Gaps between parts as limits of tuning.

use super::design_variable::{DesignVariables, Moved};
use super::other_shaft::with_shaft;
use crate::geometry::{Car, Geometry, Halfshaft, Side};
use crate::measures::{Bodies, Derivatives, Gradient, Pair};
use crate::mechanism::{Linkage, PostureSensitivity, WheelPath};
use crate::studies::clearance::places_of_least_gap;

/// A gap this much above the least one is no residual, mm: a step that closes it is evaluated where it ends, and rejected.
const WORTH_MM: f64 = 25.0;

/// A gap that lacks no more than this is kept as well as a shop can tell, mm.
const SHORT_MM: f64 = 0.05;

/// The pairs of bodies of one side, and those that tuning keeps apart.
#[derive(Clone)]
pub(super) struct HeldGaps {
    bodies: Bodies,
    held: Vec<Pair>,
    /// In the place of the wheel's own, when it is that of the other wheel.
    shaft: Option<Halfshaft>,
    pub least_mm: f64,
    pub uncleared: Vec<UnclearedPair>,
}

/// A pair that is too near as drawn and that no design variable can part. It is reported and not held: a limit that cannot be
/// kept would hide the others.
#[derive(Debug, Clone, PartialEq)]
pub struct UnclearedPair {
    /// `toe link / halfshaft`.
    pub pair: String,
    /// Its least gap over the travel as drawn, mm.
    pub gap_mm: f64,
}

/// A lowest gap of a pair along the path, with its derivatives.
struct Gap {
    pair: Pair,
    mm: f64,
    gradient: Gradient,
}

impl HeldGaps {
    /// `stations_mm` are those of the path that is judged.
    pub fn new(geometry: &Geometry, side: Side, variables: &DesignVariables, stations_mm: &[f64]) -> Self {
        let bodies = Bodies::of(geometry, side);
        let held = bodies.pairs().collect();
        Self::keeping(geometry, (bodies, held, None), variables, stations_mm)
    }

    /// Those of the shaft of the other wheel, of which the rest is alike.
    pub fn of_other_shaft(
        geometry: &Geometry,
        (side, shaft): (Side, &Halfshaft),
        variables: &DesignVariables,
        stations_mm: &[f64],
    ) -> Self {
        let bodies = Bodies::of(geometry, side);
        let held = bodies.pairs().filter(|pair| bodies.is_of_shaft(*pair)).collect();
        Self::keeping(geometry, (bodies, held, Some(shaft.clone())), variables, stations_mm)
    }

    fn keeping(
        geometry: &Geometry,
        (bodies, held, shaft): (Bodies, Vec<Pair>, Option<Halfshaft>),
        variables: &DesignVariables,
        stations_mm: &[f64],
    ) -> Self {
        let least_mm = geometry.clearance.least_mm();
        let mut all = Self { held, bodies, shaft, least_mm, uncleared: Vec::new() };
        // Without a drawn path there is nothing to tell yet, and everything is held.
        let beyond = all.beyond_reach(&geometry.car, variables, stations_mm).unwrap_or_default();
        all.let_go(&beyond);
        all
    }

    /// Holds these pairs no longer; each is told with its gap.
    fn let_go(&mut self, pairs: &[(Pair, f64)]) {
        for &(pair, gap_mm) in pairs {
            self.held.retain(|held| *held != pair);
            let name = self.bodies.name(pair);
            match self.uncleared.iter_mut().find(|known| known.pair == name) {
                Some(known) => known.gap_mm = known.gap_mm.min(gap_mm),
                None => self.uncleared.push(UnclearedPair { pair: name, gap_mm }),
            }
        }
    }

    /// The same without the pairs that are too near as drawn and still are on an answer; `None` when there is none.
    pub fn without_lost(
        &self,
        car: &Car,
        variables: &DesignVariables,
        answer: &[f64],
        stations_mm: &[f64],
    ) -> Option<Self> {
        let too_near = |design_vector: &[f64]| {
            let moved = variables.apply(design_vector);
            let linkage = moved.linkage();
            let path = WheelPath::follow(&linkage, stations_mm).ok()?;
            let gaps = self.all_gaps(car, (&moved, &linkage, &path))?.into_iter();
            Some(gaps.filter(|gap| gap.mm < self.least_mm - SHORT_MM).map(|gap| (gap.pair, gap.mm)).collect::<Vec<_>>())
        };
        let (drawn, there) = (too_near(&vec![0.0; variables.list.len()])?, too_near(answer)?);
        let still = |(pair, _): &&(Pair, f64)| there.iter().any(|(other, _)| other == pair);
        let lost: Vec<(Pair, f64)> = drawn.iter().filter(still).copied().collect();
        let mut without = self.clone();
        without.let_go(&lost);
        (!lost.is_empty()).then_some(without)
    }

    /// Gaps of the drawn car that stay too small, to first order, though everything free goes to whichever end parts them.
    fn beyond_reach(&self, car: &Car, variables: &DesignVariables, stations_mm: &[f64]) -> Option<Vec<(Pair, f64)>> {
        if variables.unplaced.contains(&true) {
            return None;
        }
        let drawn = vec![0.0; variables.list.len()];
        let moved = variables.apply(&drawn);
        let linkage = moved.linkage();
        let path = WheelPath::follow(&linkage, stations_mm).ok()?;
        let reach_mm = |gap: &Gap| {
            let parts = |(by, range): (&f64, f64)| (by * range).max(0.0);
            let ends = variables.list.iter().map(|variable| variable.range);
            let by = variables.by_variable(&drawn, &moved, &gap.gradient);
            let high = by.iter().zip(ends.clone().map(|range| range.high)).map(parts);
            let low = by.iter().zip(ends.map(|range| range.low)).map(parts);
            high.zip(low).map(|(high, low)| high.max(low)).sum::<f64>()
        };
        let gaps = self.all_gaps(car, (&moved, &linkage, &path))?;
        let stays = |gap: &Gap| gap.mm < self.least_mm && gap.mm + reach_mm(gap) < self.least_mm;
        Some(gaps.iter().filter(|gap| stays(gap)).map(|gap| (gap.pair, gap.mm)).collect())
    }

    /// Every lowest gap of the held pairs of a moved car that is small enough to be worth a look, mm, with its derivatives;
    /// `None` where a posture is singular.
    pub fn gaps(&self, car: &Car, moved: (&Moved, &Linkage, &WheelPath)) -> Option<Vec<(f64, Gradient)>> {
        Some(self.all_gaps(car, moved)?.into_iter().map(|gap| (gap.mm, gap.gradient)).collect())
    }

    fn all_gaps(&self, car: &Car, (moved, linkage, path): (&Moved, &Linkage, &WheelPath)) -> Option<Vec<Gap>> {
        let other = self.shaft.as_ref().map(|shaft| with_shaft(moved, shaft));
        let corner = &other.as_ref().unwrap_or(moved).corner;
        let mut gaps = Vec::new();
        for &pair in &self.held {
            let worth_mm = self.least_mm + WORTH_MM;
            let places = places_of_least_gap(&self.bodies, pair, corner, path, worth_mm);
            for place in places.into_iter().filter(|place| place.value < worth_mm) {
                let posture = path.at(place.at)?;
                let sensitivity = PostureSensitivity::new(linkage, &posture).ok()?;
                let at = Derivatives::at(corner, car, &posture, &sensitivity);
                let gradient = self.bodies.gradient(pair, corner, &posture, &at)?;
                gaps.push(Gap { pair, mm: place.value, gradient });
            }
        }
        Some(gaps)
    }
}
