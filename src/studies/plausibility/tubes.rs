//! An end of a frame tube that its brackets deny: they stand where brackets do, and too far from the tube that carries them.

use super::oddities::{Around, ONE_HOLE_MM};
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
/// is as likely.
fn guess(geometry: &Geometry, side: Side, at: usize) -> Option<Guess> {
    let (tube, units, links) = (&geometry.tubes[at], geometry.units, &geometry.corner(side).links);
    let brackets = brackets(geometry, side, at);
    let beyond = |tube: &Tube, link: usize| beyond_mm(tube, &links[link].chassis);
    let off: Vec<usize> = brackets.iter().copied().filter(|&link| beyond(tube, link) > 0.0).collect();
    let first = *off.first()?;
    let off_mm = beyond(tube, first) + BRACKET_MM;
    let ends = [("from", tube.from, tube.to), ("to", tube.to, tube.from)];
    let all = ends.into_iter().flat_map(|(end, place, other)| {
        let written: [f64; 3] = place.coords.map(|mm| as_typed(mm / units.in_mm())).into();
        let one_number = of_point(written, units).filter_map(|(axis, slip, meant)| Some((axis?, slip, meant)));
        // A slip in one end makes a tube lean that was meant to lean less.
        let leans_less = move |axis: Axis, meant: f64| {
            let at = axis.index();
            (units.to_mm(meant) - other[at]).abs() < (place[at] - other[at]).abs()
        };
        let one_number = one_number.map(|(axis, slip, meant)| (axis, slip, meant[axis.index()]));
        let one_number = one_number.filter(move |&(axis, _, meant)| leans_less(axis, meant));
        one_number.map(move |(axis, slip, meant)| (end, axis, slip, written[axis.index()], meant))
    });
    let guesses = all.filter_map(|(end, axis, slip, written, meant)| {
        let mut mended = tube.clone();
        let place = if end == "from" { &mut mended.from } else { &mut mended.to };
        place[axis.index()] = units.to_mm(meant);
        let reaches_all = brackets.iter().all(|&link| beyond(&mended, link) <= 0.0);
        reaches_all.then_some(Guess { tube: mended, end, axis, slip, written, meant, off_mm })
    });
    let furthest_mm =
        |guess: &Guess| off.iter().map(|&link| beyond(&guess.tube, link)).fold(f64::NEG_INFINITY, f64::max);
    let unlikely_mm = |slip: Slip, off_mm: f64| off_mm + RARER_MM * f64::from(slip.rarity());
    let of_tube = guesses.map(|guess| (unlikely_mm(guess.slip, furthest_mm(&guess)), guess));
    let (of_tube_mm, best) = of_tube.min_by(|(a, _), (b, _)| a.total_cmp(b))?;
    let of_bracket = facts::guesses(geometry, side, first, Around::of(geometry, side)).into_iter();
    let mut of_bracket_mm = of_bracket.map(|of| unlikely_mm(of.slip, beyond_mm(tube, &of.corner.links[first].chassis)));
    (off.len() > 1 || of_bracket_mm.all(|mm| of_tube_mm < mm)).then_some(best)
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
