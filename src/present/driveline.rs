//! The driveline in words.

use super::length::{LengthFormat, rounded};
use super::words;
use crate::geometry::Interval;
use crate::studies::State;
use crate::studies::driveline::{
    Check, OtherTube, Phasing, PropshaftFindings, PropshaftMotion, SpanFindings, SpanHold, TubeFindings,
};

/// Goes with every propeller shaft.
pub const PROPSHAFT_CAUTION: &str = "Have the shaft balanced as one, fit hoops round it, and let a shaft maker decide on joints, \
    tube and welds: a broken shaft can throw the car or come through the floor.";

/// The unit of a speed over another.
const OVER_SPEED: &str = "times";

/// What a figure is shown with: so many decimals, and the unit.
fn decimals(unit: &str) -> usize {
    match unit {
        "deg" | OVER_SPEED => 2,
        "mm" => 1,
        _ => 0,
    }
}

/// A figure of a check: `2.15 deg`, `1.2 to 7.4 deg`; `-` without a value.
pub fn value(lengths: LengthFormat, check: &Check) -> String {
    let number = |value: f64| number(lengths, check.unit, value);
    match check.range {
        None => "-".to_owned(),
        Some(Interval { low, high }) if number(low) == number(high) => {
            format!("{} {}", number(high), unit(lengths, check.unit))
        }
        Some(Interval { low, high }) => format!("{} to {} {}", number(low), number(high), unit(lengths, check.unit)),
    }
}

/// What it may be: `0.50 to 20.00`, `up to 400`, `from 1.40`; `-` without a limit.
pub fn limit(lengths: LengthFormat, check: &Check) -> String {
    let number = |value: f64| number(lengths, check.unit, value);
    match (check.least, check.most) {
        (None, None) => "-".to_owned(),
        (Some(least), None) => format!("from {}", number(least)),
        (None, Some(most)) => format!("up to {}", number(most)),
        (Some(least), Some(most)) => format!("{} to {}", number(least), number(most)),
    }
}

/// `pass`, `FAIL` or `not checked`, with the margin or the reason.
pub fn verdict(lengths: LengthFormat, check: &Check) -> String {
    match (check.state, check.margin) {
        (State::NotChecked, _) if check.reason.is_empty() => "not checked".to_owned(),
        (State::NotChecked, _) => format!("not checked: {}", check.reason),
        (state, Some(margin)) => format!("{}, {} to spare", state.words(), number(lengths, check.unit, margin)),
        (state, None) => state.words().to_owned(),
    }
}

/// A figure of each wheel in a line: `plunge, -10.0 to 10.0 mm: pass`, `inner joint angle, up to 26.00 deg, typical of such parts: FAIL
/// left, pass right`; `None` without any.
pub fn judged(lengths: LengthFormat, checks: &[(&str, &Check)]) -> Option<String> {
    let (_, first) = checks.first()?;
    let one = |check: &Check| {
        let limit = match limit(lengths, check) {
            none if none == "-" => String::new(),
            some => format!(", {some} {}", unit(lengths, check.unit)),
        };
        let typical = if check.typical { ", typical of such parts" } else { "" };
        let reason = if check.reason.is_empty() { String::new() } else { format!(" ({})", check.reason) };
        (format!("{limit}{typical}"), format!("{}{reason}", check.state.words()))
    };
    let (limit, state) = one(first);
    let each: Vec<String> = match checks.iter().all(|(_, check)| one(check) == one(first)) {
        true => vec![format!("{limit}: {state}")],
        false if checks.iter().all(|(_, check)| one(check).0 == limit) => {
            let states = checks.iter().map(|(wheel, check)| format!("{} {wheel}", one(check).1));
            vec![format!("{limit}: {}", states.collect::<Vec<_>>().join(", "))]
        }
        false => checks.iter().map(|(wheel, check)| format!(", {wheel}{}: {}", one(check).0, one(check).1)).collect(),
    };
    Some(format!("{}{}", first.what, each.concat()))
}

/// The critical speed of every span: `critical speed, joints 1-3: 1.85 times the highest speed, from 1.40: pass, 0.45 to spare`.
pub fn critical_speeds(lengths: LengthFormat, found: &PropshaftFindings) -> String {
    let each = found.checks.iter().filter(|check| check.unit == OVER_SPEED).map(|check| {
        let known = check.range.map(|range| {
            let (value, limit) = (number(lengths, check.unit, range.low), limit(lengths, check));
            format!("{value} times the highest speed, {limit}: ")
        });
        format!("{}: {}{}", check.what, known.unwrap_or_default(), verdict(lengths, check))
    });
    each.collect::<Vec<_>>().join("; ")
}

/// How many figures hold, and which do not: `Driveline: 6 pass, 1 fail, 1 not checked. FAIL: plunge.`; `None` without any.
pub fn totals<'c>(checks: impl Iterator<Item = &'c Check>) -> Option<String> {
    // Figures of the same name are of the two wheels: one limit, which the worse of them keeps or breaks.
    let mut limits: Vec<(&str, State)> = Vec::new();
    for check in checks {
        match limits.iter_mut().find(|(what, _)| *what == check.what) {
            Some((_, state)) if *state != State::Fail && check.state != State::Pass => *state = check.state,
            Some(_) => {}
            None => limits.push((&check.what, check.state)),
        }
    }
    let count = |state: State| limits.iter().filter(|(_, of)| *of == state).count();
    let counts = words::counts([State::Pass, State::Fail, State::NotChecked].map(count));
    let broken: Vec<&str> = limits.iter().filter(|(_, state)| *state == State::Fail).map(|(what, _)| *what).collect();
    let fails = if broken.is_empty() { String::new() } else { format!(" FAIL: {}.", broken.join(", ")) };
    (!limits.is_empty()).then(|| format!("Driveline: {counts}.{fails}"))
}

fn number(lengths: LengthFormat, unit: &str, value: f64) -> String {
    if unit == "mm" { lengths.number(value) } else { rounded(value, decimals(unit)) }
}

fn unit(lengths: LengthFormat, unit: &'static str) -> &'static str {
    if unit == "mm" { lengths.symbol() } else { unit }
}

/// `Propeller shaft, 6500 rpm, 600 N·m`.
pub fn propshaft_title(found: &PropshaftFindings) -> String {
    let at_speed = found.rpm.map(|rpm| format!("{} rpm", rounded(rpm, 0)));
    let under = found.torque_nm.map(|nm| format!("{} N·m", rounded(nm, 0)));
    ["Propeller shaft".to_owned()].into_iter().chain(at_speed).chain(under).collect::<Vec<_>>().join(", ")
}

/// Its joints by number.
pub fn joints(found: &PropshaftFindings) -> String {
    let joints: Vec<String> = (1..).zip(&found.joints).map(|(k, joint)| format!("{k} {joint}")).collect();
    format!("From the gearbox: {}.", joints.join(", "))
}

/// Everything else that is told of it, the caution last.
pub fn propshaft_sentences(lengths: LengthFormat, found: &PropshaftFindings) -> Vec<String> {
    let mut said = vec![ripple(&found.motion), phasing(found)];
    said.extend(found.spans.iter().map(|of| span(lengths, of)));
    said.extend(orbits(found));
    said.extend(found.tubes.iter().flat_map(|of| tube(lengths, of)));
    said.extend(unbalance(found));
    said.push(PROPSHAFT_CAUTION.to_owned());
    said
}

/// How unevenly the shaft turns the final drive.
pub fn ripple(motion: &PropshaftMotion) -> String {
    format!(
        "Equivalent angle {} deg; the final drive's speed ripples by {} % of its mean, highest less lowest.",
        rounded(motion.equivalent_angle_deg, 2),
        rounded(100.0 * motion.ripple_peak_to_peak, 3)
    )
}

/// How the yokes stand, and what the best phasing would leave.
pub fn phasing(found: &PropshaftFindings) -> String {
    match &found.phasing {
        None if found.cannot_cancel => {
            "One universal joint alone: nothing cancels its ripple, so all of it is left; only a smaller angle helps."
                .to_owned()
        }
        None => "No universal joint: the shaft turns evenly.".to_owned(),
        Some(phasing) if phasing.is_best => {
            format!("Yokes phased {}: the best there is.", phases(&phasing.present_deg))
        }
        Some(phasing) => better(found, phasing),
    }
}

fn better(found: &PropshaftFindings, phasing: &Phasing) -> String {
    format!(
        "Yokes phased {}. Best: {}, which leaves {} deg and {} % in place of {} deg and {} %.",
        phases(&phasing.present_deg),
        phases(&phasing.best_deg),
        rounded(phasing.best_equivalent_angle_deg, 2),
        rounded(100.0 * phasing.best_ripple_peak_to_peak, 3),
        rounded(found.motion.equivalent_angle_deg, 2),
        rounded(100.0 * found.motion.ripple_peak_to_peak, 3)
    )
}

fn phases(deg: &[f64]) -> String {
    deg.iter().map(|deg| format!("{} deg", rounded(*deg, 1))).collect::<Vec<_>>().join(" and ")
}

/// Spans that a coupling does not hold at their centre, a sentence each.
pub fn orbits(found: &PropshaftFindings) -> Vec<String> {
    found.spans.iter().filter_map(orbit).collect()
}

fn orbit(span: &SpanFindings) -> Option<String> {
    let [first, last] = span.joints;
    let head =
        format!("A flexible coupling without a centring device lets the shaft between joints {first} and {last} orbit");
    let centred = rounded(span.centred_critical_rpm, 0);
    match (span.held, span.critical_rpm) {
        (SpanHold::Centred, _) => None,
        (SpanHold::OnCoupling, Some(rpm)) => {
            Some(format!("{head}: it whirls at {} rpm, centred it would at {centred} rpm.", rounded(rpm, 0)))
        }
        (SpanHold::OnCoupling | SpanHold::Unknown, _) => Some(format!(
            "{head}: it whirls below {centred} rpm. Give `radial_stiffness` of the coupling, or `centred = true`."
        )),
    }
}

/// A span with its critical speed.
pub fn span(lengths: LengthFormat, span: &SpanFindings) -> String {
    let [first, last] = span.joints;
    let rpm = span.critical_rpm.map_or("not known".to_owned(), |rpm| format!("{} rpm", rounded(rpm, 0)));
    format!("Joints {first} to {last}, {} apart: first critical speed {rpm}.", lengths.with_unit(span.length_mm))
}

/// A tube with its stress, twist and mass, and the one beside it.
pub fn tube(lengths: LengthFormat, tube: &TubeFindings) -> Vec<String> {
    let k = tube.after_joint;
    let head = format!("Tube {k} to {}: {}", k + 1, strength(tube.torsion_mpa, tube.twist_deg, tube.mass_kg));
    let weld = tube.weld.as_ref().map(|weld| {
        let taken = if weld.throat_is_taken { " (taken: 0.7 of the thinner wall)" } else { "" };
        let throat = lengths.with_unit(weld.throat_mm);
        match weld.shear_mpa {
            Some(mpa) => format!("Its splice weld, throat {throat}{taken}: {} MPa shear.", rounded(mpa, 1)),
            None => format!("Its splice weld, throat {throat}{taken}: not checked, no `torque` in [propshaft]."),
        }
    });
    let beside = tube.beside.as_ref().map(|other| other_tube(lengths, other));
    std::iter::once(head).chain(weld).chain(beside).collect()
}

fn other_tube(lengths: LengthFormat, other: &OtherTube) -> String {
    let critical = other.critical_rpm.map_or(String::new(), |rpm| format!(" Critical speed {} rpm.", rounded(rpm, 0)));
    format!(
        "Beside it {} x {}: {}{critical}",
        lengths.number(other.od_mm),
        lengths.with_unit(other.wall_mm),
        strength(other.torsion_mpa, other.twist_deg, other.mass_kg)
    )
}

fn strength(torsion_mpa: Option<f64>, twist_deg: Option<f64>, mass_kg: f64) -> String {
    let mass = format!("{} kg", rounded(mass_kg, 2));
    match torsion_mpa.zip(twist_deg) {
        Some((mpa, deg)) => format!("{} MPa shear, twist {} deg, {mass}.", rounded(mpa, 1), rounded(deg, 2)),
        None => format!("{mass}; stress not checked, no `torque` in [propshaft]."),
    }
}

/// The unbalance that the shaft may keep; `None` without a speed or tubes.
pub fn unbalance(found: &PropshaftFindings) -> Option<String> {
    let (g_mm, mass_kg) = found.permissible_unbalance_g_mm.zip(found.mass_kg)?;
    Some(format!(
        "Balance grade G 16 leaves {} g mm of unbalance for {} kg of tube at that speed.",
        rounded(g_mm, 0),
        rounded(mass_kg, 2)
    ))
}

/// What a star at a limit means.
pub const TYPICAL: &str = "* typical of such parts, or common practice: the maker's figure decides.";
/// The same for who runs the program.
pub const TYPICAL_ADVICE: &str =
    "Limits with a star in the section on the driveline are typical ones: `limit` of a joint takes the maker's.";

/// What a table says of limits that are not from the file; `None` when all are.
pub fn typical(checks: &[Check]) -> Option<&'static str> {
    let has = checks.iter().any(|check| check.typical && check.state != State::NotChecked);
    has.then_some(TYPICAL)
}
