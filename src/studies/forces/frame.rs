//! The frame under the brackets: how far a tube gives between its nodes, what toe that costs, which way to brace, and what all
//! of it weighs.

use std::f64::consts::SQRT_2;

use nalgebra::Vector3;
use serde::Serialize;

use super::extremes::Place;
use super::margins::{MarginPlace, mass_kg, metal, section};
use crate::geometry::{Corner, Geometry, Interval, Link, LinkTube, Side, Tube};
use crate::measures::spin_axis;
use crate::measures::toe_gradient_deg_per_mm;
use crate::mechanism::{Linkage, Motion, Posture, travel_held_stretch};
use crate::strength::{
    Material, RoundTube, SquareTube, built_in_stiffness_n_per_mm, hinged_bending_nm, hinged_stiffness_n_per_mm,
};
use crate::studies::inspection::Lacking;

/// A bracket on a frame tube between two nodes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BracketOnTube {
    /// Name of the link.
    pub link: String,
    /// Name of the tube.
    pub tube: String,
    /// From the nearer node along the tube.
    pub from_node_mm: f64,
    /// Between the nodes.
    pub span_mm: f64,
    /// Outside diameter of the tube.
    pub od_mm: f64,
    /// Wall of the tube.
    pub wall_mm: f64,
    /// Of the tube between the nodes.
    pub mass_kg: f64,
    /// Of the bracket's point from the tube's centre line.
    pub stand_off_mm: f64,
    /// Force across the tube over what it gives, from hinged to built-in ends: a welded tube lies between.
    pub stiffness_n_per_mm: Interval,
    /// What toe costs while 1 kN pulls in the link, from built-in to hinged ends, toe-in positive; the height of the wheel held.
    pub toe_deg_per_kn: Interval,
    /// Largest force across the tube, over all cases.
    pub across_n: f64,
    /// Its direction, axes of the car: brace this way.
    pub brace_along: [f64; 3],
    /// Moment of the largest force about the tube's centre line by the stand-off, N·m.
    pub stand_off_nm: f64,
    /// Yield strength over stress of the tube bent between hinged ends (no unit).
    pub reserve: f64,
    /// Where the largest force across it comes up.
    pub at: MarginPlace,
    /// The same tube in other forms.
    pub instead: Vec<OtherTube>,
}

/// A tube of another form in the place of one of the frame.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OtherTube {
    /// Of what form.
    pub form: TubeForm,
    /// Outside of it, mm: diameter, or side.
    pub outside_mm: f64,
    /// Wall, mm, that of the tube.
    pub wall_mm: f64,
    /// Stiffness over that of the tube (no unit).
    pub stiffness_ratio: f64,
    /// Strength in bending, in the weakest direction, over that of the tube (no unit).
    pub strength_ratio: f64,
    /// Mass over that of the tube (no unit).
    pub mass_ratio: f64,
    /// As long as the tube.
    pub mass_kg: f64,
}

/// Forms of a frame member.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum TubeForm {
    /// Two of the same beside each other, each carrying its half.
    TwoBesideEachOther,
    /// A square one of the same wall that bears the same bending in its weakest direction, across its corners.
    SquareOfEqualStrength,
}

/// What links and frame tubes weigh.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Masses {
    /// Tubes of the links of both wheels, each as long as its link between the rod ends; `None` when one has no size or metal.
    pub links_kg: Option<f64>,
    /// `[[tube]]` members with their mirror images, as far as they have size and metal.
    pub frame_tubes_kg: f64,
    /// How many of them that are.
    pub frame_tubes: usize,
}

/// A tube of the frame as a beam.
struct Beam<'g> {
    tube: &'g Tube,
    metal: Material,
    section: RoundTube,
}

impl<'g> Beam<'g> {
    fn of(geometry: &'g Geometry, tube: &'g Tube) -> Option<Self> {
        let as_link = LinkTube { od_mm: tube.od_mm?, wall_mm: tube.wall_mm, material: tube.material.clone() };
        Some(Self { tube, metal: metal(geometry, &as_link).ok()?, section: section(&as_link)? })
    }

    fn mass_kg(&self) -> f64 {
        mass_kg(&self.metal, &self.section, self.tube.length_mm())
    }
}

/// Brackets of the links of a wheel on tubes with size and metal.
pub(super) fn brackets_on_tubes(
    geometry: &Geometry,
    wheels: &[Side],
    design: &Posture,
    places: &[Place],
) -> Vec<BracketOnTube> {
    let Some(&side) = wheels.first() else { return Vec::new() };
    let corner = geometry.corner(side);
    let links = geometry.adjustments[side].links.iter().enumerate();
    let of = |(index, may): (usize, &crate::geometry::LinkAdjustments)| {
        let beam = Beam::of(geometry, geometry.tubes.get(may.tube?.tube)?)?;
        let on_it = places.iter().filter(|place| wheels.contains(&place.corner.side));
        BracketOnTube::of(&beam, corner, index, design, on_it)
    };
    links.filter_map(of).collect()
}

impl BracketOnTube {
    /// `None` when the bracket does not stand between the nodes.
    fn of<'p>(
        beam: &Beam,
        corner: &Corner,
        index: usize,
        design: &Posture,
        places: impl Iterator<Item = &'p Place<'p>>,
    ) -> Option<Self> {
        let (tube, link) = (beam.tube, &corner.links[index]);
        if !is_between_nodes(tube, link) {
            return None;
        }
        let (a_mm, span_mm) = (tube.along_mm(&link.chassis), tube.length_mm());
        let b_mm = span_mm - a_mm;
        let along = (tube.to - tube.from) / span_mm;
        let across = |force: &Vector3<f64>| force - along * force.dot(&along);
        let on_frame_n = |place: &Place| place.forces.brackets[index].force_n;
        let across_of = |place: &Place| across(&on_frame_n(place)).norm();
        let largest = places.max_by(|a, b| across_of(a).total_cmp(&across_of(b)))?;
        let force_n = on_frame_n(largest);
        let across_n = across(&force_n);
        let (e_mpa, second) = (beam.metal.e_mpa, beam.section.second_moment_mm4());
        let low = hinged_stiffness_n_per_mm(e_mpa, second, a_mm, b_mm);
        let high = built_in_stiffness_n_per_mm(e_mpa, second, a_mm, b_mm);
        // Along the link the tube gives by the part of the pull across it, and of that by the part along the link.
        let u = (link.upright - link.chassis).normalize();
        let seen = across(&u).norm_squared();
        let toe_deg_per_mm = toe_per_stretch_deg(corner, index, design)?;
        let toe = |stiffness: f64| toe_deg_per_mm * 1000.0 * seen / stiffness;
        let bending_nm = hinged_bending_nm(across_n.norm(), a_mm, b_mm);
        let off = link.chassis - (tube.from + along * a_mm);
        Some(Self {
            link: link.name.clone(),
            tube: tube.name.clone(),
            from_node_mm: a_mm.min(b_mm),
            span_mm,
            od_mm: beam.section.od_mm,
            wall_mm: beam.section.wall_mm,
            mass_kg: beam.mass_kg(),
            stand_off_mm: off.norm(),
            stiffness_n_per_mm: Interval { low, high },
            toe_deg_per_kn: Interval { low: toe(low).min(toe(high)), high: toe(low).max(toe(high)) },
            across_n: across_n.norm(),
            brace_along: largest.corner.side.to_car(across_n.try_normalize(0.0).unwrap_or_default().into()).into(),
            stand_off_nm: off.cross(&force_n).norm() / 1000.0,
            reserve: beam.metal.yield_mpa * beam.section.modulus_mm3() / (1000.0 * bending_nm),
            at: MarginPlace::of(largest),
            instead: OtherTube::all(beam),
        })
    }
}

/// Toe for a millimetre that a link is longer, deg/mm, toe-in positive, the height of the wheel held.
fn toe_per_stretch_deg(corner: &Corner, index: usize, posture: &Posture) -> Option<f64> {
    let (velocity, angular) = travel_held_stretch(&Linkage::new(corner), posture, index)?;
    Some(toe_gradient_deg_per_mm(&spin_axis(corner, posture), &Motion { velocity, angular }))
}

impl OtherTube {
    fn all(beam: &Beam) -> Vec<Self> {
        let (round, square) = (&beam.section, square_of_equal_strength(&beam.section));
        let mass_ratio = square.area_mm2() / round.area_mm2();
        vec![
            Self {
                form: TubeForm::TwoBesideEachOther,
                outside_mm: round.od_mm,
                wall_mm: round.wall_mm,
                stiffness_ratio: 2.0,
                strength_ratio: 2.0,
                mass_ratio: 2.0,
                mass_kg: 2.0 * beam.mass_kg(),
            },
            Self {
                form: TubeForm::SquareOfEqualStrength,
                outside_mm: square.side_mm,
                wall_mm: square.wall_mm,
                stiffness_ratio: square.second_moment_mm4() / round.second_moment_mm4(),
                strength_ratio: square.modulus_mm3() / SQRT_2 / round.modulus_mm3(),
                mass_ratio,
                mass_kg: mass_ratio * beam.mass_kg(),
            },
        ]
    }
}

/// Of the same wall, found by halving: bending across the corners has the modulus over √2.
fn square_of_equal_strength(round: &RoundTube) -> SquareTube {
    let of = |side_mm: f64| SquareTube { side_mm, wall_mm: round.wall_mm };
    let wanted = round.modulus_mm3() * SQRT_2;
    let (mut low, mut high) = (2.0 * round.wall_mm, 2.0 * round.od_mm);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if of(middle).modulus_mm3() < wanted { low = middle } else { high = middle }
    }
    of(0.5 * (low + high))
}

impl Masses {
    /// Of both wheels.
    pub(super) fn of(geometry: &Geometry) -> Self {
        let link_kg = |corner: &Corner| -> Option<f64> {
            let each = corner.links.iter().map(|link| {
                let tube = link.tube.as_ref()?;
                Some(mass_kg(&metal(geometry, tube).ok()?, &section(tube)?, link.length_mm()))
            });
            each.sum()
        };
        let beams: Vec<Beam> = geometry.tubes.iter().filter_map(|tube| Beam::of(geometry, tube)).collect();
        Self {
            links_kg: Some(link_kg(&geometry.left))
                .flatten()
                .zip(link_kg(&geometry.right))
                .map(|(left, right)| left + right),
            frame_tubes_kg: 2.0 * beams.iter().map(Beam::mass_kg).sum::<f64>(),
            frame_tubes: 2 * beams.len(),
        }
    }
}

/// What of the frame cannot be told, and the keys or the places that would tell it.
pub(super) fn lacking(geometry: &Geometry, wheels: &[Side]) -> Vec<Lacking> {
    let Some(&side) = wheels.first() else { return Vec::new() };
    let links = geometry.corner(side).links.iter().zip(&geometry.adjustments[side].links);
    let on_tubes = links.filter_map(|(link, may)| Some((link, geometry.tubes.get(may.tube?.tube)?)));
    let of = |(link, tube): (&Link, &Tube)| {
        let lacks = |what: String, needs: &str| Some(Lacking { what, needs: needs.to_owned() });
        if Beam::of(geometry, tube).is_none() {
            let needs = "od, wall and a known material in that [[tube]]";
            return lacks(format!("frame tube {:?}", tube.name), needs);
        }
        let what = || format!("frame tube {:?} under {:?}", tube.name, link.name);
        if is_between_nodes(tube, link) { None } else { lacks(what(), "bracket between the ends of that [[tube]]") }
    };
    on_tubes.filter_map(of).collect()
}

fn is_between_nodes(tube: &Tube, link: &Link) -> bool {
    let along_mm = tube.along_mm(&link.chassis);
    along_mm > 0.0 && along_mm < tube.length_mm()
}
