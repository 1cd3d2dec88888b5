//! Gaps between parts as limits of tuning.

use serde::Serialize;

use super::other_shaft::with_shaft;
use crate::geometry::{Geometry, Halfshaft, Side};
use crate::measures::{Bodies, Derivatives, Gradient, Pair};
use crate::mechanism::{Linkage, PostureSensitivity, WheelPath};
use crate::studies::clearance::{UprightWay, places_of_gap_below};
use crate::studies::design_variables::{DesignVariables, Moved};

/// A gap this much above the least one is no residual, mm: a step that closes it is evaluated where it ends, and rejected.
const WORTH_MM: f64 = 25.0;

/// A gap that lacks no more than this is kept as well as a shop can tell, mm.
pub(super) const SHORT_MM: f64 = 0.05;

/// The pairs of bodies of one side, and those that tuning keeps apart.
#[derive(Clone)]
pub(super) struct HeldGaps {
    bodies: Bodies,
    held: Vec<HeldPair>,
    /// In the place of the wheel's own, when it is that of the other wheel.
    shaft: Option<Halfshaft>,
    pub least_mm: f64,
    pub uncleared: Vec<UnclearedPair>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct HeldPair {
    pair: Pair,
    least_mm: f64,
    /// Too near as drawn, and it cannot be parted as far as the file asks: it is held where it does not come nearer.
    is_too_near: bool,
}

/// A pair that is too near as drawn and that nothing free parts as far as the file asks. A limit that cannot be kept would hide the
/// others, so it is held at less.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UnclearedPair {
    /// `toe link / halfshaft`.
    pub pair: String,
    /// Its least gap over the travel as drawn, mm; `None` of a car that has no pickups yet.
    pub gap_mm: Option<f64>,
    /// The same on the car of the written answer; `None` as long as nobody judged that.
    pub tuned_mm: Option<f64>,
    /// The most that the free room makes of that, whatever becomes of every other limit, mm; `None` where nobody looked.
    pub most_mm: Option<f64>,
}

/// Pairs that are too near on an answer, by name, with the least gap of each.
pub(super) struct LostGaps {
    named: Vec<(String, (Pair, f64))>,
    are_drawn: bool,
}

impl LostGaps {
    /// Each pair by itself.
    pub fn one_by_one(&self) -> Vec<Self> {
        let mut names: Vec<&str> = self.named.iter().map(|(name, _)| name.as_str()).collect();
        names.sort_unstable();
        names.dedup();
        let of = |name: &str| self.named.iter().filter(|(other, _)| other == name).cloned().collect();
        names.into_iter().map(|name| Self { named: of(name), ..*self }).collect()
    }

    /// All of these together.
    pub fn all_of(lost: &[&Self]) -> Option<Self> {
        let named: Vec<_> = lost.iter().flat_map(|lost| lost.named.iter().cloned()).collect();
        Some(Self { named, are_drawn: lost.first()?.are_drawn })
    }
}

/// A lowest gap of a pair along the path, with its derivatives.
pub(super) struct Gap {
    held: HeldPair,
    pub mm: f64,
    pub gradient: Gradient,
}

impl Gap {
    /// What it is held at, mm.
    pub fn least_mm(&self) -> f64 {
        self.held.least_mm
    }

    /// It is held at less than the file asks.
    pub fn is_too_near(&self) -> bool {
        self.held.is_too_near
    }
}

impl HeldGaps {
    /// `stations_mm` are those of the path that is judged.
    pub fn new(geometry: &Geometry, side: Side, variables: &DesignVariables, stations_mm: &[f64]) -> Self {
        let bodies = Bodies::of(geometry, side);
        let held = bodies.with_joined().collect();
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
        (bodies, pairs, shaft): (Bodies, Vec<Pair>, Option<Halfshaft>),
        variables: &DesignVariables,
        stations_mm: &[f64],
    ) -> Self {
        let least_mm = geometry.clearance.least_mm();
        let held = pairs.into_iter().map(|pair| HeldPair { pair, least_mm, is_too_near: false }).collect();
        let mut all = Self { held, bodies, shaft, least_mm, uncleared: Vec::new() };
        // Without a drawn path there is nothing to tell yet, and everything is held.
        let beyond = all.beyond_reach(geometry, variables, stations_mm).unwrap_or_default();
        all.let_go(&beyond, true);
        all
    }

    /// Holds these pairs where they do not come nearer than drawn, or nowhere; each is told with its drawn gap.
    fn let_go(&mut self, pairs: &[(Pair, f64)], are_drawn: bool) {
        for held in &mut self.held {
            let of_pair = pairs.iter().filter(|(pair, _)| *pair == held.pair).map(|(_, gap_mm)| *gap_mm);
            let Some(gap_mm) = of_pair.reduce(f64::min) else { continue };
            let least_mm = if are_drawn { gap_mm - SHORT_MM } else { f64::NEG_INFINITY };
            *held = HeldPair { least_mm, is_too_near: true, ..*held };
            let name = self.bodies.name(held.pair);
            if self.uncleared.iter().all(|known| known.pair != name) {
                let gap_mm = are_drawn.then_some(gap_mm);
                self.uncleared.push(UnclearedPair { pair: name, gap_mm, tuned_mm: None, most_mm: None });
            }
        }
    }

    /// The same, the pairs that are too near held where they are drawn; of a car that has nothing drawn, nowhere.
    pub fn as_drawn(&self) -> Self {
        let mut as_drawn = self.clone();
        for held in as_drawn.held.iter_mut().filter(|held| held.is_too_near) {
            let name = self.bodies.name(held.pair);
            let drawn = self.uncleared.iter().find(|of| of.pair == name).and_then(|of| of.gap_mm);
            held.least_mm = drawn.map_or(f64::NEG_INFINITY, |mm| held.least_mm.min(mm - SHORT_MM));
        }
        as_drawn
    }

    /// The same, the pairs that are too near held at so much of the way from where they are further apart by less to here.
    pub fn between(&self, far: &Self, share: f64) -> Self {
        let mut between = self.clone();
        for held in between.held.iter_mut().filter(|held| held.is_too_near) {
            let far = far.held.iter().find(|other| other.pair == held.pair).map_or(held.least_mm, |far| far.least_mm);
            held.least_mm -= (1.0 - share) * (held.least_mm - far).max(0.0);
        }
        between
    }

    /// The same, the pairs that are too near asked to part as far as the file has it.
    pub fn asking_for_all(&self) -> Self {
        let held = self.held.iter().map(|held| HeldPair { least_mm: self.least_mm, ..*held }).collect();
        Self { held, ..self.clone() }
    }

    /// The same with nothing held but one of those that are too near.
    pub fn asking_for(&self, too_near: &UnclearedPair) -> Self {
        let mut asking = self.asking_for_all();
        asking.held.retain(|held| held.is_too_near && self.bodies.name(held.pair) == too_near.pair);
        asking
    }

    /// The same, the pairs that are too near held where these gaps leave them, a little less, and not nearer than before.
    pub fn holding(&self, gaps: &[Gap]) -> Self {
        let mut holding = self.clone();
        for held in holding.held.iter_mut().filter(|held| held.is_too_near) {
            let of_pair = gaps.iter().filter(|gap| gap.held.pair == held.pair).map(|gap| gap.mm);
            let parted_mm = of_pair.fold(self.least_mm, f64::min);
            held.least_mm = held.least_mm.max(parted_mm - SHORT_MM);
        }
        holding
    }

    /// The pairs that an answer leaves too near, of those that are so as drawn, each with its drawn gap; of a car that has nothing
    /// drawn all of them. `None` when there is none.
    pub fn lost(
        &self,
        geometry: &Geometry,
        variables: &DesignVariables,
        answer: &[f64],
        stations_mm: &[f64],
    ) -> Option<LostGaps> {
        let too_near = |design_vector: &[f64]| {
            let moved = variables.apply(design_vector);
            let linkage = moved.linkage();
            let path = WheelPath::follow(&linkage, stations_mm).ok()?;
            let gaps = self.gaps(geometry, (&moved, &linkage, &path))?.into_iter();
            Some(
                gaps.filter(|gap| gap.mm < gap.least_mm() - SHORT_MM)
                    .map(|gap| (gap.held.pair, gap.mm))
                    .collect::<Vec<_>>(),
            )
        };
        let (there, is_new) = (too_near(answer)?, variables.places_links());
        let pairs = match is_new {
            true => there,
            false => {
                let still = |(pair, _): &(Pair, f64)| there.iter().any(|(other, _)| other == pair);
                too_near(&vec![0.0; variables.list.len()])?.into_iter().filter(still).collect()
            }
        };
        let named = pairs.into_iter().map(|(pair, mm)| (self.bodies.name(pair), (pair, mm)));
        let lost = LostGaps { named: named.collect(), are_drawn: !is_new };
        (!lost.named.is_empty()).then_some(lost)
    }

    /// The same, these pairs let go.
    pub fn without(&self, lost: &LostGaps) -> Self {
        let mut without = self.clone();
        let pairs: Vec<(Pair, f64)> = lost.named.iter().map(|(_, of)| *of).collect();
        without.let_go(&pairs, lost.are_drawn);
        without
    }

    /// Pairs that were let go of a car that has nothing drawn are held nowhere yet.
    pub fn has_pairs_held_nowhere(&self) -> bool {
        self.held.iter().any(|held| held.least_mm == f64::NEG_INFINITY)
    }

    /// Gaps of the drawn car that stay too small, to first order, though everything free goes to whichever end parts them.
    fn beyond_reach(
        &self,
        geometry: &Geometry,
        variables: &DesignVariables,
        stations_mm: &[f64],
    ) -> Option<Vec<(Pair, f64)>> {
        if variables.places_links() {
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
        let gaps = self.gaps(geometry, (&moved, &linkage, &path))?;
        let stays = |gap: &Gap| gap.mm < self.least_mm && gap.mm + reach_mm(gap) < self.least_mm;
        Some(gaps.iter().filter(|gap| stays(gap)).map(|gap| (gap.held.pair, gap.mm)).collect())
    }

    /// Every lowest gap of the held pairs of a moved car that is small enough to be worth a look, mm, with its derivatives;
    /// `None` where a posture is singular.
    pub fn gaps(
        &self,
        geometry: &Geometry,
        (moved, linkage, path): (&Moved, &Linkage, &WheelPath),
    ) -> Option<Vec<Gap>> {
        let other = self.shaft.as_ref().map(|shaft| with_shaft(moved, shaft));
        let corner = &other.as_ref().unwrap_or(moved).corner;
        let (worth_mm, way) = (self.least_mm + WORTH_MM, UprightWay::along(path));
        let mut gaps = Vec::new();
        for &held in self.held.iter().filter(|held| !self.bodies.stay_joined(held.pair, geometry, corner)) {
            for place in places_of_gap_below(worth_mm, &self.bodies, held.pair, corner, (path, &way)) {
                let posture = path.at(place.at)?;
                let sensitivity = PostureSensitivity::new(linkage, &posture).ok()?;
                let at = Derivatives::at(corner, &geometry.car, &posture, &sensitivity);
                let gradient = self.bodies.gradient(held.pair, corner, &posture, &at)?;
                gaps.push(Gap { held, mm: place.value, gradient });
            }
        }
        Some(gaps)
    }
}
