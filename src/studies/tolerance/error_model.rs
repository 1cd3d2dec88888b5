//! How far the pickups of a built wheel are off, drawn by chance.

use rand::Rng;
use rand::rngs::StdRng;

use super::iso13920::WeldClass;
use crate::geometry::{Coordinate, Corner, End, Side, Tape, Weld};
use crate::mechanism::PickupErrors;
use crate::studies::random::{normal_pair, stream};

/// What the streams of random numbers are for.
const WELDS: u64 = 0;
const GAUGE: u64 = 1;
const PLACING: u64 = 2;

/// Standard deviation of a bracket when the file says nothing, mm.
const USUAL_SD_MM: f64 = 0.5;

/// Where the errors of the brackets are taken from.
#[derive(Debug, Clone, PartialEq)]
pub enum Errors {
    Weld(Weld),
    /// A class of ISO 13920 for every dimension: a bracket's coordinates count from the datum, those of a pickup on the
    /// upright from the wheel centre. Normal, half the tolerance being one standard deviation.
    Class(WeldClass),
}

impl Errors {
    /// Those of the file; 0.5 mm on each coordinate when it says nothing.
    pub fn of_file(weld: Option<&Weld>) -> Self {
        let usual = || Weld::new(USUAL_SD_MM);
        Errors::Weld(weld.cloned().unwrap_or_else(usual))
    }
}

/// The errors of the thirty pickup coordinates of one wheel, in the order of [`Coordinate::all`].
#[derive(Debug, Clone, PartialEq)]
pub struct ErrorModel {
    own_sd_mm: [f64; Coordinate::COUNT],
    uniform: bool,
    together: Vec<Together>,
    tape_sd_mm: f64,
}

/// Pickups that are off as one.
#[derive(Debug, Clone, PartialEq)]
struct Together {
    sd_mm: f64,
    takes: [bool; Coordinate::COUNT],
}

impl ErrorModel {
    pub fn new(corner: &Corner, errors: &Errors, tape: Option<Tape>) -> Self {
        let tape_sd_mm = tape.map_or(0.0, |tape| tape.sd_mm);
        match errors {
            Errors::Weld(weld) => Self { tape_sd_mm, ..Self::of_weld(weld) },
            Errors::Class(class) => {
                let mut own_sd_mm = [0.0; Coordinate::COUNT];
                for (sd_mm, coordinate) in own_sd_mm.iter_mut().zip(Coordinate::all()) {
                    *sd_mm = class.sd_mm(dimension_mm(corner, coordinate));
                }
                Self { own_sd_mm, uniform: false, together: Vec::new(), tape_sd_mm }
            }
        }
    }

    fn of_weld(weld: &Weld) -> Self {
        let mut own_sd_mm = [weld.sd_mm; Coordinate::COUNT];
        let mut together = Vec::new();
        for group in &weld.groups {
            let takes = std::array::from_fn(|k| group.pickups.contains(&Coordinate::nth(k).pickup()));
            if group.together {
                together.push(Together { sd_mm: group.sd_mm, takes });
            } else {
                own_sd_mm.iter_mut().zip(takes).filter(|(_, takes)| *takes).for_each(|(sd, _)| *sd = group.sd_mm);
            }
        }
        Self { own_sd_mm, uniform: weld.uniform, together, tape_sd_mm: 0.0 }
    }

    /// The same with some coordinates held by a jig: each is off by `sd_mm` (or less, where it was better) and by nothing
    /// that it shares with others. Measuring errors stay.
    pub fn jigged(&self, coordinates: &[usize], sd_mm: f64) -> Self {
        let mut jigged = self.clone();
        for &k in coordinates {
            jigged.own_sd_mm[k] = jigged.own_sd_mm[k].min(sd_mm);
            jigged.together.iter_mut().for_each(|group| group.takes[k] = false);
        }
        jigged
    }

    /// The errors of a car; they depend on the seed, the car's number and the side alone. mm, side axes.
    pub fn draw(&self, seed: u64, car: u64, side: Side) -> [f64; Coordinate::COUNT] {
        let mut units = UnitDeviates::new(stream(seed, car, wheel_number(side), WELDS), self.uniform);
        let mut errors_mm = self.own_sd_mm.map(|sd_mm| sd_mm * units.next());
        for group in &self.together {
            let shared_mm: [f64; 3] = std::array::from_fn(|_| group.sd_mm * units.next());
            for k in (0..Coordinate::COUNT).filter(|&k| group.takes[k]) {
                errors_mm[k] += shared_mm[k % 3];
            }
        }
        if self.tape_sd_mm > 0.0 {
            units.uniform = false;
            errors_mm.iter_mut().for_each(|error| *error += self.tape_sd_mm * units.next());
        }
        errors_mm
    }

    /// Variance of a figure with these derivatives by the coordinates, to first order: the law of propagation of
    /// uncertainty (JCGM 100, from memory).
    pub fn variance(&self, by: &[f64]) -> f64 {
        let tape = self.tape_sd_mm.powi(2);
        let own: f64 = by.iter().zip(&self.own_sd_mm).map(|(by, sd)| by * by * (sd * sd + tape)).sum();
        let shared = |group: &Together| {
            let along =
                |axis: usize| (axis..Coordinate::COUNT).step_by(3).filter(|&k| group.takes[k]).map(|k| by[k]).sum();
            group.sd_mm.powi(2) * (0..3).map(|axis| f64::powi(along(axis), 2)).sum::<f64>()
        };
        own + self.together.iter().map(shared).sum::<f64>()
    }
}

/// Thirty errors as what they do to the pickups.
pub fn variation(errors_mm: &[f64; Coordinate::COUNT]) -> PickupErrors {
    let mut variation = PickupErrors::default();
    for (k, error) in errors_mm.iter().enumerate() {
        let Coordinate { link, end, axis } = Coordinate::nth(k);
        match end {
            End::Chassis => variation.chassis[link][axis.index()] = *error,
            End::Upright => variation.upright[link][axis.index()] = *error,
        }
    }
    variation
}

/// Errors of the toe gauge at so many heights, each of one standard deviation of `sd_deg`, for one wheel of a car.
pub fn gauge_errors_deg(seed: u64, car: u64, side: Side, sd_deg: f64, heights: usize) -> Vec<f64> {
    let mut units = UnitDeviates::new(stream(seed, car, wheel_number(side), GAUGE), false);
    (0..heights).map(|_| sd_deg * units.next()).collect()
}

/// How far a bracket that was placed to the gauge ends up from there, in its plane, mm.
pub fn placing_errors_mm(seed: u64, car: u64, side: Side, sd_mm: f64) -> [f64; 2] {
    let mut random = stream(seed, car, wheel_number(side), PLACING);
    normal_pair(&mut random).map(|unit| sd_mm * unit)
}

fn wheel_number(side: Side) -> u64 {
    match side {
        Side::Left => 0,
        Side::Right => 1,
    }
}

fn dimension_mm(corner: &Corner, Coordinate { link, end, axis }: Coordinate) -> f64 {
    let link = &corner.links[link];
    match end {
        End::Chassis => link.chassis[axis.index()],
        End::Upright => link.upright[axis.index()] - corner.wheel.centre[axis.index()],
    }
}

/// Random numbers of mean 0 and variance 1.
struct UnitDeviates {
    random: StdRng,
    uniform: bool,
    spare: Option<f64>,
}

impl UnitDeviates {
    fn new(random: StdRng, uniform: bool) -> Self {
        Self { random, uniform, spare: None }
    }

    fn next(&mut self) -> f64 {
        if self.uniform {
            return f64::sqrt(3.0) * (2.0 * self.random.random::<f64>() - 1.0);
        }
        if let Some(spare) = self.spare.take() {
            return spare;
        }
        let [first, second] = normal_pair(&mut self.random);
        self.spare = Some(second);
        first
    }
}

#[cfg(test)]
mod tests {
    use super::{ErrorModel, Errors};
    use crate::geometry::{Coordinate, End, Pickup, Side, Weld, WeldGroup};

    fn error_model(weld: Weld) -> ErrorModel {
        ErrorModel::of_weld(&weld)
    }

    #[test]
    fn a_bracket_off_as_one_keeps_its_pickups_together() {
        let pickups = vec![Pickup { link: 0, end: End::Chassis }, Pickup { link: 1, end: End::Chassis }];
        let group = WeldGroup { name: "box".into(), pickups, sd_mm: 2.0, together: true };
        let error_model = error_model(Weld { groups: vec![group], ..Weld::new(1e-9) });
        let errors_mm = error_model.draw(3, 14, Side::Left);
        assert!((0..3).all(|axis| (errors_mm[axis] - errors_mm[6 + axis]).abs() < 1e-7));
        assert!(errors_mm[0].abs() > 1e-3 && errors_mm[3].abs() < 1e-7);
    }

    /// ±1 mm taken as uniform has a standard deviation of 0.57735 mm, and no error is larger.
    #[test]
    fn uniform_errors_have_their_standard_deviation_and_their_end() {
        let error_model = error_model(Weld { uniform: true, ..Weld::new(1.0 / f64::sqrt(3.0)) });
        let errors: Vec<f64> = (0..4000).flat_map(|car| error_model.draw(1, car, Side::Right)).collect();
        let square = errors.iter().map(|e| e * e).sum::<f64>() / errors.len() as f64;
        assert!(errors.iter().all(|e| e.abs() <= 1.0));
        assert!((square.sqrt() - 0.577_35).abs() < 0.004);
    }

    #[test]
    fn the_variance_is_that_of_the_draws() {
        let pickups = (0..5).map(|link| Pickup { link, end: End::Chassis }).collect();
        let group = WeldGroup { name: "frame".into(), pickups, sd_mm: 0.8, together: true };
        let error_model = error_model(Weld { groups: vec![group], ..Weld::new(0.5) });
        let by: [f64; Coordinate::COUNT] = std::array::from_fn(|k| (k as f64).sin());
        let figure = |car| error_model.draw(5, car, Side::Left).iter().zip(by).map(|(e, by)| e * by).sum::<f64>();
        let cars = 20_000;
        let square = (0..cars).map(|car| figure(car).powi(2)).sum::<f64>() / cars as f64;
        // The standard error of a variance is √(2/n) of it.
        assert!((square / error_model.variance(&by) - 1.0).abs() < 4.0 * (2.0 / cars as f64).sqrt());
    }

    #[test]
    fn a_jig_holds_what_it_holds_and_leaves_the_rest_alone() {
        let error_model = error_model(Weld::new(0.5));
        let (before, after) =
            (error_model.draw(2, 9, Side::Left), error_model.jigged(&[4], 0.1).draw(2, 9, Side::Left));
        assert!((after[4] - 0.2 * before[4]).abs() < 1e-15);
        assert!((0..Coordinate::COUNT).filter(|&k| k != 4).all(|k| after[k] == before[k]));
    }

    #[test]
    fn a_file_without_welds_has_half_a_millimetre() {
        assert!(matches!(Errors::of_file(None), Errors::Weld(Weld { sd_mm, .. }) if sd_mm == 0.5));
    }
}
