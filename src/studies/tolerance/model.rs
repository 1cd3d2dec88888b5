//! One wheel ready to be built many times: its drawing, its batch solver, and the figures of each built one.

use std::error::Error;
use std::fmt;
use std::ops::Range;

use super::limited_rod_ends::LimitedRodEnds;
use super::nearest_gap::NearestGap;
use super::worst::WorstBumpSteer;
use crate::batch::{Batch, BatchError, BuiltCurve};
use crate::geometry::{Corner, Geometry, Interval, Over, Quantity, Side, Travel, Whose};
use crate::measures::{DesignContact, Measure, Placed, Reading, Row, WheelStance, spin_axis, toe_deg};
use crate::mechanism::{Bind, BuildFailure, LinkSetting, Linkage, PickupErrors, Posture, WheelPath};
use crate::studies::errors::ErrorModel;
use crate::studies::rig::{Rig, SingularDesign};
use crate::studies::roll::Roll;
use crate::studies::stations::stations;
use crate::studies::toe_curve::slope_through_design;

/// Why a drawing cannot be built many times.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoWheelModel {
    /// Its links do not hold the wheel.
    Singular {
        /// Of this wheel.
        side: Side,
    },
    /// It binds as drawn, inside its travel.
    Binds {
        /// This wheel.
        side: Side,
        /// Where, and which links carry it.
        bind: Bind,
    },
}

impl fmt::Display for NoWheelModel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoWheelModel::Singular { side } => SingularDesign { side: *side }.fmt(f),
            NoWheelModel::Binds { side, bind } => {
                write!(f, "as drawn the {} wheel {bind}; reduce the travel or move one of these links", side.name())
            }
        }
    }
}

impl Error for NoWheelModel {}

/// What one built wheel does over bump and droop. Changes count from the wheel's own place at the drawn wheel height.
#[derive(Debug, Clone, PartialEq)]
pub struct BuiltWheel {
    /// At the drawn wheel height.
    pub stance: WheelStance,
    /// At every row of the heave study; empty when the file limits nothing of the axle over bump and droop.
    pub travel: Vec<WheelStance>,
    /// The range of each quantity of [`WheelModel::tracked`], in its unit; `None` where it has no value.
    pub ranges: Vec<Option<Interval>>,
    /// How far the last bracket had to be moved in its plane, mm, when there is one.
    pub last_move_mm: Option<[f64; 2]>,
}

/// One wheel of a drawing, ready to be built.
#[derive(Debug, Clone)]
pub struct WheelModel<'g> {
    /// The drawn car.
    pub geometry: &'g Geometry,
    /// The drawn corner.
    pub corner: &'g Corner,
    /// Its links as drawn.
    pub linkage: Linkage,
    /// Bump travel of the rows of the heave study, mm.
    pub bump_mm: Vec<f64>,
    /// Which of them is the drawn wheel height.
    pub design: usize,
    batch: Batch,
    /// The stations that bump steer is read from, mm: the first ones of the batch.
    bump_steer_mm: Vec<f64>,
    /// The stations at which bump steer starts: the drawn wheel height, then where the drawn wheel stands at the other ride heights
    /// of the file.
    starts: Vec<usize>,
    /// The station at which this wheel stands in each row of body roll; empty when roll steer has no limit.
    in_roll: Vec<usize>,
    /// What is judged of its parts; `None` while nobody asks for it.
    parts: Option<LimitedParts>,
    /// The file limits something of the axle over bump and droop.
    is_axle_limited: bool,
    /// What is read from every built wheel: what is always told of it, and what the file limits.
    pub tracked: Vec<Quantity>,
}

/// The parts of a wheel that have limits of their own.
#[derive(Debug, Clone)]
struct LimitedParts {
    gap: Option<NearestGap>,
    rod_ends: Option<LimitedRodEnds>,
}

/// Body roll and ride heights put a wheel on a station of the heave study when it is this near, mm.
const SAME_STATION_MM: f64 = 1e-6;

impl<'g> WheelModel<'g> {
    /// Of one side; refused when the drawn wheel cannot be moved through its travel.
    pub fn new(rig: &Rig<'g>, side: Side) -> Result<Self, NoWheelModel> {
        let geometry = rig.geometry;
        let corner = geometry.corner(side);
        let linkage = Linkage::new(corner);
        let Travel { droop_mm, bump_mm, step_mm, .. } = geometry.travel;
        let bump_mm = stations(-droop_mm, bump_mm, step_mm);
        let mut stations_mm = bump_mm.clone();
        let other_heights = geometry.travel.other_ride_heights_mm();
        let stands_at = other_heights.filter_map(|height_mm| rig.wheel(side).bump_at_ride_height_mm(height_mm));
        let starts: Vec<usize> =
            std::iter::once(0.0).chain(stands_at).map(|mm| station(&mut stations_mm, mm)).collect();
        let bump_steer_mm = stations_mm.clone();
        let in_roll: Vec<usize> = match is_axle_limited(geometry, Over::Roll) {
            true => Roll::run(rig).rows.of(side).map(|row| station(&mut stations_mm, row.bump_mm)).collect(),
            false => Vec::new(),
        };
        let batch = Batch::new(&linkage, &corner.wheel.spin_axis, &stations_mm).map_err(|why| match why {
            // The rows of a heave study are finite.
            BatchError::Singular | BatchError::UndefinedStation => NoWheelModel::Singular { side },
            BatchError::Binds(bind) => NoWheelModel::Binds { side, bind },
        })?;
        let design = bump_mm.iter().position(|&bump_mm| bump_mm == 0.0).ok_or(NoWheelModel::Singular { side })?;
        Ok(Self {
            geometry,
            corner,
            linkage,
            bump_mm,
            design,
            batch,
            bump_steer_mm,
            starts,
            in_roll,
            parts: None,
            is_axle_limited: is_axle_limited(geometry, Over::BumpAndDroop),
            tracked: tracked(geometry, corner),
        })
    }

    /// The same, with its gaps and rod ends among what is read.
    pub fn with_parts(self, rig: &Rig<'g>) -> Self {
        let wheel = rig.wheel(self.corner.side);
        let (gap, rod_ends) = (NearestGap::new(wheel, &self.bump_mm), LimitedRodEnds::new(wheel));
        let parts = [(Quantity::Clearance, gap.is_some()), (Quantity::RodEndAngle, rod_ends.is_some())];
        let of_parts = parts.into_iter().filter(|(_, is_there)| *is_there).map(|(quantity, _)| quantity);
        let tracked = self.tracked.iter().copied().chain(of_parts).collect();
        Self { parts: Some(LimitedParts { gap, rod_ends }), tracked, ..self }
    }

    /// A solver of the stations that [`Self::bump_steer`] reads alone, those of the heave study first.
    pub fn bump_steer_batch(&self) -> Result<Batch, BatchError> {
        Batch::new(&self.linkage, &self.corner.wheel.spin_axis, &self.bump_steer_mm)
    }

    /// Rows of bump and droop and of roll that are kept of a car.
    pub fn rows(&self) -> usize {
        self.bump_mm.len() + self.in_roll.len()
    }

    /// Builds every car and hands on its figures and its toe curve.
    pub fn build(
        &self,
        cars: &[PickupErrors],
        lengths: LinkSetting,
        mut visit: impl FnMut(usize, Result<(BuiltWheel, BuiltCurve<'_>), BuildFailure>),
    ) {
        let mut corner = self.corner.clone();
        self.batch.solve(cars, lengths, |index, curve| {
            let errors = &cars[index];
            let built = curve.and_then(|curve| {
                let parts = self.parts.as_ref().map(|parts| (parts, built_corner(&mut corner, self.corner, errors)));
                Ok((self.figures(&curve, (errors, lengths), parts)?, curve))
            });
            visit(index, built);
        });
    }

    /// Worst bump steer of many built wheels, links adjusted, deg: wheel `i` is that of car `i` of a study with this seed and these
    /// errors.
    pub fn worst_bump_steer(&self, errors: &ErrorModel, wheels: Range<usize>, seed: u64) -> WorstBumpSteer {
        let side = self.corner.side;
        let (numbers, wheels) = (wheels.start as u64..wheels.end as u64, wheels.len());
        let built = numbers.map(|car| errors.draw_pickups(seed, car, side));
        let cars: Vec<PickupErrors> = std::iter::once(PickupErrors::default()).chain(built).collect();
        let mut as_drawn_deg = f64::NAN;
        let mut moving_deg = Vec::with_capacity(wheels);
        self.batch.solve(&cars, LinkSetting::Adjusted, |index, curve| {
            match (index, curve.map(|curve| self.bump_steer(&curve).largest())) {
                (0, worst_deg) => as_drawn_deg = worst_deg.unwrap_or(f64::NAN),
                (_, worst_deg) => moving_deg.extend(worst_deg),
            }
        });
        WorstBumpSteer::new(moving_deg, wheels, as_drawn_deg)
    }

    /// Change of toe from the drawn wheel height at every row of the heave study, deg.
    pub fn toe_changes<'a>(&'a self, curve: &'a BuiltCurve<'_>) -> impl Iterator<Item = f64> + 'a {
        let at_design = curve.toe_deg(self.design);
        (0..self.bump_mm.len()).map(move |row| curve.toe_deg(row) - at_design)
    }

    /// Change of toe over the rows of the heave study, deg: from the drawn wheel height, and from the other ride heights of the file. The
    /// built wheel stands at these where the drawn one would, as in [`Self::stances_in_roll`].
    pub fn bump_steer(&self, curve: &BuiltCurve<'_>) -> Interval {
        let over = |stations: &mut dyn Iterator<Item = usize>| {
            stations
                .map(|station| curve.toe_deg(station))
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), toe| (low.min(toe), high.max(toe)))
        };
        let (low, high) = over(&mut (0..self.bump_mm.len()));
        let (start_low, start_high) = over(&mut self.starts.iter().copied());
        Interval { low: low - start_high, high: high - start_low }
    }

    /// The wheel at every row of body roll. It stands where the drawn one would: the little that its tyre is off in height
    /// moves it by less than a tenth of a millimetre of travel. Its scrub is not worked out.
    pub fn stances_in_roll<'a>(&'a self, curve: &'a BuiltCurve<'_>) -> impl Iterator<Item = WheelStance> + 'a {
        self.in_roll.iter().map(|&station| self.stance(curve, station))
    }

    fn stance(&self, curve: &BuiltCurve<'_>, station: usize) -> WheelStance {
        WheelStance {
            toe_deg: curve.toe_deg(station),
            wheel_centre_x_mm: self.corner.wheel.centre.x + curve.displacement(station).x,
            lateral_mm: 0.0,
        }
    }

    fn figures(
        &self,
        curve: &BuiltCurve<'_>,
        (errors, lengths): (&PickupErrors, LinkSetting),
        parts: Option<(&LimitedParts, &Corner)>,
    ) -> Result<BuiltWheel, BuildFailure> {
        let placed = self.placed(curve);
        let toe_curve: Vec<(f64, f64)> = self.bump_mm.iter().copied().zip(self.toe_changes(curve)).collect();
        let slope = slope_through_design(&toe_curve);
        let mut design_row = None;
        let mut ranges = Vec::with_capacity(self.tracked.len());
        for quantity in &self.tracked {
            ranges.push(match quantity.reading() {
                Reading::ChangeAboutHeights(Measure::Toe) => Some(self.bump_steer(curve)),
                Reading::Change(measure) => {
                    let range = measure.placed_range(&placed).zip(measure.placed(&placed[self.design]));
                    range.map(|(range, design)| Interval { low: range.low - design, high: range.high - design })
                }
                Reading::Value(measure) => measure.placed_range(&placed),
                Reading::Slope(Measure::Toe) => Some(Interval::single(slope)),
                Reading::Bow(Measure::Toe) => {
                    Interval::of_all(toe_curve.iter().map(|(bump, change)| Some(change - slope * bump)))
                }
                Reading::Design(measure, factor) => {
                    let row = match design_row {
                        Some(row) => row,
                        None => *design_row.insert(self.design_row(errors, lengths)?),
                    };
                    Interval::of_all([measure.of(&row).map(|value| factor * value)])
                }
                Reading::LeastGap => parts.and_then(|(parts, built)| {
                    parts.gap.as_ref()?.least_mm(built, errors, &placed).map(Interval::single)
                }),
                Reading::RodEnds => parts.and_then(|(parts, built)| {
                    Some(Interval::up_to(parts.rod_ends.as_ref()?.worst_deg(built, &placed)))
                }),
                Reading::ChangeAboutHeights(_)
                | Reading::Slope(_)
                | Reading::Bow(_)
                | Reading::Migration(_)
                | Reading::AxleAtDesign(_)
                | Reading::AxleOverTravel(_)
                | Reading::AxleInRoll(_) => None,
            });
        }
        let travel = if self.is_axle_limited { self.travel(curve, &placed) } else { Vec::new() };
        Ok(BuiltWheel { stance: self.stance(curve, self.design), travel, ranges, last_move_mm: None })
    }

    /// Where the wheel stands at every row of the heave study; scrub counts from its own place at the drawn wheel height.
    fn travel(&self, curve: &BuiltCurve<'_>, placed: &[Placed<'_>]) -> Vec<WheelStance> {
        let place_mm = |row: usize| Measure::Scrub.placed(&placed[row]).unwrap_or(f64::NAN);
        let moved_mm = |row: usize| place_mm(row) - place_mm(self.design);
        (0..placed.len()).map(|row| WheelStance { lateral_mm: moved_mm(row), ..self.stance(curve, row) }).collect()
    }

    /// The wheel at every row of the heave study.
    fn placed(&self, curve: &BuiltCurve<'_>) -> Vec<Placed<'_>> {
        let place = |row: usize| Placed {
            corner: self.corner,
            displacement: curve.displacement(row),
            rotation: curve.rotation(row),
            toe_deg: curve.toe_deg(row),
            camber_deg: curve.camber_deg(row),
        };
        (0..self.bump_mm.len()).map(place).collect()
    }

    /// The wheel at the drawn wheel height with its motion.
    fn design_row(&self, car: &PickupErrors, lengths: LinkSetting) -> Result<Row, BuildFailure> {
        let path = WheelPath::follow_built(&self.linkage, car, lengths, &[])?;
        Ok(Row::level(self.corner, &self.geometry.car, &path.postures()[0], &DesignContact::of(self.corner)))
    }

    /// The range of a quantity of a built wheel.
    pub fn range(&self, built: &BuiltWheel, quantity: Quantity) -> Option<Interval> {
        built.ranges[self.tracked.iter().position(|tracked| *tracked == quantity)?]
    }

    /// The number of a quantity that is counted: the value itself at design, the least gap, else the largest size.
    pub fn size(&self, built: &BuiltWheel, quantity: Quantity) -> Option<f64> {
        let range = self.range(built, quantity)?;
        let is_value = quantity.definition().over == Over::Design || quantity == Quantity::Clearance;
        Some(if is_value { range.low } else { range.largest() })
    }

    /// Toe of a posture of this wheel, deg.
    pub(super) fn toe_at(&self, posture: &Posture) -> f64 {
        toe_deg(&spin_axis(self.corner, posture))
    }
}

/// Whether the file limits something of the axle over this.
fn is_axle_limited(geometry: &Geometry, over: Over) -> bool {
    Quantity::limited(Whose::Axle)
        .any(|quantity| quantity.definition().over == over && geometry.limit(quantity, Side::Left).is_some())
}

/// Which of the stations one is; a new one is added to them.
fn station(stations_mm: &mut Vec<f64>, at_mm: f64) -> usize {
    let known = stations_mm.iter().position(|known| (known - at_mm).abs() < SAME_STATION_MM);
    known.unwrap_or_else(|| {
        stations_mm.push(at_mm);
        stations_mm.len() - 1
    })
}

/// A corner with its pickups where they came out.
fn built_corner<'c>(built: &'c mut Corner, drawn: &Corner, errors: &PickupErrors) -> &'c Corner {
    for (index, (built, drawn)) in built.links.iter_mut().zip(&drawn.links).enumerate() {
        built.chassis = drawn.chassis + errors.chassis[index];
        built.upright = drawn.upright + errors.upright[index];
    }
    built
}

/// What is told of every built wheel, and what the file limits but for its parts.
fn tracked(geometry: &Geometry, corner: &Corner) -> Vec<Quantity> {
    const ALWAYS: [Quantity; 5] =
        [Quantity::BumpSteer, Quantity::Slope, Quantity::Bow, Quantity::CamberChange, Quantity::Plunge];
    let is_tracked = |quantity: &Quantity| {
        ALWAYS.contains(quantity)
            || quantity.definition().whose == Whose::Wheel
                && !matches!(quantity.reading(), Reading::LeastGap | Reading::RodEnds)
                && geometry.limit(*quantity, corner.side).is_some()
    };
    Quantity::ALL.iter().copied().filter(is_tracked).collect()
}

#[cfg(test)]
mod tests {
    use super::WheelModel;
    use crate::file::GeometryFile;
    use crate::geometry::{Interval, LimitKey, Quantity, Side};
    use crate::mechanism::{LinkSetting, PickupErrors};
    use crate::studies::rig::Rig;

    /// A limit on a quantity without a value would be broken by every built car.
    #[test]
    fn every_limit_that_built_wheels_are_held_to_has_a_value_on_the_drawn_one() {
        let file = GeometryFile::parse("demo", include_str!("../../../geometries/first-cut.toml"));
        let mut geometry = file.expect("the demo car is sound").geometry;
        let with_data = |quantity: &&Quantity| geometry.has_data_for(**quantity, Side::Left);
        let all: Vec<Quantity> = Quantity::ALL.iter().filter(with_data).copied().collect();
        for &quantity in all.iter().filter(|quantity| quantity.limit_key().is_some()) {
            geometry.limits.set(quantity, Some(Interval::either_way(1e3)));
        }
        let rig = Rig::new(&geometry).expect("the drawing holds its wheels");
        let model = WheelModel::new(&rig, Side::Left).expect("the drawing moves").with_parts(&rig);
        model.build(&[PickupErrors::default()], LinkSetting::Adjusted, |_, built| {
            let (built, _) = built.expect("the drawn wheel moves");
            for (quantity, range) in model.tracked.iter().zip(&built.ranges) {
                assert!(range.is_some(), "{quantity:?} is tracked and has no value");
            }
        });
        let held = all.iter().filter(|quantity| model.tracked.contains(quantity));
        assert!(held.filter(|quantity| quantity.definition().limit != LimitKey::NotLimited).count() >= 8);
    }
}
