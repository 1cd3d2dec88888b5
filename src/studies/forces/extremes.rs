//! The largest forces of all cases and positions, part by part.

use serde::Serialize;

use super::balance::WheelForces;
use super::part::Part;
use crate::geometry::{Corner, Side};

/// The largest forces in the parts of one wheel, or of both when they are mirror images.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WheelExtremes {
    /// The wheels that were looked at.
    pub wheels: Vec<Side>,
    /// In the order of [`Part::all`].
    pub parts: Vec<PartExtremes>,
    /// The brackets on the frame, in the same order.
    pub brackets: Vec<BracketExtreme>,
}

/// The largest pull and push in one part; `None` where it is never pulled, or never pushed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PartExtremes {
    /// Name of the link, `spring`, or `strap`.
    pub part: String,
    /// Largest tension.
    pub pull: Option<Extreme>,
    /// Largest compression.
    pub push: Option<Extreme>,
}

/// A force with where it comes up.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Extreme {
    /// N, pull positive.
    pub force_n: f64,
    /// In which case.
    pub case: String,
    /// At which wheel.
    pub side: Side,
    /// At which bump travel, mm.
    pub at_bump_mm: f64,
}

/// The largest force on one bracket of the frame.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BracketExtreme {
    /// `toe link chassis`.
    pub bracket: String,
    /// On the frame, car axes, N.
    pub force_xyz_n: [f64; 3],
    /// Its size with where it comes up.
    #[serde(flatten)]
    pub largest: Extreme,
}

/// Forces of one wheel in one case at one position.
#[derive(Clone, Copy)]
pub(super) struct Place<'f> {
    pub(super) case: &'f str,
    pub(super) corner: &'f Corner,
    pub(super) forces: &'f WheelForces,
}

impl Place<'_> {
    fn extreme(&self, force_n: f64) -> Extreme {
        let (case, side) = (self.case.to_owned(), self.corner.side);
        Extreme { force_n, case, side, at_bump_mm: self.forces.bump_mm }
    }
}

impl WheelExtremes {
    /// Of these wheels, whose links are called as those of `corner`; `None` when no case has them.
    pub(super) fn of(wheels: &[Side], corner: &Corner, places: &[Place]) -> Option<Self> {
        let places: Vec<Place> = places.iter().filter(|place| wheels.contains(&place.corner.side)).copied().collect();
        if places.is_empty() {
            return None;
        }
        Some(Self {
            wheels: wheels.to_vec(),
            parts: Part::all(corner)
                .map(|part| PartExtremes::of(part, part.name(corner).to_owned(), &places))
                .collect(),
            brackets: Part::all(corner).filter_map(|part| BracketExtreme::of(part, &places)).collect(),
        })
    }
}

impl PartExtremes {
    fn of(part: Part, name: String, places: &[Place]) -> Self {
        let all = || places.iter().flat_map(|place| place.forces.of_part(part).axial().map(|force_n| (place, force_n)));
        let extreme = |(place, force_n): (&Place, f64)| place.extreme(force_n);
        // Of equals the first: the left wheel.
        let pull = all().rev().filter(|(_, n)| *n > 0.0).max_by(|a, b| a.1.total_cmp(&b.1));
        let push = all().filter(|(_, n)| *n < 0.0).min_by(|a, b| a.1.total_cmp(&b.1));
        Self { part: name, pull: pull.map(extreme), push: push.map(extreme) }
    }
}

impl BracketExtreme {
    fn of(part: Part, places: &[Place]) -> Option<Self> {
        let of_part = |place: &&Place| place.forces.brackets.iter().find(|bracket| bracket.part == part).copied();
        let all = places.iter().rev().filter_map(|place| Some((place, of_part(&place)?)));
        let (place, force) = all.max_by(|a, b| a.1.force_n.norm().total_cmp(&b.1.force_n.norm()))?;
        Some(Self {
            bracket: part.bracket(place.corner),
            force_xyz_n: place.corner.side.to_car(force.force_n.into()).into(),
            largest: place.extreme(force.force_n.norm()),
        })
    }
}
