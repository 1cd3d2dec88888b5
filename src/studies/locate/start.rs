//! About where each place is, so that the adjustment goes downhill from the right side.

use nalgebra::{Matrix3, Point3, Vector3};

use super::network::Network;
use super::observation::{Observation, Observed};

/// Minima nearer than this are one, mm.
const ONE_MINIMUM_MM: f64 = 0.1;
/// So far apart stand places of which nothing is known, mm: far enough for a distance between them to have a direction.
const APART_MM: f64 = 37.0;

/// A first place for every one that is sought; `known` are datums, and points that were given a place.
pub(super) fn placed(known: &[Option<Point3<f64>>], observations: &[Observation]) -> Vec<Point3<f64>> {
    let mut placed = known.to_vec();
    while let Some(place) = next(&placed, observations) {
        let seen: Vec<&Observation> = observations.iter().filter(|seen| reaches(seen, place, &placed)).collect();
        let mut places = filled(&placed);
        if !seen.is_empty() {
            let nearest = minima(place, &seen, &places);
            places[place] = nearest.first().map_or(places[place], |(at, _)| *at);
        }
        placed[place] = Some(places[place]);
    }
    filled(&placed)
}

/// The places that nobody knows yet, at the middle of those that are known, each by itself.
fn filled(placed: &[Option<Point3<f64>>]) -> Vec<Point3<f64>> {
    let known: Vec<&Point3<f64>> = placed.iter().flatten().collect();
    let middle = known.iter().map(|at| at.coords).sum::<Vector3<f64>>() / known.len().max(1) as f64;
    let by_itself = |i: usize| Point3::from(middle + APART_MM * Vector3::new(i as f64, (i * i) as f64 % 7.0, 1.0));
    placed.iter().enumerate().map(|(i, at)| at.unwrap_or_else(|| by_itself(i))).collect()
}

/// True for an observation of `place` that depends on nothing else that is still sought.
fn reaches(seen: &Observation, place: usize, placed: &[Option<Point3<f64>>]) -> bool {
    let mut ends = seen.of.stations();
    seen.of.stations().any(|end| end == place) && ends.all(|end| end == place || placed[end].is_some())
}

/// The place that most observations reach.
fn next(placed: &[Option<Point3<f64>>], observations: &[Observation]) -> Option<usize> {
    let sought = (0..placed.len()).filter(|&place| placed[place].is_none());
    let count = |place: usize| observations.iter().filter(|seen| reaches(seen, place, placed)).count();
    sought.rev().max_by_key(|&place| count(place))
}

/// Where one place may be, all others standing where they are: every minimum that is found from around the places that it
/// was taped from, with its sum of squares, the least first.
pub(super) fn minima(place: usize, seen: &[&Observation], places: &[Point3<f64>]) -> Vec<(Point3<f64>, f64)> {
    let network = Network { unknowns: &[place], observations: seen };
    let mut minima: Vec<(Point3<f64>, f64)> = Vec::new();
    for start in starts(place, seen, places) {
        let mut from = places.to_vec();
        from[place] = start;
        let solved = network.solve(&from);
        let at = solved.places[place];
        if minima.iter().all(|(other, _)| (other - at).norm() > ONE_MINIMUM_MM) {
            minima.push((at, solved.sum_of_squares));
        }
    }
    minima.sort_by(|a, b| a.1.total_cmp(&b.1));
    minima
}

/// To either side of the middle of what the place was taped from, along the three axes in which those places are spread.
fn starts(place: usize, seen: &[&Observation], places: &[Point3<f64>]) -> Vec<Point3<f64>> {
    let taped: Vec<(Point3<f64>, f64)> = seen
        .iter()
        .filter_map(|seen| match seen.of {
            Observed::Distance([a, b]) => Some((places[if a == place { b } else { a }], seen.value_mm)),
            Observed::Coordinate { .. } => None,
        })
        .collect();
    let plumbed = |mut at: Point3<f64>| {
        for seen in seen {
            if let Observed::Coordinate { axis, .. } = seen.of {
                at[axis.index()] = seen.value_mm;
            }
        }
        at
    };
    if taped.is_empty() {
        return vec![plumbed(places[place])];
    }
    let count = taped.len() as f64;
    let middle = taped.iter().map(|(from, _)| from.coords).sum::<Vector3<f64>>() / count;
    let reach_mm = taped.iter().map(|(_, mm)| mm).sum::<f64>() / count;
    let spread: Matrix3<f64> =
        taped.iter().map(|(from, _)| from.coords - middle).map(|from| from * from.transpose()).sum();
    let axes = spread.symmetric_eigen().eigenvectors;
    let along = |k: usize| axes.column(k).into_owned() * reach_mm;
    let starts = (0..3).flat_map(|k| [middle + along(k), middle - along(k)]);
    starts.map(|at| plumbed(Point3::from(at))).collect()
}
