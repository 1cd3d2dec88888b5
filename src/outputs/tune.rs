//! `summary.json` of a tuning: the tuned car, and how it came about.

use serde::Serialize;

use super::odds::OddsSummary;
use crate::geometry::{Axis, Corner, Geometry, Interval, LengthUnit, Side};
use crate::present::{LengthFormat, tuning, words};
use crate::studies::errors::Proportion;
use crate::studies::plausibility::Doubt;
use crate::studies::tune::{
    Answer, AsDrawn, GivenUp, HeldBack, Move, NewLength, SideFindings, Strength, TuneFindings, UnclearedPair,
    VariableKind, new_coordinate_mm,
};
use crate::studies::{CarFindings, Cure, SideBind, Termination, Verdict};

/// Lengths of the summary are in millimetres.
const LENGTHS: LengthFormat = LengthFormat(LengthUnit::Millimetre);

/// The summary of a tuning, for [`super::summary_json`].
#[derive(Debug, Serialize)]
pub struct TuneSummary<'f> {
    #[serde(flatten)]
    car: &'f CarFindings<'f>,
    tune: TuneMember<'f>,
}

#[derive(Debug, Serialize)]
struct TuneMember<'f> {
    seed: u64,
    starts: usize,
    stopped_early: bool,
    /// What the limits say of the drawn car; `None` for one that has no pickups yet or cannot be moved.
    drawn_limits: Option<&'f [Verdict]>,
    /// Share of cars, both wheels and every limit that is tried on them, of the answer in `tuned.toml`.
    chance: Option<f64>,
    /// The same inside the limits that were not let go; `None` where none was.
    chance_of_kept: Option<f64>,
    sides: Vec<SideMember<'f>>,
    odds: OddsMember,
    /// Asked for, and nothing of them is free.
    sides_without_free: &'f [Side],
    /// Of the drawn car, and no longer of the tuned one.
    doubts_hidden: &'f [Doubt],
}

#[derive(Debug, Serialize)]
struct OddsMember {
    flattest: Option<OddsSummary>,
    most_forgiving: Option<OddsSummary>,
    /// Chances of `tuned-2.toml` and on.
    others: Vec<Option<f64>>,
    /// The same inside the limits that were not let go.
    others_of_kept: Vec<Option<f64>>,
}

#[derive(Debug, Serialize)]
struct SideMember<'f> {
    side: Side,
    /// What the drawn wheel does.
    before: &'static str,
    before_worst_bump_steer_deg: Option<f64>,
    /// Where the drawn wheel binds inside its travel.
    before_binds: Option<&'f SideBind>,
    /// The one in `tuned.toml`.
    written: AnswerMember,
    /// Best first, without the most forgiving one.
    answers: Vec<AnswerMember>,
    most_forgiving: Option<AnswerMember>,
    /// Too near as drawn, and nothing free can part them.
    uncleared: &'f [UnclearedPair],
    /// No answer within the free boxes keeps them.
    limits_given_up: Vec<GivenUpMember>,
    /// Of the answer in `tuned.toml`, and of that in `tuned-2.toml`, where every flat answer has some.
    doubts: &'f [Doubt],
    doubts_of_second: &'f [Doubt],
    /// Where the other wheel binds inside its travel, so that no limit of the axle was held.
    other_side_binds: Option<&'f SideBind>,
    /// How the descent from each start ended.
    starts_ended: &'f [Termination],
    toe_depends_most_on: Vec<StrengthMember>,
    toe_depends_least_on: Vec<StrengthMember>,
    /// One bracket alone, on the drawn car.
    cure: Option<&'f Cure>,
}

#[derive(Debug, Serialize)]
struct AnswerMember {
    worst_bump_steer_deg: f64,
    limits_hold: bool,
    longest_move_mm: Option<f64>,
    termination: Termination,
    moves: Vec<MoveMember>,
    lengths: Vec<LengthMember>,
    settings: Vec<SettingMember>,
    targets: Vec<TargetMember>,
    /// Of the toe curve in `[targets]`.
    toe_curve_missed_by_deg: Option<f64>,
    held_back: Vec<HeldBackMember>,
    /// What stands at an end of its room, and at which.
    at_end_of_room: Vec<SettingMember>,
    /// Limits that it just keeps.
    at_limits: Vec<&'static str>,
}

#[derive(Debug, Serialize)]
struct GivenUpMember {
    quantity: &'static str,
    unit: &'static str,
    limit: Option<Interval>,
    nearest: f64,
    nearest_beside: f64,
    /// It could be kept alone.
    beside_others: bool,
    by_steps: bool,
    room: Option<HeldBackMember>,
}

/// Car axes.
#[derive(Debug, Serialize)]
struct MoveMember {
    point: String,
    from_mm: Option<[f64; 3]>,
    to_mm: [f64; 3],
    distance_mm: Option<f64>,
}

/// A link that changes; `drawn_mm` is null for one without a bracket.
#[derive(Debug, Serialize)]
struct LengthMember {
    link: String,
    drawn_mm: Option<f64>,
    new_mm: f64,
}

#[derive(Debug, Serialize)]
struct SettingMember {
    what: String,
    by: f64,
    unit: &'static str,
}

#[derive(Debug, Serialize)]
struct TargetMember {
    target: &'static str,
    unit: &'static str,
    value: f64,
    wanted: Option<Interval>,
    reached: bool,
}

/// More room would better `subject` by `buys_per_unit` of its own unit, for each mm or deg.
#[derive(Debug, Serialize)]
struct HeldBackMember {
    what: String,
    at: f64,
    unit: &'static str,
    subject: &'static str,
    buys_per_unit: f64,
    /// All that there is to better, in the same unit.
    missed: f64,
}

#[derive(Debug, Serialize)]
struct StrengthMember {
    link: String,
    end: &'static str,
    axis: Axis,
    deg_per_mm: f64,
}

impl<'f> TuneSummary<'f> {
    /// `drawn` is the car that was tuned.
    pub fn of(found: &'f TuneFindings, drawn: &Geometry) -> Self {
        let odds = &found.odds;
        let tune = TuneMember {
            seed: found.run.seed,
            starts: found.run.starts,
            stopped_early: found.run.stopped_early || found.cars_stopped_at().is_some(),
            drawn_limits: found.drawn.as_ref().map(|drawn| &drawn.verdicts[..]),
            chance: odds.written().and_then(|odds| odds.chance.share).map(Proportion::value),
            chance_of_kept: odds.written().and_then(|odds| odds.kept?.share).map(Proportion::value),
            sides: found.sides.iter().map(|side| side_member(found, side, drawn)).collect(),
            odds: OddsMember {
                flattest: odds.flattest.as_ref().map(OddsSummary::of),
                most_forgiving: odds.most_forgiving.as_ref().map(OddsSummary::of),
                others: odds.others.iter().map(|other| other.chance.map(Proportion::value)).collect(),
                others_of_kept: odds.others.iter().map(|other| other.kept.map(Proportion::value)).collect(),
            },
            sides_without_free: &found.without_room,
            doubts_hidden: &found.hidden_doubts,
        };
        Self { car: &found.car, tune }
    }
}

fn side_member<'f>(found: &TuneFindings, side: &'f SideFindings, drawn: &Geometry) -> SideMember<'f> {
    let corner = drawn.corner(side.tuned.side);
    let answer = |answer: &Answer| answer_member(answer, corner, drawn);
    let strengths = |list: &[Strength]| list.iter().map(|strength| strength_member(strength, corner)).collect();
    SideMember {
        side: side.tuned.side,
        before: before(&side.tuned.as_drawn),
        before_worst_bump_steer_deg: side.tuned.as_drawn.worst_deg(),
        before_binds: match &side.tuned.as_drawn {
            AsDrawn::Binds(bind) => Some(bind),
            _ => None,
        },
        written: answer(found.chosen(side)),
        answers: side.tuned.answers.iter().map(answer).collect(),
        most_forgiving: side.tuned.forgiving.as_ref().map(answer),
        uncleared: &side.tuned.uncleared,
        limits_given_up: side.tuned.given_up.iter().map(|of| given_up_member(of, corner, drawn)).collect(),
        doubts: side.tuned.doubts_of(found.run.choice),
        doubts_of_second: side.tuned.doubts_of_first_other(found.run.choice),
        other_side_binds: side.tuned.other_binds.as_ref(),
        starts_ended: &side.tuned.starts,
        toe_depends_most_on: strengths(&side.most),
        toe_depends_least_on: strengths(&side.least),
        cure: side.cure.as_ref(),
    }
}

fn given_up_member(of: &GivenUp, corner: &Corner, drawn: &Geometry) -> GivenUpMember {
    let GivenUp { quantity, limit, nearest, nearest_beside, beside_others, by_steps, ref room } = *of;
    let (quantity, unit) = (quantity.name(), quantity.unit().symbol());
    let room = room.as_ref().map(|room| held_back_member(room, corner, drawn));
    GivenUpMember { quantity, unit, limit, nearest, nearest_beside, beside_others, by_steps, room }
}

fn before(as_drawn: &AsDrawn) -> &'static str {
    match as_drawn {
        AsDrawn::Moves { .. } => "moves",
        AsDrawn::NoPickups => "no pickups",
        AsDrawn::Binds(_) => "binds",
        AsDrawn::NoValue => "no value",
    }
}

fn answer_member(answer: &Answer, corner: &Corner, drawn: &Geometry) -> AnswerMember {
    let target = |quantity| drawn.targets.list.iter().find(|target| target.quantity == quantity);
    AnswerMember {
        worst_bump_steer_deg: answer.worst_bump_steer_deg,
        limits_hold: answer.limits_hold,
        longest_move_mm: answer.longest_move_mm(),
        termination: answer.termination,
        moves: answer.moves.iter().map(move_member).collect(),
        lengths: answer.lengths.iter().map(length_member).collect(),
        settings: answer.settings.iter().map(|(what, by)| setting_member(what, *by, corner)).collect(),
        targets: answer
            .targets
            .iter()
            .map(|reached| TargetMember {
                target: reached.quantity.name(),
                unit: reached.quantity.unit().symbol(),
                value: reached.value,
                wanted: target(reached.quantity).map(|target| target.band),
                reached: reached.reached,
            })
            .collect(),
        toe_curve_missed_by_deg: answer.toe_curve_missed_by_deg,
        held_back: (tuning::held_back(drawn, answer).into_iter())
            .map(|held| held_back_member(held, corner, drawn))
            .collect(),
        at_end_of_room: answer
            .at_ends
            .iter()
            .map(|(what, at)| setting_member(what, end_of_room(what, *at, corner, drawn), corner))
            .collect(),
        at_limits: answer.at_limits.iter().map(|&on| words::subject(on)).collect(),
    }
}

fn move_member(made: &Move) -> MoveMember {
    MoveMember {
        point: made.point.clone(),
        from_mm: made.from.map(Into::into),
        to_mm: made.to.into(),
        distance_mm: made.distance_mm(),
    }
}

fn length_member(length: &NewLength) -> LengthMember {
    LengthMember { link: length.link.clone(), drawn_mm: length.drawn_mm, new_mm: length.new_mm }
}

fn setting_member(what: &VariableKind, by: f64, corner: &Corner) -> SettingMember {
    SettingMember { what: words::variable(corner, what), by, unit: words::unit(LENGTHS, what) }
}

/// From the drawn place; of a point that was not there the coordinate itself.
fn end_of_room(what: &VariableKind, at: f64, corner: &Corner, drawn: &Geometry) -> f64 {
    new_coordinate_mm(drawn, corner.side, what, at).map_or(at, |(_, mm)| mm)
}

fn held_back_member(held: &HeldBack, corner: &Corner, drawn: &Geometry) -> HeldBackMember {
    HeldBackMember {
        what: words::variable(corner, &held.variable),
        at: end_of_room(&held.variable, held.at, corner, drawn),
        unit: words::unit(LENGTHS, &held.variable),
        subject: words::subject(held.subject),
        buys_per_unit: held.buys,
        missed: held.missed,
    }
}

fn strength_member(strength: &Strength, corner: &Corner) -> StrengthMember {
    let at = strength.coordinate;
    let (link, end) = (corner.links[at.link].name.clone(), at.end.name());
    StrengthMember { link, end, axis: at.axis, deg_per_mm: strength.deg_per_mm }
}
