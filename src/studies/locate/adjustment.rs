//! All readings of a survey adjusted together.
//!
//! Exact datums part the survey into groups of places that hang together; each is adjusted by itself. A datum with a
//! standard deviation is sought with the points, its coordinates being observations.

use nalgebra::{Matrix3, Point3};
use rayon::prelude::*;

use super::branches::{moved, others};
use super::network::Solved;
use super::observation::{Observation, Source, index_of, observations};
use super::snooping::{Snooped, Tested, snoop, tested};
use super::start;
use super::statistics::{critical_residual, critical_sum};
use crate::survey::{Station, Survey};

/// Sides that are tried in turn before the best so far is kept.
const MAX_BRANCHES: usize = 4;
/// Two branches as near as this to the rough places of the survey are as near as each other, mm.
const SAME_MM: f64 = 1.0;
/// Two branches whose sums of squares differ by less fit alike.
const SAME_FIT: f64 = 1e-6;
/// A place that is known no better is not known, mm.
const MAX_SD_MM: f64 = 500.0;

/// Where everything is.
#[derive(Debug)]
pub(super) struct Adjustment<'s> {
    pub(super) survey: &'s Survey,
    pub(super) observations: Vec<Observation>,
    pub(super) groups: Vec<Group>,
    /// Of each place: its group; `None` for an exact datum.
    group_of: Vec<Option<usize>>,
    exact: Solved,
    places: Vec<Point3<f64>>,
    /// Observations that depend on exact datums alone, and those of them that do not fit.
    pub(super) checks: Vec<usize>,
    pub(super) noise: Noisiness,
}

/// Places that hang together.
#[derive(Debug)]
pub(super) struct Group {
    /// Places by number, datums that are sought among them.
    pub(super) unknowns: Vec<usize>,
    pub(super) snooped: Snooped,
    /// Points that may as well stand elsewhere.
    pub(super) ambiguous: Vec<(usize, Point3<f64>)>,
    /// What the standard deviations are multiplied by.
    scale: f64,
}

/// How the readings scatter against what was said of them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Noisiness {
    /// Observations beyond those that are needed.
    pub(super) redundancy: usize,
    /// Root mean square of what is left of them, over their standard deviations.
    pub(super) factor: f64,
    /// More than chance makes of it: the standard deviations of all places are multiplied by the factor.
    pub(super) is_scaled: bool,
}

/// What became of one observation.
#[derive(Debug, Clone, Copy)]
pub(super) struct Outcome {
    /// As the places make it.
    pub(super) fitted_mm: f64,
    /// Standard deviation of that, mm.
    pub(super) fitted_sd_mm: f64,
    /// Of an observation that was used, when the others control it.
    pub(super) tested: Option<Tested>,
}

impl<'s> Adjustment<'s> {
    pub(super) fn of(survey: &'s Survey) -> Self {
        let observations = observations(survey);
        let critical = critical_residual(observations.len());
        let (members, group_of) = grouped(survey, &observations);
        let near = survey.points.iter().map(|point| point.near);
        let known: Vec<_> = survey.datums.iter().map(|datum| Some(datum.at)).chain(near).collect();
        let placed = start::placed(&known, &observations);
        let groups: Vec<Group> = members
            .iter()
            .map(|members| group(survey, &members.places, &members.observations, &observations, &placed, critical))
            .collect();
        let is_check = |seen: &Observation| seen.of.stations().all(|place| group_of[place].is_none());
        let checks = (0..observations.len()).filter(|&index| is_check(&observations[index])).collect();
        let noise = Noisiness { redundancy: 0, factor: 1.0, is_scaled: false };
        let mut places = placed.clone();
        for (place, group) in group_of.iter().enumerate().filter_map(|(place, group)| Some((place, (*group)?))) {
            places[place] = groups[group].snooped.solved.places[place];
        }
        let exact = Solved::exact(&placed);
        let mut adjustment = Self { survey, observations, groups, group_of, exact, places, checks, noise };
        adjustment.scale(critical);
        adjustment
    }

    /// Finds how noisy the readings are, and widens the standard deviations when they are noisier than was said.
    fn scale(&mut self, critical: f64) {
        let fits = |&index: &usize| self.residual(index).abs() <= critical;
        let checks: Vec<usize> = self.checks.iter().copied().filter(fits).collect();
        let mut sum: f64 = checks.iter().map(|&index| self.residual(index).powi(2)).sum();
        let mut redundancy = checks.len();
        for group in self.groups.iter().filter(|group| group.snooped.contradiction.is_empty()) {
            sum += group.snooped.solved.sum_of_squares;
            redundancy += group.redundancy();
        }
        let factor = if redundancy == 0 { 1.0 } else { (sum / redundancy as f64).sqrt() };
        let is_scaled = redundancy > 0 && sum > critical_sum(redundancy);
        self.noise = Noisiness { redundancy, factor, is_scaled };
        for group in &mut self.groups {
            let own = (group.snooped.solved.sum_of_squares / group.redundancy().max(1) as f64).sqrt();
            group.scale = match (group.snooped.contradiction.is_empty(), is_scaled) {
                (false, _) => own.max(1.0),
                (true, true) => factor,
                (true, false) => 1.0,
            };
        }
    }

    /// Residual of an observation over its standard deviation.
    fn residual(&self, index: usize) -> f64 {
        let seen = &self.observations[index];
        (seen.value_mm - self.outcome(index).fitted_mm) / seen.sd_mm
    }

    /// True for a check that does not fit.
    pub(super) fn is_wrong_check(&self, index: usize) -> bool {
        self.residual(index).abs() > critical_residual(self.observations.len())
    }

    fn group_of_observation(&self, index: usize) -> Option<&Group> {
        let group = self.observations[index].of.stations().find_map(|place| self.group_of[place])?;
        Some(&self.groups[group])
    }

    pub(super) fn outcome(&self, index: usize) -> Outcome {
        let seen = &self.observations[index];
        let Some(group) = self.group_of_observation(index) else {
            let fitted_mm = self.exact.value_mm(seen.of);
            return Outcome { fitted_mm, fitted_sd_mm: 0.0, tested: tested(seen, index, &self.exact) };
        };
        let solved = &group.snooped.solved;
        let is_used = group.snooped.used.contains(&index);
        Outcome {
            fitted_mm: solved.value_mm(seen.of),
            fitted_sd_mm: group.scale * solved.variance_of(seen.of).sqrt(),
            tested: if is_used { tested(seen, index, solved) } else { None },
        }
    }

    fn group(&self, place: usize) -> Option<&Group> {
        self.group_of[place].map(|group| &self.groups[group])
    }

    /// Where every place is, determined or not.
    pub(super) fn places(&self) -> &[Point3<f64>] {
        &self.places
    }

    pub(super) fn place(&self, place: usize) -> Point3<f64> {
        self.places[place]
    }

    /// Where else a point may be.
    pub(super) fn ambiguous(&self, place: usize) -> Option<Point3<f64>> {
        self.group(place)?.ambiguous.iter().find(|(point, _)| *point == place).map(|(_, other)| *other)
    }

    /// The directions in which the readings that were used fix a place: true when in all.
    pub(super) fn is_fixed(&self, place: usize) -> bool {
        let Some(group) = self.group(place) else { return true };
        let largest = self.covariance(place, place).symmetric_eigenvalues().max();
        group.snooped.solved.is_determined(place) && largest <= MAX_SD_MM.powi(2)
    }

    /// True for a place that is fixed and stands nowhere else.
    pub(super) fn is_determined(&self, place: usize) -> bool {
        self.is_fixed(place) && self.ambiguous(place).is_none()
    }

    /// Covariance of two places, mm²; zero when they do not hang together.
    pub(super) fn covariance(&self, a: usize, b: usize) -> Matrix3<f64> {
        match (self.group_of[a], self.group_of[b]) {
            (Some(one), Some(other)) if one == other => {
                let group = &self.groups[one];
                group.snooped.solved.block(a, b) * group.scale.powi(2)
            }
            _ => Matrix3::zeros(),
        }
    }

    /// Everything that was taken out, and checks that do not fit, with what else it could be.
    pub(super) fn suspects(&self) -> Vec<(usize, Vec<usize>)> {
        let wrong =
            self.checks.iter().copied().filter(|&index| self.is_wrong_check(index)).map(|index| (index, vec![]));
        let removed = self.groups.iter().flat_map(|group| &group.snooped.suspects);
        let mut suspects: Vec<_> = removed.map(|suspect| (suspect.index, suspect.or.clone())).chain(wrong).collect();
        suspects.sort_unstable_by_key(|(index, _)| *index);
        suspects
    }

    /// Observations that reach a place and were used.
    pub(super) fn used_of(&self, place: usize) -> Vec<usize> {
        let used = self.group(place).map_or(&[][..], |group| &group.snooped.used[..]);
        let reaches = |index: &usize| self.observations[*index].of.stations().any(|end| end == place);
        used.iter().copied().filter(reaches).collect()
    }
}

impl Group {
    fn redundancy(&self) -> usize {
        self.snooped.used.len() - self.snooped.solved.rank
    }
}

struct Members {
    places: Vec<usize>,
    observations: Vec<usize>,
}

/// The groups of places that hang together by what was observed, exact datums aside, and the group of each place.
fn grouped(survey: &Survey, observations: &[Observation]) -> (Vec<Members>, Vec<Option<usize>>) {
    let places = survey.datums.len() + survey.points.len();
    let is_exact = |place: usize| survey.datums.get(place).is_some_and(|datum| datum.sd_mm == 0.0);
    let mut group_of: Vec<Option<usize>> = (0..places).map(|place| (!is_exact(place)).then_some(place)).collect();
    for seen in observations {
        let mut ends = seen.of.stations().filter_map(|place| group_of[place]);
        if let (Some(one), Some(other)) = (ends.next(), ends.next()) {
            let (keep, join) = (one.min(other), one.max(other));
            group_of.iter_mut().filter(|group| **group == Some(join)).for_each(|group| *group = Some(keep));
        }
    }
    let mut names: Vec<usize> = group_of.iter().flatten().copied().collect();
    names.sort_unstable();
    names.dedup();
    let mut groups: Vec<Members> =
        names.iter().map(|_| Members { places: Vec::new(), observations: Vec::new() }).collect();
    for (place, group) in group_of.iter_mut().enumerate() {
        *group = group.and_then(|name| names.binary_search(&name).ok());
        if let Some(group) = *group {
            groups[group].places.push(place);
        }
    }
    for (index, seen) in observations.iter().enumerate() {
        if let Some(group) = seen.of.stations().find_map(|place| group_of[place]) {
            groups[group].observations.push(index);
        }
    }
    (groups, group_of)
}

/// Adjusts one group, on the side that fits best.
fn group(
    survey: &Survey,
    unknowns: &[usize],
    members: &[usize],
    observations: &[Observation],
    placed: &[Point3<f64>],
    critical: f64,
) -> Group {
    let points: Vec<usize> = unknowns.iter().copied().filter(|&place| place >= survey.datums.len()).collect();
    let snooped_from = |start: &[Point3<f64>]| snoop(unknowns, members, observations, start, critical);
    let mut here = snooped_from(placed);
    let mut ambiguous = Vec::new();
    for _ in 0..MAX_BRANCHES {
        ambiguous.clear();
        let mut better = None;
        let others = others(&here.solved, unknowns, &points, &here.used, observations);
        let tried: Vec<Snooped> = others.par_iter().map(|other| snooped_from(&other.places)).collect();
        for there in tried {
            let moved = moved(&here.solved, &there.solved, &points);
            if moved.is_empty() || there.doubts() > here.doubts() {
                continue;
            }
            let farther_mm = farther_from_near(survey, &moved, &here.solved, &there.solved);
            let worse_by = there.solved.sum_of_squares - here.solved.sum_of_squares;
            let is_nearer = farther_mm < -SAME_MM || farther_mm <= SAME_MM && worse_by < -SAME_FIT;
            if there.doubts() < here.doubts() || is_nearer {
                better = Some(there);
                break;
            }
            if farther_mm <= SAME_MM {
                ambiguous.extend(moved.iter().map(|&point| (point, there.solved.places[point])));
            }
        }
        match better {
            Some(better) => here = better,
            None => break,
        }
    }
    Group { unknowns: unknowns.to_vec(), snooped: here, ambiguous, scale: 1.0 }
}

/// How much farther the points that moved are from where the survey says that they are about, mm.
fn farther_from_near(survey: &Survey, moved: &[usize], here: &Solved, there: &Solved) -> f64 {
    let near = survey.points.iter().enumerate().filter_map(|(i, point)| {
        let place = index_of(survey, Station::Point(i));
        Some((place, point.near.filter(|_| moved.contains(&place))?))
    });
    near.map(|(place, near)| (there.places[place] - near).norm() - (here.places[place] - near).norm()).sum()
}

impl Observation {
    /// The reading that it is, by index.
    pub(super) fn reading(&self) -> Option<usize> {
        match self.source {
            Source::Reading(index) => Some(index),
            Source::Datum { .. } => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::Point3;

    use super::super::network::Network;
    use super::{Survey, farther_from_near};
    use crate::geometry::LengthUnit;
    use crate::survey::SurveyPoint;

    #[test]
    fn the_branch_near_to_where_a_point_is_about_is_nearer() {
        let point =
            |near: Option<[f64; 3]>| SurveyPoint { name: "bolt".to_owned(), near: near.map(Point3::from), line: 1 };
        let survey = Survey {
            name: "rear".to_owned(),
            units: LengthUnit::Millimetre,
            tape_sd_mm: 1.0,
            hook_mm: 0.0,
            datums: Vec::new(),
            points: vec![point(Some([0.0, 0.0, -90.0])), point(Some([3.0, 4.0, 0.0])), point(None)],
            readings: Vec::new(),
            parts: Vec::new(),
        };
        let at = |z_mm: f64| {
            let places = [[0.0, 0.0, z_mm], [3.0, 4.0, z_mm], [0.0, 0.0, z_mm]].map(Point3::from);
            Network { unknowns: &[], observations: &[] }.solve(&places)
        };
        let (above, below) = (at(100.0), at(-100.0));
        // 190 mm from there on one side and 10 mm on the other; the second is as far on either, of the third nothing is known.
        assert_eq!(farther_from_near(&survey, &[0, 1, 2], &above, &below), -180.0);
        assert_eq!(farther_from_near(&survey, &[0, 1], &below, &above), 180.0);
        assert_eq!(farther_from_near(&survey, &[1, 2], &above, &below), 0.0);
    }
}
