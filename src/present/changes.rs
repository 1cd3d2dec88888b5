//! What a tuning did to a car, in a few lines.

use super::length::LengthFormat;
use super::limits::{LimitLine, limit_lines};
use super::words::listed;
use crate::geometry::{Geometry, Side};
use crate::studies::tune::{Answer, Move};
use crate::studies::{State, Verdict};

/// So many points and so many figures are named where room is short, the rest is counted.
const MAX_NAMED: usize = 4;
/// What has no limit is told when it is another by this share of its size.
const MUCH: f64 = 1.0 / 3.0;

/// The points that moved, the furthest first: `Moved: toe link chassis 6.4 mm, upper rear chassis 0.9 mm.`
pub fn moved_points(lengths: LengthFormat, car: &Geometry, answers: &[(Side, &Answer)]) -> Option<String> {
    let of_side = |&(side, answer): &(Side, &Answer)| {
        let who = if car.looks_alike() { String::new() } else { format!("{} ", side.name()) };
        let line = move |made: &Move| {
            let mm = made.distance_mm()?;
            Some((mm, format!("{who}{} {}", made.point, lengths.with_unit(mm))))
        };
        answer.moves.iter().filter_map(line).collect::<Vec<_>>()
    };
    let mut moves: Vec<(f64, String)> = answers.iter().flat_map(of_side).collect();
    moves.sort_by(|a, b| b.0.total_cmp(&a.0));
    named("Moved", moves, MAX_NAMED)
}

/// The limits that broke or came to hold, then all that has no limit and is another by a third and more, of the same car before and
/// after.
pub fn changed_verdicts(lengths: LengthFormat, [before, after]: [&[Verdict]; 2], sides: &[Side]) -> Vec<String> {
    let lines = [before, after].map(|verdicts| limit_lines(lengths, verdicts, sides));
    let pairs = paired(&lines);
    let turned = |state: State| {
        let lines = pairs.iter().filter(|(was, now)| now.state() == state && was.state() != state);
        let names: Vec<String> = lines.map(|(_, now)| now.quantity.name().to_owned()).collect();
        (!names.is_empty()).then(|| format!("Now {}: {}.", state.words(), listed(&names)))
    };
    let turned: Vec<String> = [State::Fail, State::Pass].into_iter().filter_map(turned).collect();
    let turned = (!turned.is_empty()).then(|| turned.join(" "));
    turned.into_iter().chain(changed_without_limit(&pairs, usize::MAX)).collect()
}

/// What has no limit and is another by a third and more, in short: tuning held nothing of it.
pub fn changed_much_without_limit(
    lengths: LengthFormat,
    [before, after]: [&[Verdict]; 2],
    sides: &[Side],
) -> Option<String> {
    let lines = [before, after].map(|verdicts| limit_lines(lengths, verdicts, sides));
    changed_without_limit(&paired(&lines), MAX_NAMED)
}

/// The lines of one quantity before and after.
fn paired<'l, 'v>([before, after]: &'l [Vec<LimitLine<'v>>; 2]) -> Vec<(&'l LimitLine<'v>, &'l LimitLine<'v>)> {
    after.iter().filter_map(|now| Some((before.iter().find(|was| was.quantity == now.quantity)?, now))).collect()
}

/// Those without a limit that changed much, what changed most first; so many are named.
fn changed_without_limit(pairs: &[(&LimitLine, &LimitLine)], most: usize) -> Option<String> {
    let free = pairs.iter().filter(|(was, now)| now.limit() == "-" && was.found() != now.found());
    let free = free.filter(|(was, now)| share_changed(was, now) >= MUCH);
    let mut changed: Vec<(f64, String)> = free
        .map(|(was, now)| {
            // Of two wheels one may stay as it was.
            let ends = was.found().into_iter().zip(now.found());
            let ends =
                ends.map(|(was, now)| if was == now { format!("{now} as before") } else { format!("{was} -> {now}") });
            let figures = ends.collect::<Vec<_>>().join(" and ");
            (share_changed(was, now), format!("{} {figures} {}", now.quantity.name(), now.unit()))
        })
        .collect();
    changed.sort_by(|a, b| b.0.total_cmp(&a.0));
    named("Changed, with no limit to hold it", changed, most)
}

/// How much the ends of a figure moved, against its size before and after.
fn share_changed(was: &LimitLine, now: &LimitLine) -> f64 {
    let pairs = was.verdicts.iter().zip(&now.verdicts).filter_map(|(was, now)| Some((was.range?, now.range?)));
    let share = pairs.map(|(was, now)| {
        let by = (now.low - was.low).abs().max((now.high - was.high).abs());
        by / [was.low, was.high, now.low, now.high].map(f64::abs).into_iter().fold(f64::MIN_POSITIVE, f64::max)
    });
    share.fold(0.0, f64::max)
}

fn named(head: &str, mut all: Vec<(f64, String)>, most: usize) -> Option<String> {
    let more = all.len().saturating_sub(most);
    all.truncate(most);
    let mut names: Vec<String> = all.into_iter().map(|(_, name)| name).collect();
    names.extend((more > 0).then(|| format!("{more} more")));
    (!names.is_empty()).then(|| format!("{head}: {}.", names.join("; ")))
}
