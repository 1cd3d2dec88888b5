//! `summary.json`: the figures of a study for other programs.

use serde::Serialize;

use super::odds::OddsSummary;
use crate::geometry::{Quantity, Side};
use crate::mechanism::Bind;
use crate::studies::errors::Proportion;
use crate::studies::tune::{Answer, TunedOdds, TunedSide};
use crate::studies::{Grid, JudgedCar, State, ToeCurve, Verdict};

/// Version of the layout of the summary.
pub(super) const SCHEMA: u32 = 1;

/// One object for every study that has run, with where its input came from.
#[derive(Debug, Serialize)]
pub struct Summary {
    schema: u32,
    version: &'static str,
    input_sha256: String,
    name: String,
    heave: HeaveSummary,
    roll: RollSummary,
    #[serde(skip_serializing_if = "Option::is_none")]
    grid: Option<GridSummary>,
    limits: Vec<LimitSummary>,
}

/// The summary of a tuning: the tuned car's sweep, and how it came about.
#[derive(Debug, Serialize)]
pub struct TuneSummary {
    #[serde(flatten)]
    sweep: Summary,
    tune: TuneMember,
}

#[derive(Debug, Serialize)]
struct TuneMember {
    seed: u64,
    starts: usize,
    stopped_early: bool,
    /// Share of cars, both wheels and every limit, of the answer in `tuned.toml`.
    chance: Option<f64>,
    sides: Vec<TuneSideSummary>,
    odds: TuneOdds,
}

#[derive(Debug, Serialize)]
struct TuneOdds {
    flattest: Option<OddsSummary>,
    most_forgiving: Option<OddsSummary>,
}

#[derive(Debug, Serialize)]
struct TuneSideSummary {
    side: &'static str,
    before_worst_bump_steer_deg: Option<f64>,
    answers: Vec<AnswerSummary>,
}

#[derive(Debug, Serialize)]
struct AnswerSummary {
    worst_bump_steer_deg: f64,
    limits_hold: bool,
    longest_move_mm: f64,
}

impl TuneSummary {
    pub fn of(
        sweep: Summary,
        tuned: &[TunedSide],
        seed: u64,
        starts: usize,
        stopped_early: bool,
        odds: &TunedOdds,
    ) -> Self {
        let answer = |answer: &Answer| AnswerSummary {
            worst_bump_steer_deg: answer.worst_toe_deg,
            limits_hold: answer.limits_hold,
            longest_move_mm: answer.longest_move_mm(),
        };
        let side = |tuned: &TunedSide| TuneSideSummary {
            side: tuned.side.name(),
            before_worst_bump_steer_deg: tuned.before_deg,
            answers: tuned.answers.iter().map(answer).collect(),
        };
        let sides = tuned.iter().map(side).collect();
        Self {
            sweep,
            tune: TuneMember {
                seed,
                starts,
                stopped_early,
                chance: odds.written().and_then(|odds| odds.chance).map(Proportion::value),
                sides,
                odds: TuneOdds {
                    flattest: odds.flattest.as_ref().map(OddsSummary::of),
                    most_forgiving: odds.most_forgiving.as_ref().map(OddsSummary::of),
                },
            },
        }
    }

    /// As text, with a newline at the end.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        serde_json::to_string_pretty(self).map(|text| text + "\n")
    }
}

#[derive(Debug, Serialize)]
struct HeaveSummary {
    #[serde(skip_serializing_if = "Option::is_none")]
    left: Option<ToeSummary>,
    #[serde(skip_serializing_if = "Option::is_none")]
    right: Option<ToeSummary>,
}

#[derive(Debug, Serialize)]
struct ToeSummary {
    design_toe_deg: f64,
    worst_bump_steer_deg: f64,
    worst_at_bump_mm: f64,
    gradient_deg_per_mm: f64,
    slope_deg_per_mm: f64,
    bow_deg: f64,
    rows: usize,
    binds: Vec<BindSummary>,
    ride_heights: Vec<RideHeightSummary>,
}

#[derive(Debug, Serialize)]
struct RideHeightSummary {
    ride_height_mm: f64,
    worst_bump_steer_deg: f64,
    worst_at_bump_mm: f64,
}

#[derive(Debug, Serialize)]
struct BindSummary {
    at_bump_mm: f64,
    links: Vec<String>,
}

#[derive(Debug, Serialize)]
struct RollSummary {
    rows: usize,
    worst_roll_steer_deg: Option<f64>,
    stops: Vec<RollStopSummary>,
}

#[derive(Debug, Serialize)]
struct RollStopSummary {
    body_roll_deg: f64,
    side: &'static str,
    stop: &'static str,
}

#[derive(Debug, Serialize)]
struct GridSummary {
    rows: usize,
    positions_left_out: usize,
}

#[derive(Debug, Serialize)]
struct LimitSummary {
    quantity: String,
    side: Option<&'static str>,
    unit: &'static str,
    low: Option<f64>,
    high: Option<f64>,
    limit_low: Option<f64>,
    limit_high: Option<f64>,
    state: &'static str,
}

impl Summary {
    /// Of a moved car, with the grid when that was asked for; `input_sha256` is the hash of the geometry file's text.
    pub fn of(car: &JudgedCar, grid: Option<&Grid>, sides: &[Side], input_sha256: String) -> Self {
        let side = |side: Side| sides.contains(&side).then(|| toe_summary(car, side));
        Self {
            schema: SCHEMA,
            version: env!("CARGO_PKG_VERSION"),
            input_sha256,
            name: car.geometry().name.clone(),
            heave: HeaveSummary { left: side(Side::Left), right: side(Side::Right) },
            roll: RollSummary {
                rows: car.roll.rows.count(sides),
                worst_roll_steer_deg: car
                    .roll
                    .axle(Quantity::RollSteer)
                    .into_iter()
                    .map(|(_, deg)| deg.abs())
                    .reduce(f64::max),
                stops: car
                    .roll
                    .stops
                    .iter()
                    .map(|stop| RollStopSummary {
                        body_roll_deg: stop.roll_deg,
                        side: stop.side.name(),
                        stop: stop.stop.name(),
                    })
                    .collect(),
            },
            grid: grid.map(|grid| GridSummary { rows: grid.rows.count(sides), positions_left_out: grid.left_out }),
            limits: car.verdicts.iter().filter(|v| v.side.is_none_or(|s| sides.contains(&s))).map(limit).collect(),
        }
    }

    /// As text, with a newline at the end.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        serde_json::to_string_pretty(self).map(|text| text + "\n")
    }
}

fn toe_summary(car: &JudgedCar, side: Side) -> ToeSummary {
    let curve = ToeCurve::of(&car.heave, side);
    let names = |bind: &Bind| {
        let links = car.geometry().corner(side).links.iter().zip(bind.links);
        links.filter(|(_, carries)| *carries).map(|(link, _)| link.name.clone()).collect()
    };
    ToeSummary {
        design_toe_deg: curve.design_toe_deg,
        worst_bump_steer_deg: curve.worst_change_deg.abs(),
        worst_at_bump_mm: curve.worst_at_bump_mm,
        gradient_deg_per_mm: curve.gradient_deg_per_mm,
        slope_deg_per_mm: curve.slope_deg_per_mm,
        bow_deg: curve.bow_deg,
        rows: car.heave.rows.count(&[side]),
        binds: car
            .heave
            .binds_of(side)
            .map(|b| BindSummary { at_bump_mm: b.bind.at_bump_mm, links: names(&b.bind) })
            .collect(),
        ride_heights: car.heave.ride_heights[side]
            .iter()
            .map(|about| RideHeightSummary {
                ride_height_mm: about.ride_height_mm,
                worst_bump_steer_deg: about.worst_change_deg.abs(),
                worst_at_bump_mm: about.worst_at_bump_mm,
            })
            .collect(),
    }
}

fn limit(verdict: &Verdict) -> LimitSummary {
    LimitSummary {
        quantity: verdict.quantity.title(),
        side: verdict.side.map(Side::name),
        unit: verdict.quantity.unit().symbol(),
        low: verdict.range.map(|range| range.low),
        high: verdict.range.map(|range| range.high),
        limit_low: verdict.limit.map(|limit| limit.low),
        limit_high: verdict.limit.map(|limit| limit.high),
        state: match verdict.state {
            State::Pass => "pass",
            State::Fail => "fail",
            State::NotChecked => "not checked",
        },
    }
}
