//! Many built cars of one drawing: how their figures spread, and what share keeps the limits.

use rayon::prelude::*;

use super::chance::Proportion;
use super::error_model::{ErrorModel, Errors, variation};
use super::last_bracket::{LastBracket, NoLastBracket};
use super::model::{BuiltWheel, NoWheelModel, WheelModel};
use super::statistics::{CurveBand, Histogram, percentile};
use crate::geometry::{Geometry, Interval, PerSide, Quantity, Side, Whose};
use crate::measures::{Reading, WheelStance};
use crate::mechanism::{BuildFailure, LinkSetting, PickupErrors};
use crate::studies::JudgedCar;
use crate::studies::sensitivity::Sensitivity;

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
    pub quantity: Quantity,
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
    pub fn spread(&self, quantity: Quantity, side: Side) -> Option<&Spread> {
        self.spreads.iter().find(|spread| spread.quantity == quantity && spread.side == Some(side))
    }
}

/// One built car.
#[derive(Debug, Clone)]
struct BuiltCar {
    wheels: PerSide<Result<BuiltWheel, BuildFailure>>,
    /// What the file limits of the axle, in the order of the study's `axle_limits`; none when a wheel is lost.
    axle: Vec<f64>,
}

impl BuiltCar {
    /// Neither wheel built yet.
    fn unbuilt() -> Self {
        Self { wheels: PerSide::of(|_| Err(BuildFailure::Singular)), axle: Vec::new() }
    }

    /// Both wheels, when both move through their travel.
    fn moving(&self) -> Option<PerSide<&BuiltWheel>> {
        self.wheels.as_ref().map(|wheel| wheel.as_ref().ok()).both()
    }
}

/// The links of a last bracket on both wheels.
type LastLinks = Option<PerSide<usize>>;

impl<'g> ToleranceStudy<'g> {
    pub fn new(car: &JudgedCar<'g>) -> Result<Self, NoWheelModel> {
        let models = PerSide::try_of(|side| WheelModel::new(car, side))?;
        let sensitivity = |side| Sensitivity::of(&car.rig, side).ok_or(NoWheelModel::Singular { side });
        let sensitivities = PerSide::try_of(sensitivity)?;
        let geometry = car.geometry();
        let drawn = PerSide::try_of(|side| drawn(&models[side]).ok_or(NoWheelModel::Singular { side }))?;
        let wheel_limits = PerSide::of(|side| {
            let limits = limits_of(geometry, Whose::Wheel, side).into_iter();
            limits.filter(|(quantity, _)| models[side].range(&drawn[side].0, *quantity).is_some()).collect()
        });
        let axle_limits = limits_of(geometry, Whose::Axle, Side::Left);
        let in_roll = drawn.as_ref().map(|(_, in_roll)| &in_roll[..]);
        let axle = axle_values(&axle_limits, drawn.as_ref().map(|(built, _)| built), in_roll);
        let drawn = BuiltCar { wheels: drawn.map(|(built, _)| Ok(built)), axle };
        Ok(Self { geometry, models, sensitivities, drawn, wheel_limits, axle_limits })
    }

    /// Limits of the file on what the drawing lacks the data for: nothing can be said of them.
    pub fn unchecked(&self) -> Vec<Quantity> {
        let lacking = |side: Side| {
            let known = &self.wheel_limits[side];
            let all = limits_of(self.geometry, Whose::Wheel, side);
            all.into_iter().filter(|limit| !known.contains(limit)).map(|(quantity, _)| quantity)
        };
        let mut list: Vec<Quantity> = lacking(Side::Left).collect();
        list.extend(lacking(Side::Right).filter(|quantity| !list.contains(quantity)).collect::<Vec<_>>());
        list
    }

    /// Whether a wheel is outside the bump-steer limit before anything is welded.
    pub fn breaks_bump_steer_as_drawn(&self) -> bool {
        let limit_deg = self.geometry.bump_steer_limit_deg();
        limit_deg.is_some_and(|limit| self.sensitivities.iter().any(|(_, wheel)| wheel.worst_deg() > limit))
    }

    /// Builds the cars and counts.
    pub fn build(&self, options: &MonteCarlo) -> Result<Tolerance, NoLastBracket> {
        let last = match &options.finish {
            Finish::Last(bracket) => Some(self.links_of(bracket)?),
            Finish::Cut | Finish::Adjusted => None,
        };
        let empty = self.rooms(options, last);
        let mut cars = vec![BuiltCar::unbuilt(); options.cars];
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
            inside: (!self.geometry.limits.is_empty()).then(|| self.inside(&cars)),
            flat: self.geometry.bump_steer_limit_deg().map(|_| self.flat(&cars)),
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
        let mut few = vec![BuiltCar::unbuilt(); options.cars.min(FEW)];
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
        let mut in_roll: PerSide<Vec<Vec<WheelStance>>> = PerSide::of(|_| vec![Vec::new(); cars.len()]);
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
                    in_roll[side][k].extend(model.stances_in_roll(&curve));
                    BuiltWheel { last_move_mm, ..figures }
                });
            });
        }
        for (k, car) in cars.iter_mut().enumerate() {
            if let Some(wheels) = car.moving() {
                car.axle = axle_values(&self.axle_limits, wheels, in_roll.as_ref().map(|rows| &rows[k][..]));
            }
        }
    }

    fn spreads(&self, cars: &[BuiltCar]) -> Vec<Spread> {
        let drawn = &self.drawn;
        let of_wheels =
            Side::BOTH.into_iter().flat_map(|side| self.models[side].tracked.iter().map(move |&q| (side, q)));
        let of_wheels = of_wheels.collect::<Vec<_>>().into_par_iter().filter_map(|(side, quantity)| {
            let size = |car: &BuiltCar| self.models[side].size(car.wheels[side].as_ref().ok()?, quantity);
            let nominal = size(drawn)?;
            let sizes = cars.iter().filter_map(size).collect();
            let limit = self.wheel_limits[side].iter().find_map(|&(q, limit)| (quantity == q).then_some(limit));
            let keeps = |limit| cars.iter().filter(|car| self.wheel_keeps(car, side, quantity, limit)).count();
            let chance = limit.map(|limit| Proportion { count: keeps(limit), of: cars.len() });
            spread(quantity, Some(side), nominal, sizes, limit, chance)
        });
        let of_axle = self.axle_limits.par_iter().enumerate().filter_map(|(index, &(quantity, limit))| {
            let size = |car: &BuiltCar| car.axle.get(index).map(|value| value.abs());
            let sizes = cars.iter().filter_map(size).collect();
            let count = cars.iter().filter(|car| axle_keeps(car, index, limit)).count();
            let chance = Some(Proportion { count, of: cars.len() });
            spread(quantity, None, size(drawn)?, sizes, Some(limit), chance)
        });
        of_wheels.chain(of_axle).collect()
    }

    fn wheel_keeps(&self, car: &BuiltCar, side: Side, quantity: Quantity, limit: Interval) -> bool {
        let range = car.wheels[side].as_ref().ok().and_then(|built| self.models[side].range(built, quantity));
        range.is_some_and(|range| limit.holds(&range))
    }

    /// Cars with both wheels inside the bump-steer limit.
    fn flat(&self, cars: &[BuiltCar]) -> Proportion {
        let limit = self.geometry.limits.get(Quantity::BumpSteer);
        let keeps = |car: &BuiltCar, side, limit| self.wheel_keeps(car, side, Quantity::BumpSteer, limit);
        let is_flat =
            |car: &&BuiltCar| limit.is_some_and(|limit| Side::BOTH.iter().all(|&side| keeps(car, side, limit)));
        Proportion { count: cars.iter().filter(is_flat).count(), of: cars.len() }
    }

    /// Cars inside every limit of wheels and axle.
    fn inside(&self, cars: &[BuiltCar]) -> Proportion {
        let is_inside = |car: &&BuiltCar| {
            let wheel = |side: Side| {
                car.wheels[side].is_ok()
                    && self.wheel_limits[side].iter().all(|&(q, limit)| self.wheel_keeps(car, side, q, limit))
            };
            Side::BOTH.into_iter().all(wheel)
                && self.axle_limits.iter().enumerate().all(|(index, &(_, limit))| axle_keeps(car, index, limit))
        };
        Proportion { count: cars.iter().filter(is_inside).count(), of: cars.len() }
    }

    /// From 0 to a little beyond the limit or nearly all of the cars, whichever is more.
    fn worst_histogram(&self, cars: &[BuiltCar], side: Side) -> Histogram {
        let worst = |car: &BuiltCar| self.models[side].size(car.wheels[side].as_ref().ok()?, Quantity::BumpSteer);
        let mut worst: Vec<f64> = cars.iter().filter_map(worst).collect();
        let most = percentile(&mut worst, 0.995).unwrap_or(0.0);
        let limit = self.geometry.bump_steer_limit_deg().unwrap_or(0.0);
        let mut bars = Histogram::new(0.0, most.max(1.25 * limit).max(1e-6), BARS);
        worst.into_iter().for_each(|deg| bars.add(deg));
        bars
    }
}

/// A wheel as drawn, and where it stands in roll; `None` when it cannot be moved.
fn drawn(model: &WheelModel) -> Option<(BuiltWheel, Vec<WheelStance>)> {
    let mut drawn = None;
    model.build(&[PickupErrors::default()], LinkSetting::Adjusted, |_, built| {
        drawn = built.ok().map(|(built, curve)| (built, model.stances_in_roll(&curve).collect()));
    });
    drawn
}

/// The limits that the file sets on wheels or axle, as far as a built car shows them.
fn limits_of(geometry: &Geometry, whose: Whose, side: Side) -> Vec<(Quantity, Interval)> {
    let shown = Quantity::limited(whose).filter(|quantity| !matches!(quantity.reading(), Reading::RodEnds));
    shown.filter_map(|quantity| Some((quantity, geometry.limit(quantity, side)?))).collect()
}

/// What is limited of the axle of a built car: at design, or its largest size in roll.
fn axle_values(
    limits: &[(Quantity, Interval)],
    wheels: PerSide<&BuiltWheel>,
    in_roll: PerSide<&[WheelStance]>,
) -> Vec<f64> {
    let design = wheels.map(|wheel| wheel.stance);
    let value = |quantity: &Quantity| match quantity.reading() {
        Reading::AxleAtDesign(value) => value(design),
        Reading::AxleInRoll(value) => {
            let rows = in_roll.left.iter().zip(in_roll.right).map(|(&left, &right)| PerSide { left, right });
            rows.map(|now| value(now, design).abs()).fold(0.0, f64::max)
        }
        _ => f64::NAN,
    };
    limits.iter().map(|(quantity, _)| value(quantity)).collect()
}

fn axle_keeps(car: &BuiltCar, index: usize, limit: Interval) -> bool {
    car.axle.get(index).is_some_and(|&value| limit.holds(&Interval::single(value)))
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

fn spread(
    quantity: Quantity,
    side: Option<Side>,
    nominal: f64,
    mut sizes: Vec<f64>,
    limit: Option<Interval>,
    chance: Option<Proportion>,
) -> Option<Spread> {
    let [p50, p90, p99] = [0.5, 0.9, 0.99].map(|share| percentile(&mut sizes, share));
    Some(Spread { quantity, side, nominal, p50: p50?, p90: p90?, p99: p99?, limit, chance })
}

fn lost_cars(cars: &[BuiltCar], side: Side) -> LostCars {
    let mut lost = LostCars::default();
    for why in cars.iter().filter_map(|car| car.wheels[side].as_ref().err().copied()) {
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
