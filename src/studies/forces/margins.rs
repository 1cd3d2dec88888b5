//! How near each part is to what it bears: the reserve of every check, the least one over all cases.

use std::cmp::Ordering;

use serde::Serialize;

use super::balance::{PartForce, WheelForces};
use super::extremes::Place;
use super::frame::BracketOnTube;
use crate::geometry::{Corner, End, Geometry, Link, LinkTube, RodEnd, Side};
use crate::strength::{
    BarLoad, ENGAGEMENT_IN_DIAMETERS, Material, MaterialError, RoundTube, STANDARD_TUBES, held_shank_reserve,
    pull_and_bending_reserve, push_and_bending_reserve, shank_reserve, static_reserve,
};

/// Reserve that a part should have against yield, buckling and its static rating (no unit): common practice.
pub const WANTED_RESERVE: f64 = 1.5;

/// What of a part is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Check {
    /// Pull and bending of the tube.
    TubePull,
    /// Buckling of the tube, with bending.
    TubeBuckling,
    /// Static rating of the rod end, along its shank.
    RodEnd,
    /// A tenth of the static rating, across its shank: of a link that carries the spring, or of a rod end that its bracket holds.
    RodEndAcross,
    /// Shank of the rod end, pulled and bent by the force across a link that carries the spring, or by the stand-off from the bracket
    /// that holds it.
    RodEndShank,
    /// Bolt through the rod end on the chassis.
    ChassisBolt,
    /// Bolt through the rod end on the upright.
    UprightBolt,
    /// Thread of the rod end inside its insert.
    Engagement,
    /// Bending of the frame tube under the bracket, its nodes taken as hinges.
    FrameTube,
}

impl Check {
    /// As JSON and tables write it.
    pub fn name(self) -> &'static str {
        match self {
            Self::TubePull => "tube_pull",
            Self::TubeBuckling => "tube_buckling",
            Self::RodEnd => "rod_end",
            Self::RodEndAcross => "rod_end_across",
            Self::RodEndShank => "rod_end_shank",
            Self::ChassisBolt => "chassis_bolt",
            Self::UprightBolt => "upright_bolt",
            Self::Engagement => "engagement",
            Self::FrameTube => "frame_tube",
        }
    }
}

/// The least reserve of one check of one link, or of the frame tube under its bracket.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Margin {
    /// Name of the link.
    pub part: String,
    /// What of it.
    pub check: Check,
    /// What it bears over what it is asked (no unit): below 1 it breaks on paper.
    pub reserve: f64,
    /// The force that it is asked, N: along the tube, on the rod end, on the bolt, across the frame tube; `None` of what no force decides.
    pub load_n: Option<f64>,
    /// Where that comes up; `None` of what no force decides.
    pub at: Option<MarginPlace>,
}

impl Margin {
    /// A thread that is held over its recommended length: no force, so it stands below all forces.
    pub fn is_long_enough(&self) -> bool {
        self.check == Check::Engagement && self.reserve >= 1.0
    }

    /// What breaks first stands first.
    pub fn before(&self, other: &Self) -> Ordering {
        let last = self.is_long_enough().cmp(&other.is_long_enough());
        last.then(self.reserve.total_cmp(&other.reserve))
    }

    /// Whether it has less in hand than it should.
    pub fn is_thin(&self) -> bool {
        self.reserve < WANTED_RESERVE && !self.is_long_enough()
    }
}

/// Where the least reserve of a check comes up.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MarginPlace {
    /// In which case.
    pub case: String,
    /// At which wheel.
    pub side: Side,
    /// At which bump travel, mm.
    pub bump_mm: f64,
}

impl MarginPlace {
    pub(super) fn of(place: &Place) -> Self {
        Self { case: place.case.to_owned(), side: place.corner.side, bump_mm: place.forces.bump_mm }
    }
}

/// The checks of the links of one wheel, or of both when they are mirror images, and of the frame tubes under their brackets; what
/// breaks first stands first.
pub(super) fn margins(
    geometry: &Geometry,
    wheels: &[Side],
    places: &[Place],
    on_tubes: &[BracketOnTube],
) -> Vec<Margin> {
    let places: Vec<&Place> = places.iter().filter(|place| wheels.contains(&place.corner.side)).collect();
    let Some(first) = wheels.first() else { return Vec::new() };
    let corner = geometry.corner(*first);
    let of_link = |index| LinkChecks::of(geometry, corner, index).margins(&places);
    let mut margins: Vec<Margin> = (0..corner.links.len()).flat_map(of_link).collect();
    margins.extend(on_tubes.iter().map(of_frame_tube));
    margins.sort_by(Margin::before);
    margins
}

fn of_frame_tube(bracket: &BracketOnTube) -> Margin {
    let BracketOnTube { link, reserve, across_n, at, .. } = bracket;
    let (load_n, at) = (Some(*across_n), Some(at.clone()));
    Margin { part: link.clone(), check: Check::FrameTube, reserve: *reserve, load_n, at }
}

/// What of one link can be checked.
struct LinkChecks<'g> {
    link: &'g Link,
    index: usize,
    tube: Option<(Material, RoundTube)>,
}

type Reserve = (Check, f64, f64);

impl<'g> LinkChecks<'g> {
    fn of(geometry: &Geometry, corner: &'g Corner, index: usize) -> Self {
        let link = &corner.links[index];
        let tube = link.tube.as_ref().and_then(|tube| section(tube).zip(metal(geometry, tube).ok()));
        Self { link, index, tube: tube.map(|(section, metal)| (metal, section)) }
    }

    /// Each check once, where its reserve is least.
    fn margins(&self, places: &[&Place]) -> Vec<Margin> {
        let mut least: Vec<Margin> = self.engagement().into_iter().collect();
        for place in places {
            for (check, reserve, load_n) in
                self.reserves(place.forces).into_iter().filter(|(_, reserve, _)| reserve.is_finite())
            {
                let (load_n, at) = (Some(load_n), Some(MarginPlace::of(place)));
                let margin = Margin { part: self.link.name.clone(), check, reserve, load_n, at };
                match least.iter_mut().find(|known| known.check == check) {
                    Some(known) if reserve < known.reserve => *known = margin,
                    Some(_) => {}
                    None => least.push(margin),
                }
            }
        }
        least
    }

    /// At one place: the check, its reserve and the force.
    fn reserves(&self, forces: &WheelForces) -> Vec<Reserve> {
        let force = &forces.links[self.index];
        let on_bracket_n = forces.brackets[self.index].force_n.norm();
        let mut reserves = self.tube(force);
        // The force that bends the link reaches the upright too.
        let on_upright_n = force.axial_upright_n.hypot(force.shear_upright_n);
        if let Some(rod_end) = &self.link.hardware.rod_end {
            reserves.extend(of_rod_end(rod_end, force));
            reserves.extend(held_in_bracket(rod_end, End::Chassis, on_bracket_n));
            reserves.extend(held_in_bracket(rod_end, End::Upright, on_upright_n));
        }
        let ends = [(End::Chassis, Check::ChassisBolt, on_bracket_n), (End::Upright, Check::UprightBolt, on_upright_n)];
        for (end, check, load_n) in ends {
            reserves.extend(self.link.hardware.bolt(end).map(|bolt| (check, bolt.reserve(load_n), load_n)));
        }
        reserves
    }

    fn tube(&self, force: &PartForce) -> Vec<Reserve> {
        let Some((metal, tube)) = &self.tube else { return Vec::new() };
        let [one, other] = force.axial();
        let load = |axial_n: f64| BarLoad { axial_n, bending_nm: force.bending_nm };
        let (pull_n, push_n) = (one.max(other).max(0.0), one.min(other).min(0.0));
        let pull = || (Check::TubePull, pull_and_bending_reserve(metal, tube, &load(pull_n)), pull_n);
        let push = || {
            let reserve = push_and_bending_reserve(metal, tube, self.link.length_mm(), &load(push_n));
            (Check::TubeBuckling, reserve, push_n)
        };
        // What nothing pushes does not buckle; bending alone counts as a pull of nothing.
        let is_pushed = push_n < 0.0;
        let pulled = (pull_n > 0.0 || !is_pushed).then(pull);
        pulled.into_iter().chain(is_pushed.then(push)).collect()
    }

    /// The least that is recommended, over the thread that there is.
    fn engagement(&self) -> Option<Margin> {
        let rod_end = self.link.hardware.rod_end.as_ref()?;
        let least_mm = ENGAGEMENT_IN_DIAMETERS * rod_end.thread.as_ref()?.diameter_mm;
        let reserve = rod_end.engagement_mm? / least_mm;
        Some(Margin { part: self.link.name.clone(), check: Check::Engagement, reserve, load_n: None, at: None })
    }
}

/// Share of the static rating that a rod end bears across its shank (no unit): a bearing maker's rule.
const ACROSS: f64 = 0.1;

fn of_rod_end(rod_end: &RodEnd, force: &PartForce) -> Vec<Reserve> {
    let factor = rod_end.application_factor();
    let [one, other] = force.axial().map(f64::abs);
    let along_n = one.max(other);
    let mut reserves = Vec::new();
    if let Some(static_n) = rod_end.static_n {
        reserves.push((Check::RodEnd, static_reserve(static_n, factor, along_n), along_n));
        // Infinite for a link that nothing bends.
        let across = static_reserve(ACROSS * static_n, 1.0, force.shear_n());
        reserves.push((Check::RodEndAcross, across, force.shear_n()));
    }
    // A force across it without its lever says nothing.
    let bending_nm = match force.shear_n() {
        0.0 => Some(0.0),
        across_n => rod_end.overhang_mm().map(|mm| across_n * mm / 1000.0),
    };
    if let (Some(thread), Some(yield_mpa), Some(bending_nm)) = (&rod_end.thread, rod_end.shank_yield_mpa, bending_nm) {
        let load = BarLoad { axial_n: along_n, bending_nm };
        reserves.push((Check::RodEndShank, shank_reserve(thread, yield_mpa, &load), along_n));
    }
    reserves
}

/// A rod end whose shank the bracket holds: which way its shank points is not known, so the force counts as all across it where
/// that is worse.
fn held_in_bracket(rod_end: &RodEnd, end: End, load_n: f64) -> Vec<Reserve> {
    let Some(stand_off_mm) = rod_end.stand_off_mm(end) else { return Vec::new() };
    let across = rod_end.static_n.map(|static_n| static_reserve(ACROSS * static_n, 1.0, load_n));
    let shank = rod_end.thread.as_ref().zip(rod_end.shank_yield_mpa);
    let shank = shank.map(|(thread, yield_mpa)| held_shank_reserve(thread, yield_mpa, load_n, stand_off_mm));
    let each = [(Check::RodEndAcross, across), (Check::RodEndShank, shank)];
    each.into_iter().filter_map(|(check, reserve)| Some((check, reserve?, load_n))).collect()
}

/// The section of a link's tube; `None` without a wall.
pub(super) fn section(tube: &LinkTube) -> Option<RoundTube> {
    Some(RoundTube { od_mm: tube.od_mm, wall_mm: tube.wall_mm? })
}

/// The metal of a link's tube: one of the file before one of the table.
pub(super) fn metal(geometry: &Geometry, tube: &LinkTube) -> Result<Material, MaterialError> {
    let name = tube.material.as_deref().ok_or(MaterialError::Unknown)?;
    let own = geometry.materials.iter().find(|metal| metal.name == name);
    own.cloned().map_or_else(|| Material::named(name), Ok)
}

/// The lightest tube of those that are sold, wide enough for the insert of its rod end, with which a link keeps
/// [`WANTED_RESERVE`] in every case.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LightestTube {
    /// Name of the link.
    pub link: String,
    /// Of the tube, or of one that was assumed.
    pub material: String,
    /// The file gives no metal for this link.
    pub assumed: bool,
    /// The tube; `None` when no size in the list will do.
    pub tube: Option<SizedTube>,
}

/// A tube with what it weighs and bears.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SizedTube {
    /// Outside diameter.
    pub od_mm: f64,
    /// Wall.
    pub wall_mm: f64,
    /// As long as the link is between its rod ends.
    pub mass_kg: f64,
    /// The least over all cases (no unit).
    pub reserve: f64,
}

/// Least wall of the threaded insert between the rod end's thread and the inside of the tube, mm: common practice.
const INSERT_WALL_MM: f64 = 2.0;
/// What a link is taken for that has no metal in the file.
const ASSUMED_METAL: &str = "E355+N";

/// For each link of a wheel.
pub(super) fn lightest_tubes(geometry: &Geometry, wheels: &[Side], places: &[Place]) -> Vec<LightestTube> {
    let places: Vec<&Place> = places.iter().filter(|place| wheels.contains(&place.corner.side)).collect();
    let Some(first) = wheels.first() else { return Vec::new() };
    let corner = geometry.corner(*first);
    let links = corner.links.iter().enumerate();
    links.filter_map(|(index, link)| LightestTube::of(geometry, (index, link), &places)).collect()
}

impl LightestTube {
    fn of(geometry: &Geometry, (index, link): (usize, &Link), places: &[&Place]) -> Option<Self> {
        let own = link.tube.as_ref().and_then(|tube| metal(geometry, tube).ok());
        let assumed = own.is_none();
        let metal = own.or_else(|| Material::named(ASSUMED_METAL).ok())?;
        let sized = |section: RoundTube| {
            let checks = LinkChecks { link, index, tube: Some((metal.clone(), section)) };
            let all = places.iter().flat_map(|place| checks.tube(&place.forces.links[index]));
            SizedTube {
                od_mm: section.od_mm,
                wall_mm: section.wall_mm,
                mass_kg: mass_kg(&metal, &section, link.length_mm()),
                reserve: all.map(|(_, reserve, _)| reserve).fold(f64::INFINITY, f64::min),
            }
        };
        let thread = link.hardware.rod_end.as_ref().and_then(|rod_end| rod_end.thread.as_ref());
        let inside_mm = thread.map_or(0.0, |thread| thread.diameter_mm + 2.0 * INSERT_WALL_MM);
        let takes_insert = |(od_mm, wall_mm): &(f64, f64)| od_mm - 2.0 * wall_mm >= inside_mm;
        let sizes = STANDARD_TUBES.into_iter().filter(takes_insert);
        let sizes = sizes.map(|(od_mm, wall_mm)| sized(RoundTube { od_mm, wall_mm }));
        let enough = sizes.filter(|tube| tube.reserve >= WANTED_RESERVE && tube.reserve.is_finite());
        let tube = enough.min_by(|a, b| a.mass_kg.total_cmp(&b.mass_kg));
        Some(Self { link: link.name.clone(), material: metal.name, assumed, tube })
    }
}

/// Of a tube of this length, kg.
pub(super) fn mass_kg(metal: &Material, section: &RoundTube, length_mm: f64) -> f64 {
    metal.density_kg_per_m3 * section.area_mm2() * length_mm * 1e-9
}
