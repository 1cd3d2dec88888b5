//! What a weld study says, in whole sentences. A chance is of wheels or of cars, and each sentence says of which.

use super::correct::way;
use super::length::{LengthFormat, decimals_of, rounded, trimmed};
use super::quantity::band;
use super::sentences::by_reason;
use super::words;
use crate::geometry::{Corner, Geometry, Interval, Pickup, Quantity, Side, Unit};
use crate::studies::errors::{ErrorSource, Proportion};
use crate::studies::tolerance::{
    BumpSteerOdds, Finish, JigBudget, JigSet, Jigged, LastBracketGain, LimitCount, LostCars, NotTried,
    SLOTS_AND_SHIMS_MM, Spread, TARGET_YIELD, Tolerance, ToleranceFindings,
};
use crate::studies::tune::WorstOfWheel;

/// Jig sets name this many dimensions and count the rest.
const NAMED: usize = 3;

/// What was done about the links: `links adjusted, "toe link" inner bracket last`; `as_drawn` says how the car came to stand.
pub fn finish(finish: &Finish, as_drawn: &str) -> String {
    match finish {
        Finish::Cut => format!("links cut {as_drawn}"),
        Finish::Adjusted => "links adjusted".to_owned(),
        Finish::Last(last) => format!("links adjusted, {:?} inner bracket last", last.link),
    }
}

/// `inside all 7 limits`, or `inside 6 of the 7 limits` when one is not tried on built cars.
pub fn inside(LimitCount { checked, set }: LimitCount) -> String {
    match set - checked {
        0 if set == 1 => "inside the one limit".to_owned(),
        0 => format!("inside all {set} limits"),
        _ => format!("inside {checked} of the {set} limits"),
    }
}

/// How the last bracket errs, when one is welded last: that of its gauge and of its own weld.
pub fn last_bracket_errors(lengths: LengthFormat, finish: &Finish) -> Option<String> {
    let Finish::Last(last) = finish else { return None };
    Some(format!(
        "The last bracket is placed by a toe curve gauged to {} deg and welded to {}, one sd.",
        rounded(last.gauge_sd_deg, 3),
        lengths.finer_unit(last.placing_sd_mm)
    ))
}

/// Of which cars a chance is: `10000 cars, brackets and upright holes 0.50 mm one sd`.
pub fn cars(lengths: LengthFormat, cars: usize, errors: &ErrorSource, geometry: &Geometry) -> String {
    format!("{cars} cars, {}", words::errors(lengths, errors, geometry))
}

/// The chance of a car: `Chance that yours passes, both wheels inside all 7 limits: 31 % (30 % to 32 %, 19 times of 20).`
pub fn chance(limits: LimitCount, share: Proportion) -> String {
    let (low, high) = share.interval();
    format!(
        "Chance that yours passes, both wheels {}: {} ({} to {}, 19 times of 20).",
        inside(limits),
        words::proportion(share),
        words::percent(low),
        words::percent(high)
    )
}

/// `Worst bump steer of one wheel (left and right alike): 0.021 to 0.094 deg, 19 times of 20; 0.018 deg without errors.`
pub fn worst_band(worst: &WorstOfWheel, wheel: &str) -> String {
    format!(
        "Worst bump steer of one wheel ({wheel}): {} to {} deg, 19 times of 20; {} deg without errors.",
        rounded(worst.band_deg.low, 3),
        rounded(worst.band_deg.high, 3),
        rounded(worst.as_drawn_deg, 3)
    )
}

/// The chance that one wheel of each of these sides keeps the bump-steer limit; `None` when it is not tried.
pub fn wheel_chance(study: &Tolerance, sides: &[Side], mirrored: bool) -> Option<String> {
    let chance = |&side: &Side| {
        let chance = words::proportion(study.spread(Quantity::BumpSteer, side)?.chance?);
        Some(if mirrored { chance } else { format!("{} {chance}", side.name()) })
    };
    let chances: Vec<String> = sides.iter().filter_map(chance).collect();
    (!chances.is_empty()).then(|| format!("Chance for one wheel inside the bump-steer limit: {}.", chances.join(", ")))
}

/// The chance of a car, and what it is once toe is set again.
pub fn car_chance(study: &Tolerance) -> String {
    let Some(share) = study.within_all_limits else {
        return match study.limits {
            // The least gap between parts is one of them, whatever the file says.
            LimitCount { checked: 0, set } if set > 1 => {
                format!("Built cars are held to none of the {set} limits, so there is no chance to tell.")
            }
            _ => "The file has no [limits], so there is no chance to tell: not checked.".to_owned(),
        };
    };
    let toe_set = study.with_toe_set.map(|share| {
        format!(" Toe of links as cut would be set again; then {} of cars pass.", words::percent(share.value()))
    });
    format!("{}{}", chance(study.limits, share), toe_set.unwrap_or_default())
}

/// What the welds are about always, the rest when a car breaks its limit.
pub fn has_a_line(spread: &Spread) -> bool {
    let always = [Quantity::BumpSteer, Quantity::Slope, Quantity::Bow, Quantity::CamberChange, Quantity::Plunge];
    always.contains(&spread.quantity) || spread.chance.is_some_and(|chance| chance.count < chance.of)
}

/// A line of the table of spreads: name, unit, as in the file, three percentiles, limit and chance (`-` without one).
pub fn cells(lengths: LengthFormat, spread: &Spread) -> [String; 8] {
    let quantity = spread.quantity;
    // A slope is told as a gauge reads it.
    let (span, longer) = lengths.slope_span();
    let (name, unit, factor) = match quantity.unit() {
        Unit::DegreesPerMillimetre => (format!("slope per {span}"), "deg", 25.0 * longer),
        Unit::DegreesPer25Millimetres => (quantity.name().to_owned(), "deg", 1.0),
        unit => (quantity.name().to_owned(), super::unit(lengths, unit), 1.0),
    };
    let decimals = if factor == 1.0 { super::decimals(lengths, quantity, spread.limit) } else { 3 };
    let number = |value: f64| super::number(lengths, quantity, decimals, factor * value);
    let short = |value: f64| trimmed(&number(value)).to_owned();
    let limited = spread.limit.zip(spread.chance);
    let [limit, chance] = limited.map_or_else(
        || [String::new(), "-".to_owned()],
        |(limit, chance)| [super::limit_band(short, limit), words::proportion(chance)],
    );
    let [nominal, p50, p90, p99] = [spread.nominal, spread.p50, spread.p90, spread.p99].map(number);
    [name, unit.to_owned(), nominal, p50, p90, p99, limit, chance]
}

/// What a study comes to, the chance of a car first; with the option that builds such cars for who can give one.
pub fn conclusions(lengths: LengthFormat, found: &ToleranceFindings, has_options: bool) -> Vec<String> {
    let mut said = vec![car_chance(&found.study)];
    said.extend(kept_by_all(&found.study, &found.sides));
    said.extend(Side::BOTH.iter().filter_map(|&side| lost(&found.study, side)));
    said.extend(not_checked_sentence(&found.not_checked));
    said.extend(found.last_bracket.as_ref().map(|gain| last_bracket(lengths, gain, has_options)));
    said.extend(found.drawing_breaks_bump_steer.then(|| move_first(found.car.geometry())));
    said
}

/// What to ask of the program after these conclusions.
pub fn advice(found: &ToleranceFindings) -> Vec<String> {
    let last = found.last_bracket.as_ref().filter(|gain| !gain.in_study);
    let last = last.map(|_| "`--last` builds cars whose last bracket is welded last.".to_owned());
    last.into_iter().chain(tune_advice(found)).collect()
}

/// That of a car whose pickups can still be moved.
pub fn tune_advice(found: &ToleranceFindings) -> Option<String> {
    let geometry = found.car.geometry();
    let can_move = found.drawing_breaks_bump_steer && !geometry.is_finished() && !geometry.tuned;
    can_move.then(|| {
        "`hubtrace tune` finds where the pickups go, or how near to the limit their free room lets them come."
            .to_owned()
    })
}

/// Limits that no car breaks and that have no line of their own.
pub fn kept_by_all(study: &Tolerance, sides: &[Side]) -> Option<String> {
    let of_sides = |spread: &&Spread| spread.side.is_none_or(|side| sides.contains(&side));
    let shown = |quantity: Quantity| {
        study.spreads.iter().filter(of_sides).any(|spread| spread.quantity == quantity && has_a_line(spread))
    };
    let mut names: Vec<&str> = Vec::new();
    let is_kept = |spread: &&Spread| spread.chance.is_some() && !shown(spread.quantity);
    for spread in study.spreads.iter().filter(of_sides).filter(is_kept) {
        if !names.contains(&spread.quantity.name()) {
            names.push(spread.quantity.name());
        }
    }
    (!names.is_empty()).then(|| format!("Every car also keeps the limits of {}.", names.join(", ")))
}

/// Wheels of one side that do not get through their travel.
pub fn lost(study: &Tolerance, side: Side) -> Option<String> {
    let lost: LostCars = study.lost[side];
    (lost.all() > 0).then(|| {
        format!(
            "{} of {} {} wheels do not get through their travel ({} bind, {} do not go together with links as cut, {} \
             are loose): they pass no limit and are in no figure above.",
            lost.all(),
            study.cars,
            side.name(),
            lost.binds,
            lost.does_not_assemble,
            lost.singular
        )
    })
}

/// What of the file's limits built cars are not held to, and why.
pub fn not_checked(not_tried: &[NotTried]) -> Vec<(&'static str, &'static str)> {
    not_tried.iter().map(|limit| (limit.quantity.name(), limit.reason)).collect()
}

/// The same as a sentence; `None` when they are held to everything.
pub fn not_checked_sentence(not_tried: &[NotTried]) -> Option<String> {
    by_reason("Not checked on built cars", not_checked(not_tried))
}

/// What the last bracket last gains, and how to do it.
fn last_bracket(lengths: LengthFormat, gain: &LastBracketGain, has_options: bool) -> String {
    let option = if has_options && !gain.in_study { " (--last)" } else { "" };
    format!("Last bracket last{option}: {}", last_bracket_steps(lengths, gain))
}

/// The same for who stands at the car.
pub fn last_bracket_steps(lengths: LengthFormat, gain: &LastBracketGain) -> String {
    let bracket = &gain.bracket;
    // Of a study of such cars the screen tells it anyway.
    let every = gain.within_all_limits.filter(|_| !gain.in_study);
    let every =
        every.map_or(String::new(), |cars| format!("; {} then {}", inside(gain.limits), words::proportion(cars)));
    format!(
        "weld the rest, gauge the toe curve ({} deg one sd), place the {} so that it is flat, weld it (to {} one sd): {}{every}. \
         It must be able to move {}{}.",
        rounded(bracket.gauge_sd_deg, decimals_of(bracket.gauge_sd_deg, 3)),
        words::inner_bracket(&bracket.link),
        lengths.sd(bracket.placing_sd_mm),
        bump_steer_gain(&gain.without, &gain.with),
        room(lengths, gain),
        less_room(lengths, gain)
            .or_else(|| too_far(lengths, gain))
            .map_or("; start its shims mid-stack".to_owned(), |less| format!(". {less}"))
    )
}

/// Which bracket to weld last and what room it needs, for who has the rest of [`last_bracket_steps`] elsewhere.
pub fn last_bracket_room(lengths: LengthFormat, gain: &LastBracketGain) -> String {
    format!(
        "Weld the {} last: it must be able to move {}.{}",
        words::inner_bracket(&gain.bracket.link),
        room(lengths, gain),
        less_room(lengths, gain).or_else(|| too_far(lengths, gain)).map_or(String::new(), |less| format!(" {less}."))
    )
}

/// `3.1 mm either way, in-out and up-down`, and whose it is.
fn room(lengths: LengthFormat, gain: &LastBracketGain) -> String {
    let ways = words::listed(&gain.in_plane.map(|axis| axis.line().to_owned()));
    format!("{} either way, {ways} (95 cars of 100, at the worse wheel)", lengths.with_unit(room_mm(gain)))
}

/// What the file leaves the bracket, where that is less.
fn less_room(lengths: LengthFormat, gain: &LastBracketGain) -> Option<String> {
    let adjuster = gain.adjuster.filter(|of| !of.range_mm.holds(&Interval::either_way(room_mm(gain))))?;
    let range = band(|mm| lengths.number(mm), adjuster.range_mm);
    Some(format!(
        "`adjust` in the file gives it {range} {} {} and no other way, and with less room the chance is smaller: clamp it to the \
         gauge, then weld",
        lengths.symbol(),
        way(adjuster.along, 1.0)
    ))
}

/// What to do where slots and shims do not go as far.
fn too_far(lengths: LengthFormat, gain: &LastBracketGain) -> Option<String> {
    let said = || {
        format!(
            "Slots and shims seldom give more than {}: clamp it to the gauge, then weld",
            lengths.with_unit(SLOTS_AND_SHIMS_MM)
        )
    };
    (room_mm(gain) > SLOTS_AND_SHIMS_MM).then(said)
}

/// How far the last bracket is moved at the worse side, 95 cars of 100, mm.
fn room_mm(gain: &LastBracketGain) -> f64 {
    gain.moves_mm.left.1.max(gain.moves_mm.right.1)
}

fn bump_steer_gain(without: &BumpSteerOdds, with: &BumpSteerOdds) -> String {
    let one = |odds: &BumpSteerOdds| odds.one_wheel.left.map(words::proportion);
    let both = |odds: &BumpSteerOdds| odds.both_wheels.map(words::proportion);
    match (one(without), one(with), both(without), both(with)) {
        (Some(one), Some(one_with), Some(both), Some(both_with)) => format!(
            "chance that yours keeps the bump-steer limit {one} → {one_with} for one wheel, {both} → {both_with} for both"
        ),
        _ => {
            let deg = |odds: &BumpSteerOdds| odds.median_deg.left.map_or("-".to_owned(), |deg| rounded(deg, 3));
            format!("worst bump steer of half the wheels {} → {} deg", deg(without), deg(with))
        }
    }
}

/// What comes before the sets of jigs.
pub fn jigs_head(lengths: LengthFormat, budget: &JigBudget, study: &Tolerance) -> String {
    format!(
        "Jigs that hold to {} (one sd), on both sides alike; bump steer passes with both wheels, {} without:",
        lengths.sd(budget.jig_sd_mm),
        words::percent(study.within_bump_steer.map_or(0.0, Proportion::value))
    )
}

/// A set of jigs: the share of cars, then what is held; `corner` names the links.
pub fn jig_set(set: &JigSet, corner: &Corner) -> String {
    format!("{}: {}", words::proportion(set.chance), held_in(set, corner))
}

fn held_in(set: &JigSet, corner: &Corner) -> String {
    let mut names = by_pickup(&set.held[..NAMED.min(set.held.len())], corner);
    if set.held.len() > NAMED {
        names.push(format!("and {} more", set.held.len() - NAMED));
    }
    names.join(", ")
}

/// The best three dimensions to jig; `None` when jigs are not needed or cannot help.
pub fn three_to_jig(study: &ToleranceFindings, corner: &Corner) -> Option<String> {
    let is_three =
        |set: &&JigSet| set.held.len() == NAMED && set.held.iter().all(|held| matches!(held, Jigged::Coordinate(_)));
    let set = study.jigs.as_ref()?.few.iter().find(is_three)?;
    let (low, high) = set.chance.interval();
    Some(format!(
        "The three dimensions to jig, with the share of {} built cars that then keep bump steer inside its limit ({} to {}, 19 \
         times of 20): {}.",
        set.chance.of,
        words::percent(low),
        words::percent(high),
        jig_set(set, corner)
    ))
}

/// The band of a wheel once it is welded: `Once welded (brackets 0.50 mm one sd): worst bump steer below 0.06 deg on half …`.
pub fn welded_bump_steer(found: &ToleranceFindings, side: Side) -> Option<String> {
    let spread = found.study.spread(Quantity::BumpSteer, side)?;
    let [half, nine] = [spread.p50, spread.p90].map(|deg| rounded(deg, 2));
    let geometry = found.car.geometry();
    let errors = words::errors(LengthFormat(geometry.units), &found.request.errors, geometry);
    Some(format!(
        "Once welded ({errors}; {} cars built): worst bump steer below {half} deg on half of the wheels, below {nine} deg on 9 of 10.",
        found.study.cars
    ))
}

/// The fewest dimensions with which enough cars pass.
pub fn jigs_enough(budget: &JigBudget, geometry: &Geometry) -> String {
    let enough = 100.0 * TARGET_YIELD;
    let is_taped = geometry.tape.is_some() || geometry.measured_points(Side::Left) > 0;
    match &budget.enough {
        Some(set) => format!("For {enough:.0} %, {} dimensions: {}", set.held.len(), held_in(set, &geometry.left)),
        None if is_taped => {
            format!(
                "Not even all dimensions jigged make {enough:.0} %: a jig holds what was measured, and the tape's error with it."
            )
        }
        None => format!("Not even all dimensions jigged make {enough:.0} %."),
    }
}

/// What is held, each pickup once: `"toe link" inner bracket up-down and fore-aft`.
fn by_pickup(held: &[Jigged], corner: &Corner) -> Vec<String> {
    let named = |held: &Jigged| match *held {
        Jigged::Coordinate(c) => (words::pickup(corner, c.link, c.end), c.axis.line().to_owned()),
        Jigged::Pickup(Pickup { link, end }) => (words::pickup(corner, link, end), "(all three)".to_owned()),
    };
    let pickups = words::gathered(held.iter().map(named));
    pickups.into_iter().map(|(pickup, axes)| format!("{pickup} {}", words::listed(&axes))).collect()
}

/// What a car that breaks its limit without a weld error needs.
pub fn move_first(geometry: &Geometry) -> String {
    let cure = match (geometry.is_finished(), geometry.tuned) {
        (true, _) => "gauge it, then shim and turn what can be",
        (false, true) => "its pickups need more room than `free` gave them",
        (false, false) => "move its pickups first",
    };
    format!("The car {} breaks the bump-steer limit already, so jigs cannot save it: {cure}.", words::stage(geometry))
}
/// Goes with every weld study.
pub const WELD_CAUTION: &str = "Rigid links and a rigid tyre disc are assumed; left and right wheels err independently. \
    Guidance, not approval: a failed link can kill.";
