//! What stands at the head of a report.

use super::length::LengthFormat;
use super::quantity::{decimals, finest, limit_band, number, unit};
use super::sentences::{bind, limit_totals_of};
use super::words::{self, sentence_start};
use super::{driveline, forces, weld_study};
use crate::geometry::{LimitKey, Quantity};
use crate::studies::forces::WANTED_RESERVE;
use crate::studies::{CarFindings, ReportFindings, State, Verdict};

/// Goes with every verdict on a whole car.
pub const PASS_MEANS: &str = "Pass means that the limits hold on paper: those of the file, and those marked taken or typical. It does not approve a \
    weld, a thread, a bracket or a car: the rulebook, the maker's ratings and a licensed engineer decide.";
const STRENGTH_OPEN: &str =
    "Strength was not checked: the file lacks the data to compare any part with the force that would break it.";

/// Words that a person with a welder need not know: as they stand on the page, and what they mean.
const WORDS: [(&str, &str); 9] = [
    ("slope", "the straight part of the toe curve: how much the wheel steers for each step of travel."),
    ("bow", "the bend of the toe curve: how far it leaves that straight line."),
    ("rows", "the heights of the wheel, step by step, for which the car was calculated; each is a row of a table."),
    (
        "one sd",
        "one standard deviation, the usual size of an error: two errors of three are smaller, 19 of 20 are smaller than twice \
         that.",
    ),
    ("19 times of 20", "of 20 such figures, 19 lie between the two numbers and one does not."),
    ("seed", "the number that starts the dice of the computer: with the same one it builds the same cars again."),
    ("clocked", "turned about its link: at its best, a rod end has the same room both ways."),
    ("carry the bind", "these links stop the wheel: it could only go on if they grew longer or shorter."),
    ("plunge", "how far a joint of the halfshaft slides in and out while the wheel travels."),
];

/// The words to explain on a page with this text, each with its meaning.
pub fn glossary(page: &str) -> Vec<String> {
    let is_used = |(word, _): &&(&str, &str)| page.contains(word);
    WORDS.iter().filter(is_used).map(|(word, meaning)| format!("{}: {meaning}", sentence_start(word))).collect()
}

/// What takes from the verdict, in the same breath as it: `, 3 reserves of strength below 1; thin: plunge (0.3 mm to spare), 2 reserves
/// of strength below the 1.5 wanted; not checked: 1 limit, 2 quantities without a limit, 4 checks for want of data`; nothing where nothing does.
pub fn report_reservations(lengths: LengthFormat, found: &ReportFindings) -> String {
    let car = &found.sweep.car;
    let unseen = match car.sides[..] {
        [only] if !car.judged.geometry().looks_alike() => Some(format!("the {} wheel", only.other().name())),
        _ => None,
    };
    let open = [
        unseen,
        counted(car.limit_totals.not_checked, ["limit", "limits"], ""),
        counted(without_limit(car), ["quantity", "quantities"], " without a limit"),
        counted(found.without_data().iter().map(Vec::len).sum(), ["check", "checks"], " for want of data"),
        weakest(lengths, found).map_or(Some("strength".to_owned()), |_| None),
    ];
    let open: Vec<String> = open.into_iter().flatten().collect();
    let open = (!open.is_empty()).then(|| format!("not checked: {}", open.join(", ")));
    let said = reservations(lengths, found.thin_limits(), found.low_reserves(), open);
    match said.strip_prefix(", not checked: ") {
        // The verdict has said so.
        Some(open) if found.state() == State::NotChecked => format!(": {open}"),
        _ => said,
    }
}

/// `4 quantities without a limit`; `None` for none.
fn counted(count: usize, [one, many]: [&str; 2], which: &str) -> Option<String> {
    match count {
        0 => None,
        1 => Some(format!("1 {one}{which}")),
        _ => Some(format!("{count} {many}{which}")),
    }
}

/// `2 quantities have no limit, so no verdict: anti_lift, track_change in [limits]`; `None` of none.
///
/// Tested by `page_report_and_check_count_the_same_quantities_without_a_limit`.
pub fn quantities_without_limit(quantities: &[Quantity]) -> Option<String> {
    let keys = quantities.iter().filter_map(|quantity| quantity.definition().limit.key_and_table());
    let by_table = words::gathered(keys.map(|(key, table)| (table, key)));
    let keys: Vec<String> = by_table.iter().map(|(table, keys)| format!("{} in {table}", keys.join(", "))).collect();
    let head = match quantities.len() {
        0 => return None,
        1 => "1 quantity has no limit, so no verdict".to_owned(),
        many => format!("{many} quantities have no limit, so no verdict"),
    };
    Some(format!("{head}: {}", keys.join("; ")))
}

/// Quantities with values that no limit judges, those of the list of what was not checked.
///
/// Tested by `the_head_counts_what_the_list_names_without_a_limit`.
fn without_limit(car: &CarFindings) -> usize {
    let has = |quantity: &&Quantity| {
        car.limits.iter().any(|verdict| verdict.quantity == **quantity && verdict.is_without_limit_alone())
    };
    Quantity::ALL.iter().filter(has).count()
}

/// The same of limits that hold with little left, of so many reserves of strength below 1 and thin, and of what was not checked.
fn reservations<'v>(
    lengths: LengthFormat,
    thin_limits: impl Iterator<Item = &'v Verdict>,
    [broken, thin_reserves]: [usize; 2],
    open: Option<String>,
) -> String {
    let thin_limits: Vec<&Verdict> = thin_limits.collect();
    let to_spare = |verdict: &&Verdict| {
        let quantity = verdict.quantity;
        let margin = number(lengths, quantity, decimals(lengths, quantity, verdict.limit), verdict.margin()?);
        let same = thin_limits.iter().filter(|other| other.quantity == quantity && other.margin() != verdict.margin());
        let side = verdict.side.filter(|_| same.count() > 0).map_or(String::new(), |side| format!(" {}", side.name()));
        Some(format!("{}{side} ({margin} {} to spare)", quantity.name(), unit(lengths, quantity.unit())))
    };
    let mut thin: Vec<String> = Vec::new();
    for said in thin_limits.iter().filter_map(to_spare) {
        if !thin.contains(&said) {
            thin.push(said);
        }
    }
    let reserves = |count, below: String| counted(count, ["reserve of strength", "reserves of strength"], &below);
    let broken = reserves(broken, " below 1".to_owned());
    thin.extend(reserves(thin_reserves, format!(" below the {WANTED_RESERVE} wanted")));
    let thin = (!thin.is_empty()).then(|| format!("thin: {}", thin.join(", ")));
    let said: Vec<String> = broken.into_iter().chain(thin).chain(open).collect();
    if said.is_empty() { String::new() } else { format!(", {}", said.join("; ")) }
}

/// What the whole car comes to, a sentence a study.
pub fn report_verdict(lengths: LengthFormat, found: &ReportFindings) -> Vec<String> {
    let car = &found.sweep.car;
    let mut said: Vec<String> = car.binds().map(|of| sentence_start(&bind(lengths, of)) + ".").collect();
    said.push(sentence_start(&limits(lengths, car)));
    said.extend(driveline::totals(found.driveline.driveline.checks()));
    said.push(weakest(lengths, found).unwrap_or_else(|| STRENGTH_OPEN.to_owned()));
    let fails = found.forces.iter().flat_map(|found| &found.spring_fails);
    said.extend(fails.map(|fails| sentence_start(&forces::spring_fails(lengths, fails)) + "."));
    said.extend(found.weld.as_ref().ok().map(|study| weld_study::car_chance(&study.study)));
    said
}

fn weakest(lengths: LengthFormat, found: &ReportFindings) -> Option<String> {
    found.forces.as_ref().and_then(|found| forces::weakest(lengths, found))
}

/// How many limits hold, and by how much each of the others is broken.
fn limits(lengths: LengthFormat, car: &CarFindings) -> String {
    let mirrored = car.judged.geometry().looks_alike();
    // One wheel stands for both when they are mirror images.
    let is_shown = |verdict: &&Verdict| !mirrored || verdict.side.is_none_or(|side| side == car.sides[0]);
    let broken = car.limits.iter().filter(|verdict| verdict.state == State::Fail).filter(is_shown);
    let broken: Vec<String> = broken.filter_map(|verdict| by_how_much(lengths, verdict, mirrored)).collect();
    let fails = if broken.is_empty() { String::new() } else { format!(" FAIL: {}.", broken.join("; ")) };
    suspension_totals(lengths, car, std::iter::empty()) + &fails
}

/// What a report and a page of the suspension alone both count, each quantity once: `14 limits of the suspension:
/// 12 pass, 1 fail, 1 not checked, thin: …; 2 quantities have no limit.`
pub fn suspension_totals<'v>(
    lengths: LengthFormat,
    car: &CarFindings,
    thin_limits: impl Iterator<Item = &'v Verdict>,
) -> String {
    let totals = limit_totals_of(&car.limit_totals, " of the suspension");
    let but = reservations(lengths, thin_limits, [0; 2], None);
    let open = match without_limit(car) {
        0 => String::new(),
        1 => "; 1 quantity has no limit".to_owned(),
        many => format!("; {many} quantities have no limit"),
    };
    format!("{}{but}{open}.", totals.trim_end_matches('.'))
}

/// `bump steer of the right wheel -0.071 deg at 60.0 mm bump, limit ±0.050 deg`; of a wheel that binds `at least 15.842 deg at 55.0 mm
/// droop, for the wheel binds`.
fn by_how_much(lengths: LengthFormat, verdict: &Verdict, mirrored: bool) -> Option<String> {
    let (quantity, worst, limit) = (verdict.quantity, verdict.worst()?, verdict.limit?);
    let finest = finest(lengths, quantity, verdict.limit);
    let number = |value: f64| number(lengths, quantity, finest, value);
    let side = verdict.side.filter(|_| !mirrored);
    let wheel = side.map_or(String::new(), |side| format!(" of the {} wheel", side.name()));
    let part = verdict.part.as_ref().map_or(String::new(), |part| format!(" ({part})"));
    let at = verdict.worst_at.map_or(String::new(), |at| format!(" at {}", words::worst_at(lengths, at)));
    let key = quantity.definition().limit;
    let is_size = matches!(key, LimitKey::EitherWay(_)) || key.is_only_high();
    let (worst, binds) = match (verdict.ends_at_a_bind(), is_size) {
        (false, _) => (number(worst), String::new()),
        (true, true) => (format!("at least {}", number(worst.abs())), words::FOR_IT_BINDS.to_owned()),
        (true, false) => (number(worst), format!(" or worse{}", words::FOR_IT_BINDS)),
    };
    let (unit, limit) = (unit(lengths, quantity.unit()), limit_band(number, limit));
    Some(format!("{}{wheel}{part} {worst} {unit}{at}{binds}, limit {limit} {unit}", quantity.name()))
}

#[cfg(test)]
mod tests {
    use super::{LengthFormat, reservations};
    use crate::geometry::{Interval, LengthUnit, Quantity, Side};
    use crate::studies::{State, Verdict};

    /// Two wheels with as much to spare are told once, others each with its side.
    #[test]
    fn a_thin_limit_of_two_wheels_that_differ_names_each() {
        let thin = |side, high: f64| Verdict {
            quantity: Quantity::Scrub,
            side: Some(side),
            range: Some(Interval { low: 0.0, high }),
            limit: Some(Interval::either_way(10.0)),
            state: State::Pass,
            gap: None,
            part: None,
            worst_at: None,
        };
        let said = |right_mm: f64| {
            let two = [thin(Side::Left, 9.5), thin(Side::Right, right_mm)];
            reservations(LengthFormat(LengthUnit::Millimetre), two.iter(), [0, 0], None)
        };
        assert_eq!(said(9.5), ", thin: scrub (0.5 mm to spare)");
        assert_eq!(said(9.3), ", thin: scrub left (0.5 mm to spare), scrub right (0.7 mm to spare)");
    }
}
