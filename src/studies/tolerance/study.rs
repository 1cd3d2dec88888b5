//! Many built cars of one drawing: how their figures spread, and what share keeps the limits.

use std::ops::Range;

use rayon::prelude::*;

use super::columns::Columns;
use super::counts::Counts;
use super::last_bracket::{LastBracket, NoLastBracket};
use super::model::{BuiltWheel, NoWheelModel, WheelModel};
use super::monte_carlo::{Finish, MonteCarlo, Watch};
use super::placing::Placing;
use super::results::{Spread, Tolerance};
use super::statistics::{BandCounter, Histogram, percentile};
use super::tried::TriedLimits;
use crate::geometry::{Geometry, Interval, PerSide, Quantity, Side};
use crate::measures::{Reading, WheelStance};
use crate::mechanism::{BuildFailure, LinkSetting, PickupErrors};
use crate::studies::errors::Proportion;
use crate::studies::judged_car::JudgedCar;
use crate::studies::sensitivity::Sensitivity;

/// Cars that one thread builds at a time when they have few rows.
const FEW: usize = 256;
/// Fewest: those that are solved together.
const FEWEST: usize = 16;
/// Rows of cars that one thread holds at a time, when they are not so many that even the fewest cars have more.
const ROWS_OF_A_THREAD: usize = 51_200;
/// Rows of cars that all threads hold at a time, a hundred bytes each.
const ROWS_OF_ALL_THREADS: usize = 2_500_000;
/// Bars of the distribution of worst bump steer.
const BARS: usize = 60;

/// A drawing ready to be built any number of times.
#[derive(Debug, Clone)]
pub struct ToleranceStudy<'g> {
    /// The drawn car.
    pub geometry: &'g Geometry,
    /// Of both wheels.
    pub models: PerSide<WheelModel<'g>>,
    /// Of both wheels as drawn.
    pub sensitivities: PerSide<Sensitivity>,
    drawn: BuiltCar,
    /// The limits that built cars are held to.
    pub limits: TriedLimits,
}

/// One built car.
#[derive(Debug, Clone)]
struct BuiltCar {
    wheels: PerSide<Result<BuiltWheel, BuildFailure>>,
    /// What is tried of the axle, in the order of the study's limits; none when a wheel is lost.
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

/// The cars of a study.
struct Counted {
    columns: Columns,
    counts: Counts,
}

/// The last bracket of both wheels, when there is one.
type LastBrackets<'a> = Option<&'a PerSide<Placing<'a>>>;

impl<'g> ToleranceStudy<'g> {
    /// Of a judged car; refused when a drawn wheel cannot be moved through its travel.
    pub fn new(car: &JudgedCar<'g>) -> Result<Self, NoWheelModel> {
        let (rig, geometry) = (&car.rig, car.geometry());
        let models = PerSide::try_of(|side| Ok(WheelModel::new(rig, side)?.with_parts(rig)))?;
        let sensitivity = |side| Sensitivity::of(rig, side).ok_or(NoWheelModel::Singular { side });
        let sensitivities = PerSide::try_of(sensitivity)?;
        let drawn = PerSide::try_of(|side| drawn(&models[side]).ok_or(NoWheelModel::Singular { side }))?;
        let limits = TriedLimits::of(car);
        let in_roll = drawn.as_ref().map(|(_, in_roll)| &in_roll[..]);
        let axle = axle_values(&limits.axle, drawn.as_ref().map(|(built, _)| built), in_roll);
        let drawn = BuiltCar { wheels: drawn.map(|(built, _)| Ok(built)), axle };
        Ok(Self { geometry, models, sensitivities, drawn, limits })
    }

    /// Whether a wheel is outside the bump-steer limit before anything is welded.
    pub fn breaks_bump_steer_as_drawn(&self) -> bool {
        let limit_deg = self.geometry.bump_steer_limit_deg();
        limit_deg.is_some_and(|limit| self.sensitivities.iter().any(|(_, wheel)| wheel.worst_deg() > limit))
    }

    /// Builds the cars and counts.
    ///
    /// Keeps a few numbers a car (`Columns`) and counts the toe curves as it goes: memory grows with the cars and with the
    /// rows, not with their product and not with the threads.
    /// After a stop the study is of the cars that are built by then, the first few at least.
    pub fn build(&self, options: &MonteCarlo, watch: Watch<'_>) -> Result<Tolerance, NoLastBracket> {
        let last = match &options.finish {
            Finish::Last(bracket) => Some(self.placings_of(bracket)?),
            Finish::Cut | Finish::Adjusted => None,
        };
        let last = last.as_ref();
        let bands = self.empty_bands(options, last, watch);
        let Counted { columns, counts } =
            self.count(options, (last, &[]), watch, &|side, row, deg| bands[side].add(row, deg));
        let moves = |side| last.map(|_| moves_mm(columns.values(self.move_column(side))));
        Ok(Tolerance {
            cars: counts.cars,
            seed: options.seed,
            finish: options.finish.clone(),
            spreads: self.spreads(&columns, &counts),
            within_all_limits: self.has_limits().then(|| counts.of(counts.within_all_limits)),
            with_toe_set: (options.finish == Finish::Cut && self.limits.has_of_axle(Quantity::ThrustAngle))
                .then(|| counts.of(counts.within_all_but_thrust_angle)),
            limits: self.limits.count(),
            within_bump_steer: self.limits.has(Quantity::BumpSteer).then(|| counts.of(counts.within_bump_steer)),
            lost: counts.lost,
            worst_deg: PerSide::of(|side| self.worst_histogram(&columns, side)),
            last_moves_mm: PerSide::of(moves).both(),
            bands: bands.map(BandCounter::into_band),
        })
    }

    /// Shares of cars with adjusted links that keep every limit that is tried on them, and every one of those that were not let go;
    /// `None` when none is tried.
    pub(super) fn shares_within(
        &self,
        options: &MonteCarlo,
        let_go: &[Quantity],
        watch: Watch<'_>,
    ) -> [Option<Proportion>; 2] {
        let Counted { counts, .. } = self.count(options, (None, let_go), watch, &|_, _, _| {});
        let inside = [counts.within_all_limits, counts.within_kept];
        inside.map(|inside| self.has_limits().then(|| counts.of(inside)))
    }

    /// The file has `[limits]`, and at least one limit is tried on the cars.
    fn has_limits(&self) -> bool {
        !self.geometry.limits.is_empty() && !self.limits.is_empty()
    }

    /// Builds every car; `toe_change` is told every change of toe by side and row, in no order.
    fn count(
        &self,
        options: &MonteCarlo,
        (last, let_go): (LastBrackets<'_>, &[Quantity]),
        watch: Watch<'_>,
        toe_change: &(impl Fn(Side, usize, f64) + Sync),
    ) -> Counted {
        let mut columns = Columns::new(options.cars, self.move_column(Side::Right) + 1);
        let few = self.cars_at_a_time();
        let most_at_once = (ROWS_OF_ALL_THREADS / (few * self.rows())).max(1);
        let counts = columns
            .par_rows_mut(few)
            .with_min_len(options.cars.div_ceil(few).div_ceil(most_at_once))
            .enumerate()
            .map(|(k, mut rows)| {
                let mut counts = Counts::none(&self.limits);
                if k > 0 && (watch.stop)() {
                    return counts;
                }
                let mut cars = vec![BuiltCar::unbuilt(); rows.len()];
                self.build_few(options, last, k * few, &mut cars, toe_change);
                for (index, car) in cars.iter().enumerate() {
                    self.keep(car, rows.row(index));
                    self.judge(car, let_go, &mut counts);
                }
                (watch.built)(cars.len());
                counts
            })
            .reduce(|| Counts::none(&self.limits), Counts::plus);
        Counted { columns, counts }
    }

    /// Column of the size of a tracked quantity of a wheel, by its index among those of that wheel.
    fn wheel_column(&self, side: Side, index: usize) -> usize {
        match side {
            Side::Left => index,
            Side::Right => self.models.left.tracked.len() + index,
        }
    }

    /// Column of a limited value of the axle, by its index.
    fn axle_column(&self, index: usize) -> usize {
        self.wheel_column(Side::Right, self.models.right.tracked.len()) + index
    }

    /// Column of the length of the last bracket's move.
    fn move_column(&self, side: Side) -> usize {
        let first = self.axle_column(self.limits.axle.len());
        match side {
            Side::Left => first,
            Side::Right => first + 1,
        }
    }

    /// Writes what is kept of a car into its row.
    fn keep(&self, car: &BuiltCar, row: &mut [f64]) {
        for (side, wheel) in car.wheels.iter() {
            let Ok(built) = wheel else { continue };
            for (index, &quantity) in self.models[side].tracked.iter().enumerate() {
                row[self.wheel_column(side, index)] = self.models[side].size(built, quantity).unwrap_or(f64::NAN);
            }
            if let Some([first, second]) = built.last_move_mm {
                row[self.move_column(side)] = first.hypot(second);
            }
        }
        for (index, value) in car.axle.iter().enumerate() {
            row[self.axle_column(index)] = value.abs();
        }
    }

    /// Holds a car to the limits.
    fn judge(&self, car: &BuiltCar, let_go: &[Quantity], counts: &mut Counts) {
        counts.cars += 1;
        let (mut within_all, mut within_kept) = (true, true);
        let mut within_bump_steer = true;
        for (side, wheel) in car.wheels.iter() {
            if let Err(why) = wheel {
                counts.lost[side].add(*why);
                (within_all, within_kept, within_bump_steer) = (false, false, false);
                continue;
            }
            for (&(quantity, limit), kept) in self.limits.wheels[side].iter().zip(&mut counts.wheels[side]) {
                let keeps = self.wheel_keeps(car, side, quantity, limit);
                *kept += usize::from(keeps);
                within_all &= keeps;
                within_kept &= keeps || let_go.contains(&quantity);
                within_bump_steer &= keeps || quantity != Quantity::BumpSteer;
            }
        }
        let mut but_thrust_angle = within_all;
        for (index, &(quantity, limit)) in self.limits.axle.iter().enumerate() {
            let keeps = car.axle.get(index).is_some_and(|&value| limit.holds(&Interval::single(value)));
            counts.axle[index] += usize::from(keeps);
            within_all &= keeps;
            within_kept &= keeps || let_go.contains(&quantity);
            but_thrust_angle &= keeps || quantity == Quantity::ThrustAngle;
        }
        counts.within_all_limits += usize::from(within_all);
        counts.within_kept += usize::from(within_kept);
        counts.within_all_but_thrust_angle += usize::from(but_thrust_angle);
        counts.within_bump_steer += usize::from(within_bump_steer);
    }

    /// The last bracket of both wheels, ready to be placed.
    pub(super) fn placings_of(&self, bracket: &LastBracket) -> Result<PerSide<Placing<'_>>, NoLastBracket> {
        PerSide::try_of(|side| {
            let (model, sensitivity) = (&self.models[side], &self.sensitivities[side]);
            let link = bracket.on(sensitivity, model.corner)?;
            let nothing = NoLastBracket::ChangesNothing { side, deg_per_mm: 0.0 };
            Placing::new(model, sensitivity, link).ok_or(nothing)
        })
    }

    /// Room for the toe curves, from those of the first few cars.
    fn empty_bands(&self, options: &MonteCarlo, last: LastBrackets<'_>, watch: Watch<'_>) -> PerSide<BandCounter> {
        let models = self.models.as_ref();
        let mut ranges: PerSide<Vec<Interval>> = models.map(|model| vec![Interval::single(0.0); model.bump_mm.len()]);
        let first = options.cars.min(FEW);
        for from in (0..first).step_by(self.cars_at_a_time()).take_while(|&from| from == 0 || !(watch.stop)()) {
            let mut few = vec![BuiltCar::unbuilt(); self.cars_at_a_time().min(first - from)];
            self.build_few(options, last, from, &mut few, |side, row, deg| {
                let range = &mut ranges[side][row];
                *range = Interval { low: range.low.min(deg), high: range.high.max(deg) };
            });
        }
        models.zip(ranges).map(|(model, ranges)| BandCounter::around(&model.bump_mm, &ranges))
    }

    /// Cars of many rows are built fewer at a time.
    fn cars_at_a_time(&self) -> usize {
        (ROWS_OF_A_THREAD / self.rows() / FEWEST * FEWEST).clamp(FEWEST, FEW)
    }

    /// Of the wheel that has more, at least one.
    fn rows(&self) -> usize {
        self.models.iter().map(|(_, model)| model.rows()).max().unwrap_or(1)
    }

    /// Builds some cars, the first of them being number `first`; tells every change of toe by side and row.
    fn build_few(
        &self,
        options: &MonteCarlo,
        last: LastBrackets<'_>,
        first: usize,
        cars: &mut [BuiltCar],
        mut toe_change: impl FnMut(Side, usize, f64),
    ) {
        let mut in_roll: PerSide<Vec<Vec<WheelStance>>> = PerSide::of(|_| vec![Vec::new(); cars.len()]);
        for (side, model) in self.models.iter() {
            let mut welded: Vec<(usize, Option<[f64; 2]>)> = Vec::with_capacity(cars.len());
            let mut variations: Vec<PickupErrors> = Vec::with_capacity(cars.len());
            let few = first as u64..(first + cars.len()) as u64;
            for ((k, car), built) in
                cars.iter_mut().enumerate().zip(weld(options, model, last.map(|last| &last[side]), few))
            {
                match built {
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
                car.axle = axle_values(&self.limits.axle, wheels, in_roll.as_ref().map(|rows| &rows[k][..]));
            }
        }
    }

    fn spreads(&self, columns: &Columns, counts: &Counts) -> Vec<Spread> {
        let mut spreads = Vec::new();
        for (side, model) in self.models.iter() {
            for (index, &quantity) in model.tracked.iter().enumerate() {
                let kept = self.limits.wheels[side].iter().zip(&counts.wheels[side]);
                let limit = kept.clone().find(|((limited, _), _)| *limited == quantity);
                let limit = limit.map(|((_, limit), kept)| (*limit, counts.of(*kept)));
                let drawn = self.drawn.wheels[side].as_ref().ok().and_then(|drawn| model.size(drawn, quantity));
                let sizes = columns.values(self.wheel_column(side, index));
                spreads.extend(drawn.and_then(|drawn| spread(quantity, Some(side), drawn, sizes, limit)));
            }
        }
        for (index, &(quantity, limit)) in self.limits.axle.iter().enumerate() {
            let limit = Some((limit, counts.of(counts.axle[index])));
            let drawn = self.drawn.axle.get(index).map(|value| value.abs());
            let sizes = columns.values(self.axle_column(index));
            spreads.extend(drawn.and_then(|drawn| spread(quantity, None, drawn, sizes, limit)));
        }
        spreads
    }

    fn wheel_keeps(&self, car: &BuiltCar, side: Side, quantity: Quantity, limit: Interval) -> bool {
        let range = car.wheels[side].as_ref().ok().and_then(|built| self.models[side].range(built, quantity));
        range.is_some_and(|range| limit.holds(&range))
    }

    /// From 0 to a little beyond the limit or nearly all of the cars, whichever is more.
    fn worst_histogram(&self, columns: &Columns, side: Side) -> Histogram {
        let index = self.models[side].tracked.iter().position(|&quantity| quantity == Quantity::BumpSteer);
        let mut worst = index.map_or(Vec::new(), |index| columns.values(self.wheel_column(side, index)));
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

/// What is limited of the axle of a built car: at design, or its largest size in roll.
fn axle_values(
    limits: &[(Quantity, Interval)],
    wheels: PerSide<&BuiltWheel>,
    in_roll: PerSide<&[WheelStance]>,
) -> Vec<f64> {
    let design = wheels.map(|wheel| wheel.stance);
    let value = |quantity: &Quantity| match quantity.reading() {
        Reading::AxleAtDesign(value) => value(design),
        Reading::AxleOverTravel(value) => {
            let rows = wheels.left.travel.iter().zip(&wheels.right.travel);
            let rows = rows.map(|(&left, &right)| PerSide { left, right });
            rows.map(|now| value(now, design).abs()).fold(0.0, f64::max)
        }
        Reading::AxleInRoll(value) => {
            let rows = in_roll.left.iter().zip(in_roll.right).map(|(&left, &right)| PerSide { left, right });
            rows.map(|now| value(now, design).abs()).fold(0.0, f64::max)
        }
        _ => f64::NAN,
    };
    limits.iter().map(|(quantity, _)| value(quantity)).collect()
}

/// A wheel welded: how far its last bracket was moved, mm, and where its pickups end up.
type Welded = Result<(Option<[f64; 2]>, PickupErrors), BuildFailure>;

/// One wheel of some cars, by their numbers.
fn weld(options: &MonteCarlo, model: &WheelModel, last: Option<&Placing<'_>>, cars: Range<u64>) -> Vec<Welded> {
    let side = model.corner.side;
    let errors = cars.map(|car| (car, options.error_models[side].draw_pickups(options.seed, car, side)));
    match (&options.finish, last) {
        (Finish::Last(bracket), Some(placing)) => {
            let finished = bracket.finish(placing, options.seed, &errors.collect::<Vec<_>>());
            finished.into_iter().map(|car| car.map(|(move_mm, errors)| (Some(move_mm), errors))).collect()
        }
        _ => errors.map(|(_, errors)| Ok((None, errors))).collect(),
    }
}

/// `limit` with the share of all cars that keep it; `None` of no values. A percentile is what that share of the cars keep: they stay
/// below it, with a gap above it.
fn spread(
    quantity: Quantity,
    side: Option<Side>,
    nominal: f64,
    mut sizes: Vec<f64>,
    limit: Option<(Interval, Proportion)>,
) -> Option<Spread> {
    let at = |share: f64| if quantity == Quantity::Clearance { 1.0 - share } else { share };
    let [p50, p90, p99] = [0.5, 0.9, 0.99].map(|share| percentile(&mut sizes, at(share)));
    let (limit, chance) = limit.unzip();
    Some(Spread { quantity, side, nominal, p50: p50?, p90: p90?, p99: p99?, limit, chance })
}

/// Median and 95th percentile.
fn moves_mm(mut moves: Vec<f64>) -> (f64, f64) {
    let mut at = |share| percentile(&mut moves, share).unwrap_or(0.0);
    (at(0.5), at(0.95))
}
