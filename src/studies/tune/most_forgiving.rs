//! The search for the answer that forgives welding errors best.
//!
//! It descends from the flattest ends and from places all over the adjustment ranges, because flat answers lie close together
//! and the most forgiving one may lie far from them. Descents go through stages in turn: every stage is the same problem with
//! another thing forgiven, and the last one decides. Most starts lead to a few places, so after each stage the distinct ones
//! among the best go on.
//!
//! Places that are the same for every seed are searched first, and flat ends that such places led to, the more of them the wider the
//! ranges are. What only the places of this seed lead to is taken where it is clearly better, so that one seed and the next give answers of the same worth.

use rand::SeedableRng;
use rand::rngs::StdRng;
use rayon::iter::{IntoParallelIterator, IntoParallelRefIterator, ParallelIterator};

use super::already_tuned::is_clearly_more_forgiving;
use super::descent::Descent;
use super::iterate::Bounds;
use super::problem::TuneProblem;
use super::search::{Goal, SearchOptions, SearchResult, apart, bounds_of, draw};
use super::whole_steps::{has_steps, improved_on_steps, on_steps};
use crate::geometry::Interval;

/// Distinct flat ends from which it is looked for, beside the drawn starts.
const MAX_FLAT_STARTS: usize = 2;
/// Places that go on from one stage to the next.
const MAX_BASINS: usize = 5;
/// Of them so many are such as are accepted, where there are more places than that.
const ACCEPTED_BASINS: usize = 2;
/// The most forgiving answers that are put on steps.
const STEPPED: usize = 2;
/// Ranges of this width, mm, are searched from the starts of the flattest answer alone; of wider ones, so many times as many.
const USUAL_WIDTH_MM: f64 = 50.0;
const MAX_TIMES: f64 = 4.0;
/// The same of a car that has nothing drawn to begin from.
const TIMES_OF_NEW: f64 = 8.0;
/// Of the places that are the same for every seed.
const EVERY_SEED: u64 = 0x0a11;
/// Answers that are not accepted and whose ranges are narrowed until they are.
const MAX_NARROWED: usize = 4;
/// The ranges are known to this power of a half.
const HALVINGS: usize = 5;

/// The best answer that is accepted, and how it is found.
pub(super) struct ForgivingSearch<'a, 'g> {
    /// From the smoothest to the one that decides; at least one.
    pub stages: &'a [TuneProblem<'g>],
    pub last: &'a TuneProblem<'g>,
    pub options: &'a SearchOptions<'a>,
    /// What may be written.
    pub accepts: &'a (dyn Fn(&Descent) -> bool + Sync),
}

impl ForgivingSearch<'_, '_> {
    /// Never worse than the flattest ends, where one of them is accepted.
    pub fn best(&self, from: &SearchResult) -> Option<Descent> {
        let place = |end: &Descent| end.iterate.design_vector.clone();
        let flat: Vec<Descent> = apart(from.common_ends.iter(), &[], MAX_FLAT_STARTS).into_iter().cloned().collect();
        let common = flat.iter().map(place).chain(from.common.iter().cloned());
        let basins = self.through_stages(common.chain(self.more_places(from.common.len())).collect(), &[]);
        let stayed = apart(from.ends.iter(), &[], MAX_FLAT_STARTS).into_iter();
        let stayed = self.improved(stayed.filter_map(|end| end.judged_by(self.last)).collect());
        let ends = self.on_steps(basins.last().into_iter().flatten().cloned().collect(), STEPPED);
        // The flat ends stand on whole steps already.
        let best = self.accepted(sorted(ends.into_iter().chain(stayed).collect()), true);
        let flat_of_seed = apart(from.ends.iter(), &flat, MAX_FLAT_STARTS).into_iter().map(place);
        let own = flat_of_seed.chain(from.own.iter().cloned()).collect();
        let own = self.through_stages(own, &basins).pop().unwrap_or_default();
        let own = self.accepted(self.on_steps(own, 1), false);
        match (best, own) {
            (Some(best), Some(own)) if is_clearly_more_forgiving(&own, &best) => Some(own),
            (best, own) => best.or(own),
        }
    }

    /// Of wide ranges.
    fn more_places(&self, known: usize) -> Vec<Vec<f64>> {
        let bounds = bounds_of(self.last);
        let width_mm = bounds.iter().map(Interval::width).sum::<f64>() / bounds.len().max(1) as f64;
        let is_new = self.last.variables.places_links();
        let times = if is_new { TIMES_OF_NEW } else { (width_mm / USUAL_WIDTH_MM).clamp(1.0, MAX_TIMES) };
        let more = (known as f64 * (times - 1.0)).round() as u64;
        let place = |index: u64| draw(self.last, &bounds, &mut StdRng::seed_from_u64(EVERY_SEED + index)).ok();
        (0..more).into_par_iter().filter_map(place).collect()
    }

    /// The distinct ends of each stage, best first, but for those that are known.
    fn through_stages(&self, mut starts: Vec<Vec<f64>>, known: &[Vec<Descent>]) -> Vec<Vec<Descent>> {
        let bounds = bounds_of(self.last);
        let mut of_stages = Vec::new();
        for (index, stage) in self.stages.iter().enumerate() {
            let descend = |start: &Vec<f64>| {
                let end = Goal::MostForgiving.descend(stage, &bounds, start, self.options).ok();
                (self.options.progress)();
                end
            };
            let ends = sorted(starts.par_iter().filter_map(descend).collect());
            let basins = self.basins(&ends, known.get(index).map_or(&[], Vec::as_slice));
            starts = basins.iter().map(|end| end.iterate.design_vector.clone()).collect();
            of_stages.push(basins);
        }
        of_stages
    }

    /// The best, and a few that are accepted where the best are not.
    fn basins(&self, ends: &[Descent], known: &[Descent]) -> Vec<Descent> {
        let (mut kept, mut more) = (apart(ends.iter(), known, usize::MAX), Vec::new());
        if kept.len() > MAX_BASINS {
            let rest = kept.split_off(MAX_BASINS);
            let sound = kept.iter().filter(|end| (self.accepts)(end)).take(ACCEPTED_BASINS).count();
            more = rest.into_iter().filter(|end| (self.accepts)(end)).take(ACCEPTED_BASINS - sound).collect();
        }
        kept.into_iter().chain(more).cloned().collect()
    }

    /// Ends on whole steps improved step by step, and as they were; these alone where nothing has steps.
    fn improved(&self, ends: Vec<Descent>) -> Vec<Descent> {
        if has_steps(self.last) { improved_on_steps(self.last, ends, Goal::MostForgiving, self.options) } else { ends }
    }

    /// So many of the best with whole steps; all of them where nothing has steps.
    fn on_steps(&self, ends: Vec<Descent>, most: usize) -> Vec<Descent> {
        let ends = sorted(ends);
        if !has_steps(self.last) {
            return ends;
        }
        on_steps(self.last, &ends[..ends.len().min(most)], Goal::MostForgiving, self.options)
    }

    /// The best that is accepted, of these and of narrower ranges round those that are not.
    fn accepted(&self, ends: Vec<Descent>, narrows: bool) -> Option<Descent> {
        let at = ends.iter().position(|end| (self.accepts)(end));
        let refused = &ends[..at.unwrap_or(ends.len())];
        let found = at.map(|at| ends[at].clone());
        if refused.is_empty() || !narrows {
            return found;
        }
        let refused = &refused[..refused.len().min(MAX_NARROWED)];
        let narrowed = refused.par_iter().filter_map(|end| self.narrowed(end));
        sorted(narrowed.chain(found).collect()).into_iter().next()
    }

    /// An answer that reads like a mistake in the file is far from the drawn car: of ranges that shrink towards that, the widest
    /// of which the best answer is accepted.
    fn narrowed(&self, end: &Descent) -> Option<Descent> {
        let (mut inside, mut outside, mut best) = (0.0, 1.0, None);
        for _ in 0..HALVINGS {
            let share = f64::midpoint(inside, outside);
            let bounds = scaled(&bounds_of(self.last), share);
            let start: Vec<f64> = end.iterate.design_vector.iter().map(|x| share * x).collect();
            let there = Goal::MostForgiving.descend(self.last, &bounds, &start, self.options).ok();
            let there = there.and_then(|end| self.on_steps(vec![end], 1).into_iter().next());
            match there.filter(|there| (self.accepts)(there)) {
                Some(there) => (inside, best) = (share, Some(there)),
                None => outside = share,
            }
        }
        best
    }
}

fn scaled(bounds: &Bounds, share: f64) -> Bounds {
    bounds.iter().map(|bound| Interval { low: share * bound.low, high: share * bound.high }).collect()
}

fn sorted(mut ends: Vec<Descent>) -> Vec<Descent> {
    ends.sort_by(|a, b| Goal::MostForgiving.order(a, b));
    ends
}

#[cfg(test)]
mod tests {
    use super::{Descent, ForgivingSearch, Interval, SearchOptions, TuneProblem, apart, scaled};
    use crate::file::GeometryFile;
    use crate::geometry::{AdjustmentRange, Side};
    use crate::studies::design_variables::DesignVariables;
    use crate::studies::errors::ErrorModel;
    use crate::studies::termination::Termination;
    use crate::studies::tune::forgiveness::Forgiveness;
    use crate::studies::tune::iterate::Iterate;
    use crate::studies::tune::residual::Evaluation;
    use crate::studies::tune::search::search;

    fn end(x: f64) -> Descent {
        let evaluation = Evaluation { objective: Vec::new(), limits: Vec::new(), worst_bump_steer_deg: 0.0 };
        Descent { iterate: Iterate { design_vector: vec![x], evaluation }, termination: Termination::Converged }
    }

    /// Ends less than 2 mm from one that is known, or from a better one, are that one.
    #[test]
    fn places_that_are_known_are_not_searched_again() {
        let ends = [0.0, 10.0, 11.0, 20.0, 30.0].map(end);
        let places = |known: &[Descent], most| {
            let apart = apart(ends.iter(), known, most).into_iter();
            apart.map(|end| end.iterate.design_vector[0]).collect::<Vec<f64>>()
        };
        assert_eq!(places(&[], 3), [0.0, 10.0, 20.0]);
        assert_eq!(places(&[end(1.0), end(19.0)], 5), [10.0, 30.0]);
    }

    /// Of brackets that move by whole steps the flattest answer alone is accepted, and it stays as it is.
    #[test]
    fn a_flat_end_on_whole_steps_is_there_where_nothing_else_is_accepted() {
        let demo = include_str!("../../../geometries/first-cut.toml");
        let mut geometry = GeometryFile::parse("demo", demo).expect("a sound car").geometry;
        for axis in [1, 2] {
            let range = &mut geometry.adjustments.left.links[4].chassis[axis];
            *range = range.map(|range| AdjustmentRange { step: Some(5.0), ..range });
        }
        let problem = TuneProblem::new(&geometry, Side::Left, DesignVariables::of(&geometry, Side::Left), None);
        let options = SearchOptions { starts: 2, ..SearchOptions::default() };
        let found = search(&problem, &options);
        let flat = &found.ends[0].iterate.design_vector;
        let errors = ErrorModel::of_file(&geometry)[Side::Left].clone();
        let stages = [problem.forgiving(Forgiveness::least_square(errors))];
        let accepts = |end: &Descent| end.iterate.design_vector == *flat;
        let search = ForgivingSearch { stages: &stages, last: &stages[0], options: &options, accepts: &accepts };
        assert!(search.best(&found).is_some_and(|best| best.iterate.design_vector == *flat));
    }

    #[test]
    fn ranges_shrink_towards_the_drawn_car() {
        let bounds = vec![Interval { low: -8.0, high: 24.0 }];
        assert_eq!(scaled(&bounds, 0.25), [Interval { low: -2.0, high: 6.0 }]);
    }
}
