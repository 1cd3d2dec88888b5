//! What is used up first over the travel: a rod end, a joint of the halfshaft or its plunge.

use serde::Serialize;

use super::brackets::Bracket;
use crate::geometry::LimitKey;
use crate::studies::verdicts::Verdict;

/// The part of which least is left.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RunsOut {
    /// `rod end of the toe link chassis`, `left halfshaft plunge`.
    pub part: String,
    /// The largest share of what it takes that is used over bump and droop, per cent; above 100 it does not reach.
    pub used_pct: f64,
}

/// Of the rod ends and halfshafts that have a limit in the file; `None` when none has.
pub(super) fn runs_out_first(brackets: &[Bracket], verdicts: &[Verdict]) -> Option<RunsOut> {
    let rod_ends = brackets.iter().filter_map(|bracket| {
        let used = bracket.misalignment_deg? / bracket.limit_deg?;
        Some(RunsOut { part: format!("rod end of the {}", bracket.point), used_pct: 100.0 * used })
    });
    let shafts = verdicts.iter().filter_map(|verdict| {
        let key = verdict.quantity.definition().limit;
        let is_shaft = matches!(key, LimitKey::PlungeWindow | LimitKey::InnerLimit | LimitKey::OuterLimit);
        let (range, limit) = (verdict.range?, verdict.limit.filter(|_| is_shaft)?);
        let low = if limit.low < 0.0 { range.low / limit.low } else { 0.0 };
        let part = format!("{} {}", verdict.side?.name(), verdict.quantity.name());
        Some(RunsOut { part, used_pct: 100.0 * low.max(range.high / limit.high) })
    });
    // Of equals the first: the left wheel of a mirrored car.
    rod_ends.chain(shafts).filter(|of| of.used_pct.is_finite()).rev().max_by(|a, b| a.used_pct.total_cmp(&b.used_pct))
}
