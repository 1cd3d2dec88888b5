//! Ends of frame tubes beside each other: tubes of a sound frame end on other tubes, and rails have their ends alike.
//!
//! A file gives as much of a frame as it needs, so that an end which meets nothing says little by itself: a slip is told where the
//! tube meets another one without it, and is as odd with it as no frame is.

use nalgebra::{Point3, center};

use super::digits::decimals;
use super::makers::FRAME_OD_MM;
use super::on_frame::is_on_frame;
use super::parts::{beyond_mm, from_tube_mm};
use super::{Doubt, is_in};
use crate::geometry::slips::{Slip, as_typed, meant};
use crate::geometry::{Axis, Geometry, Side, Tube};

/// Tubes that are welded to each other are drawn to this, mm: half a tube, or a gusset beside a node.
const MEETS_MM: f64 = 15.0;
/// An end that is further from every other tube is welded to none that the file has, mm.
const LOOSE_MM: f64 = 60.0;
/// What was meant to be one number is one to this, mm; and where it was read in inches.
pub(super) const SAME_MM: f64 = 0.06;
const SAME_IN_INCHES_MM: f64 = 0.3;
/// A slip that moves an end by less is no gross mistake, mm.
const GROSS_MM: f64 = 60.0;
/// So far from every other tube nothing holds an end, mm; and so far ahead of the rest one rail alone goes to no front of a car.
const FAR_MM: f64 = 250.0;
const AHEAD_MM: f64 = 1500.0;
/// No tube of a frame is shorter, mm.
const SHORTEST_MM: f64 = 80.0;
/// A tube that lies along the car by more than this lies not across it, mm; and from here on an end is beside the middle of the car.
const ALONG_MM: f64 = 300.0;
const BESIDE_MM: f64 = 100.0;
/// Under the lowest tube of a frame, mm; and half of a tube whose size is not known.
const UNDER_MM: f64 = 10.0;
const HALF_OD_MM: f64 = 10.0;

/// One for each tube of which an end is told; not of those that are told already.
pub(super) fn doubts(geometry: &Geometry, is_told: impl Fn(&str) -> bool) -> Vec<Doubt> {
    let ends = |tube: &Tube| ["from", "to"].map(|end| about(tube, end));
    let tubes = (0..geometry.tubes.len()).filter(|&at| !ends(&geometry.tubes[at]).iter().any(|about| is_told(about)));
    tubes.filter_map(|at| near_road(geometry, at).or_else(|| other_slip(geometry, at))).collect()
}

fn about(tube: &Tube, end: &str) -> String {
    format!("tube {:?} {end}", tube.name)
}

/// A tube with one end as it was probably meant.
struct Guess<'g> {
    geometry: &'g Geometry,
    at: usize,
    end: &'static str,
    axis: Axis,
    slip: Slip,
    written: f64,
    meant: f64,
    tube: Tube,
}

impl<'g> Guess<'g> {
    /// Every slip in one number of an end that leaves a tube of a frame, with its brackets.
    fn all(geometry: &'g Geometry, at: usize) -> impl Iterator<Item = Self> {
        let (tube, units) = (&geometry.tubes[at], geometry.units);
        let ends = [("from", tube.from), ("to", tube.to)];
        let numbers = ends.into_iter().flat_map(|(end, place)| Axis::ALL.map(|axis| (end, axis, place[axis.index()])));
        let all = numbers.flat_map(move |(end, axis, mm)| {
            let written = as_typed(mm / units.in_mm());
            meant(written, units).into_iter().map(move |(slip, meant)| (end, axis, slip, written, meant))
        });
        let guesses = all.map(move |(end, axis, slip, written, meant)| {
            let mut mended = tube.clone();
            let place = if end == "from" { &mut mended.from } else { &mut mended.to };
            place[axis.index()] = units.to_mm(meant);
            Self { geometry, at, end, axis, slip, written, meant, tube: mended }
        });
        guesses.filter(Self::is_tube)
    }

    fn is_tube(&self) -> bool {
        let (geometry, before) = (self.geometry, &self.geometry.tubes[self.at]);
        let is_gross = self.geometry.units.to_mm((self.written - self.meant).abs()) >= GROSS_MM;
        let holds = |side: Side| {
            let links = geometry.corner(side).links.iter().zip(&geometry.adjustments[side].links);
            let mut carried = links.filter(|(_, may)| may.tube.is_some_and(|ride| ride.tube == self.at));
            carried
                .all(|(link, _)| beyond_mm(before, &link.chassis) > 0.0 || beyond_mm(&self.tube, &link.chassis) <= 0.0)
        };
        is_gross
            && self.tube.length_mm() >= SHORTEST_MM
            && is_on_frame(geometry, &self.place())
            && under_mm(geometry, &self.tube, &self.place()) >= UNDER_MM
            && geometry.own_sides().iter().all(|&side| holds(side))
            && !self.is_another()
            && !self.is_too_fine()
    }

    /// It would lie along a tube that is there.
    fn is_another(&self) -> bool {
        let middle = center(&self.tube.from, &self.tube.to);
        let along = [center(&self.tube.from, &middle), middle, center(&middle, &self.tube.to)];
        let is_on_other = |at: &&Point3<f64>| self.others().any(|other| from_tube_mm(other, at) <= MEETS_MM);
        along.iter().filter(is_on_other).count() > 1
    }

    fn others(&self) -> impl Iterator<Item = &'g Tube> {
        others(self.geometry, self.at)
    }

    /// The end as it was meant.
    fn place(&self) -> Point3<f64> {
        if self.end == "from" { self.tube.from } else { self.tube.to }
    }

    /// The end as it is written.
    fn as_written(&self) -> Point3<f64> {
        let tube = &self.geometry.tubes[self.at];
        if self.end == "from" { tube.from } else { tube.to }
    }

    fn far_end(&self) -> Point3<f64> {
        if self.end == "from" { self.tube.to } else { self.tube.from }
    }

    fn is_loose(&self) -> bool {
        nearest_mm(self.geometry, self.at, &self.as_written()) > LOOSE_MM
    }

    /// Another tube on which the end is as it was meant.
    fn meets(&self) -> Option<&'g Tube> {
        self.others().find(|other| from_tube_mm(other, &self.place()) <= MEETS_MM)
    }

    /// Another tube of which an end meets this tube as it was meant, and meets none that the file has.
    fn carries(&self) -> Option<&'g Tube> {
        let tubes = self.geometry.tubes.iter().enumerate().filter(|(at, _)| *at != self.at);
        let is_met = |at: usize, end: &Point3<f64>| {
            nearest_mm(self.geometry, at, end) > LOOSE_MM && from_tube_mm(&self.tube, end) <= MEETS_MM
        };
        tubes
            .filter(|(at, other)| [other.from, other.to].iter().any(|end| is_met(*at, end)))
            .map(|(_, other)| other)
            .next()
    }

    /// The end is as high, or as far out, as the other end of its tube, as those of rails are.
    fn is_level(&self) -> bool {
        let [a, b] = [self.place(), self.far_end()].map(|place| place[self.axis.index()]);
        self.axis != Axis::X && (a - b).abs() <= self.same_mm()
    }

    /// The end of another tube has that number too.
    fn is_station(&self) -> bool {
        is_station(self.geometry, self.at, self.axis, self.place()[self.axis.index()], self.same_mm())
    }

    fn same_mm(&self) -> f64 {
        if self.slip == Slip::InInches { SAME_IN_INCHES_MM } else { SAME_MM }
    }

    /// Another tube that begins and ends as far along the car, as two rails do.
    fn rail_beside(&self) -> Option<&'g Tube> {
        let alike = |a: Point3<f64>, b: Point3<f64>| (a.x - b.x).abs() <= SAME_MM;
        let [near, far] = [self.place(), self.far_end()];
        let is_alike = |a: Point3<f64>, b: Point3<f64>| alike(a, near) && alike(b, far);
        self.others().find(|other| is_alike(other.from, other.to) || is_alike(other.to, other.from))
    }

    /// No number along its axis is as fine as the one that was meant would be: nobody measured it.
    fn is_too_fine(&self) -> bool {
        let (at, units) = (self.axis.index(), self.geometry.units);
        let all = self.others().flat_map(|other| [other.from[at], other.to[at]]).chain([self.far_end()[at]]);
        let finest = all.map(|mm| decimals(as_typed(mm / units.in_mm()))).max();
        self.slip == Slip::PointShifted && finest.is_some_and(|finest| decimals(self.meant) > finest)
    }

    fn doubt(&self, why: &str) -> Doubt {
        let about = about(&self.geometry.tubes[self.at], self.end);
        let told = self.slip.told_of(self.axis, [self.written, self.meant]);
        let sentence = format!("{about}: {told}; as written {why}.");
        Doubt::new(None, about, Some(format!("{:?}", self.meant)), sentence)
    }
}

/// A tube that touches the road, or all but does.
fn near_road(geometry: &Geometry, at: usize) -> Option<Doubt> {
    let tube = &geometry.tubes[at];
    let is_low = |place: &Point3<f64>| is_on_frame(geometry, place) && under_mm(geometry, tube, place) < UNDER_MM;
    let (end, place) = [("from", tube.from), ("to", tube.to)].into_iter().find(|(_, place)| is_low(place))?;
    let under_mm = under_mm(geometry, tube, &place);
    let under = geometry.units.show(under_mm.abs());
    let why = format!("its underside is {under} {} the road", if under_mm < 0.0 { "below" } else { "above" });
    let heights = Guess::all(geometry, at).filter(|guess| guess.end == end && guess.axis == Axis::Z);
    let likelihood = |guess: &Guess| {
        let meets = guess.meets().is_some() || guess.carries().is_some();
        [meets, guess.is_level(), guess.is_station()].into_iter().filter(|fits| *fits).count()
    };
    let best = heights.map(|guess| (likelihood(&guess), guess)).max_by_key(|(fits, _)| *fits);
    Some(match best.filter(|(fits, _)| *fits > 0) {
        Some((_, guess)) => guess.doubt(&why),
        None => {
            let (about, z) = (about(tube, end), as_typed(place.z / geometry.units.in_mm()));
            Doubt::new(None, about.clone(), None, format!("{about}: z = {z:?}: {why}; measure it again."))
        }
    })
}

/// From the road up to the underside of a tube at a place of it, mm.
fn under_mm(geometry: &Geometry, tube: &Tube, place: &Point3<f64>) -> f64 {
    // A thickness of no tube is told by itself.
    let od_mm = tube.od_mm.filter(|mm| is_in(*mm, FRAME_OD_MM));
    place.z - od_mm.map_or(HALF_OD_MM, |mm| 0.5 * mm) - geometry.left.contact_height_mm()
}

/// The commonest slip with which the tube is odd and without which it meets another one.
fn other_slip(geometry: &Geometry, at: usize) -> Option<Doubt> {
    let told = Guess::all(geometry, at).filter_map(|guess| Some((guess.slip.rarity(), guess.why()?, guess)));
    let (_, why, guess) = told.min_by_key(|(rarity, ..)| *rarity)?;
    Some(guess.doubt(&why))
}

impl Guess<'_> {
    /// What tells that the end was meant so; `None` where it may be meant as it is written.
    fn why(&self) -> Option<String> {
        let (units, before) = (self.geometry.units, &self.geometry.tubes[self.at]);
        let [from, to] = [before.from, before.to];
        let ends_on = |other: &Tube| format!("{:?}", other.name);
        match (self.axis, self.slip) {
            // Braces in plan go across too, from node to node.
            (Axis::Y, Slip::SignTurned) => {
                let is_across = from.y * to.y < 0.0 && from.y.abs().min(to.y.abs()) > BESIDE_MM;
                let is_along = (from.x - to.x).abs() > ALONG_MM;
                let other = self.carries().filter(|_| is_across && is_along && self.meets_none())?;
                let why = "the tube goes from one side of the car to the other and meets none";
                Some(format!("{why}, and with that tube {} ends on it", ends_on(other)))
            }
            (_, Slip::SignTurned) => None, // frames are alike ahead of the axle and behind it
            (Axis::X, Slip::PointShifted) => {
                let front_mm = self.geometry.left.wheel.centre.x + self.geometry.car.wheelbase_mm?;
                let apart_mm = nearest_mm(self.geometry, self.at, &self.as_written());
                let is_ahead = self.as_written().x > front_mm && apart_mm > AHEAD_MM;
                let rail = self.rail_beside().filter(|_| is_ahead)?;
                let apart = units.show(apart_mm);
                Some(format!("it is {apart} from every other tube, and with that it ends where {} does", ends_on(rail)))
            }
            (Axis::X, _) => None,
            _ => {
                let apart_mm = nearest_mm(self.geometry, self.at, &self.as_written());
                if let Some(other) = self.carries().filter(|_| self.is_loose() && self.is_level()) {
                    return Some(format!("tube {} ends beside it, and with that on it", ends_on(other)));
                }
                let meets = self.meets().filter(|_| apart_mm > FAR_MM)?;
                let is_held = nearest_mm(self.geometry, self.at, &self.far_end()) <= MEETS_MM;
                let is_node = self.is_station() && self.is_outermost() && is_held;
                (self.is_level() || is_node).then(|| {
                    let apart = units.show(apart_mm);
                    format!("it is {apart} from every other tube, and with that it meets {}", ends_on(meets))
                })
            }
        }
    }

    /// As it is written the tube meets no other one, at its ends and between them.
    fn meets_none(&self) -> bool {
        let before = &self.geometry.tubes[self.at];
        let are_loose = [before.from, before.to].iter().all(|end| nearest_mm(self.geometry, self.at, end) > LOOSE_MM);
        let passes =
            |end: &Point3<f64>| [*end, mirrored(end)].iter().any(|place| from_tube_mm(before, place) <= LOOSE_MM);
        are_loose && !self.others().any(|other| passes(&other.from) || passes(&other.to))
    }

    /// No other tube reaches nearly as far along its axis.
    fn is_outermost(&self) -> bool {
        let at = self.axis.index();
        let number = self.as_written()[at];
        let numbers = || self.others().flat_map(|other| [other.from[at], other.to[at]]);
        let (least, most) = (numbers().fold(f64::INFINITY, f64::min), numbers().fold(f64::NEG_INFINITY, f64::max));
        !is_in(number, [least - FAR_MM, most + FAR_MM])
    }
}

/// An end of another tube than this has that number along the axis, to so much.
pub(super) fn is_station(geometry: &Geometry, at: usize, axis: Axis, mm: f64, same_mm: f64) -> bool {
    let ends = others(geometry, at).flat_map(|other| [other.from, other.to]);
    ends.map(|end| end[axis.index()]).any(|of_other| (of_other - mm).abs() <= same_mm)
}

fn others(geometry: &Geometry, at: usize) -> impl Iterator<Item = &Tube> {
    geometry.tubes.iter().enumerate().filter(move |(other, _)| *other != at).map(|(_, tube)| tube)
}

/// From a place to the nearest of all other tubes on either side of the car, mm.
fn nearest_mm(geometry: &Geometry, at: usize, place: &Point3<f64>) -> f64 {
    let gaps =
        others(geometry, at).flat_map(|other| [from_tube_mm(other, place), from_tube_mm(other, &mirrored(place))]);
    gaps.fold(f64::INFINITY, f64::min)
}

fn mirrored(place: &Point3<f64>) -> Point3<f64> {
    Point3::new(place.x, -place.y, place.z)
}
