//! Many built cars of one drawing: how their figures spread, and what share keeps the limits.

use rayon::prelude::*;

use super::chance::Proportion;
use super::error_model::{ErrorModel, Errors, variation};
use super::figure::{Figure, keeps, limits_of_axle, limits_of_wheel};
use super::last_bracket::{LastBracket, NoLastBracket};
use super::model::{NoWheelModel, WheelFigures, WheelModel};
use super::statistics::{CurveBand, Histogram, percentile};
use crate::geometry::{Geometry, Interval, Limits, PerSide, Side};
use crate::measures::{roll_steer_deg, setback_mm, steer_deg, thrust_angle_deg};
use crate::mechanism::{BuildFailure, LinkSetting, PickupErrors};
use crate::studies::sensitivity::Sensitivity;
use crate::studies::sweep::Sweep;
use crate::studies::verdicts::Quantity;

/// Cars that one thread builds at a time.
const FEW: usize = 256;
/// Bars of the distribution of worst bump steer.
const BARS: usize = 60;

/// What is done about the links, and when, once the brackets are welded.
#[derive(Debug, Clone, PartialEq)]
pub enum Finish {
    /// Every link keeps its drawn length.
    Cut,
    /// Every link is adjusted until the wheel stands as drawn.
    Adjusted,
    /// The same, with one bracket welded only after the toe curve was gauged.
    Last(LastBracket),
}

/// How many cars to build, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct MonteCarlo {
    pub cars: usize,
    pub seed: u64,
    /// Errors of the left and of the right wheel, drawn independently of each other.
    pub error_models: PerSide<ErrorModel>,
    pub finish: Finish,
}

impl MonteCarlo {
    /// With these errors on both wheels, and those of the file's tape on top.
    pub fn new(geometry: &Geometry, errors: &Errors, cars: usize, seed: u64, finish: Finish) -> Self {
        let error_models = PerSide::of(|side| ErrorModel::new(geometry.corner(side), errors, geometry.tape));
        Self { cars, seed, error_models, finish }
    }
}

/// A drawing ready to be built any number of times.
#[derive(Debug, Clone)]
pub struct ToleranceStudy<'g> {
    pub geometry: &'g Geometry,
    pub models: PerSide<WheelModel<'g>>,
    pub sensitivities: PerSide<Sensitivity>,
    drawn: BuiltCar,
    /// Limits of each wheel and of the axle on what the drawing has data for.
    wheel_limits: PerSide<Vec<(Quantity, Interval)>>,
    axle_limits: Vec<(Quantity, Interval)>,
}

/// How one figure spreads over the cars that move through their whole travel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    pub figure: Figure,
    /// `None` for a figure of the whole axle.
    pub side: Option<Side>,
    /// As drawn; its size, or the value itself of what is read at design.
    pub nominal: f64,
    pub p50: f64,
    pub p90: f64,
    pub p99: f64,
    pub limit: Option<Interval>,
    /// Cars that keep the limit, of all cars: one that binds keeps none.
    pub chance: Option<Proportion>,
}

/// Wheels that could not be moved through their travel, by the reason.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct LostCars {
    pub does_not_assemble: usize,
    pub binds: usize,
    pub singular: usize,
}

impl LostCars {
    pub fn all(self) -> usize {
        self.does_not_assemble + self.binds + self.singular
    }
}

/// The finished study.
#[derive(Debug, Clone, PartialEq)]
pub struct Tolerance {
    pub cars: usize,
    pub seed: u64,
    pub finish: Finish,
    /// Left, right, then the axle.
    pub spreads: Vec<Spread>,
    /// Cars with both wheels inside every limit; `None` without `[limits]`.
    pub inside: Option<Proportion>,
    /// Cars with both wheels inside the bump-steer limit; `None` without one.
    pub flat: Option<Proportion>,
    pub lost: PerSide<LostCars>,
    /// Toe curves.
    pub bands: PerSide<CurveBand>,
    /// Worst bump steer, deg.
    pub worst_deg: PerSide<Histogram>,
    /// How far the last bracket is moved, mm: half of the cars and 95 of 100.
    pub last_moves_mm: Option<PerSide<(f64, f64)>>,
}

impl Tolerance {
    pub fn spread(&self, figure: Figure, side: Side) -> Option<&Spread> {
        self.spreads.iter().find(|spread| spread.figure == figure && spread.side == Some(side))
    }
}

/// One built car.
#[derive(Debug, Clone, Copy)]
struct BuiltCar {
    wheels: PerSide<Result<WheelFigures, BuildFailure>>,
    /// Worst change of the axle's steer in roll, deg.
    roll_steer_deg: f64,
}

impl BuiltCar {
    const LOST: Self = {
        let lost = Err(BuildFailure::Singular);
        Self { wheels: PerSide { left: lost, right: lost }, roll_steer_deg: 0.0 }
    };

    /// The figures of both wheels, when neither is lost.
    fn figures(&self) -> Option<PerSide<&WheelFigures>> {
        self.wheels.as_ref().map(|wheel| wheel.as_ref().ok()).both()
    }
}

/// The links of a last bracket on both wheels.
type LastLinks = Option<PerSide<usize>>;

impl<'g> ToleranceStudy<'g> {
    pub fn new(sweep: &Sweep<'g>) -> Result<Self, NoWheelModel> {
        let models = PerSide::try_of(|side| WheelModel::new(sweep, side))?;
        let sensitivity = |side| Sensitivity::of(&sweep.rig, side).ok_or(NoWheelModel::Singular { side });
        let sensitivities = PerSide::try_of(sensitivity)?;
        let geometry = sweep.geometry();
        let drawn = drawn(&models).map_err(|side| NoWheelModel::Singular { side })?;
        let wheel_limits = PerSide::of(|side| {
            let has_data = |&(quantity, _): &(Quantity, Interval)| {
                drawn.wheels[side].as_ref().is_ok_and(|figures| Figure::Of(quantity).range(figures).is_some())
            };
            limits_of_wheel(geometry, models[side].corner).into_iter().filter(has_data).collect()
        });
        let axle_limits = limits_of_axle(geometry);
        Ok(Self { geometry, models, sensitivities, drawn, wheel_limits, axle_limits })
    }

    /// Limits of the file on what the drawing lacks the data for: nothing can be said of them.
    pub fn unchecked(&self) -> Vec<Quantity> {
        let lacking = |side: Side| {
            let known = &self.wheel_limits[side];
            let all = limits_of_wheel(self.geometry, self.models[side].corner);
            all.into_iter().filter(|limit| !known.contains(limit)).map(|(quantity, _)| quantity)
        };
        let mut list: Vec<Quantity> = lacking(Side::Left).collect();
        list.extend(lacking(Side::Right).filter(|quantity| !list.contains(quantity)).collect::<Vec<_>>());
        list
    }

    /// Whether a wheel is outside the bump-steer limit before anything is welded.
    pub fn breaks_bump_steer_as_drawn(&self) -> bool {
        let limit_deg = self.geometry.limits.bump_steer_deg;
        limit_deg.is_some_and(|limit| self.sensitivities.iter().any(|(_, wheel)| wheel.worst_deg() > limit))
    }

    /// Builds the cars and counts.
    pub fn build(&self, options: &MonteCarlo) -> Result<Tolerance, NoLastBracket> {
        let last = match &options.finish {
            Finish::Last(bracket) => Some(self.links_of(bracket)?),
            Finish::Cut | Finish::Adjusted => None,
        };
        let empty = self.rooms(options, last);
        let mut cars = vec![BuiltCar::LOST; options.cars];
        let bands = cars
            .par_chunks_mut(FEW)
            .enumerate()
            .fold(
                || empty.clone(),
                |mut bands, (k, few)| {
                    self.build_few(options, last, k * FEW, few, |side, row, deg| bands[side].add(row, deg));
                    bands
                },
            )
            .reduce(|| empty.clone(), |bands, more| bands.zip(more).map(|(band, more)| band.merged(&more)));
        Ok(Tolerance {
            cars: options.cars,
            seed: options.seed,
            finish: options.finish.clone(),
            spreads: self.spreads(&cars),
            inside: (self.geometry.limits != Limits::default()).then(|| self.inside(&cars)),
            flat: self.geometry.limits.bump_steer_deg.map(|limit_deg| flat(&cars, limit_deg)),
            lost: PerSide::of(|side| lost_cars(&cars, side)),
            bands,
            worst_deg: PerSide::of(|side| self.worst_histogram(&cars, side)),
            last_moves_mm: last.map(|_| PerSide::of(|side| moves_mm(&cars, side))),
        })
    }

    fn links_of(&self, bracket: &LastBracket) -> Result<PerSide<usize>, NoLastBracket> {
        PerSide::try_of(|side| bracket.on(&self.sensitivities[side], self.models[side].corner))
    }

    /// Room for the toe curves, from those of the first few cars.
    fn rooms(&self, options: &MonteCarlo, last: LastLinks) -> PerSide<CurveBand> {
        let mut few = vec![BuiltCar::LOST; options.cars.min(FEW)];
        let models = self.models.as_ref();
        let mut changes: PerSide<Vec<Vec<f64>>> = models.map(|model| vec![Vec::new(); model.bump_mm.len()]);
        self.build_few(options, last, 0, &mut few, |side, row, deg| changes[side][row].push(deg));
        models.zip(changes).map(|(model, changes)| CurveBand::around(&model.bump_mm, &changes))
    }

    /// Builds some cars, the first of them being number `first`; tells every change of toe by side and row.
    fn build_few(
        &self,
        options: &MonteCarlo,
        last: LastLinks,
        first: usize,
        cars: &mut [BuiltCar],
        mut toe_change: impl FnMut(Side, usize, f64),
    ) {
        let mut in_roll: PerSide<Vec<Vec<f64>>> = PerSide::of(|_| vec![Vec::new(); cars.len()]);
        for (side, model) in self.models.iter() {
            let mut welded: Vec<(usize, Option<[f64; 2]>)> = Vec::with_capacity(cars.len());
            let mut variations: Vec<PickupErrors> = Vec::with_capacity(cars.len());
            for (k, car) in cars.iter_mut().enumerate() {
                match weld(options, model, last.map(|links| links[side]), (first + k) as u64) {
                    Ok((move_mm, variation)) => {
                        welded.push((k, move_mm));
                        variations.push(variation);
                    }
                    Err(lost) => car.wheels[side] = Err(lost),
                }
            }
            model.build(&variations, options.finish.lengths(), |index, built| {
                let (k, last_move_mm) = welded[index];
                cars[k].wheels[side] = built.map(|(figures, curve)| {
                    model.toe_changes(&curve).enumerate().for_each(|(row, deg)| toe_change(side, row, deg));
                    in_roll[side][k].extend(model.toe_in_roll(&curve));
                    WheelFigures { last_move_mm, ..figures }
                });
            });
        }
        for (k, car) in cars.iter_mut().enumerate() {
            if let Some(figures) = car.figures() {
                car.roll_steer_deg = worst_roll_steer_deg(figures, in_roll.as_ref().map(|rows| &rows[k][..]));
            }
        }
    }

    fn spreads(&self, cars: &[BuiltCar]) -> Vec<Spread> {
        let drawn = &self.drawn;
        let of_wheels = Side::BOTH.into_iter().flat_map(|side| Figure::OF_WHEEL.map(|figure| (side, figure)));
        let of_wheels = of_wheels.collect::<Vec<_>>().into_par_iter().filter_map(|(side, figure)| {
            let nominal = figure.size(drawn.wheels[side].as_ref().ok()?)?;
            let sizes = cars.iter().filter_map(|car| figure.size(car.wheels[side].as_ref().ok()?)).collect();
            let limits = self.wheel_limits[side].iter();
            let limit = limits.clone().find_map(|&(q, limit)| (figure == Figure::Of(q)).then_some(limit));
            let keeps = |limit| cars.iter().filter(|car| wheel_keeps(car, side, figure, limit)).count();
            let chance = limit.map(|limit| Proportion { count: keeps(limit), of: cars.len() });
            spread(figure, Some(side), nominal, sizes, limit, chance)
        });
        let of_axle = self.axle_limits.par_iter().filter_map(|&(quantity, limit)| {
            let size = |car: &BuiltCar| self.axle_value(car, quantity).map(f64::abs);
            let sizes = cars.iter().filter_map(size).collect();
            let count = cars.iter().filter(|car| self.axle_keeps(car, quantity, limit)).count();
            let chance = Some(Proportion { count, of: cars.len() });
            spread(Figure::Of(quantity), None, size(drawn)?, sizes, Some(limit), chance)
        });
        of_wheels.chain(of_axle).collect()
    }

    /// A figure of the whole axle; `None` when a wheel is lost.
    fn axle_value(&self, car: &BuiltCar, quantity: Quantity) -> Option<f64> {
        let PerSide { left, right } = car.figures()?;
        let x_mm = |side: Side, figures: &WheelFigures| self.models[side].corner.wheel.centre.x + figures.ahead_mm;
        match quantity {
            Quantity::RollSteer => Some(car.roll_steer_deg),
            Quantity::ThrustAngle => Some(thrust_angle_deg(left.toe_deg, right.toe_deg)),
            Quantity::Setback => Some(setback_mm(x_mm(Side::Left, left), x_mm(Side::Right, right))),
            _ => None,
        }
    }

    fn axle_keeps(&self, car: &BuiltCar, quantity: Quantity, limit: Interval) -> bool {
        keeps(self.axle_value(car, quantity).map(Interval::single), limit)
    }

    /// Cars inside every limit of wheels and axle.
    fn inside(&self, cars: &[BuiltCar]) -> Proportion {
        let is_inside = |car: &&BuiltCar| {
            let wheel = |side: Side| {
                car.wheels[side].is_ok()
                    && self.wheel_limits[side].iter().all(|&(q, limit)| wheel_keeps(car, side, Figure::Of(q), limit))
            };
            Side::BOTH.into_iter().all(wheel)
                && self.axle_limits.iter().all(|&(quantity, limit)| self.axle_keeps(car, quantity, limit))
        };
        Proportion { count: cars.iter().filter(is_inside).count(), of: cars.len() }
    }

    /// From 0 to a little beyond the limit or nearly all of the cars, whichever is more.
    fn worst_histogram(&self, cars: &[BuiltCar], side: Side) -> Histogram {
        let mut worst: Vec<f64> =
            cars.iter().filter_map(|car| Some(car.wheels[side].as_ref().ok()?.worst_bump_steer_deg)).collect();
        let most = percentile(&mut worst, 0.995).unwrap_or(0.0);
        let limit = self.geometry.limits.bump_steer_deg.unwrap_or(0.0);
        let mut bars = Histogram::new(0.0, most.max(1.25 * limit).max(1e-6), BARS);
        worst.into_iter().for_each(|deg| bars.add(deg));
        bars
    }
}

/// The car as drawn, or the side that cannot be.
fn drawn(models: &PerSide<WheelModel>) -> Result<BuiltCar, Side> {
    let mut in_roll: PerSide<Vec<f64>> = PerSide::default();
    let mut car = BuiltCar::LOST;
    for (side, model) in models.iter() {
        model.build(&[PickupErrors::default()], LinkSetting::Adjusted, |_, built| {
            car.wheels[side] = built.map(|(figures, curve)| {
                in_roll[side].extend(model.toe_in_roll(&curve));
                figures
            });
        });
    }
    let figures = PerSide::try_of(|side| car.wheels[side].map_err(|_| side))?;
    let roll_steer_deg = worst_roll_steer_deg(figures.as_ref(), in_roll.as_ref().map(Vec::as_slice));
    Ok(BuiltCar { roll_steer_deg, ..car })
}

impl Finish {
    fn lengths(&self) -> LinkSetting {
        match self {
            Finish::Cut => LinkSetting::Cut,
            Finish::Adjusted | Finish::Last(_) => LinkSetting::Adjusted,
        }
    }
}

/// Where the pickups of one wheel of a car end up, and how far its last bracket was moved.
fn weld(
    options: &MonteCarlo,
    model: &WheelModel,
    last: Option<usize>,
    car: u64,
) -> Result<(Option<[f64; 2]>, PickupErrors), BuildFailure> {
    let side = model.corner.side;
    let errors = variation(&options.error_models[side].draw(options.seed, car, side));
    match (&options.finish, last) {
        (Finish::Last(bracket), Some(link)) => {
            let (move_mm, variation) = bracket.finish(model, link, &errors, (options.seed, car))?;
            Ok((Some(move_mm), variation))
        }
        _ => Ok((None, errors)),
    }
}

fn wheel_keeps(car: &BuiltCar, side: Side, figure: Figure, limit: Interval) -> bool {
    car.wheels[side].as_ref().is_ok_and(|figures| keeps(figure.range(figures), limit))
}

fn spread(
    figure: Figure,
    side: Option<Side>,
    nominal: f64,
    mut sizes: Vec<f64>,
    limit: Option<Interval>,
    chance: Option<Proportion>,
) -> Option<Spread> {
    let [p50, p90, p99] = [0.5, 0.9, 0.99].map(|share| percentile(&mut sizes, share));
    Some(Spread { figure, side, nominal, p50: p50?, p90: p90?, p99: p99?, limit, chance })
}

/// Largest change of the axle's steer from its own at design, deg.
fn worst_roll_steer_deg(wheels: PerSide<&WheelFigures>, in_roll: PerSide<&[f64]>) -> f64 {
    let steer = |toe: [f64; 2]| [steer_deg(Side::Left, toe[0]), steer_deg(Side::Right, toe[1])];
    let design = steer([wheels.left.toe_deg, wheels.right.toe_deg]);
    let rows = in_roll.left.iter().zip(in_roll.right);
    rows.map(|(&left, &right)| roll_steer_deg(steer([left, right]), design).abs()).fold(0.0, f64::max)
}

/// Cars with both wheels inside the bump-steer limit.
fn flat(cars: &[BuiltCar], limit_deg: f64) -> Proportion {
    let is_flat = |wheel: &Result<WheelFigures, BuildFailure>| {
        wheel.as_ref().is_ok_and(|figures| figures.worst_bump_steer_deg <= limit_deg)
    };
    Proportion {
        count: cars.iter().filter(|car| car.wheels.iter().all(|(_, wheel)| is_flat(wheel))).count(),
        of: cars.len(),
    }
}

fn lost_cars(cars: &[BuiltCar], side: Side) -> LostCars {
    let mut lost = LostCars::default();
    for why in cars.iter().filter_map(|car| car.wheels[side].err()) {
        match why {
            BuildFailure::DoesNotAssemble => lost.does_not_assemble += 1,
            BuildFailure::Singular => lost.singular += 1,
            BuildFailure::Binds { .. } => lost.binds += 1,
        }
    }
    lost
}

fn moves_mm(cars: &[BuiltCar], side: Side) -> (f64, f64) {
    let mut moves: Vec<f64> = cars
        .iter()
        .filter_map(|car| car.wheels[side].as_ref().ok()?.last_move_mm)
        .map(|[first, second]| first.hypot(second))
        .collect();
    let at = |moves: &mut Vec<f64>, share| percentile(moves, share).unwrap_or(0.0);
    (at(&mut moves, 0.5), at(&mut moves, 0.95))
}
