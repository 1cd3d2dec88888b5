//! Where the final drive would sit best: halfshafts straightest at ride height, inside what they allow over all travel.

use nalgebra::{Point3, Vector3};
use serde::Serialize;

use super::plunge::PlungeRoom;
use crate::geometry::{FinalDrive, Geometry, HalfshaftJoint, Interval, PerSide, Side};
use crate::measures::{ShaftMeasures, angle_between_rad, spin_axis};
use crate::mechanism::Posture;
use crate::shafts::Chain;
use crate::studies::{Rig, RigWheel};

/// Places looked at along each way that is free, its ends among them.
const PLACES: usize = 9;
/// A place is found to this, mm or deg.
const SETTLED: f64 = 1e-3;
/// Places of a front that are told.
const FRONT: usize = 25;

/// The straightest place in the room of the file, beside the drawn one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Placing {
    /// As the file has it.
    pub drawn: PlaceFindings,
    /// The straightest of those that keep every limit of the halfshafts; the straightest of all when none does.
    pub best: PlaceFindings,
    /// Moved by, from the drawn place: x, y, z in mm and pitch in deg.
    pub moved_by: [f64; 4],
    /// Places between which one joint can only be straightened by bending another: halfshafts against propeller shaft, straightest halfshafts
    /// first; empty without a propeller shaft.
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
    /// Least of what is left over all travel of the angles of both halfshafts; `None` without limits.
    pub angle_left_deg: Option<f64>,
    /// Least of what is left over all travel of their plunge; `None` without a window.
    pub plunge_left_mm: Option<f64>,
}

impl PlaceFindings {
    /// Nothing is broken over the travel.
    pub fn keeps_limits(&self) -> bool {
        self.angle_left_deg.is_none_or(|deg| deg >= 0.0) && self.plunge_left_mm.is_none_or(|mm| mm >= 0.0)
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
}

impl Placing {
    /// `None` when the housing has no room, or there is no halfshaft on one side.
    pub(super) fn of(rig: &Rig) -> Option<Self> {
        let geometry = rig.geometry;
        let housing = geometry.final_drive.as_ref().filter(|housing| !housing.free.is_nothing())?;
        let wheels = PerSide { left: Passing::of(&rig.left)?, right: Passing::of(&rig.right)? };
        let problem = Problem { geometry, housing, wheels };
        let drawn = problem.at(&[0.0; 4])?;
        let coarse = problem.grid();
        let (start, _) = coarse.iter().min_by(|(_, a), (_, b)| cost(a).total_cmp(&cost(b)))?;
        let moved_by = problem.refined(*start)?;
        let best = problem.at(&moved_by)?;
        let has_shaft = drawn.worst_propshaft_deg.is_some();
        let known = coarse.into_iter().map(|(_, place)| place).chain([drawn, best]);
        let trade = if has_shaft { front(known.filter(PlaceFindings::keeps_limits).collect()) } else { Vec::new() };
        Some(Self { drawn, best, moved_by, trade })
    }
}

/// Straightness; a place that breaks a limit is worse than any that does not, and the worse the more it breaks.
fn cost(place: &PlaceFindings) -> f64 {
    let beyond = |left: Option<f64>| left.map_or(0.0, |left| (-left).max(0.0));
    let broken = beyond(place.angle_left_deg) + beyond(place.plunge_left_mm);
    place.halfshaft_deg + if broken > 0.0 { 1e3 + 10.0 * broken } else { 0.0 }
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

    fn at(&self, by: &[f64; 4]) -> Option<PlaceFindings> {
        let place = self.housing.place.moved(by);
        let housing = FinalDrive { place, ..self.housing.clone() };
        let mut angles_deg = Vec::with_capacity(4);
        let (mut angle_left_deg, mut plunge_left_mm): (Option<f64>, Option<f64>) = (None, None);
        for (side, passing) in self.wheels.iter() {
            let figures = Figures::of(passing, &housing, side)?;
            angles_deg.extend([figures.design.inner_angle_deg, figures.design.outer_angle_deg]);
            angle_left_deg = least(angle_left_deg, figures.angle_left_deg);
            plunge_left_mm = least(plunge_left_mm, figures.plunge_left_mm);
        }
        let squares: f64 = angles_deg.iter().map(|deg| deg * deg).sum();
        let chain = self.chain(&housing);
        let bent = |chain: &Chain| chain.angles_rad().iter().copied().fold(0.0, f64::max).to_degrees();
        Some(PlaceFindings {
            origin_mm: place.origin.into(),
            pitch_deg: place.pitch_deg,
            halfshaft_deg: (squares / angles_deg.len() as f64).sqrt(),
            worst_halfshaft_deg: angles_deg.into_iter().fold(0.0, f64::max),
            worst_propshaft_deg: chain.as_ref().map(bent),
            propshaft_equivalent_deg: chain.map(|chain| chain.equivalent_angle_rad().to_degrees()),
            angle_left_deg,
            plunge_left_mm,
        })
    }

    fn chain(&self, housing: &FinalDrive) -> Option<Chain> {
        let mut shaft = self.geometry.propshaft.clone().filter(|_| self.housing.pinion.is_some())?;
        housing.seat_propshaft(&mut shaft, &self.housing.place);
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
        let mut value = cost(&self.at(&here)?);
        let inside = |by: [f64; 4]| std::array::from_fn(|k| by[k].clamp(rooms[k].low, rooms[k].high));
        while steps.iter().any(|step| *step > SETTLED) {
            let before = here;
            for k in 0..4 {
                for sign in [1.0, -1.0] {
                    let mut tried: [f64; 4] = here;
                    tried[k] += sign * steps[k];
                    let tried: [f64; 4] = inside(tried);
                    let found = cost(&self.at(&tried)?);
                    if found < value {
                        (here, value) = (tried, found);
                    }
                }
            }
            let further: [f64; 4] = inside(std::array::from_fn(|k| 2.0 * here[k] - before[k]));
            let found = cost(&self.at(&further)?);
            if found < value {
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

/// One halfshaft with the housing in one place.
struct Figures {
    design: ShaftMeasures,
    angle_left_deg: Option<f64>,
    plunge_left_mm: Option<f64>,
}

impl Figures {
    fn of(passing: &Passing, housing: &FinalDrive, side: Side) -> Option<Self> {
        let mut halfshaft = passing.wheel.corner.halfshaft.clone()?;
        let flange = housing.output(side);
        (halfshaft.inner, halfshaft.axis) = (flange.at, flange.axis);
        let length_mm = halfshaft.length_mm();
        let measures = |(outer, spin): &(Point3<f64>, Vector3<f64>)| {
            let along = outer - flange.at;
            ShaftMeasures {
                inner_angle_deg: angle_between_rad(&along, &flange.axis).to_degrees(),
                outer_angle_deg: angle_between_rad(&along, spin).to_degrees(),
                plunge_mm: along.norm() - length_mm,
            }
        };
        let all: Vec<ShaftMeasures> = passing.postures.iter().map(measures).collect();
        let most = |limit_deg: Option<f64>, joint: Option<HalfshaftJoint>| {
            limit_deg.or(joint.map(HalfshaftJoint::typical_limit_deg))
        };
        let (inner, outer) = (
            most(halfshaft.inner_limit_deg, halfshaft.make.inner),
            most(halfshaft.outer_limit_deg, halfshaft.make.outer),
        );
        let lowest = |value: &dyn Fn(&ShaftMeasures) -> f64| all.iter().map(value).reduce(f64::min);
        let angle_left_deg = least(
            inner.and_then(|most| lowest(&|shaft| most - shaft.inner_angle_deg)),
            outer.and_then(|most| lowest(&|shaft| most - shaft.outer_angle_deg)),
        );
        // A shaft that is there keeps its length; a window counted from the design length is that of a shaft made to fit.
        let room = PlungeRoom::of(&halfshaft);
        let left = |room: &PlungeRoom, shaft: &ShaftMeasures| {
            let window = room.at(shaft);
            (shaft.plunge_mm - window.low).min(window.high - shaft.plunge_mm)
        };
        let plunge_left_mm = room.as_ref().and_then(|room| lowest(&|shaft| left(room, shaft)));
        Some(Self { design: all[passing.design], angle_left_deg, plunge_left_mm })
    }
}
