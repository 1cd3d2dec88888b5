//! Places and directions in the shop's words.

use hubtrace::geometry::{Corner, End};
use hubtrace::studies::{Coordinate, Cure, Mostly};

use super::lengths::{Lengths, rounded};

/// Which way a move along an axis goes: x forward, y outboard, z up.
pub fn direction(axis: usize, by_mm: f64) -> &'static str {
    match (axis, by_mm >= 0.0) {
        (0, true) => "forward",
        (0, false) => "rearward",
        (1, true) => "outboard",
        (1, false) => "inboard",
        (_, true) => "up",
        (_, false) => "down",
    }
}

/// `"toe link" inner bracket`, `"toe link" outer eye`.
pub fn pickup(corner: &Corner, link: usize, end: End) -> String {
    let end = match end {
        End::Chassis => "inner bracket",
        End::Upright => "outer eye",
    };
    format!("\"{}\" {end}", corner.links[link].name)
}

/// `3.1 mm down`, `3.1 mm down and 2.0 mm inboard`.
pub fn moves(lengths: Lengths, moves: &[(Coordinate, f64)]) -> String {
    let each = moves.iter().map(|(coordinate, by_mm)| {
        format!("{} {}", lengths.with_unit(by_mm.abs()), direction(coordinate.axis, *by_mm))
    });
    each.collect::<Vec<_>>().join(" and ")
}

/// The cure of a toe curve in one sentence.
pub fn cure(lengths: Lengths, corner: &Corner, cure: &Cure) -> String {
    let mostly = match cure.mostly {
        Mostly::Slope => "slope",
        Mostly::Bow => "bow",
    };
    let (first, _) = cure.moves[0];
    format!(
        "Cure: mostly {mostly}; the {} {} leaves {} deg (solved).",
        pickup(corner, first.link, first.end),
        moves(lengths, &cure.moves),
        rounded(cure.leaves_deg, 3)
    )
}
