//! The halfshafts in words.

use super::length::{LengthFormat, rounded};
use super::words::travel;
use crate::studies::driveline::{
    Envelope, HalfTrackRoom, HalfshaftFindings, HalfshaftRipple, PlungeMargin, ShaftToMake,
};

/// What a halfshaft is made of and how long it is: `454.0 mm between the joint centres at design height`.
pub fn head(lengths: LengthFormat, found: &HalfshaftFindings) -> String {
    let joints = [found.inner_joint.map(|joint| ("inner", joint)), found.outer_joint.map(|joint| ("outer", joint))];
    let joints: Vec<String> = joints.into_iter().flatten().map(|(which, joint)| format!("{which} {joint}")).collect();
    let joints = if joints.is_empty() { String::new() } else { format!("; {}", joints.join(", ")) };
    format!("{} between the joint centres at design height{joints}.", lengths.with_unit(found.length_mm))
}

/// Where the angles and the plunge are least and most, a sentence each, then what follows from them; of a finished car the shaft is
/// there.
pub fn sentences(lengths: LengthFormat, found: &HalfshaftFindings, finished: bool) -> Vec<String> {
    let deg = |value: f64| format!("{} deg", rounded(value, 2));
    let signed = |mm: f64| format!("{}{}", if mm > 0.0 { "+" } else { "" }, lengths.with_unit(mm));
    let mut said = vec![
        envelope(lengths, "Inner joint", &found.inner_angle_deg, deg),
        envelope(lengths, "Outer joint", &found.outer_angle_deg, deg),
        envelope(lengths, "Plunge (pulled apart positive)", &found.plunge_mm, signed),
    ];
    said.extend(found.from_mid_plunge_mm.map(|mm| from_mid_plunge(lengths, mm)));
    said.extend(found.least_margin.map(|least| least_margin(lengths, &least)));
    said.extend(found.half_track.map(|room| half_track(lengths, &room)));
    said.extend(found.to_make.map(|shaft| to_make(lengths, &shaft, finished)));
    said.extend(found.ripple.map(|ripple| uneven(lengths, &ripple)));
    said
}

fn envelope(lengths: LengthFormat, what: &str, found: &Envelope, number: impl Fn(f64) -> String) -> String {
    format!(
        "{what}: {} at design, {} at {} to {} at {}.",
        number(found.at_design),
        number(found.low),
        travel(lengths, found.low_at_bump_mm),
        number(found.high),
        travel(lengths, found.high_at_bump_mm)
    )
}

fn from_mid_plunge(lengths: LengthFormat, mm: f64) -> String {
    if lengths.number(mm.abs()) == lengths.number(0.0) {
        return "At ride height it sits in the middle of what its joints plunge.".to_owned();
    }
    let way = if mm > 0.0 { "pulled apart" } else { "pushed in" };
    format!(
        "At ride height it sits {} from the middle of what its joints plunge, towards {way}.",
        lengths.with_unit(mm.abs())
    )
}

fn least_margin(lengths: LengthFormat, least: &PlungeMargin) -> String {
    let way = if least.pulled_out { "before it is pulled apart" } else { "before it is pushed home" };
    let place = travel(lengths, least.at_bump_mm);
    if least.margin_mm < 0.0 {
        let beyond = lengths.with_unit(-least.margin_mm);
        return format!("It lacks {beyond} of plunge at {place}, {way}.");
    }
    format!("Least plunge to spare: {} at {place}, {way}.", lengths.with_unit(least.margin_mm))
}

fn half_track(lengths: LengthFormat, room: &HalfTrackRoom) -> String {
    let now = lengths.with_unit(room.now_mm);
    let between = match (room.least_mm, room.most_mm) {
        (Some(least), Some(most)) if least > most => return format!("No half-track suits this shaft; it is {now}."),
        (Some(least), Some(most)) => format!("{} to {}", lengths.number(least), lengths.with_unit(most)),
        (Some(least), None) => format!("from {}", lengths.with_unit(least)),
        (None, Some(most)) => format!("up to {}", lengths.with_unit(most)),
        (None, None) => "any".to_owned(),
    };
    format!("With this shaft the half-track may be {between}, wheel and links moved as one; it is {now}.")
}

fn to_make(lengths: LengthFormat, shaft: &ShaftToMake, finished: bool) -> String {
    let typical = if shaft.plunge_is_typical { " (plunge typical of its joints)" } else { "" };
    let left = match shaft.left_each_end_mm {
        Some(mm) if mm < 0.0 => format!("; it lacks {} at each end{typical}", lengths.with_unit(-mm)),
        Some(mm) => format!(", {} to spare at each end{typical}", lengths.with_unit(mm)),
        None => "; the plunge of its joints is not known".to_owned(),
    };
    let (long, used) = (lengths.with_unit(shaft.length_mm), lengths.with_unit(shaft.used_mm));
    let head = match finished {
        true => format!(
            "Measure the shaft that is fitted: with the plunging joint half-way it would be {long} between its joint centres"
        ),
        false => format!("Have the shaft made {long} long between its joint centres, with the plunging joint half-way"),
    };
    // Half-way between the ends of what the travel uses, which design height need not be.
    let other_mm = shaft.longer_than_design_mm;
    let than_design = match lengths.number(other_mm.abs()) {
        none if none == lengths.number(0.0) => String::new(),
        by if other_mm < 0.0 => format!(", {by} {} shorter than at design height", lengths.symbol()),
        by => format!(", {by} {} longer than at design height", lengths.symbol()),
    };
    format!("{head}{than_design}; the travel uses {used} of plunge, as much of it either way{left}.")
}

fn uneven(lengths: LengthFormat, ripple: &HalfshaftRipple) -> String {
    format!(
        "Its universal joints turn the wheel unevenly: {} % of its speed at design, {} % at {}, highest less lowest.",
        rounded(100.0 * ripple.at_design, 3),
        rounded(100.0 * ripple.worst, 3),
        travel(lengths, ripple.worst_at_bump_mm)
    )
}
