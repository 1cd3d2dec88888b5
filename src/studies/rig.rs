//! A car on the rig: each wheel's path followed once, ready to be set on any road.

use std::error::Error;
use std::fmt;

use serde::Serialize;

use super::stations::stations;
use crate::geometry::{Corner, Geometry, PerSide, Side, Travel};
use crate::measures::{DesignContact, Road, Row, WheelMeasures, spin_axis};
use crate::mechanism::{Bind, Linkage, MAX_CLOSURE_ERROR_MM, Posture, SolveError, WheelPath};

/// A wheel may stand this far beyond its stop and still count as on it, mm.
pub const STOP_TOLERANCE_MM: f64 = 1e-6;

/// One wheel: its corner and its path between the stops.
#[derive(Debug, Clone)]
pub struct RigWheel<'g> {
    /// The drawn corner.
    pub corner: &'g Corner,
    /// Its wheel through all travel.
    pub path: WheelPath,
    /// Where its tyre meets the road at design.
    pub design_contact: DesignContact,
    /// The car that it belongs to.
    pub geometry: &'g Geometry,
}

/// A wheel standing on a road.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WheelOnRoad {
    /// Of the wheel there.
    pub posture: Posture,
    /// Error of the height of the contact point over the road, mm.
    pub contact_error_mm: f64,
}

/// Why a wheel cannot stand on a road.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoContact {
    /// The wheel would have to go beyond its stop.
    BeyondStop,
    /// The links bind before the wheel gets there.
    Binds(Bind),
    /// The tyre does not rise with the wheel: its lean changes so fast that bump lowers it.
    NotLifted,
}

impl NoContact {
    /// What was found, without what to do about it.
    pub fn what(&self) -> String {
        match self {
            NoContact::BeyondStop => "the wheel meets its stop before it stands there".to_owned(),
            NoContact::Binds(bind) => format!("the corner {bind}"),
            NoContact::NotLifted => "the tyre does not rise with its wheel, so fast does it lean".to_owned(),
        }
    }
}

impl fmt::Display for NoContact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let advice = match self {
            NoContact::BeyondStop => "give more travel",
            NoContact::Binds(_) => "move one of these links, or ask for less",
            NoContact::NotLifted => "ask for less roll or travel",
        };
        write!(f, "{}; {advice}", self.what())
    }
}

impl Error for NoContact {}

impl<'g> RigWheel<'g> {
    pub(super) fn new(geometry: &'g Geometry, side: Side) -> Result<Self, SingularDesign> {
        let (corner, travel) = (geometry.corner(side), &geometry.travel);
        let heave_mm = stations(-travel.droop_mm, travel.bump_mm, travel.step_mm);
        let path =
            WheelPath::follow(&Linkage::new(corner), &heave_mm).map_err(|_: SolveError| SingularDesign { side })?;
        let design_contact = DesignContact::of(corner);
        Ok(Self { corner, path, design_contact, geometry })
    }

    /// The postures at the rows of the heave study that this wheel reaches, rising.
    pub fn postures_shown(&self) -> impl Iterator<Item = Posture> {
        let Travel { droop_mm, bump_mm, step_mm, .. } = self.geometry.travel;
        stations(-droop_mm, bump_mm, step_mm).into_iter().filter_map(|bump_mm| self.path.at(bump_mm))
    }

    /// The road under this wheel.
    pub fn road(&self, body_roll_deg: f64, ride_height_change_mm: f64) -> Road {
        Road::new(self.corner.side, body_roll_deg, ride_height_change_mm, self.design_contact.ground_mm)
    }

    /// Finds the bump travel at which the tyre just stands on a road.
    ///
    /// The wheel's path is one curve, so this is one equation in one unknown: the height of the tyre's lowest point above
    /// the road is zero. Newton with the exact derivative along the path, kept inside a bracket. `near_mm` is where to
    /// start.
    pub fn place_on(&self, road: &Road, near_mm: f64) -> Result<WheelOnRoad, NoContact> {
        let (lowest_mm, highest_mm) = self.path.reach_mm();
        let mut low = lowest_mm - room_mm(self.path.binds_in_droop);
        let mut high = highest_mm + room_mm(self.path.binds_in_bump);
        let mut bump_mm = near_mm.clamp(lowest_mm, highest_mm);
        let mut last_mm = f64::INFINITY;
        let mut ends_reach_it = false;
        for _ in 0..60 {
            let Some(posture) = self.path.at(bump_mm) else { break };
            let (height_mm, slope) = self.clearance(&posture, road);
            // Settled when at rounding, or when inside the guarantee and no longer getting better.
            if height_mm.abs() <= 1e-12 || (height_mm.abs() <= MAX_CLOSURE_ERROR_MM && height_mm.abs() >= last_mm) {
                return Ok(WheelOnRoad { posture, contact_error_mm: height_mm.abs() });
            }
            last_mm = height_mm.abs();
            if height_mm > 0.0 {
                high = bump_mm
            } else {
                low = bump_mm
            }
            let newton = bump_mm - height_mm / slope;
            if low <= newton && newton <= high {
                bump_mm = newton;
                continue;
            }
            if !ends_reach_it {
                self.ends_reach(road)?;
                ends_reach_it = true;
            }
            bump_mm = 0.5 * (low + high);
        }
        // Never answer with a wheel off the road.
        let bind = if bump_mm < 0.0 { self.path.binds_in_droop } else { self.path.binds_in_bump };
        Err(bind.map_or(NoContact::NotLifted, NoContact::Binds))
    }

    /// Whether the tyre is below a road at full droop and above it at full bump, or why not.
    fn ends_reach(&self, road: &Road) -> Result<(), NoContact> {
        let postures = self.path.postures();
        let ends = [
            (&postures[0], self.path.binds_in_droop, 1.0),
            (&postures[postures.len() - 1], self.path.binds_in_bump, -1.0),
        ];
        for (end, bind, inward) in ends {
            let (height_mm, slope) = self.clearance(end, road);
            // The stop is overshot by the height left, over the rate at which bump takes it up.
            if inward * height_mm > room_mm(bind) * slope.abs() {
                return Err(match bind {
                    Some(bind) => NoContact::Binds(bind),
                    None if slope > 0.0 => NoContact::BeyondStop,
                    None => NoContact::NotLifted,
                });
            }
        }
        Ok(())
    }

    /// Bump travel at which this wheel stands when the level body is lifted by a ride-height change, mm; `None` when that
    /// is beyond a stop or the links bind before.
    pub fn bump_at_ride_height_mm(&self, ride_height_change_mm: f64) -> Option<f64> {
        let road = self.road(0.0, ride_height_change_mm);
        self.place_on(&road, -ride_height_change_mm).ok().map(|standing| standing.posture.bump_mm)
    }

    /// The end of its way that comes nearest to a road which it does not reach.
    pub(super) fn end_towards(&self, road: &Road) -> &Posture {
        let postures = self.path.postures();
        let (lowest, highest) = (&postures[0], &postures[postures.len() - 1]);
        if self.clearance(lowest, road).0 > 0.0 { lowest } else { highest }
    }

    /// Why this wheel does not get to a travel.
    pub(super) fn short_of(&self, bump_mm: f64) -> NoContact {
        let bind = if bump_mm < 0.0 { self.path.binds_in_droop } else { self.path.binds_in_bump };
        bind.map_or(NoContact::BeyondStop, NoContact::Binds)
    }

    /// Height of the tyre above a road, mm, and its change per mm of bump travel.
    pub(super) fn clearance(&self, posture: &Posture, road: &Road) -> (f64, f64) {
        let s = spin_axis(self.corner, posture);
        let radius_mm = self.corner.wheel.tyre_radius_mm;
        let (height_mm, _) = road.clearance_mm(&posture.wheel_centre(), &s, radius_mm);
        let n = road.normal();
        let lean = n.dot(&s);
        let lean_rate = n.dot(&posture.motion.angular.cross(&s));
        let slope = n.dot(&posture.motion.velocity) + radius_mm * lean * lean_rate / (1.0 - lean * lean).sqrt();
        (height_mm, slope)
    }

    /// Body roll, deg (ISO 8855 sign), at which this wheel meets one of its stops with the ride height unchanged.
    /// `None` when the path does not reach that stop or no roll gets it there.
    pub fn roll_at_stop_deg(&self, stop: WheelStop) -> Option<f64> {
        let postures = self.path.postures();
        let (posture, stop_mm) = match stop {
            WheelStop::Droop => (&postures[0], -self.geometry.travel.droop_mm),
            WheelStop::Bump => (&postures[postures.len() - 1], self.geometry.travel.bump_mm),
        };
        if posture.bump_mm != stop_mm {
            return None;
        }
        let s = spin_axis(self.corner, posture);
        let mut roll_deg = 0.0;
        for _ in 0..30 {
            let road = self.road(roll_deg, 0.0);
            let (height_mm, per_rad) = road.clearance_mm(&posture.wheel_centre(), &s, self.corner.wheel.tyre_radius_mm);
            let step_deg = self.corner.side.sign() * (height_mm / per_rad).to_degrees();
            roll_deg -= step_deg;
            if step_deg.abs() < 1e-10 {
                return (roll_deg.abs() < 90.0).then_some(roll_deg);
            }
        }
        None
    }

    /// What is measured against the chassis at a posture.
    pub fn measures(&self, posture: &Posture) -> WheelMeasures {
        WheelMeasures::of(self.corner, &self.geometry.car, posture)
    }

    /// This wheel at one bump travel with the body level, as in bump and droop; `None` beyond its reach.
    pub fn level_row_at(&self, bump_mm: f64) -> Option<Row> {
        self.path.at(bump_mm).map(|posture| self.level_row(&posture))
    }

    /// The posture at design height, where every path starts.
    pub fn design_posture(&self) -> &Posture {
        let postures = self.path.postures();
        &postures[postures.partition_point(|posture| posture.bump_mm < 0.0)]
    }

    /// This wheel at design height.
    pub fn design_row(&self) -> Row {
        self.level_row(self.design_posture())
    }

    /// The wheel at a posture of its path, the body level.
    pub(super) fn level_row(&self, posture: &Posture) -> Row {
        Row::level(self.corner, &self.geometry.car, posture, &self.design_contact)
    }
}

/// How far beyond the end of a path a wheel still counts as on it, mm: not at all where the links bind.
fn room_mm(bind: Option<Bind>) -> f64 {
    if bind.is_some() { 0.0 } else { STOP_TOLERANCE_MM }
}

/// An end of the wheel travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum WheelStop {
    /// Up.
    Bump,
    /// Down.
    Droop,
}

impl WheelStop {
    /// `bump` or `droop`.
    pub fn name(self) -> &'static str {
        match self {
            WheelStop::Bump => "bump",
            WheelStop::Droop => "droop",
        }
    }
}

/// A design posture that cannot be moved: the links leave a freedom, or bump travel cannot drive the wheel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SingularDesign {
    /// Of the corner.
    pub side: Side,
}

impl fmt::Display for SingularDesign {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the {} side is singular as drawn: its links do not hold the wheel; move a pickup", self.side.name())
    }
}

impl Error for SingularDesign {}

/// Both wheels of a car with their paths.
#[derive(Debug, Clone)]
pub struct Rig<'g> {
    /// The drawn car.
    pub geometry: &'g Geometry,
    /// Its left wheel.
    pub left: RigWheel<'g>,
    /// Its right wheel.
    pub right: RigWheel<'g>,
}

impl<'g> Rig<'g> {
    /// Follows both paths through the stations of `[travel]`.
    pub fn new(geometry: &'g Geometry) -> Result<Self, SingularDesign> {
        let left = RigWheel::new(geometry, Side::Left)?;
        let right = RigWheel::new(geometry, Side::Right)?;
        Ok(Self { geometry, left, right })
    }

    /// Something of each wheel, worked out once where what is told of one holds for the other.
    pub(super) fn of_wheels<T: Clone>(&self, of: impl Fn(&RigWheel<'g>) -> T) -> PerSide<T> {
        let left = of(&self.left);
        let right = if self.geometry.looks_alike() { left.clone() } else { of(&self.right) };
        PerSide { left, right }
    }

    /// The wheel of a side.
    pub fn wheel(&self, side: Side) -> &RigWheel<'g> {
        match side {
            Side::Left => &self.left,
            Side::Right => &self.right,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{NoContact, Rig};
    use crate::file::GeometryFile;

    /// Ride heights are put so that the tyre is a little short of a stop, or beyond it.
    #[test]
    fn a_wheel_stands_as_far_as_its_stops_and_no_farther() {
        let file = GeometryFile::parse("demo", include_str!("../../geometries/first-cut.toml")).expect("a sound car");
        let rig = Rig::new(&file.geometry).expect("the drawing holds its wheels");
        let (wheel, level) = (&rig.left, rig.left.road(0.0, 0.0));
        for (stop_mm, inward) in [(-60.0, 1.0), (60.0, -1.0)] {
            let stop = wheel.path.at(stop_mm).expect("a posture");
            let at_stop_mm = -wheel.clearance(&stop, &level).0;
            let road = |short_mm: f64| wheel.road(0.0, at_stop_mm - inward * short_mm);
            // Sought from design height, and from beyond the stop.
            for near_mm in [0.0, 1.1 * stop_mm] {
                let standing = wheel.place_on(&road(0.3), near_mm).expect("a place short of the stop").posture;
                assert!((0.25..0.35).contains(&(inward * (standing.bump_mm - stop_mm))), "{} mm", standing.bump_mm);
                assert!(wheel.clearance(&standing, &road(0.3)).0.abs() < 1e-9);
                assert!(wheel.place_on(&road(-0.3), near_mm).is_err());
            }
        }
    }
    /// Rounding puts a wheel at its stop beyond it, by a tenth of a nanometre and more: that is no wheel beyond its stop.
    #[test]
    fn a_wheel_at_its_stop_stands_on_it_however_it_is_rounded() {
        let file = GeometryFile::parse("demo", include_str!("../../geometries/first-cut.toml")).expect("a sound car");
        let rig = Rig::new(&file.geometry).expect("the drawing holds its wheels");
        let (wheel, level) = (&rig.left, rig.left.road(0.0, 0.0));
        for (stop_mm, inward) in [(-60.0, 1.0), (60.0, -1.0)] {
            let at_stop_mm = -wheel.clearance(&wheel.path.at(stop_mm).expect("a posture"), &level).0;
            let beyond = |mm: f64| wheel.place_on(&wheel.road(0.0, at_stop_mm + inward * mm), 0.0);
            assert!((beyond(0.5e-6).expect("a wheel on its stop").posture.bump_mm - stop_mm).abs() < 1e-6);
            assert_eq!(beyond(2e-6).err(), Some(NoContact::BeyondStop));
        }
    }
}
