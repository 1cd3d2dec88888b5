//! The figures of a moved car, each with its derivatives by the design vector and by the errors of its pickups.

use std::collections::HashMap;
use std::rc::Rc;

use super::problem::{OtherWheel, TuneProblem};
use crate::geometry::{Coordinate, End, PerSide, Pickup, Quantity};
use crate::measures::{Derivatives, Gradient, Measure, Reading, Road, Row, WheelStance, gradient, signed_rod_end};
use crate::mechanism::{Linkage, Posture, PostureSensitivity};
use crate::studies::design_variables::Moved;
use crate::studies::rig::RigWheel;

/// A figure with its derivatives.
#[derive(Debug, Clone, Default)]
pub(super) struct Figure {
    pub value: f64,
    /// By each design variable, per mm or deg.
    pub gradient: Vec<f64>,
    /// By the errors of this wheel's pickups, in the order of [`Coordinate::all`], per mm.
    pub by_own: Vec<f64>,
    /// By those of the other wheel; empty for a figure of one wheel.
    pub by_other: Vec<f64>,
}

impl Figure {
    pub fn minus(&self, other: &Figure) -> Figure {
        self.clone().plus(-1.0, other)
    }

    pub fn times(mut self, factor: f64) -> Figure {
        self.value *= factor;
        for list in [&mut self.gradient, &mut self.by_own, &mut self.by_other] {
            list.iter_mut().for_each(|slope| *slope *= factor);
        }
        self
    }

    /// The same of the other wheel, which moves as this one: errors of its own pickups act on it.
    pub fn of_other_wheel(self) -> Figure {
        Figure { by_own: self.by_other, by_other: self.by_own, ..self }
    }

    fn plus(mut self, factor: f64, other: &Figure) -> Figure {
        self.value += factor * other.value;
        add(&mut self.gradient, factor, &other.gradient);
        add(&mut self.by_own, factor, &other.by_own);
        add(&mut self.by_other, factor, &other.by_other);
        self
    }
}

fn add(sum: &mut Vec<f64>, factor: f64, slopes: &[f64]) {
    sum.resize(sum.len().max(slopes.len()), 0.0);
    sum.iter_mut().zip(slopes).for_each(|(sum, slope)| *sum += factor * slope);
}

/// A wheel at one of the rows that is judged.
struct Station {
    bump_mm: f64,
    posture: Posture,
    sensitivity: PostureSensitivity,
    row: Row,
}

/// Where a wheel stands, with the derivatives of toe, recession and scrub there.
#[derive(Clone)]
struct Stance {
    at: WheelStance,
    parts: [Figure; 3],
}

const PARTS: [Measure; 3] = [Measure::Toe, Measure::Recession, Measure::Scrub];

fn one_more(part: usize, stance: WheelStance) -> WheelStance {
    match PARTS[part] {
        Measure::Toe => WheelStance { toe_deg: stance.toe_deg + 1.0, ..stance },
        Measure::Recession => WheelStance { wheel_centre_x_mm: stance.wheel_centre_x_mm - 1.0, ..stance },
        _ => WheelStance { lateral_mm: stance.lateral_mm + 1.0, ..stance },
    }
}

/// A value of the axle, from both wheels now and at design.
type AxleValue = fn(PerSide<WheelStance>, PerSide<WheelStance>) -> f64;

/// A measure at every row; an entry is `None` where the measure has no value or no derivative.
type OverTravel = Rc<[Option<Figure>]>;

/// A moved car with the figures taken so far.
pub(super) struct Figures<'a, 'g> {
    pub problem: &'a TuneProblem<'g>,
    pub design_vector: &'a [f64],
    pub moved: &'a Moved,
    pub linkage: &'a Linkage,
    pub wheel: &'a RigWheel<'a>,
    stations: Vec<Station>,
    known: HashMap<Measure, OverTravel>,
}

impl<'a, 'g> Figures<'a, 'g> {
    /// `None` when a row is singular or not reached.
    pub fn new(
        problem: &'a TuneProblem<'g>,
        design_vector: &'a [f64],
        (moved, linkage, wheel): (&'a Moved, &'a Linkage, &'a RigWheel<'a>),
    ) -> Option<Self> {
        let station = |&bump_mm: &f64| {
            let posture = wheel.path.at(bump_mm)?;
            let sensitivity = PostureSensitivity::new(linkage, &posture).ok()?;
            let row = Row::level(&moved.corner, problem.car, &posture, &wheel.design_contact);
            Some(Station { bump_mm, posture, sensitivity, row })
        };
        let stations = problem.stations_mm.iter().map(station).collect::<Option<Vec<_>>>()?;
        Some(Self { problem, design_vector, moved, linkage, wheel, stations, known: HashMap::new() })
    }

    /// Bump travel of every row, mm.
    pub fn bump_mm(&self) -> impl Iterator<Item = f64> {
        self.stations.iter().map(|station| station.bump_mm)
    }

    /// A value with these derivatives by the points of the corner.
    pub fn figure(&self, value: f64, by: &Gradient) -> Figure {
        Figure {
            value,
            gradient: self.problem.variables.by_variable(self.design_vector, self.moved, by),
            by_own: Coordinate::all().map(|coordinate| by.links.by(coordinate)).collect(),
            by_other: Vec::new(),
        }
    }

    /// A measure at every row.
    pub fn over_travel(&mut self, measure: Measure) -> OverTravel {
        if let Some(known) = self.known.get(&measure) {
            return Rc::clone(known);
        }
        let (corner, car) = (&self.moved.corner, self.problem.car);
        let figure = |station: &Station| {
            let by = gradient(measure, corner, car, &station.posture, &station.sensitivity)?;
            Some(self.figure(measure.of(&station.row)?, &by))
        };
        let figures: OverTravel = self.stations.iter().map(figure).collect();
        self.known.insert(measure, Rc::clone(&figures));
        figures
    }

    /// At one of the rows.
    pub fn at(&mut self, measure: Measure, bump_mm: f64) -> Option<Figure> {
        let index = self.stations.iter().position(|station| station.bump_mm == bump_mm)?;
        self.over_travel(measure)[index].clone()
    }

    /// Changes from the drawn height over the travel.
    fn changes(&mut self, measure: Measure) -> Option<Vec<Figure>> {
        let design = self.at(measure, 0.0)?;
        Some(self.over_travel(measure).iter().flatten().map(|figure| figure.minus(&design)).collect())
    }

    /// Every value of a quantity over its travel, or the one at design; `None` without one, and for rod ends and gaps, of
    /// which each has a limit of its own.
    pub fn read(&mut self, quantity: Quantity) -> Option<Vec<Figure>> {
        match quantity.reading() {
            Reading::Change(measure) => self.changes(measure),
            Reading::Value(measure) => Some(self.over_travel(measure).iter().flatten().cloned().collect()),
            Reading::Design(measure, factor) => Some(vec![self.at(measure, 0.0)?.times(factor)]),
            Reading::Migration(measure) => {
                let over = self.over_travel(measure);
                let by_value = |a: &&Figure, b: &&Figure| a.value.total_cmp(&b.value);
                let highest = over.iter().flatten().max_by(by_value)?;
                Some(vec![highest.minus(over.iter().flatten().min_by(by_value)?)])
            }
            Reading::AxleOverTravel(value) => self.axle_over_travel(value),
            Reading::AxleInRoll(value) => self.axle_in_roll(value),
            Reading::ChangeAboutHeights(_)
            | Reading::Slope(_)
            | Reading::Bow(_)
            | Reading::RodEnds
            | Reading::LeastGap
            | Reading::AxleAtDesign(_) => None,
        }
    }

    /// A figure of the axle at every row: the other wheel moves as this one, or stays as drawn.
    fn axle_over_travel(&mut self, value: AxleValue) -> Option<Vec<Figure>> {
        let problem = self.problem;
        let design_at = self.stations.iter().position(|station| station.bump_mm == 0.0)?;
        let parts = PARTS.map(|measure| self.over_travel(measure));
        let stance = |index: usize, at: WheelStance| {
            let part = |k: usize| parts[k][index].clone();
            Some(Stance { at, parts: [part(0)?, part(1)?, part(2)?] })
        };
        let own = |index: usize| stance(index, self.stations[index].row.stance());
        let other = |index: usize| match problem.other_wheel {
            OtherWheel::MovesAlike => own(index),
            OtherWheel::StaysAsDrawn => stance(index, *problem.other_stances.get(index)?),
        };
        let (own_design, other_design) = (own(design_at)?, other(design_at)?);
        let figure =
            |index: usize| Some(self.axle(value, [&own(index)?, &own_design], [&other(index)?, &other_design]));
        (0..self.stations.len()).map(figure).collect()
    }

    /// A figure of the axle at every angle of body roll at which both wheels stand between their stops.
    fn axle_in_roll(&mut self, value: AxleValue) -> Option<Vec<Figure>> {
        let problem = self.problem;
        let toe = self.at(Measure::Toe, 0.0)?;
        let design = Stance {
            at: WheelStance { toe_deg: toe.value, ..WheelStance::default() },
            parts: [toe, Figure::default(), Figure::default()],
        };
        let mut figures = Vec::new();
        for &roll_deg in &problem.rolls_deg {
            let Some(own) = self.in_roll(roll_deg) else { continue };
            // In side axes the other wheel sees the roll the other way round.
            let mirrored = self.in_roll(-roll_deg);
            let drawn = problem.other_in_roll.iter().find(|(at_deg, _)| *at_deg == roll_deg);
            let (other, other_design) = match (problem.other_wheel, mirrored, drawn) {
                (OtherWheel::MovesAlike, Some(other), _) => (other, design.clone()),
                (OtherWheel::StaysAsDrawn, mirrored, Some((_, at))) => {
                    let parts = mirrored.map_or_else(|| own.parts.clone(), |stance| stance.parts);
                    (Stance { at: at.now, parts }, Stance { at: at.design, ..design.clone() })
                }
                _ => continue,
            };
            figures.push(self.axle(value, [&own, &design], [&other, &other_design]));
        }
        Some(figures)
    }

    /// This wheel on the road of a rolled body, toe alone; `None` beyond a stop. Where it stands changes with the car too: by
    /// the height of its tyre over its change in bump.
    fn in_roll(&self, roll_deg: f64) -> Option<Stance> {
        let road = self.wheel.road(roll_deg, 0.0);
        let posture = self.wheel.place_on(&road, 0.0).ok()?.posture;
        let sensitivity = PostureSensitivity::new(self.linkage, &posture).ok()?;
        let at = Derivatives::at(&self.moved.corner, self.problem.car, &posture, &sensitivity);
        let measures = self.wheel.measures(&posture);
        let toe = self.figure(measures.toe_deg, &at.of(Measure::Toe)?);
        let (height_mm, per_bump) = self.wheel.clearance(&posture, &road);
        let height = self.figure(height_mm, &at.tyre_height(&road));
        let toe = toe.plus(-measures.bump_steer_gradient_deg_per_mm / per_bump, &height);
        let toe_deg = measures.toe_deg;
        Some(Stance {
            at: WheelStance { toe_deg, ..WheelStance::default() },
            parts: [toe, Figure::default(), Figure::default()],
        })
    }

    /// Figures of the axle are linear in where the wheels stand, so a difference over one unit is their derivative. Wheels are
    /// given now and at design. Errors of the other wheel act as those of this one would in its place.
    fn axle(&self, value: AxleValue, own: [&Stance; 2], other: [&Stance; 2]) -> Figure {
        let side = self.moved.corner.side;
        let pair = |own: WheelStance, other: WheelStance| PerSide::of(|of| if of == side { own } else { other });
        let of = |own: [WheelStance; 2], other: [WheelStance; 2]| value(pair(own[0], other[0]), pair(own[1], other[1]));
        let (own_at, other_at) = (own.map(|stance| stance.at), other.map(|stance| stance.at));
        let value = of(own_at, other_at);
        let mut figure = Figure { value, gradient: vec![0.0; self.design_vector.len()], ..Figure::default() };
        for k in 0..2 {
            for part in 0..PARTS.len() {
                let more = |at: [WheelStance; 2]| {
                    let mut at = at;
                    at[k] = one_more(part, at[k]);
                    at
                };
                let (by_own, by_other) = (of(more(own_at), other_at) - value, of(own_at, more(other_at)) - value);
                add(&mut figure.gradient, by_own, &own[k].parts[part].gradient);
                add(&mut figure.by_own, by_own, &own[k].parts[part].by_own);
                if self.problem.other_wheel == OtherWheel::MovesAlike {
                    add(&mut figure.gradient, by_other, &other[k].parts[part].gradient);
                }
                add(&mut figure.by_other, by_other, &other[k].parts[part].by_own);
            }
        }
        figure
    }

    /// Misalignment of every rod end that has a limit, at every row: its limit, deg, and the angle with its sign.
    pub fn rod_ends(&self) -> Vec<(f64, Figure)> {
        let (corner, problem) = (&self.moved.corner, self.problem);
        let mut figures = Vec::new();
        for (index, link) in corner.links.iter().enumerate() {
            let Some(limit_deg) = link.rod_end_limit_deg else { continue };
            for end in [End::Chassis, End::Upright] {
                for station in &self.stations {
                    let at = Derivatives::at(corner, problem.car, &station.posture, &station.sensitivity);
                    let pickup = Pickup { link: index, end };
                    let Some(angle) = signed_rod_end(corner, pickup, &station.posture, &at) else { continue };
                    let mut figure = self.figure(angle.deg, &angle.by_points);
                    let by_bolt = problem.variables.by_bolt(self.moved, pickup, &angle.by_bolt);
                    add(&mut figure.gradient, 1.0, &by_bolt);
                    figures.push((limit_deg, figure));
                }
            }
        }
        figures
    }
}

/// Where the other wheel stands in body roll, and at design.
#[derive(Debug, Clone, Copy)]
pub(super) struct InRoll {
    pub now: WheelStance,
    pub design: WheelStance,
}

/// Where a drawn wheel stands at each angle of roll at which it is between its stops.
pub(super) fn drawn_in_roll(wheel: &RigWheel, rolls_deg: &[f64]) -> Vec<(f64, InRoll)> {
    let design = wheel.design_row().stance();
    let now = |roll_deg: f64| {
        let road: Road = wheel.road(roll_deg, 0.0);
        let posture = wheel.place_on(&road, 0.0).ok()?.posture;
        let toe_deg = wheel.measures(&posture).toe_deg;
        Some((roll_deg, InRoll { now: WheelStance { toe_deg, ..design }, design }))
    };
    rolls_deg.iter().filter_map(|&roll_deg| now(roll_deg)).collect()
}
