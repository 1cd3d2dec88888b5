//! Heave, roll and the grid of both: rows of measures for both wheels.

use super::rig::{NoContact, Rig, WheelStop};
use super::stations::stations;
use crate::geometry::{Geometry, PerSide, Side, Travel};
use crate::measures::{Row, roll_centre};
use crate::mechanism::Bind;

/// Where body roll brings a wheel to its stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RollStop {
    /// Body roll, deg, ISO 8855 sign.
    pub roll_deg: f64,
    pub side: Side,
    pub stop: WheelStop,
}

/// The first bind met on one side in one direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SideBind {
    pub side: Side,
    /// The stop that the wheel was on its way to; a bind at design has no sign to tell it by.
    pub towards: WheelStop,
    pub bind: Bind,
}

/// A place of the road on which a wheel cannot stand, though neither a stop nor a bind forbids it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MissingRow {
    pub side: Side,
    pub body_roll_deg: f64,
    pub ride_height_change_mm: f64,
}

/// The three studies over `[travel]`, rows in rising order of the driven values, left before right.
#[derive(Debug, Clone)]
pub struct Sweep<'g> {
    pub rig: Rig<'g>,
    /// Both wheels moved together, the body level.
    pub heave: Vec<Row>,
    /// Body roll with the ride height unchanged.
    pub roll: Vec<Row>,
    /// Ride-height change × body roll.
    pub grid: Vec<Row>,
    /// A wheel binds, or finds no place, at an angle of roll that the stops allow: the roll study lacks rows.
    pub roll_cut_short: bool,
    /// Roll angles at which a wheel first meets a stop, one for each way that has one.
    pub roll_stops: Vec<RollStop>,
    /// Binds inside the travel, at most two a side. Rows before them are kept.
    pub binds: Vec<SideBind>,
    /// Postures of the grid that a stop forbids.
    pub grid_left_out: usize,
    /// Rows of the roll study and of the grid that are missing because the tyre does not rise with its wheel.
    pub missing_rows: Vec<MissingRow>,
}

impl<'g> Sweep<'g> {
    /// Runs all three studies on a rig.
    pub fn run(rig: Rig<'g>) -> Self {
        let travel = &rig.geometry.travel;
        let roll = RoadStudy::of(&rig, &[0.0], &roll_stations(travel));
        let heights_mm = stations(-travel.bump_mm, travel.droop_mm, travel.step_mm);
        let grid = RoadStudy::of(&rig, &heights_mm, &roll_stations(travel));
        Self {
            heave: heave(&rig),
            roll_cut_short: roll.lacks_rows,
            roll: roll.rows,
            grid: grid.rows,
            roll_stops: roll_stops(&rig),
            binds: binds(&rig),
            grid_left_out: grid.left_out,
            missing_rows: roll.missing_rows.into_iter().chain(grid.missing_rows).collect(),
            rig,
        }
    }

    pub fn geometry(&self) -> &'g Geometry {
        self.rig.geometry
    }
}

fn roll_stations(travel: &Travel) -> Vec<f64> {
    stations(-travel.roll_deg, travel.roll_deg, travel.step_roll_deg)
}

fn binds(rig: &Rig) -> Vec<SideBind> {
    Side::BOTH
        .into_iter()
        .flat_map(|side| {
            let path = &rig.wheel(side).path;
            let ways = [(WheelStop::Droop, path.binds_in_droop), (WheelStop::Bump, path.binds_in_bump)];
            ways.into_iter().filter_map(move |(towards, bind)| Some(SideBind { side, towards, bind: bind? }))
        })
        .collect()
}

/// The heave study: each wheel along its own path, the road staying level.
pub fn heave(rig: &Rig) -> Vec<Row> {
    let travel = &rig.geometry.travel;
    let values = stations(-travel.droop_mm, travel.bump_mm, travel.step_mm);
    values.iter().flat_map(|&bump_mm| Side::BOTH.map(|side| heave_row(rig, side, bump_mm))).flatten().collect()
}

/// Both wheels at these angles of body roll, deg, the ride height unchanged; an angle that a stop forbids has no rows.
pub fn roll(rig: &Rig, rolls_deg: &[f64]) -> Vec<Row> {
    RoadStudy::of(rig, &[0.0], rolls_deg).rows
}

/// One wheel at one bump travel with the body level, as in a row of the heave study; `None` beyond its reach.
pub fn heave_row(rig: &Rig, side: Side, bump_mm: f64) -> Option<Row> {
    let wheel = rig.wheel(side);
    let posture = wheel.path.at(bump_mm)?;
    Some(Row::level(wheel.corner, &rig.geometry.car, &posture, &wheel.design_contact))
}

/// Both wheels on the road at every pair of ride height and roll.
#[derive(Default)]
struct RoadStudy {
    rows: Vec<Row>,
    /// Pairs that a stop forbids.
    left_out: usize,
    /// A wheel binds or finds no place at a pair that the stops allow.
    lacks_rows: bool,
    missing_rows: Vec<MissingRow>,
}

impl RoadStudy {
    fn of(rig: &Rig, ride_heights_mm: &[f64], rolls_deg: &[f64]) -> Self {
        let mut study = Self::default();
        study.rows.reserve(2 * ride_heights_mm.len() * rolls_deg.len());
        for &ride_height_mm in ride_heights_mm {
            for &roll_deg in rolls_deg {
                study.place_axle(rig, roll_deg, ride_height_mm);
            }
        }
        study
    }

    /// Both wheels on one road: no row where a stop forbids it, a missing row where a side binds.
    fn place_axle(&mut self, rig: &Rig, roll_deg: f64, ride_height_mm: f64) {
        let mut axle = PerSide::of(|side| wheel_on_road(rig, side, roll_deg, ride_height_mm));
        if axle.iter().any(|(_, met)| matches!(met, Err(NoContact::BeyondStop))) {
            self.left_out += 1;
            return;
        }
        self.lacks_rows |= axle.iter().any(|(_, met)| met.is_err());
        if let PerSide { left: Ok(left), right: Ok(right) } = &mut axle {
            set_roll_centre(left, right, rig.geometry.mirrored && roll_deg == 0.0);
        }
        for (side, met) in axle {
            match met {
                Ok(row) => self.rows.push(row),
                Err(NoContact::NotLifted) => self.missing_rows.push(MissingRow {
                    side,
                    body_roll_deg: roll_deg,
                    ride_height_change_mm: ride_height_mm,
                }),
                Err(NoContact::BeyondStop | NoContact::Binds(_)) => {}
            }
        }
    }
}

fn wheel_on_road(rig: &Rig, side: Side, roll_deg: f64, ride_height_mm: f64) -> Result<Row, NoContact> {
    let wheel = rig.wheel(side);
    let road = wheel.road(roll_deg, ride_height_mm);
    // Small roll about the middle of the car: the wheel takes up its share of the height.
    let near_mm = -ride_height_mm - road.roll_rad() * wheel.design_contact.point.y;
    let on = wheel.place_on(&road, near_mm)?;
    let row = Row::on_road(wheel.corner, &rig.geometry.car, &on.posture, &wheel.design_contact, (&road, roll_deg));
    Ok(Row { closure_error_mm: row.closure_error_mm.max(on.contact_error_mm), ..row })
}

/// Writes the axle's roll centre into both rows. A mirrored level car has it in its middle, also when the lines of both
/// sides are one and the same.
fn set_roll_centre(left: &mut Row, right: &mut Row, mirrored_and_level: bool) {
    let (height_mm, lateral_mm) = if mirrored_and_level {
        let own_mm = left.road.roll_centre_line.own_side_height_mm();
        (own_mm, own_mm.map(|_| 0.0))
    } else {
        let met = roll_centre(&left.road.roll_centre_line, &right.road.roll_centre_line);
        (met.map(|c| c.height_mm), met.map(|c| c.lateral_mm))
    };
    for row in [left, right] {
        row.roll_centre_height_mm = height_mm;
        row.roll_centre_lateral_mm = lateral_mm;
    }
}

/// The first stop met in each direction of roll.
fn roll_stops(rig: &Rig) -> Vec<RollStop> {
    let met = Side::BOTH.into_iter().flat_map(|side| {
        [WheelStop::Droop, WheelStop::Bump].into_iter().filter_map(move |stop| {
            let roll_deg = rig.wheel(side).roll_at_stop_deg(stop)?;
            Some(RollStop { roll_deg, side, stop })
        })
    });
    // By what the wheel does, not by the angle: a wheel that stands on its stop at design meets it at 0.
    let (right_up, left_up): (Vec<_>, Vec<_>) =
        met.partition(|met| (met.side == Side::Left) == (met.stop == WheelStop::Bump));
    let first = |stops: Vec<RollStop>| stops.into_iter().min_by(|a, b| a.roll_deg.abs().total_cmp(&b.roll_deg.abs()));
    [first(right_up), first(left_up)].into_iter().flatten().collect()
}
