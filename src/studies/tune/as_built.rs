//! Which answer is the best one once it is built.
//!
//! The chance that an answer was found by is one of the drawing, to first order. What is told is counted on built cars, by the limits
//! that were not let go; where as many of them pass, or none does, what else is told decides.

use super::already_tuned::{NOISE, fail_clearly_less};
use super::answer::Answer;
use super::odds::BuildOdds;
use super::through_travel::{AsWritten, with_other_side_alike};
use super::tuned_car::tuned_geometry;
use crate::geometry::{Corner, Geometry, PerSide, Quantity, Side};
use crate::studies::errors::Proportion;
use crate::studies::tolerance::{USUAL_CARS, Watch};

/// As many as a study builds when it is told no number, so that both say the same.
const CARS: usize = USUAL_CARS as usize;
/// Figures that differ by no more than this proportion are the same to who measures them.
const EQUAL: f64 = 0.01;

/// What is told of an answer once it is built.
#[derive(Debug, Clone, Copy)]
pub(super) struct Told {
    /// Of cars that pass, limits that were let go left aside.
    pub share: Proportion,
    /// 9 of 10 wheels steer less, deg.
    pub p90_deg: f64,
    /// Worst bump steer as drawn, deg.
    pub drawn_deg: f64,
    /// The furthest that any point went, mm.
    pub moves_mm: f64,
}

impl Told {
    /// Of an answer that was built; `None` where no limit is tried on it.
    fn of(side: Side, answer: &Answer, built: &BuiltCar) -> Option<Self> {
        Some(Self {
            share: built.odds.share_of_kept()?,
            p90_deg: built.odds.worst[side].p90_deg,
            drawn_deg: answer.worst_bump_steer_deg,
            moves_mm: answer.longest_move_mm().unwrap_or(f64::INFINITY),
        })
    }

    /// Neither number of cars tells them apart.
    fn passes_as_often(&self, other: &Self) -> bool {
        let is_in = |of: &Self, (low, high): (f64, f64)| (low..=high).contains(&of.share.value());
        is_in(self, other.share.interval()) || is_in(other, self.share.interval())
    }

    /// More of its cars pass; of cars that pass as often 9 of 10 wheels steer less, or the drawn one does, or less was moved. The drawn
    /// car is left for a clearly better one alone.
    pub fn is_better_than(&self, other: &Self) -> bool {
        match (self.moves_mm == 0.0, other.moves_mm == 0.0) {
            (false, true) => return self.is_clearly_better_than(other),
            (true, false) => return !other.is_clearly_better_than(self),
            _ => {}
        }
        if !self.passes_as_often(other) {
            return self.share.value() > other.share.value();
        }
        let figures = [(self.p90_deg, other.p90_deg), (self.drawn_deg, other.drawn_deg)];
        let told_apart = figures.into_iter().find(|(own, other)| (own - other).abs() > EQUAL * own.max(*other));
        told_apart.map_or(self.moves_mm < other.moves_mm, |(own, other)| own < other)
    }

    /// By more than one search of a car differs from the next.
    fn is_clearly_better_than(&self, drawn: &Self) -> bool {
        match self.passes_as_often(drawn) {
            true => self.p90_deg < (1.0 - NOISE) * drawn.p90_deg,
            false => self.passes_clearly_more_often(drawn),
        }
    }

    /// More of its cars pass, by more than one search of a car differs from the next.
    fn passes_clearly_more_often(&self, other: &Self) -> bool {
        !self.passes_as_often(other) && fail_clearly_less(1.0 - self.share.value(), 1.0 - other.share.value())
    }
}

/// A car of an answer, and what it comes to once it is built.
#[derive(Debug, Clone)]
pub(super) struct BuiltCar {
    pub corners: PerSide<Corner>,
    /// Its cars are told by the other limits too.
    pub let_go: Vec<Quantity>,
    pub odds: BuildOdds,
}

impl BuiltCar {
    /// As its file has it, with both wheels like this one, for the other is tuned by itself.
    fn of(
        geometry: &Geometry,
        (side, answer): (Side, &Answer),
        as_written: AsWritten,
        let_go: &[Quantity],
    ) -> Option<Self> {
        let tuned = tuned_geometry(geometry, &[(side, answer)]);
        let car = with_other_side_alike(as_written(&tuned).unwrap_or(tuned), side);
        let odds = BuildOdds::beside(&car, CARS, let_go, Watch::NONE)?;
        Some(Self { corners: PerSide { left: car.left, right: car.right }, let_go: let_go.to_vec(), odds })
    }
}

/// The best of all good answers once they are built, in the place of the one that was found to forgive most, and the cars that were
/// built to know it. Targets were weighed beside the chance already.
pub(super) fn best_as_built<'a>(
    geometry: &Geometry,
    side: Side,
    (forgiving, flattest, others): (&'a Answer, &'a Answer, impl Iterator<Item = &'a Answer>),
    as_written: AsWritten,
    let_go: &[Quantity],
) -> (Answer, Vec<BuiltCar>) {
    let has_targets = !geometry.targets.list.is_empty() || geometry.targets.toe.is_some();
    let mut distinct = vec![forgiving];
    for other in others {
        if !has_targets && distinct.iter().all(|known| known.corner != other.corner) {
            distinct.push(other);
        }
    }
    if distinct.len() == 1 {
        return (forgiving.clone(), Vec::new());
    }
    let build = |answer: &&'a Answer| (*answer, BuiltCar::of(geometry, (side, answer), as_written, let_go));
    let built: Vec<(&Answer, Option<BuiltCar>)> = distinct.iter().map(build).collect();
    let told =
        |(answer, built): &(&'a Answer, Option<BuiltCar>)| Some((*answer, Told::of(side, answer, built.as_ref()?)?));
    // Without a chance the one that was found is compared with none. What is neither that, nor the flattest, nor the drawn car depends on
    // the seed, and is the best one where clearly more cars of it pass.
    let best = built.first().and_then(told).map(|first| {
        let better = |best: (&'a Answer, Told), next: (&'a Answer, Told)| {
            let depends_on_seed = next.0.corner != flattest.corner && next.1.moves_mm > 0.0;
            let is_better = match depends_on_seed {
                true => next.1.passes_clearly_more_often(&best.1),
                false => next.1.is_better_than(&best.1),
            };
            if is_better { next } else { best }
        };
        built[1..].iter().filter_map(told).fold(first, better).0
    });
    (best.unwrap_or(forgiving).clone(), built.into_iter().filter_map(|(_, built)| built).collect())
}

#[cfg(test)]
mod tests {
    use super::{CARS, Told};
    use crate::studies::errors::Proportion;

    fn told(passing: usize, p90_deg: f64, drawn_deg: f64, moves_mm: f64) -> Told {
        Told { share: Proportion { count: passing, of: CARS }, p90_deg, drawn_deg, moves_mm }
    }

    #[test]
    fn where_no_car_passes_what_most_wheels_steer_decides_then_the_drawing_then_the_move() {
        let better = |a: Told, b: Told| (a.is_better_than(&b), b.is_better_than(&a));
        assert_eq!(better(told(0, 0.294, 0.140, 4.0), told(0, 0.299, 0.156, 3.0)), (true, false));
        assert_eq!(better(told(0, 0.297, 0.140, 4.0), told(0, 0.299, 0.156, 3.0)), (true, false));
        assert_eq!(better(told(0, 0.297, 0.1401, 4.0), told(0, 0.299, 0.140, 3.0)), (false, true));
        // 84 and 90 of 10,000 are the same, 84 and 190 are not.
        assert_eq!(better(told(84, 0.2, 0.1, 1.0), told(90, 0.3, 0.1, 1.0)), (true, false));
        assert_eq!(better(told(84, 0.2, 0.1, 1.0), told(190, 0.3, 0.1, 1.0)), (false, true));
    }

    /// 1,090 of 10,000 are more than 1,000, and one search of a car may find them where the next does not; 1,300 are clearly more.
    #[test]
    fn a_drawn_car_is_left_for_clearly_more_cars_that_pass() {
        let drawn = told(1000, 0.3, 0.05, 0.0);
        let leaves = |passing: usize| {
            let other = told(passing, 0.2, 0.05, 14.0);
            assert_ne!(other.is_better_than(&drawn), drawn.is_better_than(&other));
            other.is_better_than(&drawn)
        };
        assert!(leaves(1300) && !leaves(1090) && !leaves(700));
    }

    #[test]
    fn a_drawn_car_of_which_no_built_one_passes_is_left_for_wheels_that_steer_a_tenth_less() {
        let drawn = told(0, 0.658, 0.529, 0.0);
        let leaves = |p90_deg: f64| {
            let other = told(0, p90_deg, 0.3, 14.0);
            assert_ne!(other.is_better_than(&drawn), drawn.is_better_than(&other));
            other.is_better_than(&drawn)
        };
        assert!(leaves(0.484) && !leaves(0.6));
    }
}
