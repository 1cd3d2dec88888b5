//! What runs out first, the spring and the place of the final drive, in words.

use super::driveline::TYPICAL;
use super::length::{LengthFormat, rounded};
use super::words::travel;
use crate::studies::driveline::{Exhaustion, PartStops, PlaceFindings, Placing, RunsOut, SpringFindings};

/// Things that are told of each way; the table has all.
const TOLD: usize = 6;

/// What runs out on the way up and on the way down, what stops the wheel, and the strap that would save the joints.
pub fn sentences(lengths: LengthFormat, found: &Exhaustion) -> Vec<String> {
    let mut said = vec![way(lengths, "Up", &found.bump), way(lengths, "Down", &found.droop)];
    if found.has_nothing_left_of_sweep() {
        said.push("Of a gap or a rod end at 0 nothing is left at design height: the sweep judges those.".to_owned());
    }
    let PartStops { bump_mm, bump_by, droop_mm, droop_by, .. } = &found.stops;
    let stops = [bump_mm.zip(bump_by.as_ref()), droop_mm.zip(droop_by.as_ref())].into_iter().flatten();
    let stops: Vec<String> = stops.map(|(mm, by)| format!("{} ({by})", travel(lengths, mm))).collect();
    if !stops.is_empty() {
        let beyond = " That is less than the travel of the file, one way or both: figures beyond it are of no car.";
        let beyond = if found.stops.inside_travel { beyond } else { "" };
        said.push(format!("The wheel is stopped at {}.{beyond}", stops.join(" and at ")));
    }
    said.extend(found.strap.as_ref().map(|strap| {
        let eyes = if strap.on_spring_eyes { " from eye to eye of the spring" } else { "" };
        format!(
            "A strap of at most {}{eyes} saves the {}, which runs out at {}.",
            lengths.at_most(strap.length_mm),
            strap.saves,
            travel(lengths, strap.at_bump_mm)
        )
    }));
    said
}

/// What a star means, when one of these has it.
pub fn typical(found: &Exhaustion) -> Option<&'static str> {
    let mut told = found.bump.iter().take(TOLD).chain(found.droop.iter().take(TOLD));
    told.any(|out| out.typical).then_some(TYPICAL)
}

fn way(lengths: LengthFormat, name: &str, found: &[RunsOut]) -> String {
    let one = |out: &RunsOut| {
        format!("{} {}{}", lengths.number(out.at_bump_mm.abs()), out.what, if out.typical { "*" } else { "" })
    };
    let told: Vec<String> = found.iter().take(TOLD).map(one).collect();
    let more = match found.len().saturating_sub(TOLD) {
        0 => String::new(),
        more => format!(", and {more} more"),
    };
    format!("{name}, {}: {}{more}.", lengths.symbol(), told.join(", "))
}

/// The spring at design height, as far as its data go.
pub fn spring(lengths: LengthFormat, found: &SpringFindings) -> String {
    let mut parts = vec![
        format!("{} damper mm per wheel mm", rounded(found.motion_ratio, 3)),
        format!("{} eye to eye", lengths.with_unit(found.length_mm)),
    ];
    parts.extend(found.static_force_n.map(|n| format!("{} N in it", rounded(n, 0))));
    parts.extend(found.wheel_rate_n_per_mm.map(|rate| format!("{} N/mm at the wheel", rounded(rate, 2))));
    parts.extend(found.frequency_hz.map(|hz| format!("{} Hz", rounded(hz, 2))));
    parts.extend(found.static_spring_mm.map(|mm| format!("the spring itself {} long", lengths.with_unit(mm))));
    parts.extend(found.preload_mm.map(|mm| {
        let size = lengths.with_unit(mm.abs());
        let is_loose = mm < 0.0;
        if is_loose {
            format!("loose by {size} with the damper open (helper spring)")
        } else {
            format!("preload {size}")
        }
    }));
    format!("Spring at design: {}.", parts.join(", "))
}

/// Where the final drive would sit best, beside where it is drawn.
pub fn placing(lengths: LengthFormat, found: &Placing) -> Vec<String> {
    let [x, y, z, pitch_deg] = found.moved_by;
    let moves = [(x, "forward", "rearward"), (y, "to the left", "to the right"), (z, "up", "down")];
    let moves = moves.into_iter().filter(|(mm, ..)| lengths.number(mm.abs()) != lengths.number(0.0));
    let moves = moves
        .map(|(mm, plus, minus)| format!("{} {}", lengths.with_unit(mm.abs()), if mm > 0.0 { plus } else { minus }));
    let pitch = (pitch_deg.abs() >= 0.005)
        .then(|| format!("{} deg nose {}", rounded(pitch_deg.abs(), 2), if pitch_deg > 0.0 { "down" } else { "up" }));
    let moves: Vec<String> = moves.chain(pitch).collect();
    let best = match moves[..] {
        [] => "Where it is drawn the halfshafts run straightest.".to_owned(),
        _ => format!("Straightest halfshafts at ride height: moved {}.", moves.join(", ")),
    };
    let limits = (!found.best.keeps_limits()).then(|| {
        "No place in its room keeps what the halfshafts allow over all travel; this one breaks it least.".to_owned()
    });
    let drawn = format!("As drawn: {}.", place(lengths, &found.drawn));
    // The other joints of the shaft stand in the file where they stand.
    let carried = match found.best.worst_propshaft_deg {
        Some(_) if !moves.is_empty() => ", the propeller shaft's joint at the pinion moved along",
        _ => "",
    };
    let there = format!("There{carried}: {}.", place(lengths, &found.best));
    std::iter::once(best).chain([there, drawn]).chain(limits).collect()
}

fn place(lengths: LengthFormat, place: &PlaceFindings) -> String {
    let mut parts = vec![format!(
        "halfshaft joints {} deg (root mean square), {} deg at most",
        rounded(place.halfshaft_deg, 2),
        rounded(place.worst_halfshaft_deg, 2)
    )];
    parts.extend(place.angle_left_deg.map(|deg| format!("{} deg to spare over the travel", rounded(deg, 1))));
    parts.extend(place.plunge_left_mm.map(|mm| format!("{} of plunge to spare", lengths.with_unit(mm))));
    let propshaft = place.worst_propshaft_deg.map(|deg| format!("; propeller shaft {} deg at most", rounded(deg, 2)));
    parts.join(", ") + &propshaft.unwrap_or_default()
}
