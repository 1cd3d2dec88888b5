//! Cars that fit the readings, drawn by chance, and what changes make of their toe curves.

use nalgebra::DVector;
use rayon::prelude::*;

use super::adjuster::Adjuster;
use super::estimate::Estimate;
use super::finding::ToeBand;
use super::finished_wheel::{ByPosture, Changes, DrawnWheel};
use crate::gauge::Change;
use crate::geometry::Coordinate;
use crate::studies::errors::random::{Purpose, UnitDeviates, stream};
use crate::studies::tolerance::percentile;

/// 95 of 100 cars stay below what is told.
const TOLD: f64 = 0.95;
/// A band leaves out one car in twenty, half of them at either end.
const OUTSIDE_BAND: f64 = 0.05;

/// One car that fits the readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct FittingCar {
    pub errors_mm: [f64; Coordinate::COUNT],
    /// Static toe as it is, off the drawing.
    pub toe_off_deg: f64,
    /// The same after toe was set once more.
    pub toe_off_after_deg: f64,
}

/// Some cars that fit the readings, and the most likely one.
#[derive(Debug, Clone)]
pub(super) struct FittingCars<'d> {
    pub drawn: &'d DrawnWheel<'d>,
    pub cars: Vec<FittingCar>,
    pub likely: FittingCar,
    /// Changes that the wheel has already.
    pub changes: Changes,
}

/// Which cars are drawn: those that the search sees, and others that what is told is worked out with, because a search fits
/// itself to the cars that it sees.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Drawn {
    Searched(usize),
    Told(usize),
}

impl<'d> FittingCars<'d> {
    /// `None` when the covariance has no root. `setting_sd_deg` is how well toe is set.
    pub fn draw(estimate: &Estimate<'d>, wheel: usize, setting_sd_deg: f64, seed: u64, which: Drawn) -> Option<Self> {
        let problem = &estimate.problem;
        let (drawn, last) = (problem.wheels[wheel].drawn, problem.rounds() - 1);
        let root = estimate.root()?;
        let (first, count) = match which {
            Drawn::Searched(count) => (0, count),
            Drawn::Told(count) => (1 << 32, count),
        };
        let car = |number: u64| {
            let mut units = UnitDeviates::new(stream(seed, number, drawn.corner.side, Purpose::Fitting), false);
            let deviates = DVector::from_fn(root.ncols(), |_, _| units.next());
            let of_car = problem.wheel(&(&estimate.unknowns + &root * deviates), wheel, last);
            FittingCar {
                errors_mm: of_car.errors_mm,
                toe_off_deg: of_car.toe_off_deg,
                toe_off_after_deg: setting_sd_deg * units.next(),
            }
        };
        let likely = problem.wheel(&estimate.unknowns, wheel, last);
        Some(Self {
            drawn,
            cars: (first..first + count as u64).map(car).collect(),
            likely: FittingCar { errors_mm: likely.errors_mm, toe_off_deg: likely.toe_off_deg, toe_off_after_deg: 0.0 },
            changes: problem.wheels[wheel].changes[last],
        })
    }

    /// Toe curves as the cars stand, exactly; `None` of one that does not move through the travel.
    pub fn curves_now(&self, stations_mm: &[f64]) -> Curves {
        self.curves(stations_mm, &self.changes, |car| car.toe_off_deg)
    }

    /// Toe curves after changes and with toe set, exactly.
    pub fn curves_after(&self, changes: &[Change], stations_mm: &[f64]) -> Curves {
        self.curves(stations_mm, &self.changes.with(changes), |car| car.toe_off_after_deg)
    }

    fn curves(&self, stations_mm: &[f64], changes: &Changes, toe_off_deg: fn(&FittingCar) -> f64) -> Curves {
        let curve = |car: &FittingCar| {
            let finished = self.drawn.finished(&car.errors_mm, changes, toe_off_deg(car), stations_mm)?;
            finished.toe_changes_deg(stations_mm)
        };
        Curves { stations_mm: stations_mm.to_vec(), of_cars: self.cars.par_iter().map(curve).collect() }
    }

    /// The curves to first order: of each car how far its curve departs from that of the most likely car, and how far what a
    /// step of each adjuster does to it departs from what it does there.
    pub fn departures(&self, adjusters: &[Adjuster], stations_mm: &[f64]) -> Option<Vec<Departures>> {
        let likely = self.departures_of(&self.likely, adjusters, stations_mm)?;
        let of_car = |car: &FittingCar| {
            let mut of_car = self.departures_of(car, adjusters, stations_mm)?;
            of_car.curve.iter_mut().zip(&likely.curve).for_each(|(of_car, likely)| *of_car -= likely);
            let entries = of_car.by_step.iter_mut().flatten().zip(likely.by_step.iter().flatten());
            entries.for_each(|(of_car, likely)| *of_car -= likely);
            Some(of_car)
        };
        // The first one is the most likely car itself, whole.
        let mut all: Vec<Departures> = self.cars.par_iter().filter_map(of_car).collect();
        all.insert(0, likely);
        Some(all)
    }

    fn departures_of(&self, car: &FittingCar, adjusters: &[Adjuster], stations_mm: &[f64]) -> Option<Departures> {
        let wheel = self.drawn.finished(&car.errors_mm, &self.changes, car.toe_off_after_deg, stations_mm)?;
        let curve = wheel.toe_changes_deg(stations_mm)?;
        let toe = ByPosture { toe: 1.0, ..ByPosture::default() };
        let derivatives: Vec<_> =
            stations_mm.iter().map(|&bump_mm| wheel.by_wheel(&wheel.at(bump_mm)?, &toe)).collect::<Option<_>>()?;
        // Toe at design is set, so a change of toe is a change of bump steer.
        let of = |adjuster: &Adjuster| {
            let by = derivatives.iter().map(|by| by.by_change(&wheel, adjuster.link, adjuster.what));
            by.map(|by| by * adjuster.step_mm).collect()
        };
        Some(Departures { curve, by_step: adjusters.iter().map(of).collect() })
    }
}

/// See [`FittingCars::departures`].
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Departures {
    /// At each station, deg.
    pub curve: Vec<f64>,
    /// Of each adjuster at each station, deg per step.
    pub by_step: Vec<Vec<f64>>,
}

/// Changes of toe from design of many cars.
#[derive(Debug, Clone)]
pub(super) struct Curves {
    stations_mm: Vec<f64>,
    /// `None` of a car that does not move through the travel.
    of_cars: Vec<Option<Vec<f64>>>,
}

impl Curves {
    fn worst_deg(&self) -> Vec<f64> {
        let worst = |curve: &Option<Vec<f64>>| {
            curve
                .as_ref()
                .map_or(f64::INFINITY, |curve| curve.iter().fold(0.0, |worst, change| f64::max(worst, change.abs())))
        };
        self.of_cars.iter().map(worst).collect()
    }

    /// Mean of the worst changes, deg, of the cars that move through the travel; the others are counted by [`Self::worst_p95_deg`].
    pub fn mean_worst_deg(&self) -> f64 {
        let (moving, sum) = self
            .worst_deg()
            .into_iter()
            .filter(|worst| worst.is_finite())
            .fold((0, 0.0), |(count, sum), deg| (count + 1, sum + deg));
        if moving == 0 { f64::INFINITY } else { sum / f64::from(moving) }
    }

    /// What 95 of 100 worst changes are below, deg.
    pub fn worst_p95_deg(&self) -> f64 {
        told(&mut self.worst_deg())
    }

    /// The band of all curves.
    pub fn bands(&self) -> Vec<ToeBand> {
        let band = |(station, &bump_mm): (usize, &f64)| {
            let mut changes: Vec<f64> = self.of_cars.iter().flatten().map(|curve| curve[station]).collect();
            let toe_change_deg = changes.iter().sum::<f64>() / changes.len() as f64;
            let low_deg = percentile(&mut changes, OUTSIDE_BAND / 2.0)?;
            let high_deg = percentile(&mut changes, 1.0 - OUTSIDE_BAND / 2.0)?;
            Some(ToeBand { bump_mm, toe_change_deg, low_deg, high_deg })
        };
        self.stations_mm.iter().enumerate().filter_map(band).collect()
    }
}

/// The percentile that is told.
pub(super) fn told(worst_deg: &mut [f64]) -> f64 {
    percentile(worst_deg, TOLD).unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    use super::Curves;

    /// One of a hundred cars does not move: the mean is of the others, and it counts as one that is worse than any.
    #[test]
    fn a_car_that_does_not_move_has_no_part_in_the_mean() {
        let mut of_cars = vec![Some(vec![-0.02, 0.01]); 99];
        of_cars.push(None);
        let curves = |of_cars| Curves { stations_mm: vec![-10.0, 10.0], of_cars };
        let most = curves(of_cars);
        assert!((most.mean_worst_deg() - 0.02).abs() < 1e-12 && (most.worst_p95_deg() - 0.02).abs() < 1e-12);
        let few = curves([vec![None; 10], vec![Some(vec![0.02, 0.0]); 90]].concat());
        assert!(few.mean_worst_deg().is_finite() && few.worst_p95_deg().is_infinite());
        assert!(curves(vec![None]).mean_worst_deg().is_infinite());
    }
}
