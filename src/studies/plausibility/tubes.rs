//! An end of a frame tube that its brackets deny: they stand where brackets do, and too far from the tube that carries them.

use nalgebra::Point3;

use super::nodes::{SAME_MM, is_station};
use super::oddities::{Around, ONE_HOLE_MM};
use super::on_frame::is_on_frame;
use super::parts::{BRACKET_MM, beyond_mm};
use super::written::placed;
use super::{Doubt, facts};
use crate::geometry::slips::{Slip, as_typed, of_point};
use crate::geometry::{Axis, Geometry, LengthUnit, Side, Tube};

/// Brackets stand near their tube: a rarer slip has to bring it so much nearer, for each step of rarity, mm.
const RARER_MM: f64 = 50.0;

/// One doubt for each tube of which one end is wrong; the car goes on with that end.
pub(super) fn mend(geometry: &mut Geometry, side: Side) -> Vec<Doubt> {
    let wrong: Vec<(usize, Guess)> =
        (0..geometry.tubes.len()).filter_map(|tube| Some((tube, guess(geometry, side, tube)?))).collect();
    wrong
        .into_iter()
        .map(|(at, guess)| {
            let doubt = guess.doubt(&geometry.tubes[at], geometry.units);
            geometry.tubes[at] = guess.tube;
            doubt
        })
        .collect()
}

/// A tube with one end as it was probably meant.
struct Guess {
    tube: Tube,
    end: &'static str,
    axis: Axis,
    slip: Slip,
    written: f64,
    meant: f64,
    /// How far its brackets were from it, mm.
    off_mm: f64,
}

/// `None` where its brackets reach the tube, where no slip brings it to all of them, or where a slip of the one bracket that is off
/// is as likely and the frame does not say which.
fn guess(geometry: &Geometry, side: Side, at: usize) -> Option<Guess> {
    let (tube, units, links) = (&geometry.tubes[at], geometry.units, &geometry.corner(side).links);
    let brackets = brackets(geometry, side, at);
    let beyond = |tube: &Tube, link: usize| beyond_mm(tube, &links[link].chassis);
    let off: Vec<usize> = brackets.iter().copied().filter(|&link| beyond(tube, link) > 0.0).collect();
    let first = *off.first()?;
    let off_mm = beyond(tube, first) + BRACKET_MM;
    let all = ["from", "to"].into_iter().flat_map(|end| slips(tube, end, units));
    let guesses = all.filter_map(|(end, axis, slip, written, meant)| {
        let mut mended = tube.clone();
        let place = if end == "from" { &mut mended.from } else { &mut mended.to };
        place[axis.index()] = units.to_mm(meant);
        let guess = Guess { tube: mended, end, axis, slip, written, meant, off_mm };
        let is_of_frame = guess.is_of_frame(geometry, at);
        // A slip in one end makes a tube lean that was meant to lean less; one that it makes short lies as it was meant.
        let is_meant = guess.leans_less(tube)
            || (guess.is_along()
                && is_on_frame(geometry, &guess.end_of(&guess.tube))
                && (off.len() > 1 || is_of_frame));
        let reaches_all = brackets.iter().all(|&link| beyond(&guess.tube, link) <= 0.0);
        (is_meant && reaches_all).then_some((is_of_frame, guess))
    });
    let furthest_mm =
        |guess: &Guess| off.iter().map(|&link| beyond(&guess.tube, link)).fold(f64::NEG_INFINITY, f64::max);
    let unlikely_mm = |slip: Slip, off_mm: f64| off_mm + RARER_MM * f64::from(slip.rarity());
    let of_tube = guesses.map(|(is_of_frame, guess)| {
        let of_mm = unlikely_mm(guess.slip, furthest_mm(&guess));
        ((!is_of_frame, !guess.leans_less(tube)), of_mm, guess)
    });
    let ((is_loose, _), of_tube_mm, best) =
        of_tube.min_by(|(a, a_mm, _), (b, b_mm, _)| a.cmp(b).then(a_mm.total_cmp(b_mm)))?;
    let of_bracket = facts::guesses(geometry, side, first, Around::of(geometry, side)).into_iter();
    let mut of_bracket_mm = of_bracket.map(|of| unlikely_mm(of.slip, beyond_mm(tube, &of.corner.links[first].chassis)));
    (!is_loose || off.len() > 1 || of_bracket_mm.all(|mm| of_tube_mm < mm)).then_some(best)
}

/// Every slip in one number of an end of the tube: the end, the axis, and the number as written and as it was meant.
fn slips(
    tube: &Tube,
    end: &'static str,
    units: LengthUnit,
) -> impl Iterator<Item = (&'static str, Axis, Slip, f64, f64)> {
    let place = if end == "from" { tube.from } else { tube.to };
    let written: [f64; 3] = place.coords.map(|mm| as_typed(mm / units.in_mm())).into();
    let one_number = of_point(written, units).filter_map(|(axis, slip, meant)| Some((axis?, slip, meant)));
    one_number.map(move |(axis, slip, meant)| (end, axis, slip, written[axis.index()], meant[axis.index()]))
}

/// The links whose brackets the file has on this tube, on one side, one of each hole.
fn brackets(geometry: &Geometry, side: Side, tube: usize) -> Vec<usize> {
    let (links, placed) = (&geometry.corner(side).links, placed(geometry, side));
    let is_carried = |link: usize| geometry.adjustments[side].links[link].tube.is_some_and(|ride| ride.tube == tube);
    let mut found: Vec<usize> = Vec::new();
    for link in (0..links.len()).filter(|&link| placed[link] && is_carried(link)) {
        if found.iter().all(|&other| (links[other].chassis - links[link].chassis).norm() > ONE_HOLE_MM) {
            found.push(link);
        }
    }
    found
}

impl Guess {
    /// From the other end to this one along its axis, of the tube as it was meant or as it is written, mm.
    fn reach_mm(&self, tube: &Tube) -> f64 {
        let along = tube.to - tube.from;
        along[self.axis.index()].abs()
    }

    /// Its end of the tube, as it was meant or as it is written.
    fn end_of(&self, tube: &Tube) -> Point3<f64> {
        if self.end == "from" { tube.from } else { tube.to }
    }

    fn leans_less(&self, before: &Tube) -> bool {
        self.reach_mm(&self.tube) < self.reach_mm(before)
    }

    /// The tube, as it was meant, lies along the axis of the number.
    fn is_along(&self) -> bool {
        (self.tube.to - self.tube.from).iamax() == self.axis.index()
    }

    /// With it, and not as written, the tube ends as far along the car as another one, or as far ahead of the axle as behind it, or as high or
    /// as far out as its other end.
    fn is_of_frame(&self, geometry: &Geometry, at: usize) -> bool {
        let before = &geometry.tubes[at];
        let is_one_of_frame = |tube: &Tube| match self.axis {
            Axis::X => {
                let is_alike_both_ways = (tube.from.x + tube.to.x).abs() <= SAME_MM;
                is_alike_both_ways || is_station(geometry, at, Axis::X, self.end_of(tube).x, SAME_MM)
            }
            Axis::Y | Axis::Z => self.reach_mm(tube) <= SAME_MM,
        };
        is_one_of_frame(&self.tube) && !is_one_of_frame(before)
    }

    fn doubt(&self, before: &Tube, units: LengthUnit) -> Doubt {
        let Self { end, axis, slip, written, meant, off_mm, .. } = self;
        let about = format!("tube {:?} {end}", before.name);
        let sentence = format!(
            "{about}: {}; as written it is {} from a bracket that it carries.",
            slip.told_of(*axis, [*written, *meant]),
            units.show(*off_mm)
        );
        Doubt::new(None, about, Some(format!("{meant:?}")), sentence)
    }
}
