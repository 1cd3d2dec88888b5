//! The mark of a tuned car in its file: it holds as long as the points stand as tuning left them.

use sha2::{Digest, Sha256};

use super::edits::with_top_key;
use super::rewrite::RewriteError;
use crate::geometry::{Geometry, Side};

/// Letters of the mark.
const LETTERS: usize = 16;
/// Points are told apart by so many steps in a millimetre: the last digit that is written.
const STEPS_IN_MM: f64 = 1e4;

/// Of the points and spin axes of a car as its file gives them: another one as soon as one of them moves.
pub(super) fn mark_of(geometry: &Geometry) -> String {
    let mut digest = Sha256::new();
    for corner in Side::BOTH.map(|side| geometry.corner(side)) {
        let spin_mm = 1000.0 * corner.wheel.spin_axis.into_inner();
        let places = corner.points().into_iter().map(|(_, at)| at.coords).chain([spin_mm]);
        for mm in places.flat_map(|place| [place.x, place.y, place.z]) {
            digest.update(((mm * STEPS_IN_MM).round() as i64).to_le_bytes());
        }
    }
    digest.finalize().iter().map(|byte| format!("{byte:02x}")).collect::<String>()[..LETTERS].to_owned()
}

/// A text with the mark of the car that it gives.
pub(super) fn marked(text: &str, read: &Geometry) -> Result<String, RewriteError> {
    let mark = format!("{:?}", mark_of(read));
    with_top_key(text, read.units, "tuned", &mark, " # holds while no point moves").map_err(RewriteError::NotToml)
}
