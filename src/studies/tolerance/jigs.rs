//! Jig budget: the few dimensions that gain most when a jig holds them.
//!
//! Sets are searched to first order: the toe curve of a sampled car is that drawn plus its derivatives times the errors, and
//! its worst value is taken from that curve, corner and all. The sets reported are then built and counted in full, with the
//! same random numbers, so that what they gain is not chance.

use rayon::prelude::*;

use super::last_bracket::NoLastBracket;
use super::monte_carlo::{MonteCarlo, Watch};
use super::results::Tolerance;
use super::study::ToleranceStudy;
use crate::geometry::{Coordinate, PerSide, Pickup, Side};
use crate::studies::errors::{ErrorModel, Proportion};
use crate::studies::sensitivity::Sensitivity;
use crate::studies::stations::thinned;

/// What a jig holds, on both wheels alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Jigged {
    /// A single dimension.
    Coordinate(Coordinate),
    /// All three coordinates of one pickup.
    Pickup(Pickup),
}

/// A set of dimensions and what it brings.
#[derive(Debug, Clone, PartialEq)]
pub struct JigSet {
    /// In the order in which they help.
    pub held: Vec<Jigged>,
    /// Proportion that keeps the bump-steer limit with both wheels, to first order.
    pub predicted: f64,
    /// The same of cars built in full.
    pub chance: Proportion,
}

/// What jigs can do for the bump steer of both wheels.
#[derive(Debug, Clone, PartialEq)]
pub struct JigBudget {
    /// One standard deviation of what a jig holds, mm.
    pub jig_sd_mm: f64,
    /// The best sets of two and of three dimensions, then of two and of three pickups.
    pub few: Vec<JigSet>,
    /// The fewest dimensions that reach [`TARGET_YIELD`]; `None` when all thirty do not.
    pub enough: Option<JigSet>,
}

/// The share of cars that shall pass.
pub const TARGET_YIELD: f64 = 0.95;
/// Cars of the search.
const SAMPLED: u64 = 1000;
/// Rows of the search; of finer ones some are left out, and the sets that are reported are built on all.
const MAX_ROWS: usize = 400;
/// Coordinates that are tried together, the strongest first.
const TRIED: usize = 9;

/// The cheapest sets of jigs for a car with a bump-steer limit; `None` without one, when the drawing itself breaks it, or
/// after a stop.
pub fn jig_budget(
    weld_study: &ToleranceStudy,
    options: &MonteCarlo,
    jig_sd_mm: f64,
    watch: Watch<'_>,
) -> Result<Option<JigBudget>, NoLastBracket> {
    let Some(limit_deg) = weld_study.geometry.bump_steer_limit_deg() else { return Ok(None) };
    if weld_study.breaks_bump_steer_as_drawn() {
        return Ok(None);
    }
    let samples = Samples::new(weld_study, options, jig_sd_mm, limit_deg);
    let coordinates: Vec<usize> = samples.strongest(weld_study, options).into_iter().take(TRIED).collect();
    let coordinates: Vec<Vec<usize>> = coordinates.into_iter().map(|k| vec![k]).collect();
    let pickups: Vec<Vec<usize>> = (0..Coordinate::COUNT).step_by(3).map(|k| vec![k, k + 1, k + 2]).collect();
    let confirm = |held: Vec<Jigged>, all: &[usize]| -> Result<JigSet, NoLastBracket> {
        let error_models = options.error_models.as_ref().map(|error_model| error_model.jigged(all, jig_sd_mm));
        let built = weld_study.build(&MonteCarlo { error_models, ..options.clone() }, watch)?;
        Ok(JigSet { held, predicted: samples.share(all), chance: both_wheels(&built) })
    };
    let mut few = Vec::new();
    for (items, size) in [(&coordinates, 2), (&coordinates, 3), (&pickups, 2), (&pickups, 3)] {
        if (watch.stop)() {
            return Ok(None);
        }
        let best = best_set(&samples, items, size);
        let all: Vec<usize> = best.concat();
        few.push(confirm(best.iter().map(|item| named(item)).collect(), &all)?);
    }
    let mut enough = None;
    let mut held = Vec::new();
    let mut left = samples.clone();
    while enough.is_none() && held.len() < Coordinate::COUNT && !(watch.stop)() {
        let best = left.next_best(&held);
        left.hold(best);
        held.push(best);
        if left.share(&[]) >= TARGET_YIELD {
            let set = confirm(held.iter().map(|&k| named(&[k])).collect(), &held)?;
            enough = (set.chance.value() >= TARGET_YIELD).then_some(set);
        }
    }
    Ok((!(watch.stop)()).then_some(JigBudget { jig_sd_mm, few, enough }))
}

/// Cars that keep the bump-steer limit with both wheels.
fn both_wheels(built: &Tolerance) -> Proportion {
    built.within_bump_steer.unwrap_or(Proportion { count: 0, of: built.cars })
}

fn named(item: &[usize]) -> Jigged {
    match item {
        [single] => Jigged::Coordinate(Coordinate::nth(*single)),
        _ => Jigged::Pickup(Coordinate::nth(item[0]).pickup()),
    }
}

/// The set of so many items with which most sampled cars pass.
fn best_set(samples: &Samples, items: &[Vec<usize>], size: usize) -> Vec<Vec<usize>> {
    let sets: Vec<Vec<usize>> = subsets(items.len(), size);
    let share = |set: &Vec<usize>| samples.passing(&set.iter().flat_map(|&i| items[i].clone()).collect::<Vec<_>>());
    // Of equals the first, so that the answer does not depend on the threads.
    let shares: Vec<usize> = sets.par_iter().map(share).collect();
    let most = shares.iter().copied().max().unwrap_or(0);
    let best = shares.iter().position(|&share| share == most).unwrap_or(0);
    sets[best].iter().map(|&i| items[i].clone()).collect()
}

/// All sets of `size` of the numbers below `of`, in order.
fn subsets(of: usize, size: usize) -> Vec<Vec<usize>> {
    if size == 0 {
        return vec![Vec::new()];
    }
    let with_last = |last: usize| {
        subsets(last, size - 1).into_iter().map(move |mut set| {
            set.push(last);
            set
        })
    };
    (0..of).flat_map(with_last).collect()
}

/// Sampled toe curves to first order, and what each jig takes away from them.
#[derive(Clone)]
struct Samples {
    wheels: PerSide<Wheel>,
    limit_deg: f64,
}

#[derive(Clone)]
struct Wheel {
    /// Derivatives of the change of toe by the coordinates, a row after the other, deg per mm; those of a hole at its first pickup.
    toe_by_coordinate: Vec<[f64; Coordinate::COUNT]>,
    /// Change of toe, a car after the other.
    toe_deg: Vec<f64>,
    /// How much of the error of each coordinate is gone when it is held, a car after the other, mm.
    gone_mm: Vec<[f64; Coordinate::COUNT]>,
}

impl Samples {
    fn new(weld_study: &ToleranceStudy, options: &MonteCarlo, jig_sd_mm: f64, limit_deg: f64) -> Self {
        let wheels = PerSide::of(|side| {
            Wheel::new(&weld_study.sensitivities[side], &options.error_models[side], options.seed, side, jig_sd_mm)
        });
        Self { wheels, limit_deg }
    }

    /// Coordinates by what they do to the variance of the toe curves, the strongest first.
    fn strongest(&self, weld_study: &ToleranceStudy, options: &MonteCarlo) -> Vec<usize> {
        let mut strength = [0.0; Coordinate::COUNT];
        for (_, (sensitivity, error_model)) in weld_study.sensitivities.as_ref().zip(options.error_models.as_ref()) {
            for row in &sensitivity.toe_by_coordinate {
                for (k, by) in error_model.by_holes(row).iter().enumerate() {
                    let mut alone = [0.0; Coordinate::COUNT];
                    alone[k] = *by;
                    strength[k] += error_model.variance(&alone);
                }
            }
        }
        let mut options: Vec<usize> = (0..Coordinate::COUNT).collect();
        options.sort_by(|&a, &b| strength[b].total_cmp(&strength[a]));
        options
    }

    /// Sampled cars that pass with these coordinates held.
    fn passing(&self, held: &[usize]) -> usize {
        let car_passes = |car: &usize| self.wheels.iter().all(|(_, wheel)| wheel.passes(*car, held, self.limit_deg));
        (0..SAMPLED as usize).filter(car_passes).count()
    }

    fn share(&self, held: &[usize]) -> f64 {
        self.passing(held) as f64 / SAMPLED as f64
    }

    /// The coordinate that leaves the least squares of worst bump steer when it is held beside those held already.
    fn next_best(&self, held: &[usize]) -> usize {
        let candidates: Vec<usize> = (0..Coordinate::COUNT).filter(|k| !held.contains(k)).collect();
        let left: Vec<f64> = candidates.par_iter().map(|&k| self.sum_of_squares(&[k])).collect();
        let best = (0..candidates.len()).min_by(|&a, &b| left[a].total_cmp(&left[b]));
        best.map_or(0, |best| candidates[best])
    }

    /// Over cars and wheels, deg².
    fn sum_of_squares(&self, held: &[usize]) -> f64 {
        let of_wheel = |wheel: &Wheel| (0..SAMPLED as usize).map(|car| wheel.worst_deg(car, held).powi(2)).sum::<f64>();
        self.wheels.iter().map(|(_, wheel)| of_wheel(wheel)).sum()
    }

    /// Holds a coordinate in all that follows.
    fn hold(&mut self, k: usize) {
        for (_, wheel) in self.wheels.as_mut() {
            let cars = wheel.toe_deg.chunks_mut(wheel.toe_by_coordinate.len()).zip(&wheel.gone_mm);
            for (toe_deg, gone_mm) in cars {
                for (toe, by) in toe_deg.iter_mut().zip(&wheel.toe_by_coordinate) {
                    *toe -= by[k] * gone_mm[k];
                }
            }
        }
    }
}

impl Wheel {
    fn new(sensitivity: &Sensitivity, error_model: &ErrorModel, seed: u64, side: Side, jig_sd_mm: f64) -> Self {
        let rows: Vec<usize> = thinned(sensitivity.toe_change_deg.len(), MAX_ROWS).collect();
        let by_holes = |&row: &usize| error_model.by_holes(&sensitivity.toe_by_coordinate[row]);
        let toe_by_coordinate: Vec<_> = rows.iter().map(by_holes).collect();
        let all: Vec<usize> = (0..Coordinate::COUNT).collect();
        let jigged = error_model.jigged(&all, jig_sd_mm);
        let (mut toe_deg, mut gone_mm) = (Vec::new(), Vec::new());
        for car in 0..SAMPLED {
            let (free_mm, held_mm) = (error_model.draw(seed, car, side), jigged.draw(seed, car, side));
            for (&row, by) in rows.iter().zip(&toe_by_coordinate) {
                let drawn = sensitivity.toe_change_deg[row];
                toe_deg.push(drawn + by.iter().zip(&free_mm).map(|(by, error)| by * error).sum::<f64>());
            }
            gone_mm.push(std::array::from_fn(|k| free_mm[k] - held_mm[k]));
        }
        Self { toe_by_coordinate, toe_deg, gone_mm }
    }

    fn changes<'a>(&'a self, car: usize, held: &'a [usize]) -> impl Iterator<Item = f64> + 'a {
        let rows = self.toe_by_coordinate.len();
        let (toe_deg, gone_mm) = (&self.toe_deg[car * rows..(car + 1) * rows], &self.gone_mm[car]);
        let left = move |(toe, by): (&f64, &[f64; Coordinate::COUNT])| {
            toe - held.iter().map(|&k| by[k] * gone_mm[k]).sum::<f64>()
        };
        toe_deg.iter().zip(&self.toe_by_coordinate).map(left).map(f64::abs)
    }

    fn passes(&self, car: usize, held: &[usize], limit_deg: f64) -> bool {
        self.changes(car, held).all(|change| change <= limit_deg)
    }

    fn worst_deg(&self, car: usize, held: &[usize]) -> f64 {
        self.changes(car, held).fold(0.0, f64::max)
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::{Samples, subsets};
    use crate::file::GeometryFile;
    use crate::geometry::{Coordinate, Pickup, Side, Weld, WeldGroup};
    use crate::studies::errors::ErrorSource;
    use crate::studies::judged_car::JudgedCar;
    use crate::studies::rig::Rig;
    use crate::studies::tolerance::Finish;
    use crate::studies::tolerance::monte_carlo::MonteCarlo;
    use crate::studies::tolerance::study::ToleranceStudy;

    #[test]
    fn every_set_is_there_once() {
        assert_eq!(subsets(4, 2), [[0, 1], [0, 2], [1, 2], [0, 3], [1, 3], [2, 3]]);
        assert_eq!(subsets(9, 3).len(), 84);
    }

    /// The same cars, drawn with just these coordinates held, each curve summed anew.
    #[test]
    fn a_sampled_car_with_jigs_is_the_car_drawn_with_these_jigs() {
        const JIG_SD_MM: f64 = 0.1;
        let file = GeometryFile::read(Path::new("tests/outside/static-set.toml")).expect("the geometry is sound");
        let rig = Rig::new(&file.geometry).expect("the drawing holds its wheels");
        let study = ToleranceStudy::new(&JudgedCar::of(rig)).expect("the drawing moves");
        let pickups: Vec<Pickup> = [0, 3, 7].map(|k| Coordinate::nth(3 * k).pickup()).to_vec();
        let group = WeldGroup { name: "box".into(), pickups, sd_mm: 0.8, together: true };
        let errors = ErrorSource::Weld(Weld { groups: vec![group], ..Weld::new(0.4) });
        let options = MonteCarlo::new(study.geometry, &errors, 2, 9, Finish::Adjusted);
        let mut samples = Samples::new(&study, &options, JIG_SD_MM, 0.1);
        let held = [2, 9, 10, 23];
        let worst_deg = |side: Side, car: u64| {
            let errors_mm = options.error_models[side].jigged(&held, JIG_SD_MM).draw(options.seed, car, side);
            let rows =
                study.sensitivities[side].toe_change_deg.iter().zip(&study.sensitivities[side].toe_by_coordinate);
            let change =
                |(drawn, by): (&f64, &Vec<f64>)| drawn + (0..by.len()).map(|k| by[k] * errors_mm[k]).sum::<f64>();
            rows.map(change).fold(0.0, |worst, change| f64::max(worst, change.abs()))
        };
        let compare = |samples: &Samples, held: &[usize]| {
            for car in [0, 1, 500, 999] {
                for (side, wheel) in samples.wheels.iter() {
                    let (got, expected) = (wheel.worst_deg(car, held), worst_deg(side, car as u64));
                    assert!((got - expected).abs() < 1e-12, "{side:?}, car {car}: {got} for {expected}");
                }
            }
        };
        compare(&samples, &held);
        held.iter().for_each(|&k| samples.hold(k));
        compare(&samples, &[]);
    }
}
