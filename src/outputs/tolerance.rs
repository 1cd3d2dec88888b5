//! A tolerance study written down: `tolerance.csv` and its member of `summary.json`.

use std::collections::BTreeMap;

use ::csv::{Error, Terminator, WriterBuilder};
use serde::Serialize;

use super::csv::cell;
use super::summary::SCHEMA;
use crate::geometry::{End, Geometry, Side};
use crate::studies::errors::Proportion;
use crate::studies::tolerance::{Finish, JigBudget, JigSet, Jigged, LostCars, Spread, Tolerance};

/// `tolerance.csv`: a row for each figure of each side, then those of the axle, then all limits together.
///
/// Percentiles are over the cars that move through their whole travel, by linear interpolation; chances are of all cars, with
/// Wilson's interval (19 times of 20); `binds` counts the wheels (of that side) or cars that do not get through their travel.
pub fn tolerance_csv(study: &Tolerance, sides: &[Side]) -> Result<Vec<u8>, Error> {
    let mut writer = WriterBuilder::new().terminator(Terminator::Any(b'\n')).from_writer(Vec::new());
    writer.write_record([
        "quantity",
        "side",
        "unit",
        "nominal",
        "p50",
        "p90",
        "p99",
        "limit_low",
        "limit_high",
        "chance",
        "chance_low",
        "chance_high",
        "cars",
        "binds",
    ])?;
    for spread in study.spreads.iter().filter(|spread| spread.side.is_none_or(|side| sides.contains(&side))) {
        let names = [spread.quantity.name(), spread.side.map_or("axle", Side::name), spread.quantity.unit().symbol()];
        let limits = [spread.limit.map(|limit| limit.low), spread.limit.map(|limit| limit.high)];
        let numbers = [spread.nominal, spread.p50, spread.p90, spread.p99].map(Some).into_iter().chain(limits);
        let bound = spread.side.map_or_else(|| lost(study, &Side::BOTH), |side| lost(study, &[side]));
        let counts = [study.cars.to_string(), bound.to_string()];
        let cells = numbers.chain(chances(spread.chance)).map(cell);
        writer.write_record(names.map(str::to_owned).into_iter().chain(cells).chain(counts))?;
    }
    if let Some(inside) = study.within_all_limits {
        let names = ["every limit", "both", ""].map(str::to_owned);
        let counts = [study.cars.to_string(), lost(study, &Side::BOTH).to_string()];
        let numbers = [None; 6].into_iter().chain(chances(Some(inside)));
        writer.write_record(names.into_iter().chain(numbers.map(cell)).chain(counts))?;
    }
    writer.into_inner().map_err(|error| Error::from(error.into_error()))
}

pub(super) fn chances(share: Option<Proportion>) -> [Option<f64>; 3] {
    let interval = share.map(Proportion::interval);
    [share.map(Proportion::value), interval.map(|(low, _)| low), interval.map(|(_, high)| high)]
}

/// Wheels of these sides that do not get through their travel.
fn lost(study: &Tolerance, sides: &[Side]) -> usize {
    let of = |side: &Side| study.lost[*side].all();
    sides.iter().map(of).sum()
}

/// `summary.json` of a tolerance study.
#[derive(Debug, Serialize)]
pub struct ToleranceSummary {
    schema: u32,
    version: &'static str,
    input_sha256: String,
    name: String,
    tolerance: Member,
}

#[derive(Debug, Serialize)]
struct Member {
    cars: usize,
    seed: u64,
    links: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    left: Option<WheelSummary>,
    #[serde(skip_serializing_if = "Option::is_none")]
    right: Option<WheelSummary>,
    axle: BTreeMap<&'static str, SpreadSummary>,
    share_inside: Option<f64>,
    share_inside_low: Option<f64>,
    share_inside_high: Option<f64>,
    share_inside_bump_steer: Option<f64>,
    last_bracket: Option<LastSummary>,
    jigs: Option<JigSummary>,
}

#[derive(Debug, Serialize)]
struct WheelSummary {
    #[serde(flatten)]
    figures: BTreeMap<&'static str, SpreadSummary>,
    binds: BindsSummary,
    #[serde(skip_serializing_if = "Option::is_none")]
    last_move_mm: Option<MoveSummary>,
}

#[derive(Debug, Serialize)]
struct SpreadSummary {
    nominal: f64,
    p50: f64,
    p90: f64,
    p99: f64,
    chance: Option<f64>,
    chance_low: Option<f64>,
    chance_high: Option<f64>,
}

#[derive(Debug, Serialize)]
struct BindsSummary {
    does_not_assemble: usize,
    binds: usize,
    singular: usize,
}

#[derive(Debug, Serialize)]
struct MoveSummary {
    p50: f64,
    p95: f64,
}

#[derive(Debug, Serialize)]
struct LastSummary {
    link: String,
    gauge_sd_deg: f64,
    placing_sd_mm: f64,
}

#[derive(Debug, Serialize)]
struct JigSummary {
    jig_sd_mm: f64,
    sets: Vec<JigSetSummary>,
}

#[derive(Debug, Serialize)]
struct JigSetSummary {
    /// Ends of links, with the axis of a single dimension (y outboard).
    held: Vec<String>,
    chance: f64,
}

impl ToleranceSummary {
    /// `input_sha256` is the hash of the geometry file's text.
    pub fn of(
        geometry: &Geometry,
        study: &Tolerance,
        jigs: Option<&JigBudget>,
        sides: &[Side],
        input_sha256: String,
    ) -> Self {
        let wheel = |side: Side| sides.contains(&side).then(|| wheel(study, side));
        let [share_inside, share_inside_low, share_inside_high] = chances(study.within_all_limits);
        let (links, last_bracket) = match &study.finish {
            Finish::Cut => ("cut", None),
            Finish::Adjusted => ("adjusted", None),
            Finish::Last(last) => (
                "adjusted",
                Some(LastSummary {
                    link: last.link.clone(),
                    gauge_sd_deg: last.gauge_sd_deg,
                    placing_sd_mm: last.placing_sd_mm,
                }),
            ),
        };
        let tolerance = Member {
            cars: study.cars,
            seed: study.seed,
            links,
            left: wheel(Side::Left),
            right: wheel(Side::Right),
            axle: figures(study, None),
            share_inside,
            share_inside_low,
            share_inside_high,
            share_inside_bump_steer: study.within_bump_steer.map(Proportion::value),
            last_bracket,
            jigs: jigs.map(|budget| jig_summary(geometry, budget)),
        };
        let version = env!("CARGO_PKG_VERSION");
        Self { schema: SCHEMA, version, input_sha256, name: geometry.name.clone(), tolerance }
    }

    /// As text, with a newline at the end.
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        serde_json::to_string_pretty(self).map(|text| text + "\n")
    }
}

fn wheel(study: &Tolerance, side: Side) -> WheelSummary {
    let LostCars { does_not_assemble, binds, singular } = study.lost[side];
    WheelSummary {
        figures: figures(study, Some(side)),
        binds: BindsSummary { does_not_assemble, binds, singular },
        last_move_mm: study.last_moves_mm.map(|moves| MoveSummary { p50: moves[side].0, p95: moves[side].1 }),
    }
}

fn figures(study: &Tolerance, side: Option<Side>) -> BTreeMap<&'static str, SpreadSummary> {
    let of_side = study.spreads.iter().filter(|spread| spread.side == side);
    of_side.map(|spread| (spread.quantity.definition().member, summary(spread))).collect()
}

fn summary(spread: &Spread) -> SpreadSummary {
    let [chance, chance_low, chance_high] = chances(spread.chance);
    let &Spread { nominal, p50, p90, p99, .. } = spread;
    SpreadSummary { nominal, p50, p90, p99, chance, chance_low, chance_high }
}

fn jig_summary(geometry: &Geometry, budget: &JigBudget) -> JigSummary {
    let end = |link: usize, end: End| format!("{} {}", geometry.left.links[link].name, end.name());
    let name = |held: &Jigged| match held {
        Jigged::Coordinate(c) => format!("{} {}", end(c.link, c.end), c.axis.name()),
        Jigged::Pickup(pickup) => end(pickup.link, pickup.end),
    };
    let set = |set: &JigSet| JigSetSummary { held: set.held.iter().map(name).collect(), chance: set.chance.value() };
    JigSummary { jig_sd_mm: budget.jig_sd_mm, sets: budget.few.iter().chain(&budget.enough).map(set).collect() }
}
