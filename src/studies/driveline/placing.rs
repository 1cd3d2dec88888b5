//! Where the final drive would sit best: halfshafts straightest at ride height, inside what they allow over all travel.

use nalgebra::{Point3, Vector3};
use serde::Serialize;

use super::halfshaft::HalfshaftFindings;
use super::plunge::PlungeRoom;
use crate::geometry::{FinalDrive, Flange, Geometry, Halfshaft, HalfshaftJoint, HousingPlace, Interval, PerSide};
use crate::measures::{ShaftMeasures, angle_between_rad, spin_axis};
use crate::mechanism::Posture;
use crate::shafts::Chain;
use crate::studies::{Rig, RigWheel};

/// Places looked at along each way that is free, its ends among them.
const PLACES: usize = 7;
/// A place is found to this, mm or deg.
const SETTLED: f64 = 1e-3;
/// Places of a front that are told.
const FRONT: usize = 25;
/// Weight of the propeller shaft beside the halfshafts: it decides only what does not matter to them.
const PROPSHAFT_WEIGHT: f64 = 1e-3;
/// How often the search keeps more away from a limit that is nearest between two postures.
const ROUNDS: usize = 4;

/// The straightest place in the room of the file, beside the drawn one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Placing {
    /// As the file has it.
    pub drawn: PlaceFindings,
    /// The straightest of those that keep every limit of the halfshafts; the one that breaks them least when none does. Among
    /// places that are as straight, the one with the least angles of the propeller shaft.
    pub best: PlaceFindings,
    /// Moved by, from the drawn place: x, y, z in mm and pitch in deg.
    pub moved_by: [f64; 4],
    /// Places between which one joint can only be straightened by bending another: halfshafts against propeller shaft, straightest halfshafts
    /// first; empty without a propeller shaft. What is left of them is that of the postures of the path.
    pub trade: Vec<PlaceFindings>,
}

/// The driveline with the housing in one place, at design height unless said otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PlaceFindings {
    /// Of the datum, car axes.
    pub origin_mm: [f64; 3],
    /// Nose down positive.
    pub pitch_deg: f64,
    /// Root mean square of the angles of all joints of both halfshafts.
    pub halfshaft_deg: f64,
    /// The largest of them.
    pub worst_halfshaft_deg: f64,
    /// Largest angle of a joint of the propeller shaft; `None` without one.
    pub worst_propshaft_deg: Option<f64>,
    /// Its equivalent angle.
    pub propshaft_equivalent_deg: Option<f64>,
    /// Least of what is left over all travel of the angles of both halfshafts, negative beyond; `None` without limits.
    pub angle_left_deg: Option<f64>,
    /// Least of what is left over all travel of their plunge; `None` without a window.
    pub plunge_left_mm: Option<f64>,
}

impl PlaceFindings {
    /// Nothing is broken over the travel.
    pub fn keeps_limits(&self) -> bool {
        !self.is_short_of(Reserve::default())
    }

    fn is_short_of(&self, reserve: Reserve) -> bool {
        beyond(self.angle_left_deg, reserve.angle_deg) > 0.0 || beyond(self.plunge_left_mm, reserve.plunge_mm) > 0.0
    }
}

/// What of a wheel moves past the housing: outer joint and spin axis at every posture of its path.
struct Passing<'g> {
    wheel: &'g RigWheel<'g>,
    postures: Vec<(Point3<f64>, Vector3<f64>)>,
    design: usize,
}

struct Problem<'g> {
    geometry: &'g Geometry,
    housing: &'g FinalDrive,
    wheels: PerSide<Passing<'g>>,
    /// What must be left at the postures of the paths, so that nothing is broken between them.
    reserve: Reserve,
}

#[derive(Debug, Clone, Copy, Default)]
struct Reserve {
    angle_deg: f64,
    plunge_mm: f64,
}

impl Placing {
    /// `None` when the housing has no room, or there is no halfshaft on one side.
    pub(super) fn of(rig: &Rig) -> Option<Self> {
        let geometry = rig.geometry;
        let housing = geometry.final_drive.as_ref().filter(|housing| !housing.free.is_nothing())?;
        let wheels = PerSide { left: Passing::of(&rig.left)?, right: Passing::of(&rig.right)? };
        let mut problem = Problem { geometry, housing, wheels, reserve: Reserve::default() };
        let drawn = problem.exactly(&[0.0; 4])?;
        let coarse = problem.grid();
        let (mut moved_by, mut best) = problem.straightest(&coarse)?;
        for _ in 1..ROUNDS {
            if best.keeps_limits() || problem.at(&moved_by)?.is_short_of(problem.reserve) {
                break;
            }
            problem.reserve.angle_deg += beyond(best.angle_left_deg, 0.0);
            problem.reserve.plunge_mm += beyond(best.plunge_left_mm, 0.0);
            (moved_by, best) = problem.straightest(&coarse)?;
        }
        let has_shaft = drawn.worst_propshaft_deg.is_some();
        let known = coarse.into_iter().map(|(_, place)| place).chain([drawn, best]);
        let trade = if has_shaft { front(known.filter(PlaceFindings::keeps_limits).collect()) } else { Vec::new() };
        Some(Self { drawn, best, moved_by, trade })
    }
}

/// How far something is beyond what must be left of it; 0 without a limit.
fn beyond(left: Option<f64>, reserve: f64) -> f64 {
    left.map_or(0.0, |left| (reserve - left).max(0.0))
}

/// Places of which no other is straighter both ways, straightest halfshafts first; evenly thinned.
fn front(mut places: Vec<PlaceFindings>) -> Vec<PlaceFindings> {
    let propshaft = |place: &PlaceFindings| place.worst_propshaft_deg.unwrap_or(0.0);
    places.sort_by(|a, b| {
        (a.halfshaft_deg, propshaft(a))
            .partial_cmp(&(b.halfshaft_deg, propshaft(b)))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    let mut least = f64::INFINITY;
    places.retain(|place| {
        let straighter = propshaft(place) < least;
        least = least.min(propshaft(place));
        straighter
    });
    let every = places.len().div_ceil(FRONT).max(1);
    let last = places.len().saturating_sub(1);
    places.into_iter().enumerate().filter(|(k, _)| k % every == 0 || *k == last).map(|(_, place)| place).collect()
}

impl<'g> Passing<'g> {
    fn of(wheel: &'g RigWheel<'g>) -> Option<Self> {
        let halfshaft = wheel.corner.halfshaft.as_ref()?;
        let postures = wheel.path.postures();
        let at = |posture: &Posture| (posture.point(&halfshaft.outer), spin_axis(wheel.corner, posture));
        let design = postures.iter().position(|posture| posture.bump_mm == 0.0)?;
        Some(Self { wheel, postures: postures.iter().map(at).collect(), design })
    }
}

impl Problem<'_> {
    fn rooms(&self) -> [Interval; 4] {
        self.housing.free.all().map(|room| room.unwrap_or(Interval::single(0.0)))
    }

    /// Straightness; a place that breaks a limit is worse than any that does not, and the worse the more it breaks.
    fn cost(&self, place: &PlaceFindings) -> f64 {
        let angle_deg = beyond(place.angle_left_deg, self.reserve.angle_deg);
        let broken = angle_deg + beyond(place.plunge_left_mm, self.reserve.plunge_mm);
        let propshaft = place.worst_propshaft_deg.into_iter().chain(place.propshaft_equivalent_deg).sum::<f64>();
        let straight = place.halfshaft_deg + PROPSHAFT_WEIGHT * propshaft;
        straight + if broken > 0.0 { 1e3 + 10.0 * broken } else { 0.0 }
    }

    /// The straightest place, and what is left there over all travel.
    fn straightest(&self, coarse: &[([f64; 4], PlaceFindings)]) -> Option<([f64; 4], PlaceFindings)> {
        let (start, _) = coarse.iter().min_by(|(_, a), (_, b)| self.cost(a).total_cmp(&self.cost(b)))?;
        let by = self.refined(*start)?;
        Some((by, self.exactly(&by)?))
    }

    /// With the least that is left found along the paths, not only at their postures.
    fn exactly(&self, by: &[f64; 4]) -> Option<PlaceFindings> {
        let housing = FinalDrive { place: self.housing.place.moved(by), ..self.housing.clone() };
        let (mut angle_left_deg, mut plunge_left_mm): (Option<f64>, Option<f64>) = (None, None);
        for (_, passing) in self.wheels.iter() {
            let mut corner = passing.wheel.corner.clone();
            housing.seat(&mut corner);
            let checks = HalfshaftFindings::of(&RigWheel { corner: &corner, ..passing.wheel.clone() })?.checks;
            let left = |unit: &str| {
                let margins = checks.iter().filter(|check| check.unit == unit).filter_map(|check| check.margin);
                margins.reduce(f64::min)
            };
            angle_left_deg = least(angle_left_deg, left("deg"));
            plunge_left_mm = least(plunge_left_mm, left("mm"));
        }
        Some(PlaceFindings { angle_left_deg, plunge_left_mm, ..self.at(by)? })
    }

    /// With what is left at the postures of the paths.
    fn at(&self, by: &[f64; 4]) -> Option<PlaceFindings> {
        let place = self.housing.place.moved(by);
        let (mut angle_left_deg, mut plunge_left_mm): (Option<f64>, Option<f64>) = (None, None);
        for (side, passing) in self.wheels.iter() {
            let (angle_deg, plunge_mm) = passing.left(&self.housing.output_at(&place, side))?;
            angle_left_deg = least(angle_left_deg, angle_deg);
            plunge_left_mm = least(plunge_left_mm, plunge_mm);
        }
        Some(PlaceFindings { angle_left_deg, plunge_left_mm, ..self.at_design(by) })
    }

    /// Without what is left over the travel.
    fn at_design(&self, by: &[f64; 4]) -> PlaceFindings {
        let place = self.housing.place.moved(by);
        let (mut worst_halfshaft_deg, mut squares): (f64, f64) = (0.0, 0.0);
        for (side, passing) in self.wheels.iter() {
            let shaft = passing.at_design(&self.housing.output_at(&place, side));
            for deg in [shaft.inner_angle_deg, shaft.outer_angle_deg] {
                worst_halfshaft_deg = worst_halfshaft_deg.max(deg);
                squares += deg * deg;
            }
        }
        let chain = self.chain(&place);
        let bent = |chain: &Chain| chain.angles_rad().iter().copied().fold(0.0, f64::max).to_degrees();
        PlaceFindings {
            origin_mm: place.origin.into(),
            pitch_deg: place.pitch_deg,
            halfshaft_deg: (0.25 * squares).sqrt(),
            worst_halfshaft_deg,
            worst_propshaft_deg: chain.as_ref().map(bent),
            propshaft_equivalent_deg: chain.map(|chain| chain.equivalent_angle_rad().to_degrees()),
            angle_left_deg: None,
            plunge_left_mm: None,
        }
    }

    /// The cost of a place when it is below another; a limit can only add to what a place costs at design height.
    fn below(&self, value: f64, by: &[f64; 4]) -> Option<f64> {
        if self.cost(&self.at_design(by)) >= value {
            return None;
        }
        Some(self.cost(&self.at(by)?)).filter(|cost| *cost < value)
    }

    fn chain(&self, place: &HousingPlace) -> Option<Chain> {
        let mut shaft = self.geometry.propshaft.clone().filter(|_| self.housing.pinion.is_some())?;
        self.housing.seat_propshaft(&mut shaft, place);
        Chain::of(&shaft)
    }

    /// Every place of a grid over the room.
    fn grid(&self) -> Vec<([f64; 4], PlaceFindings)> {
        let along = |room: Interval| -> Vec<f64> {
            if room.width() == 0.0 {
                return vec![room.low];
            }
            (0..PLACES).map(|k| room.low + room.width() * k as f64 / (PLACES - 1) as f64).collect()
        };
        let [x, y, z, pitch] = self.rooms().map(along);
        let mut found = Vec::new();
        for &x in &x {
            for &y in &y {
                for &z in &z {
                    for &pitch in &pitch {
                        let by = [x, y, z, pitch];
                        found.extend(self.at(&by).map(|place| (by, place)));
                    }
                }
            }
        }
        found
    }

    /// From a place of the grid to the best near it: one way after the other and along what the last round gained, by steps that are
    /// halved when none helps.
    fn refined(&self, start: [f64; 4]) -> Option<[f64; 4]> {
        let rooms = self.rooms();
        let mut steps = rooms.map(|room| room.width() / (PLACES - 1) as f64);
        let mut here = start;
        let mut value = self.cost(&self.at(&here)?);
        let inside = |by: [f64; 4]| std::array::from_fn(|k| by[k].clamp(rooms[k].low, rooms[k].high));
        while steps.iter().any(|step| *step > SETTLED) {
            let before = here;
            for k in 0..4 {
                for sign in [1.0, -1.0] {
                    let mut tried: [f64; 4] = here;
                    tried[k] += sign * steps[k];
                    let tried: [f64; 4] = inside(tried);
                    if let Some(found) = self.below(value, &tried) {
                        (here, value) = (tried, found);
                    }
                }
            }
            let further: [f64; 4] = inside(std::array::from_fn(|k| 2.0 * here[k] - before[k]));
            if let Some(found) = self.below(value, &further) {
                (here, value) = (further, found);
            } else if here == before {
                steps = steps.map(|step| 0.5 * step);
            }
        }
        Some(here)
    }
}

fn least(a: Option<f64>, b: Option<f64>) -> Option<f64> {
    a.into_iter().chain(b).reduce(f64::min)
}

impl Passing<'_> {
    /// The shaft with its inner joint at a flange.
    fn seated(&self, flange: &Flange) -> Option<Halfshaft> {
        let halfshaft = self.wheel.corner.halfshaft.clone()?;
        Some(Halfshaft { inner: flange.at, axis: flange.axis, ..halfshaft })
    }

    fn measures(flange: &Flange, length_mm: f64, (outer, spin): &(Point3<f64>, Vector3<f64>)) -> ShaftMeasures {
        let along = outer - flange.at;
        ShaftMeasures {
            inner_angle_deg: angle_between_rad(&along, &flange.axis).to_degrees(),
            outer_angle_deg: angle_between_rad(&along, spin).to_degrees(),
            plunge_mm: along.norm() - length_mm,
        }
    }

    /// Its plunge counts from there.
    fn at_design(&self, flange: &Flange) -> ShaftMeasures {
        let posture = &self.postures[self.design];
        Self::measures(flange, (posture.0 - flange.at).norm(), posture)
    }

    /// Least that is left at the postures of the path: of both angles, deg, and of the plunge, mm, each `None` without a limit.
    fn left(&self, flange: &Flange) -> Option<(Option<f64>, Option<f64>)> {
        let halfshaft = self.seated(flange)?;
        let most = |limit_deg: Option<f64>, joint: Option<HalfshaftJoint>| {
            limit_deg.or(joint.map(HalfshaftJoint::typical_limit_deg))
        };
        let (inner, outer) = (
            most(halfshaft.inner_limit_deg, halfshaft.make.inner),
            most(halfshaft.outer_limit_deg, halfshaft.make.outer),
        );
        // A shaft that is there keeps its length; a window counted from the design length is that of a shaft made to fit.
        let room = PlungeRoom::of(&halfshaft);
        let (mut angle_left_deg, mut plunge_left_mm): (Option<f64>, Option<f64>) = (None, None);
        if inner.is_none() && outer.is_none() && room.is_none() {
            return Some((angle_left_deg, plunge_left_mm));
        }
        let length_mm = halfshaft.length_mm();
        for posture in &self.postures {
            let shaft = Self::measures(flange, length_mm, posture);
            angle_left_deg = least(angle_left_deg, inner.map(|most| most - shaft.inner_angle_deg));
            angle_left_deg = least(angle_left_deg, outer.map(|most| most - shaft.outer_angle_deg));
            plunge_left_mm = least(
                plunge_left_mm,
                room.as_ref().map(|room| {
                    let window = room.at(&shaft);
                    (shaft.plunge_mm - window.low).min(window.high - shaft.plunge_mm)
                }),
            );
        }
        Some((angle_left_deg, plunge_left_mm))
    }
}
