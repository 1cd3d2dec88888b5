//! Which of the slips that explain an odd corner are told: the likeliest, and those that explain as much.

use super::alone::most_crossed;
use super::guesses::Guess;
use super::oddity::{Oddity, What};
use super::written::Writing;
use crate::geometry::slips::Slip;
use crate::geometry::{Axis, Corner};

/// As many points are named as a builder measures again for one mistake.
const MAX_SUSPECTS: usize = 2;
/// How much more usual a rarer slip has to leave a corner, for each step of rarity; no unit.
const RARER: f64 = 0.5;
/// Two numbers that were probably meant and are nearer to each other send a builder to the same place, mm.
const ANOTHER_MM: f64 = 9.9;

/// A point as it was probably meant beside that of the other side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Beside {
    /// It is its mirror image then and was not before; or there is no other one.
    Alike,
    Apart,
    /// It is not, and the other side is sound, or has the number as written and differs in another one.
    Denied,
}

/// Of slips that are sorted, the likeliest first, as many as a builder looks at, the same number meant otherwise beside its own.
pub(super) fn likeliest(judged: Vec<Judged>, (corner, odd): (&Corner, &[Oddity]), writing: &Writing) -> Vec<Guess> {
    // A link that lies across another one may be right, and a number of the other one wrong.
    let across = odd.iter().find(|oddity| oddity.what == What::CrossesOthers && oddity.ratio > 1.0);
    let across = across.and_then(|oddity| oddity.about.links().next());
    let crossed = across.and_then(|link| most_crossed(corner, link));
    let is_crossed = |best: &[Judged], next: &Judged| {
        let are_across = best.len() == MAX_SUSPECTS && best.iter().all(|judged| judged.is_of_link(across));
        are_across && next.is_of_link(crossed) && next.guess.axis.is_some()
    };
    let mut best: Vec<Judged> = Vec::new();
    let mut others: Vec<Judged> = Vec::new();
    let least = judged.first().map_or(0.0, |judged| judged.after);
    for next in judged.into_iter().take_while(|judged| judged.after <= least) {
        let is_other = |other: &Judged| other.guess.point != next.guess.point;
        let is_same = |other: &Judged| other.guess.source == next.guess.source && other.guess.meant == next.guess.meant;
        let is_new = |other: &Judged| is_other(other) || (!is_same(other) && next.is_as_good_as(other));
        let is_full = best.len() >= MAX_SUSPECTS && !is_crossed(&best, &next);
        if is_full || !best.iter().all(is_new) { others.push(next) } else { best.push(next) }
    }
    // The same number a hundred off, or without its last zero, is looked for where the number is looked at.
    let mut told: Vec<Judged> = Vec::new();
    for (nth, guess) in best.into_iter().enumerate() {
        let written = writing.numbers_of(corner, guess.guess.point, guess.guess.source);
        let is_hundred = |other: &Judged| nth == 0 && other.is_hundred_off_beside(&guess);
        let also = [
            others.iter().position(|other| other.is_tenfold_beside(&guess, written)).map(|at| others.remove(at)),
            others.iter().position(is_hundred).map(|at| others.remove(at)),
        ];
        told.push(guess);
        told.extend(also.into_iter().flatten());
    }
    told.into_iter().map(|judged| judged.guess).collect()
}

/// A guess with what it leaves over.
pub(super) struct Judged {
    pub after: f64,
    /// Elsewhere than where the corner looks odd, and what the other side says.
    pub order: (bool, Beside),
    pub strain: f64,
    pub guess: Guess,
}

impl Judged {
    pub fn with_rarity(&self) -> f64 {
        self.strain + RARER * f64::from(self.guess.slip.rarity())
    }

    fn is_of_link(&self, link: Option<usize>) -> bool {
        link.is_some() && self.guess.points().any(|point| point.link() == link)
    }

    /// It is a guess of the same number of the file.
    fn is_of_number_of(&self, other: &Judged) -> bool {
        let of = |judged: &Judged| (judged.guess.point, judged.guess.source, judged.guess.axis);
        other.guess.with.is_none() && other.guess.axis.is_some() && of(self) == of(other) && self.order == other.order
    }

    /// It is the same number with the zero behind it that was left out, as easily as digits are swapped or a unit mistaken.
    fn is_tenfold_beside(&self, other: &Judged, written: [f64; 3]) -> bool {
        let is_larger = |axis: Axis| self.guess.meant[axis.index()].abs() > written[axis.index()].abs();
        self.guess.slip == Slip::PointShifted
            && matches!(other.guess.slip, Slip::InInches | Slip::DigitsSwapped)
            && self.is_of_number_of(other)
            && self.guess.axis.is_some_and(is_larger)
    }

    /// It is the same number a hundred off, and leaves as usual a corner.
    fn is_hundred_off_beside(&self, other: &Judged) -> bool {
        self.guess.slip == Slip::HundredOff
            && other.guess.slip != Slip::HundredOff
            && self.is_of_number_of(other)
            && self.strain <= other.strain
            && self.guess.moved_beside_mm(&other.guess) >= ANOTHER_MM
    }

    /// It makes a number larger or smaller as a whole, and is no rarer step behind.
    fn is_as_good_as(&self, other: &Judged) -> bool {
        self.guess.slip.is_of_size()
            && other.guess.with.is_none()
            && self.order == other.order
            && self.strain <= other.strain + RARER
    }
}
