//! `summary.json` of a tuning: the tuned car, and how it came about.

use serde::Serialize;

use super::odds::OddsSummary;
use crate::geometry::Side;
use crate::studies::CarFindings;
use crate::studies::errors::Proportion;
use crate::studies::tune::{Answer, TunedOdds, TunedSide};

/// The summary of a tuning, for [`super::summary_json`].
#[derive(Debug, Serialize)]
pub struct TuneSummary<'f> {
    #[serde(flatten)]
    car: &'f CarFindings<'f>,
    tune: TuneMember,
}

#[derive(Debug, Serialize)]
struct TuneMember {
    seed: u64,
    starts: usize,
    stopped_early: bool,
    /// Share of cars, both wheels and every limit, of the answer in `tuned.toml`.
    chance: Option<f64>,
    sides: Vec<SideMember>,
    odds: OddsMember,
}

#[derive(Debug, Serialize)]
struct OddsMember {
    flattest: Option<OddsSummary>,
    most_forgiving: Option<OddsSummary>,
}

#[derive(Debug, Serialize)]
struct SideMember {
    side: Side,
    before_worst_bump_steer_deg: Option<f64>,
    answers: Vec<AnswerMember>,
}

#[derive(Debug, Serialize)]
struct AnswerMember {
    worst_bump_steer_deg: f64,
    limits_hold: bool,
    longest_move_mm: f64,
}

impl<'f> TuneSummary<'f> {
    /// `car` is the tuned one.
    pub fn of(
        car: &'f CarFindings,
        tuned: &[TunedSide],
        seed: u64,
        starts: usize,
        stopped_early: bool,
        odds: &TunedOdds,
    ) -> Self {
        let answer = |answer: &Answer| AnswerMember {
            worst_bump_steer_deg: answer.worst_toe_deg,
            limits_hold: answer.limits_hold,
            longest_move_mm: answer.longest_move_mm(),
        };
        let side = |tuned: &TunedSide| SideMember {
            side: tuned.side,
            before_worst_bump_steer_deg: tuned.before_deg,
            answers: tuned.answers.iter().map(answer).collect(),
        };
        let sides = tuned.iter().map(side).collect();
        let chance = odds.written().and_then(|odds| odds.chance).map(Proportion::value);
        let odds = OddsMember {
            flattest: odds.flattest.as_ref().map(OddsSummary::of),
            most_forgiving: odds.most_forgiving.as_ref().map(OddsSummary::of),
        };
        Self { car, tune: TuneMember { seed, starts, stopped_early, chance, sides, odds } }
    }
}
