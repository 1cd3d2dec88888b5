//! The gaps between the bodies of one wheel over its travel: where each pair comes nearest, and whether that is enough.

use std::f64::consts::SQRT_2;

use serde::Serialize;

use super::inspection::Lacking;
use super::rig::RigWheel;
use super::verdicts::State;
use crate::geometry::{Clearance, Corner, Geometry, LinkTube, Side};
use crate::measures::{Approach, Bodies, LeastPlace, Pair, least_places};
use crate::mechanism::{Linkage, Posture, WheelPath};

/// Every pair of one side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClearanceFindings {
    /// Least gap that every pair must keep, mm.
    pub limit_mm: f64,
    /// The file names no least gap.
    pub limit_is_default: bool,
    /// Least gap of all pairs over the travel, mm.
    pub least_mm: Option<f64>,
    /// The nearest over the travel first.
    pub pairs: Vec<PairClearance>,
    /// Thicknesses that were taken because the file gives none.
    pub assumed: Vec<AssumedSize>,
    /// Parts that have no body, and what would give them one.
    pub without_body: Vec<Lacking>,
}

/// Two bodies over bump and droop; gaps in mm, negative where they overlap.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairClearance {
    /// `toe link / halfshaft`.
    pub pair: String,
    /// Over the whole travel.
    pub least_mm: f64,
    /// Bump travel at which the gap is least, mm, up positive.
    pub at_bump_mm: f64,
    /// As drawn.
    pub at_design_mm: f64,
    /// Against the least gap.
    pub state: State,
    /// Bump travel and gap, mm, at every posture of the path and where the gap is least, rising.
    #[serde(skip)]
    pub curve: Vec<(f64, f64)>,
}

/// A thickness that the file does not give.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AssumedSize {
    /// Of which part: `links` or `halfshaft`.
    pub part: &'static str,
    /// Names of those links, where others have a thickness; else empty.
    pub only: Vec<String>,
    /// That was taken.
    pub diameter_mm: f64,
}

/// A pair of a corner at design.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GapAtDesign {
    /// `toe link / halfshaft`.
    pub pair: String,
    /// Between the surfaces; negative where they overlap.
    pub gap_mm: f64,
    /// Against the least gap.
    pub state: State,
}

/// Where there is no posture there is no gap, and never the least one.
const NO_GAP_MM: f64 = f64::INFINITY;

/// A least gap is found at a bump travel to this, mm: to a hundredth of a millimetre with room to spare.
const SETTLED_MM: f64 = 1e-3;

/// Gaps that differ by less are equal to rounding, mm.
const SAME_GAP_MM: f64 = 1e-9;

/// A gap that changes by less between two places where it is least stays the same, mm.
const STAYS_MM: f64 = 1e-6;

impl ClearanceFindings {
    /// Of one wheel through its travel.
    pub fn of(wheel: &RigWheel) -> Self {
        let (geometry, side) = (wheel.geometry, wheel.corner.side);
        let limit_mm = geometry.clearance.least_mm();
        let bodies = Bodies::of(geometry, side);
        let (low_mm, high_mm) = wheel.path.reach_mm();
        let bound = wheel.path.binds_in_bump.or(wheel.path.binds_in_droop).is_some() || low_mm == high_mm;
        let mut pairs: Vec<PairClearance> =
            bodies.pairs().filter_map(|pair| PairClearance::of(&bodies, pair, wheel, limit_mm, bound)).collect();
        pairs.sort_by(|a, b| a.least_mm.total_cmp(&b.least_mm));
        Self {
            limit_mm,
            limit_is_default: geometry.clearance.least_mm.is_none(),
            least_mm: pairs.first().map(|pair| pair.least_mm),
            pairs,
            assumed: assumed(geometry, side),
            without_body: without_body(geometry, side),
        }
    }

    /// Pairs that are nearer than they may be.
    pub fn failing(&self) -> impl Iterator<Item = &PairClearance> {
        self.pairs.iter().filter(|pair| pair.state == State::Fail)
    }
}

impl PairClearance {
    /// `bound`: the wheel binds before the end of its travel or has none, so that no gap of it can pass.
    fn of(bodies: &Bodies, pair: Pair, wheel: &RigWheel, limit_mm: f64, bound: bool) -> Option<Self> {
        let gaps = gaps_at_postures(bodies, pair, wheel.corner, &wheel.path);
        let least_places = least_among(&gaps, bodies, pair, wheel.corner, &wheel.path);
        let least = least_places.iter().min_by(|a, b| a.value.total_cmp(&b.value))?;
        let at_design_mm = bodies.gap_mm(pair, wheel.corner, wheel.design_posture())?;
        // A gap that is the same everywhere is told where the car stands.
        let at_bump_mm = if at_design_mm - least.value < SAME_GAP_MM { 0.0 } else { least.at };
        let mut curve: Vec<(f64, f64)> = gaps.into_iter().filter(|(_, gap_mm)| gap_mm.is_finite()).collect();
        curve.extend(least_places.iter().map(|place| (place.at, place.value)));
        curve.sort_by(|a, b| a.0.total_cmp(&b.0));
        let state = match least.value < limit_mm {
            true => State::Fail,
            false if bound => State::NotChecked,
            false => State::Pass,
        };
        Some(Self { pair: bodies.name(pair), least_mm: least.value, at_bump_mm, at_design_mm, state, curve })
    }
}

impl GapAtDesign {
    /// Every pair of one wheel as drawn, the nearest first, but for links that have no chassis point.
    pub(super) fn all(geometry: &Geometry, corner: &Corner) -> Vec<Self> {
        let Ok(design) = Linkage::new(corner).design() else { return Vec::new() };
        let links = &geometry.adjustments[corner.side].links;
        let bodies = Bodies::of(geometry, corner.side);
        let gap = |pair: Pair| {
            let gap_mm = bodies.gap_mm(pair, corner, &design)?;
            let state = if gap_mm < geometry.clearance.least_mm() { State::Fail } else { State::Pass };
            Some(Self { pair: bodies.name(pair), gap_mm, state })
        };
        let pairs = bodies.pairs().filter(|pair| bodies.links_of(*pair).all(|link| links[link].is_placed()));
        let mut gaps: Vec<Self> = pairs.filter_map(gap).collect();
        gaps.sort_by(|a, b| a.gap_mm.total_cmp(&b.gap_mm));
        gaps
    }
}

/// Every place of a path where a pair is nearer than on either side of it, the ends of the path among them; bump travel and
/// gap in mm.
pub(super) fn places_of_least_gap(bodies: &Bodies, pair: Pair, corner: &Corner, path: &WheelPath) -> Vec<LeastPlace> {
    least_among(&gaps_at_postures(bodies, pair, corner, path), bodies, pair, corner, path)
}

/// Those of them where the gap is below `worth_mm`. `way` is that of the upright along the path.
pub(super) fn places_of_gap_below(
    worth_mm: f64,
    bodies: &Bodies,
    pair: Pair,
    corner: &Corner,
    (path, way): (&WheelPath, &UprightWay),
) -> Vec<LeastPlace> {
    let approach = Approach::of(bodies, pair, corner);
    let mut known: Option<(usize, f64)> = None;
    let gap = |(row, posture): (usize, &Posture)| {
        // Where the upright has not gone far enough since to bring the pair so near, nobody looks.
        let is_far =
            |(at, gap_mm): (usize, f64)| gap_mm - approach.together_mm(way.carried_mm(&approach, at, row)) >= worth_mm;
        if known.is_some_and(is_far) {
            return (posture.bump_mm, NO_GAP_MM);
        }
        let gap_mm = bodies.gap_mm(pair, corner, posture).unwrap_or(NO_GAP_MM);
        known = Some((row, gap_mm));
        (posture.bump_mm, if gap_mm < worth_mm { gap_mm } else { NO_GAP_MM })
    };
    let gaps: Vec<(f64, f64)> = path.postures().iter().enumerate().map(gap).collect();
    let mut places = least_among(&gaps, bodies, pair, corner, path);
    places.retain(|place| place.value < worth_mm);
    places
}

/// How far the upright has gone along a path, at every posture of it.
pub(super) struct UprightWay {
    /// Wheel centre, mm, and turn, rad.
    gone: Vec<(f64, f64)>,
}

impl UprightWay {
    pub fn along(path: &WheelPath) -> Self {
        let mut gone = vec![(0.0, 0.0)];
        for pair in path.postures().windows(2) {
            let (centre_mm, turn) = gone[gone.len() - 1];
            let by_mm = (pair[1].displacement - pair[0].displacement).norm();
            // The matrices differ by √2 times what the furthest direction turns by.
            let by = (pair[1].rotation - pair[0].rotation).norm() / SQRT_2;
            gone.push((centre_mm + by_mm, turn + by));
        }
        Self { gone }
    }

    /// How far a point of a pair that the upright carries has gone at most from one posture to a later one, mm.
    fn carried_mm(&self, approach: &Approach, from: usize, to: usize) -> f64 {
        let ((from_mm, from_turn), (to_mm, to_turn)) = (self.gone[from], self.gone[to]);
        approach.carried_mm(to_mm - from_mm, to_turn - from_turn)
    }
}

/// Bump travel and the gap of a pair there, mm, at every posture of a path.
fn gaps_at_postures(bodies: &Bodies, pair: Pair, corner: &Corner, path: &WheelPath) -> Vec<(f64, f64)> {
    let gap = |posture: &Posture| (posture.bump_mm, bodies.gap_mm(pair, corner, posture).unwrap_or(NO_GAP_MM));
    path.postures().iter().map(gap).collect()
}

/// As [`places_of_least_gap`], the gaps at the postures known.
fn least_among(gaps: &[(f64, f64)], bodies: &Bodies, pair: Pair, corner: &Corner, path: &WheelPath) -> Vec<LeastPlace> {
    let gap_mm = |bump_mm: f64| path.at(bump_mm).and_then(|posture| bodies.gap_mm(pair, corner, &posture));
    let mut places = least_places(gaps, |bump_mm| gap_mm(bump_mm).unwrap_or(NO_GAP_MM), SETTLED_MM);
    // A gap that stays the same is least nowhere but by rounding.
    places.dedup_by(|a, b| (a.value - b.value).abs() < STAYS_MM);
    places
}

/// Thicknesses of one side that the file leaves open.
pub(super) fn assumed(geometry: &Geometry, side: Side) -> Vec<AssumedSize> {
    let corner = geometry.corner(side);
    let without = corner.links.iter().filter(|link| link.tube.is_none()).map(|link| link.name.clone());
    let without: Vec<String> = without.collect();
    let has_open_link = !without.is_empty();
    let only = if without.len() == corner.links.len() { Vec::new() } else { without };
    let shaft = corner.halfshaft.is_some() && geometry.clearance.shaft_radius_mm.is_none();
    let shaft_mm = 2.0 * Clearance::DEFAULT_SHAFT_RADIUS_MM;
    let sizes = [
        (has_open_link, AssumedSize { part: "links", only, diameter_mm: LinkTube::DEFAULT_OD_MM }),
        (shaft, AssumedSize { part: "halfshaft", only: Vec::new(), diameter_mm: shaft_mm }),
    ];
    sizes.into_iter().filter(|(is_open, _)| *is_open).map(|(_, size)| size).collect()
}

/// Parts of one side without a thickness, and the keys that would give them one.
pub(super) fn without_body(geometry: &Geometry, side: Side) -> Vec<Lacking> {
    let (corner, clearance) = (geometry.corner(side), &geometry.clearance);
    let wheel = &corner.wheel;
    let tyre = match (wheel.rim_radius_mm, wheel.tyre_width_mm) {
        (None, None) => "rim_radius and tyre_width in [wheel]",
        (None, Some(_)) => "rim_radius in [wheel]",
        (Some(_), None) => "tyre_width in [wheel]",
        (Some(_), Some(_)) => "",
    };
    let boots = corner.halfshaft.is_some() && clearance.boots.is_none();
    let spring = corner.spring.is_some() && clearance.spring_radius_mm.is_none();
    let tubes = geometry.tubes.iter().any(|tube| tube.od_mm.is_none());
    let parts = [
        (boots, "boots", "boot_radius and boot_length in [clearance]"),
        (spring, "spring", "spring_radius in [clearance]"),
        (!tyre.is_empty(), "tyre and rim", tyre),
        (tubes, "frame tubes", "od in every [[tube]]"),
    ];
    parts
        .into_iter()
        .filter(|(lacks, ..)| *lacks)
        .map(|(_, what, needs)| Lacking { what: what.to_owned(), needs: needs.to_owned() })
        .collect()
}

#[cfg(test)]
mod tests {
    use nalgebra::{Point3, Vector3};

    use super::{Bodies, UprightWay, assumed, places_of_gap_below, places_of_least_gap, without_body};
    use crate::file::GeometryFile;
    use crate::geometry::{Boots, Geometry, LinkTube, Side, Tube};
    use crate::mechanism::Linkage;
    use crate::mechanism::WheelPath;

    fn demo() -> Geometry {
        GeometryFile::parse("demo", include_str!("../../geometries/first-cut.toml")).expect("a sound car").geometry
    }

    /// Of every kind of body, at every row that is looked at and at every one that is passed over.
    #[test]
    fn gaps_below_a_value_are_those_of_all_that_are() {
        let mut car = demo();
        car.clearance.boots = Some(Boots { radius_mm: 38.0, length_mm: 90.0 });
        car.clearance.spring_radius_mm = Some(30.0);
        (car.left.wheel.rim_radius_mm, car.left.wheel.tyre_width_mm) = (Some(190.0), Some(225.0));
        let at = car.left.links[4].upright + Vector3::new(0.0, -40.0, 45.0);
        let [from, to] = [-300.0, 300.0].map(|x_mm| at + Vector3::x() * x_mm);
        car.tubes.push(Tube { name: "rail".into(), from, to, od_mm: Some(20.0), wall_mm: None, material: None });
        let rows_mm: Vec<f64> = (-75..=75).map(f64::from).collect();
        let path = WheelPath::follow(&Linkage::new(&car.left), &rows_mm).expect("a sound car");
        let (bodies, way) = (Bodies::of(&car, Side::Left), UprightWay::along(&path));
        let (mut found, mut left_out) = (0, 0);
        for pair in bodies.pairs() {
            let all = places_of_least_gap(&bodies, pair, &car.left, &path);
            for worth_mm in [0.0, 20.0, 45.0, 100.0, 150.0] {
                let below: Vec<_> = all.iter().copied().filter(|place| place.value < worth_mm).collect();
                assert_eq!(places_of_gap_below(worth_mm, &bodies, pair, &car.left, (&path, &way)), below);
                (found, left_out) = (found + below.len(), left_out + all.len() - below.len());
            }
        }
        assert!(found > 30 && left_out > 30, "{found}, {left_out}");
    }

    /// With every bracket on one line wheel and links turn about it as one piece, and no gap between links changes.
    #[test]
    fn a_gap_that_stays_the_same_is_least_in_one_place() {
        let mut car = demo();
        for (link, y_mm) in car.left.links.iter_mut().zip([290.0, 330.0, 370.0, 410.0, 450.0]) {
            link.chassis = Point3::new(420.0, y_mm, 290.0);
        }
        let path = WheelPath::follow(&Linkage::new(&car.left), &[-60.0, 60.0]).expect("a trailing arm");
        let bodies = Bodies::of(&car, Side::Left);
        let of_links = bodies.pairs().filter(|pair| {
            let name = bodies.name(*pair);
            !["halfshaft", "spring", "wheel", "tyre"].iter().any(|part| name.contains(part))
        });
        let places: Vec<usize> =
            of_links.map(|pair| places_of_least_gap(&bodies, pair, &car.left, &path).len()).collect();
        assert!(places.len() >= 6 && places.iter().all(|count| *count == 1), "{places:?}");
    }

    #[test]
    fn a_part_without_a_thickness_is_told_with_what_would_give_it_one() {
        let mut car = demo();
        let needs = |car: &Geometry| -> Vec<String> {
            let tyre = without_body(car, Side::Left).into_iter().filter(|lacking| lacking.what == "tyre and rim");
            tyre.map(|lacking| lacking.needs).collect()
        };
        assert_eq!(needs(&car), ["tyre_width in [wheel]"]);
        car.left.wheel.tyre_width_mm = Some(205.0);
        assert!(needs(&car).is_empty());
        car.left.wheel.rim_radius_mm = None;
        assert_eq!(needs(&car), ["rim_radius in [wheel]"]);
    }

    #[test]
    fn links_without_a_tube_are_named_where_others_have_one() {
        let mut car = demo();
        let told = |car: &Geometry| {
            let sizes = assumed(car, Side::Left).into_iter().filter(|size| size.part == "links");
            sizes.map(|size| size.only).collect::<Vec<_>>()
        };
        let tube = |od_mm: f64| Some(LinkTube { od_mm, wall_mm: None, material: None });
        car.left.links.iter_mut().for_each(|link| link.tube = None);
        assert_eq!(told(&car), [const { Vec::<String>::new() }]);
        car.left.links[1].tube = tube(25.0);
        car.left.links[2].tube = tube(25.0);
        assert_eq!(told(&car), [["upper front", "lower rear", "toe link"]]);
        (car.left.links[0].tube, car.left.links[3].tube) = (tube(25.0), tube(25.0));
        assert_eq!(told(&car), [["toe link"]]);
        car.left.links[4].tube = tube(25.0);
        assert!(told(&car).is_empty());
    }
}
