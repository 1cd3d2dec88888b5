//! The finished study of forces: every case at every wheel and position, and the largest of all.

use std::collections::BTreeMap;

use serde::Serialize;

use super::balance::WheelForces;
use super::cases::{CaseLoad, LoadCase, load_cases_of};
use super::compliance::{self, FlexibleWheel, Held, UnitResponse};
use super::extremes::{Place, WheelExtremes};
use super::frame::{self, BracketOnTube, Masses};
use super::lacking;
use super::margins::{self, LightestTube, Margin, WANTED_RESERVE};
use super::mounts::{self, MountFindings};
use super::strap::{self, StrapOffItsLength, StrapSlack};
use crate::geometry::{Geometry, Side};
use crate::studies::heave::SideBind;
use crate::studies::inspection::Lacking;
use crate::studies::plausibility::{Doubt, doubts};
use crate::studies::rig::Rig;

/// Everything that `forces` tells of a car.
#[derive(Debug, Clone)]
pub struct ForcesFindings<'g> {
    /// The car.
    pub geometry: &'g Geometry,
    /// The wheels asked for, left before right.
    pub sides: Vec<Side>,
    /// What stands on one wheel of the axle, N; `None` without the masses.
    pub static_wheel_load_n: Option<f64>,
    /// The file gives no loads, so that the cases are those of common practice.
    pub common_practice: bool,
    /// Bump travels at which every case is put on the wheel, mm, rising.
    pub stations_mm: Vec<f64>,
    /// In the order of the file.
    pub cases: Vec<CaseForces>,
    /// The largest forces: one entry for both wheels of a mirrored car.
    pub extremes: Vec<WheelExtremes>,
    /// How near the links are to what they bear: one entry for both wheels of a mirrored car.
    pub margins: Vec<WheelMargins>,
    /// What one unit of load does to each wheel asked for, at each position.
    pub compliance: Vec<WheelCompliance>,
    /// The frame under the brackets: one entry for both wheels of a mirrored car.
    pub frame: Vec<WheelFrame>,
    /// The bolts of the final drive, when the file gives what it takes and both wheels are asked for.
    pub mounts: Option<MountFindings>,
    /// What links and frame tubes weigh.
    pub masses: Masses,
    /// Cases and parts that cannot be told, and the keys that would tell them.
    pub lacking: Vec<Lacking>,
    /// Wheels that the spring does not hold.
    pub spring_fails: Vec<SpringFails>,
    /// Cases in which a taut droop strap does not hold its wheel, so that the spring does.
    pub strap_slack: Vec<StrapSlack>,
    /// Wheels whose strap is not taut at full droop, or before it.
    pub strap_off_its_length: Vec<StrapOffItsLength>,
    /// Where a wheel asked for binds before it has reached a position.
    pub binds: Vec<SideBind>,
    /// What a builder should look at again, one sentence each.
    pub warnings: Vec<Doubt>,
}

/// One case with the forces of every wheel that it loads.
#[derive(Debug, Clone)]
pub struct CaseForces {
    /// Of the case.
    pub name: String,
    /// Assumed, as the trade does.
    pub common_practice: bool,
    /// The wheels asked for that it loads.
    pub wheels: BTreeMap<Side, WheelInCase>,
}

/// One wheel in one case.
#[derive(Debug, Clone)]
pub struct WheelInCase {
    /// What acts on it.
    pub load: CaseLoad,
    /// At each position that it reaches, rising bump travel.
    pub positions: Vec<WheelForces>,
}

/// The links of one wheel, or of both when they are mirror images.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WheelMargins {
    /// The wheels that were looked at.
    pub wheels: Vec<Side>,
    /// What breaks first stands first.
    pub ranked: Vec<Margin>,
    /// For each link, when it was asked for.
    pub lightest_tubes: Option<Vec<LightestTube>>,
}

/// Frame tubes under the brackets of one wheel, or of both when they are mirror images.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WheelFrame {
    /// The wheels that were looked at.
    pub wheels: Vec<Side>,
    /// In the order of the links.
    pub brackets: Vec<BracketOnTube>,
}

/// What one unit of load does to one wheel at one position.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WheelCompliance {
    /// Of the wheel.
    pub side: Side,
    /// Bump travel, up positive.
    pub bump_mm: f64,
    /// Of each load, with the height of the wheel held and free.
    pub responses: Vec<UnitResponse>,
}

/// What does not hold a wheel, found on the way.
#[derive(Default)]
struct LeftOut {
    spring_fails: Vec<SpringFails>,
    strap_slack: Vec<StrapSlack>,
}

/// The spring of a wheel does not hold it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpringFails {
    /// Of the wheel.
    pub side: Side,
    /// Bump travel, mm.
    pub at_bump_mm: f64,
}

impl<'g> ForcesFindings<'g> {
    /// Of a car on the rig at full droop, design height, full bump and the bump travels asked for; `None` when it has no
    /// spring, so that nothing holds its wheels up.
    ///
    /// Tested by `tests/forces/` and `tests/cli/forces.rs`.
    pub fn of(rig: &Rig<'g>, sides: &[Side], also_at_mm: &[f64]) -> Option<Self> {
        let geometry = rig.geometry;
        if sides.iter().any(|&side| geometry.corner(side).spring.is_none()) {
            return None;
        }
        let (cases, mut lacking) = load_cases_of(geometry, sides);
        let stations_mm = stations_mm(geometry, also_at_mm);
        let mut left_out = LeftOut::default();
        let cases: Vec<CaseForces> = cases
            .iter()
            .map(|case| CaseForces::of(case, rig, sides, &stations_mm, &mut left_out))
            .filter(|case| !case.wheels.is_empty())
            .collect();
        let places = places(geometry, &cases);
        let groups = groups(geometry, sides);
        lacking.extend(compliance::lacking(geometry, sides));
        for wheels in &groups {
            for lacks in frame::lacking(geometry, wheels).into_iter().chain(lacking::of_links(geometry, wheels)) {
                if !lacking.contains(&lacks) {
                    lacking.push(lacks);
                }
            }
        }
        let mounts = MountFindings::of(rig, sides, &cases);
        lacking.extend(mounts::lacking(geometry, sides, mounts.as_ref()));
        let frame: Vec<WheelFrame> = groups
            .iter()
            .filter_map(|wheels| {
                let design = rig.wheel(*wheels.first()?).design_posture();
                let brackets = frame::brackets_on_tubes(geometry, wheels, design, &places);
                Some(WheelFrame { wheels: wheels.to_vec(), brackets })
            })
            .collect();
        Some(Self {
            geometry,
            sides: sides.to_vec(),
            static_wheel_load_n: geometry.car.static_wheel_load_n(),
            common_practice: geometry.loads.is_empty(),
            extremes: groups
                .iter()
                .filter_map(|wheels| WheelExtremes::of(wheels, geometry.corner(*wheels.first()?), &places))
                .collect(),
            margins: frame
                .iter()
                .map(|WheelFrame { wheels, brackets }| WheelMargins {
                    wheels: wheels.clone(),
                    ranked: margins::margins(geometry, wheels, &places, brackets),
                    lightest_tubes: None,
                })
                .collect(),
            compliance: compliance(rig, sides, &stations_mm),
            frame,
            mounts,
            masses: Masses::of(geometry),
            stations_mm,
            cases,
            lacking,
            spring_fails: left_out.spring_fails,
            strap_slack: left_out.strap_slack,
            strap_off_its_length: sides.iter().filter_map(|&side| StrapOffItsLength::of(rig.wheel(side))).collect(),
            binds: sides.iter().flat_map(|&side| SideBind::of_wheel(rig.wheel(side))).collect(),
            warnings: doubts(geometry),
        })
    }

    /// The same with the lightest tube of every link.
    pub fn with_lightest_tubes(self) -> Self {
        let places = places(self.geometry, &self.cases);
        let with = |margins: WheelMargins| {
            let tubes = margins::lightest_tubes(self.geometry, &margins.wheels, &places);
            WheelMargins { lightest_tubes: Some(tubes), ..margins }
        };
        let margins = self.margins.iter().cloned().map(with).collect();
        Self { margins, ..self }
    }

    /// Whether a part bears less than a case asks of it.
    pub fn breaks(&self) -> bool {
        self.links_and_frame().any(|reserve| reserve < 1.0) || self.mounts.as_ref().is_some_and(MountFindings::breaks)
    }

    /// How many reserves are below 1, and how many below the wanted one but not below 1: of links, of frame tubes under brackets, of
    /// the final drive's bolts.
    pub fn low_reserves(&self) -> [usize; 2] {
        let bolts = self.mounts.iter().flat_map(|mounts| &mounts.bolts).map(|bolt| bolt.reserve);
        let reserves: Vec<f64> = self.links_and_frame().chain(bolts).collect();
        [0.0..1.0, 1.0..WANTED_RESERVE].map(|range| reserves.iter().filter(|reserve| range.contains(reserve)).count())
    }

    /// A thread that is long enough is no matter of strength.
    fn links_and_frame(&self) -> impl Iterator<Item = f64> {
        let links = self.margins.iter().flat_map(|wheels| &wheels.ranked);
        links.filter(|margin| !margin.is_long_enough()).map(|margin| margin.reserve)
    }

    /// Forces of every case, wheel and position.
    pub fn all(&self) -> impl Iterator<Item = (&CaseForces, Side, &WheelForces)> {
        self.cases.iter().flat_map(|case| {
            case.wheels.iter().flat_map(move |(&side, wheel)| wheel.positions.iter().map(move |at| (case, side, at)))
        })
    }

    /// The largest equilibrium error of all (no unit).
    pub fn worst_equilibrium_error(&self) -> f64 {
        self.all().map(|(_, _, forces)| forces.equilibrium_error).fold(0.0, f64::max)
    }
}

impl CaseForces {
    fn of(case: &LoadCase, rig: &Rig, sides: &[Side], stations_mm: &[f64], left_out: &mut LeftOut) -> Self {
        let mut wheels = BTreeMap::new();
        for (side, load) in sides.iter().filter_map(|&side| Some((side, case.wheels[side]?))) {
            let wheel = rig.wheel(side);
            let Some(spring) = &wheel.corner.spring else { continue };
            let mut positions = Vec::new();
            for posture in stations_mm.iter().filter_map(|&bump_mm| wheel.path.at(bump_mm)) {
                let (forces, why) = strap::forces(wheel, spring, &posture, &load);
                let at_bump_mm = posture.bump_mm;
                left_out.strap_slack.extend(why.map(|why| StrapSlack {
                    case: case.name.clone(),
                    side,
                    at_bump_mm,
                    why,
                }));
                match forces {
                    Ok(forces) => {
                        let flexible = FlexibleWheel::at(rig.geometry, wheel.corner, spring, &posture);
                        let deflection = flexible.and_then(|wheel| wheel.deflection(&load, Held::WheelTravel));
                        positions.push(WheelForces { deflection, ..forces });
                    }
                    Err(_) => {
                        let fails = SpringFails { side, at_bump_mm };
                        if !left_out.spring_fails.contains(&fails) {
                            left_out.spring_fails.push(fails);
                        }
                    }
                }
            }
            wheels.insert(side, WheelInCase { load, positions });
        }
        Self { name: case.name.clone(), common_practice: case.common_practice, wheels }
    }
}

/// Both ends of the travel, design height and what is asked for beside them, rising, each once.
fn stations_mm(geometry: &Geometry, also_at_mm: &[f64]) -> Vec<f64> {
    let travel = &geometry.travel;
    let mut stations_mm = vec![-travel.droop_mm, 0.0, travel.bump_mm];
    stations_mm.extend(also_at_mm);
    stations_mm.sort_by(f64::total_cmp);
    stations_mm.dedup_by(|a, b| *a == *b);
    stations_mm
}

/// Of each wheel at each position, as far as its links have a stiffness.
fn compliance(rig: &Rig, sides: &[Side], stations_mm: &[f64]) -> Vec<WheelCompliance> {
    let places = sides.iter().flat_map(|&side| stations_mm.iter().map(move |&bump_mm| (side, bump_mm)));
    let of = |(side, bump_mm): (Side, f64)| {
        let wheel = rig.wheel(side);
        let flexible =
            FlexibleWheel::at(rig.geometry, wheel.corner, wheel.corner.spring.as_ref()?, &wheel.path.at(bump_mm)?)?;
        Some(WheelCompliance { side, bump_mm, responses: flexible.units() })
    };
    places.filter_map(of).collect()
}

/// Forces of every case, wheel and position, each with its corner.
fn places<'f>(geometry: &'f Geometry, cases: &'f [CaseForces]) -> Vec<Place<'f>> {
    let wheels = cases.iter().flat_map(|case| case.wheels.iter().map(move |(&side, wheel)| (case, side, wheel)));
    wheels
        .flat_map(|(case, side, wheel)| {
            let corner = geometry.corner(side);
            wheel.positions.iter().map(move |forces| Place { case: &case.name, corner, forces })
        })
        .collect()
}

/// Wheels whose parts are told together: both of a car whose sides are alike.
fn groups<'s>(geometry: &Geometry, sides: &'s [Side]) -> Vec<&'s [Side]> {
    if geometry.looks_alike() { vec![sides] } else { sides.chunks(1).collect() }
}
