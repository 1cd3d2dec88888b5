//! Findings in whole sentences.

use super::length::{LengthFormat, rounded, trimmed};
use super::quantity::{decimals, finest, limit_band, number, telling, unit};
use super::{tuning, words};
use crate::file::Untouched;
use crate::geometry::{Geometry, Interval, Quantity, Side};
use crate::studies::tune::{AsDrawn, GivenUp};
use crate::studies::{
    AssumedSize, Cure, Lacking, LimitTotals, LooseDesign, MissingRow, Mostly, RodEndTilt, RollStop, ShaftLength,
    SideBind, State, TapeBand, ToeFindings, Verdict,
};

/// Goes with every study of a drawing.
pub const STUDY_CAUTION: &str = "Rigid links and a rigid tyre disc are assumed. Guidance, not approval: the rulebook, the \
    maker's ratings and a licensed engineer decide; a failed link can kill.";
/// Goes with a car that was changed on paper.
pub const PAPER_CAUTION: &str = "Tuned on paper: rigid links, a rigid tyre disc. Check clearances, rod-end angles and the \
    rulebook before a bracket is welded; a failed link can kill.";
/// Goes with a built car of which points were moved.
pub const PLANNED: &str = "This is a plan for the built car (`planned` in the file), not the car as it stands: its numbers become those of \
    the car once that is built so and measured again.";
/// Goes with a tuned car whose toe curve is less flat than that of its file.
pub const LESS_FLAT_ON_PAPER: &str = "Less flat on paper than the car of the file: it was taken because it stays flatter once it is \
    welded. --flattest keeps to the paper.";
/// Stands in place of the moves of an answer that is the car of the file.
pub const ALREADY_TUNED: &str =
    "Already tuned: nothing moves. No answer is better by more than answers differ from seed to seed.";
/// Goes with every roll centre that is told: there is another one.
pub const ROLL_CENTRE: &str = "Roll centre: kinematic, from motion alone; forces would place it elsewhere.";
/// Goes with the limits of a car that has a halfshaft: its joints have extremes of their own.
pub const SHAFT_ROWS: &str = "Limits judge the rows of bump and droop; the driveline study solves joint angles and plunge between \
    them too.";
/// Heads what is told of a halfshaft.
pub const SHAFT_TRAVEL: &str = "over all wheel travel, solved between the rows";
/// What to do about roads on which a tyre finds no place.
pub const FAR_ROADS_ADVICE: &str =
    "roll.csv and grid.csv lack these rows; look again at `tyre_radius`, `camber`, `toe` and the links";

/// How long a halfshaft is: `Halfshaft, left, joint to joint: 454.0 mm at design, 452.1 to 455.3 mm over travel`; no side
/// when both are alike.
pub fn halfshaft(lengths: LengthFormat, side: Option<Side>, shaft: &ShaftLength) -> String {
    format!(
        "Halfshaft{}, joint to joint: {} at design, {} to {} over travel",
        side.map_or(String::new(), |side| format!(", {}", side.name())),
        lengths.with_unit(shaft.design_mm),
        lengths.number(shaft.over_travel_mm.low),
        lengths.with_unit(shaft.over_travel_mm.high)
    )
}

/// A figure of a toe curve: what it is, in degrees and as a length over the stated span, and a remark.
pub type ToeLine = (String, String, String, String);

/// Worst bump steer, slope, bow and toe at design of one wheel; of one that binds, what it steers at least.
pub fn toe_lines(lengths: LengthFormat, toe: &ToeFindings) -> Vec<ToeLine> {
    let (curve, span) = (&toe.curve, &toe.over_span);
    let line =
        |what: &str, deg, mm, remark: &str| (what.to_owned(), rounded(deg, 3), lengths.finer(mm), remark.to_owned());
    let (span_words, longer) = lengths.slope_span();
    let [slope_deg, slope_mm] = [curve.slope_deg_per_25mm(), span.slope_mm_per_25mm].map(|slope| slope * longer);
    let worst_at = format!("at {}", words::travel(lengths, curve.worst_at_bump_mm));
    let worst = match toe.binds.is_empty() {
        true => line("worst bump steer", curve.worst_change_deg, span.worst_change_mm, &worst_at),
        false => {
            let (deg, mm) = (curve.worst_change_deg.abs(), span.worst_change_mm.abs());
            line("steers at least", deg, mm, &format!("{worst_at}; it binds"))
        }
    };
    if toe.rows <= 1 && !toe.binds.is_empty() {
        return vec![line("at design", curve.design_toe_deg, span.design_toe_mm, "it binds here: no curve")];
    }
    vec![
        worst,
        line(&format!("slope per {span_words}"), slope_deg, slope_mm, "a bracket's height changes it"),
        line("bow", curve.bow_deg, span.bow_mm, "link length and lean change it"),
        line("at design", curve.design_toe_deg, span.design_toe_mm, "toe-in positive"),
    ]
}

/// The cure of a toe curve.
pub fn cure(lengths: LengthFormat, cure: &Cure) -> String {
    let mostly = match cure.mostly {
        Mostly::Slope => "slope",
        Mostly::Bow => "bow",
    };
    let head = match cure.cures {
        Some(true) => "Cure by one bracket",
        Some(false) => "No single bracket cures it beside the other limits; the best move of one",
        None => "Best move of one bracket",
    };
    let beyond = match &cure.beyond_room[..] {
        [] => String::new(),
        moves => format!(" That is {} beyond its free room.", words::moves(lengths, moves)),
    };
    format!(
        "{head} (the curve is mostly {mostly}): the {} {} leaves {} deg, solved on the moved car. Link {} -> {}.{beyond}",
        words::inner_bracket(&cure.link),
        words::moves(lengths, &cure.moves),
        rounded(cure.leaves_deg, 3),
        lengths.number(cure.drawn_length_mm),
        lengths.with_unit(cure.new_length_mm)
    )
}

/// What the tape's error makes of the worst bump steer, as [`weld_study::worst_band`](super::weld_study::worst_band) says it of weld
/// errors.
pub fn tape_band(lengths: LengthFormat, band: &TapeBand) -> String {
    let tape = band.tape_sd_mm.map(|sd_mm| format!("{} one sd", lengths.sd(sd_mm)));
    let errors: Vec<String> = tape.into_iter().chain(words::measured_points(band.measured_points)).collect();
    format!(
        "Worst bump steer of one wheel with your tape error ({}): {} to {} deg, 19 times of 20; {} deg without errors.",
        errors.join(", "),
        rounded(band.band_deg.low, 2),
        rounded(band.band_deg.high, 2),
        rounded(band.as_drawn_deg, 2)
    )
}

/// Thicknesses and the least gap that were taken because the file gives none; `None` when it gives all.
pub fn assumed_sizes(lengths: LengthFormat, sizes: &[AssumedSize], default_gap_mm: Option<f64>) -> Option<String> {
    let part = |size: &AssumedSize| {
        let names: Vec<String> = size.only.iter().map(|name| format!("{name:?}")).collect();
        match names.len() {
            0 => size.part.to_owned(),
            1 => format!("link {}", words::listed(&names)),
            _ => format!("links {}", words::listed(&names)),
        }
    };
    let sizes = sizes.iter().map(|size| format!("{} {}", part(size), lengths.with_unit(size.diameter_mm)));
    let gap = default_gap_mm.map(|mm| format!("least gap {} {}", lengths.limit(mm), lengths.symbol()));
    let taken: Vec<String> = sizes.chain(gap).collect();
    (!taken.is_empty()).then(|| format!("Taken, for the file gives none: {}.", taken.join(", ")))
}

/// Parts whose gaps are not known; `None` when every part has a body.
pub fn without_body(parts: &[Lacking]) -> Option<String> {
    let names: Vec<String> = parts.iter().map(|part| part.what.clone()).collect();
    let names = words::listed(&names);
    (!parts.is_empty()).then(|| format!("No gap is checked to {names}: the file gives no size."))
}

/// Rod ends beyond their limit, each by its name, or else the one that is nearest to its own; `None` when nothing is known of
/// any. A side is named when one is given.
pub fn rod_ends(lengths: LengthFormat, side: Option<Side>, ends: &[RodEndTilt]) -> Option<String> {
    let tilt = |end: &RodEndTilt| {
        let (worst_deg, at_bump_mm) = (end.worst_deg?, end.at_bump_mm?);
        let limit = end.limit_deg.map(|deg| format!(" of {} deg", trimmed(&rounded(deg, 2))));
        let limit = limit.unwrap_or_default();
        let at = words::travel(lengths, at_bump_mm);
        Some(format!("{} {} deg{limit} at {at}", end.name(), rounded(worst_deg, 2)))
    };
    let beyond: Vec<String> = ends.iter().filter(|end| end.state == State::Fail).filter_map(tilt).collect();
    let first = ends.first()?;
    let (head, told) = match beyond.is_empty() {
        false => ("Rod ends beyond their limit", beyond.join("; ")),
        true if first.limit_deg.is_some() => ("Rod end nearest to its limit", tilt(first)?),
        true => ("Rod end that tilts most, without a limit", tilt(first)?),
    };
    Some(format!("{head}{}: {told}.", side.map_or(String::new(), |side| format!(", {}", side.name()))))
}

/// Where the links take a wheel no further.
pub fn bind(lengths: LengthFormat, bind: &SideBind) -> String {
    format!("the {} side binds at {}; {} carry the bind", bind.side.name(), bind_place(lengths, bind), carriers(bind))
}

/// `53.0 mm of droop`.
fn bind_place(lengths: LengthFormat, bind: &SideBind) -> String {
    format!("{} of {}", lengths.with_unit(bind.at_bump_mm.abs()), bind.towards.name())
}

/// `"toe link" and "upper rear"`.
pub fn carriers(bind: &SideBind) -> String {
    let names: Vec<String> = bind.links.iter().map(|name| format!("{name:?}")).collect();
    words::listed(&names)
}

/// What the wheel does as the file has it, before what the tuned one does: `0.518 deg`.
pub fn as_drawn(geometry: &Geometry, drawn: &AsDrawn) -> String {
    let as_drawn = words::stage(geometry);
    match drawn {
        AsDrawn::Moves { worst_deg } => format!("{} deg", rounded(*worst_deg, 3)),
        AsDrawn::NoPickups => "no pickups yet".to_owned(),
        AsDrawn::Binds(bind) => format!("{as_drawn} it binds at {}", bind_place(LengthFormat(geometry.units), bind)),
        AsDrawn::NoValue => format!("{as_drawn} a target has no value"),
    }
}

/// A limit that tuning let go: `Not held: scrub ±1.0 mm cannot be kept within the free boxes: the nearest is -1.9 mm. …`
///
/// Each is nearest by itself: where it is not the only one, what comes nearer to it goes away from another.
pub fn cannot_be_kept(geometry: &Geometry, side: Side, given_up: &GivenUp, is_only: bool) -> String {
    let (lengths, GivenUp { quantity, limit, nearest, nearest_beside, beside_others, by_steps, room }) =
        (LengthFormat(geometry.units), given_up);
    // As fine as tells the nearest from the limit.
    let beyond = limit.map(|limit| Interval::single(nearest - nearest.clamp(limit.low, limit.high)));
    let decimals = finest(lengths, *quantity, *limit).max(decimals(lengths, *quantity, beyond));
    let written = |value: f64| number(lengths, *quantity, decimals, value);
    let unit = unit(lengths, quantity.unit());
    let limit = limit.map_or_else(String::new, |limit| format!(" {} {unit}", limit_band(written, limit)));
    let beside = if *beside_others { " beside the other limits" } else { "" };
    let (nearest, nearest_beside) = (written(*nearest), written(*nearest_beside));
    let and_beside = match nearest == nearest_beside {
        true => String::new(),
        false => format!(", beside the other limits {nearest_beside} {unit}"),
    };
    // Where they cost it nothing, no other limit is in its way.
    let others = match *beside_others || !and_beside.is_empty() {
        _ if !is_only => " By itself, with what else is not held left aside.",
        true => " The other limits come first.",
        false => "",
    };
    let in_the_way = room.as_ref().map_or_else(String::new, |room| {
        let end = tuning::named_end(geometry, side, &room.variable, room.at);
        let nearer = match tuning::room_buys(lengths, room) {
            Some(buys) => format!("one more {} brings it about {buys} nearer", words::unit(lengths, &room.variable)),
            None => "more of it brings it nearer".to_owned(),
        };
        format!(" Most in its way is the end of a room, of {end}: {nearer}.")
    });
    let name = quantity.name();
    // Not every combination of steps is tried.
    let told = match by_steps {
        true => format!(
            ": no whole steps of what is free were found that keep it{beside}; the nearest that was found is {nearest} {unit}{and_beside}. \
             Between the steps it can be kept."
        ),
        false => {
            format!(" cannot be kept within the free boxes{beside}: the nearest is {nearest} {unit}{and_beside}.")
        }
    };
    format!("Not held: {name}{limit}{told}{others}{in_the_way}")
}

/// A wheel with points of its own that was to be tuned and cannot be.
pub fn without_room(side: Side) -> String {
    let side = side.name();
    format!("Not tuned: the {side} wheel. It has points of its own, and no `free` says what of it may move.")
}

/// What to do about a bind; `table` holds the rows of bump and droop.
pub fn bind_advice(table: &str, bind: &SideBind) -> String {
    let way = bind.towards.name();
    format!("{table} holds every row before it; reduce `{way}` in [travel] or move one of these links")
}

/// What is wrong with links that do not hold or move their wheel, and what to do.
pub fn loose_design(loose: LooseDesign, side: Side) -> (String, &'static str) {
    let side = side.name();
    match loose {
        LooseDesign::BumpCannotMove => (
            format!("bump cannot move the {side} wheel: its links let the upright turn, but the hub not rise"),
            "the five links and the vertical through the wheel centre all meet one line; move one chassis pickup so that \
             its link misses that line",
        ),
        LooseDesign::Parallel => (
            format!("the five links of the {side} side are parallel and leave the wheel loose"),
            "parallel links all hold the same direction, at every height; point them in different directions",
        ),
        LooseDesign::Repeated { holding } => (
            format!("only {holding} of the five links of the {side} side hold the wheel, the rest repeat them"),
            "links that lie in one line, or four that meet in a point, repeat each other; move one of their pickups",
        ),
    }
}

/// That a tyre finds no place on so many roads, `first` before the others.
pub fn tyre_off_road(lengths: LengthFormat, side: Side, roads: usize, first: &MissingRow) -> String {
    format!(
        "the {} tyre finds no place on {roads} of the roads asked for, first at {} deg of body roll and {} of ride height: \
         the wheel leans so fast in bump that its tyre goes down as the hub goes up",
        side.name(),
        rounded(first.body_roll_deg, 2),
        lengths.with_unit(first.ride_height_change_mm)
    )
}

/// The angle of roll at which a wheel meets its stop; `asked_deg` is how far the roll study was to go.
pub fn roll_stop(stop: &RollStop, asked_deg: f64) -> String {
    let cut = if stop.body_roll_deg.abs() < asked_deg { "; roll.csv ends there" } else { "" };
    format!(
        "At {} deg of body roll the {} wheel meets its {} stop{cut}.",
        rounded(stop.body_roll_deg, 2),
        stop.side.name(),
        stop.stop.name()
    )
}

/// How many positions the stops forbid; `None` when none.
pub fn grid_left_out(positions: usize) -> Option<String> {
    (positions > 0).then(|| {
        format!("The stops forbid {positions} of the positions of ride height and roll; grid.csv leaves them out.")
    })
}

/// How many limits of the file hold.
pub fn limit_totals(totals: &LimitTotals) -> String {
    limit_totals_of(totals, "")
}

/// The same with whose limits they are, where others are counted beside them: ` of the suspension`.
pub(super) fn limit_totals_of(totals: &LimitTotals, whose: &str) -> String {
    let LimitTotals { set, taken, pass, fail, not_checked } = totals;
    let counts = words::counts([*pass, *fail, *not_checked]);
    match set {
        _ if set == taken && *taken > 0 => {
            format!(
                "no limit{whose} in the file, so there is nothing to pass; least gap between parts, taken: {counts}."
            )
        }
        0 => format!("no limit{whose}, so nothing was checked."),
        1 => format!("1 limit{whose}: {counts}."),
        _ => format!("{set} limits{whose}: {counts}."),
    }
}

/// What was not checked and why, told of each quantity once; `None` when all was.
pub fn not_checked<'v>(verdicts: impl IntoIterator<Item = &'v Verdict>) -> Option<String> {
    not_checked_in_short(verdicts, usize::MAX)
}

/// The same with so many named for each reason, the rest counted.
fn not_checked_in_short<'v>(verdicts: impl IntoIterator<Item = &'v Verdict>, most: usize) -> Option<String> {
    let unchecked = verdicts.into_iter().filter(|verdict| verdict.state == State::NotChecked);
    let named = unchecked.map(|verdict| (verdict.quantity.name(), verdict.reason()));
    by_reason_in_short("Not checked", named, most)
}

/// What is named of one reason where room is short; `sweep` names all.
const MAX_UNCHECKED: usize = 4;

/// With the parts whose gaps are not known; in short where room is.
pub fn left_unchecked(verdicts: &[Verdict], without_body: &[Lacking], in_short: bool) -> Option<String> {
    let names: Vec<String> = without_body.iter().map(|part| part.what.clone()).collect();
    let gaps = (!names.is_empty()).then(|| format!("gaps to {} (no size in the file)", words::listed(&names)));
    let most = if in_short { MAX_UNCHECKED } else { usize::MAX };
    match (not_checked_in_short(verdicts, most), gaps) {
        (told, None) => told,
        (None, Some(gaps)) => Some(format!("Not checked: {gaps}.")),
        (Some(told), Some(gaps)) => Some(format!("{}; {gaps}.", told.trim_end_matches('.'))),
    }
}

/// What no command can tell for want of data: `anti-squat (no wheelbase in [car])`.
pub fn lacking(open: &Lacking) -> String {
    format!("{} (no {})", open.what, open.needs)
}

/// Points that still have the numbers of the starter; `None` when the file did not come from one, or all are the builder's.
pub fn starter_numbers(untouched: Option<&Untouched>, is_tuned: bool) -> Option<String> {
    let (count, names) = starter_count(untouched?, is_tuned)?;
    Some(if names.is_empty() { count } else { format!("{count}: {names}") })
}

/// The same in two parts: how many there are, and which; no names when they are all of them. Where tuning put the others it worked
/// from these, and made nobody's car of them.
///
/// Tested by `points_that_were_tuned_from_starter_numbers_are_nobodys_either`.
pub fn starter_count(untouched: &Untouched, is_tuned: bool) -> Option<(String, String)> {
    let count = untouched.names.len();
    let names = if count == untouched.of { String::new() } else { untouched.names.join("; ") };
    let tuned = if is_tuned { ", and what tuning moved was tuned from them" } else { "" };
    (count > 0).then(|| (format!("starter numbers, not yours: {count} of {} points{tuned}", untouched.of), names))
}

/// `Not checked: scrub, recession (no travel); anti-squat (needs wheelbase).` of names with their reasons, those of one reason
/// together; `None` of nothing.
pub(super) fn by_reason(head: &str, all: impl IntoIterator<Item = (&'static str, &'static str)>) -> Option<String> {
    by_reason_in_short(head, all, usize::MAX)
}

/// The same with so many names for each reason, and how many more there are.
fn by_reason_in_short(
    head: &str,
    all: impl IntoIterator<Item = (&'static str, &'static str)>,
    most: usize,
) -> Option<String> {
    let groups = words::gathered(all.into_iter().map(|(name, reason)| (reason, name)));
    let group = |(reason, names): &(&str, Vec<&str>)| {
        // One name more takes no more room than its count.
        let shown = if names.len() <= most.saturating_add(1) { names.len() } else { most };
        let more = names.len() - shown;
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        format!("{}{more} ({reason})", names[..shown].join(", "))
    };
    let told: Vec<String> = groups.iter().map(group).collect();
    (!told.is_empty()).then(|| format!("{head}: {}.", told.join("; ")))
}

/// The worse of the verdicts of both wheels on one quantity, naming the side when one of two fails.
pub fn verdict(verdicts: &[&Verdict]) -> String {
    for worst in [State::Fail, State::NotChecked] {
        let mut having = verdicts.iter().filter(|verdict| verdict.state == worst);
        if let Some(first) = having.next() {
            let one_of_two = verdicts.len() == 2 && having.next().is_none();
            let side = first.side.filter(|_| one_of_two && worst == State::Fail);
            return side.map_or(worst.words().to_owned(), |side| format!("{} {}", worst.words(), side.name()));
        }
    }
    State::Pass.words().to_owned()
}

fn found(lengths: LengthFormat, verdict: &Verdict, decimals: usize) -> Option<String> {
    let number = |value: f64| number(lengths, verdict.quantity, decimals, value);
    let range = super::quantity::band(number, verdict.range?);
    Some(format!("{range} {}", unit(lengths, verdict.quantity.unit())))
}

/// A value that just fails has so many decimals that it is seen beside its limit.
fn decimals_that_tell(lengths: LengthFormat, quantity: Quantity, fails: &[&Verdict]) -> usize {
    let finest = fails.iter().map(|fail| finest(lengths, quantity, fail.limit)).max().unwrap_or(0);
    telling(lengths, quantity, finest, fails)
}

/// `FAIL bump steer (bump and droop): -0.164 to 0.031 deg, limit ±0.050 deg`, of all verdicts on one quantity that fail; a
/// side is named when it alone does.
pub fn broken_limit(lengths: LengthFormat, quantity: Quantity, fails: &[&Verdict]) -> String {
    broken_limit_to(lengths, quantity, fails, decimals_that_tell(lengths, quantity, fails))
}

/// The same of one that fails, and what was found of it before, to the same digits; `None` where that is told alike.
pub fn broken_limit_and_before(lengths: LengthFormat, after: &Verdict, before: &Verdict) -> (String, Option<String>) {
    let decimals = decimals_that_tell(lengths, after.quantity, &[after, before]);
    let [was, is] = [before, after].map(|of| found(lengths, of, decimals));
    (broken_limit_to(lengths, after.quantity, &[after], decimals), was.filter(|was| is.as_ref() != Some(was)))
}

fn broken_limit_to(lengths: LengthFormat, quantity: Quantity, fails: &[&Verdict], decimals: usize) -> String {
    let side = match fails {
        [Verdict { side: Some(side), .. }] => format!("{}, ", side.name()),
        _ => String::new(),
    };
    let number = |value: f64| number(lengths, quantity, decimals, value);
    let unit = unit(lengths, quantity.unit());
    let limit = |limit: Interval| format!("{} {unit}", super::quantity::limit_band(number, limit));
    let first = fails.first();
    let (found, wanted) = (first.and_then(|v| found(lengths, v, decimals)), first.and_then(|v| v.limit).map(limit));
    let part = first.and_then(|v| v.part.as_ref()).map_or(String::new(), |part| format!(", {part}"));
    format!(
        "FAIL {} ({side}{}{part}): {}, limit {}",
        quantity.name(),
        quantity.definition().over.words(),
        found.unwrap_or_default(),
        wanted.unwrap_or_default()
    )
}

#[cfg(test)]
mod tests {
    use super::super::limits::limit_lines;
    use super::{LengthFormat, broken_limit};
    use crate::geometry::{Interval, LengthUnit, Quantity, Side};
    use crate::studies::{State, Verdict};

    #[test]
    fn a_value_that_just_fails_is_seen_beside_its_limit() {
        let mm = LengthFormat(LengthUnit::Millimetre);
        let of = |gap_mm: f64| {
            let fail = Verdict {
                quantity: Quantity::Clearance,
                side: Some(Side::Left),
                range: Some(Interval { low: gap_mm, high: gap_mm }),
                limit: Some(Interval { low: 6.0, high: f64::INFINITY }),
                state: State::Fail,
                gap: None,
                part: None,
                worst_at: None,
            };
            let told = broken_limit(mm, Quantity::Clearance, &[&fail]);
            let line = &limit_lines(mm, std::slice::from_ref(&fail), &Side::BOTH)[0];
            (told, [line.found().join(" "), line.limit(), line.margin()])
        };
        let (told, line) = of(5.997);
        assert!(told.ends_with(": 5.997 mm, limit ≥6.000 mm"), "{told}");
        assert_eq!(line, ["5.997", "≥6", "-0.003"]);
        let (told, line) = of(5.6);
        assert!(told.ends_with("limit ≥6.0 mm"), "{told}");
        assert_eq!(line, ["5.6", "≥6", "-0.4"]);
        assert_eq!((mm.number_beside(5.997, 6.0), mm.number_beside(5.6, 6.0)), ("5.997".to_owned(), "5.6".to_owned()));
    }

    fn fails(quantity: Quantity, side: Option<Side>, range: Interval, limit: Interval) -> Verdict {
        let (range, limit) = (Some(range), Some(limit));
        Verdict { quantity, side, range, limit, state: State::Fail, gap: None, part: None, worst_at: None }
    }

    /// By hand: 5.997 / 25.4 = 0.23610, 6 / 25.4 = 0.23622. In mm three decimals would tell them.
    #[test]
    fn a_value_that_just_fails_in_inches_is_told_by_the_inches_of_both() {
        let inches = LengthFormat(LengthUnit::Inch);
        let least = Interval { low: 6.0, high: f64::INFINITY };
        let fail = fails(Quantity::Clearance, Some(Side::Left), Interval::single(5.997), least);
        let told = broken_limit(inches, Quantity::Clearance, &[&fail]);
        assert!(told.ends_with(": 0.2361 in, limit ≥0.2362 in"), "{told}");
        let line = &limit_lines(inches, std::slice::from_ref(&fail), &Side::BOTH)[0];
        assert_eq!([line.found().join(" "), line.limit(), line.margin()], ["0.2361", "≥0.2362", "-0.0001"]);
        assert_eq!(inches.number_beside(5.997, 6.0), "0.2361");
    }

    #[test]
    fn the_end_of_a_range_that_fails_is_the_one_that_is_told_from_its_limit() {
        let mm = LengthFormat(LengthUnit::Millimetre);
        let limit = Interval { low: 40.0, high: 110.0 };
        let told = |low: f64, high: f64| {
            let quantity = Quantity::RollCentreHeight;
            let told = broken_limit(mm, quantity, &[&fails(quantity, None, Interval { low, high }, limit)]);
            told.split_once(": ").expect("a range").1.to_owned()
        };
        assert_eq!(told(39.97, 90.0), "39.97 to 90.00 mm, limit 40.00 to 110.00 mm");
        assert_eq!(told(90.0, 110.03), "90.00 to 110.03 mm, limit 40.00 to 110.00 mm");
        assert_eq!(told(39.4, 90.0), "39.4 to 90.0 mm, limit 40.0 to 110.0 mm");
    }

    /// One wheel fails by far and the other by a hair: the line has the digits of the hair.
    #[test]
    fn of_two_wheels_that_fail_the_nearer_one_has_the_digits() {
        let least = Interval { low: 6.0, high: f64::INFINITY };
        let of = |side: Side, mm: f64| fails(Quantity::Clearance, Some(side), Interval::single(mm), least);
        let both = [of(Side::Left, 5.6), of(Side::Right, 5.997)];
        let line = &limit_lines(LengthFormat(LengthUnit::Millimetre), &both, &Side::BOTH)[0];
        assert_eq!((line.found(), line.limit()), (vec!["5.600".to_owned(), "5.997".to_owned()], "≥6".to_owned()));
    }
}
