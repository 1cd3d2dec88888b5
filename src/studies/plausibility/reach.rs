//! How far the halfshaft of the file plunges beside what its joints let it.

use super::{Doubt, Sentence, is_in};
use crate::geometry::slips::{Slip, as_typed, meant};
use crate::geometry::{Geometry, HalfshaftJoint, HalfshaftLength, HalfshaftMake, Interval, Side};

/// From fully pushed in to fully pulled out, mm: any, and what most shafts have.
const PLUNGE_MM: [f64; 2] = [3.0, 200.0];
const USUAL_PLUNGE_MM: [f64; 2] = [12.0, 80.0];
/// Large joints plunge by so many times what is typical of their kind; no unit.
const TIMES_TYPICAL: f64 = 2.0;

/// `length_min` and `length_max` further apart than any shaft with these joints plunges; of a right shaft that is made like the
/// left one nothing.
pub(super) fn too_far(geometry: &Geometry, side: Side) -> Option<Doubt> {
    let shaft_of = |side: Side| geometry.corner(side).halfshaft.as_ref();
    let shaft = shaft_of(side)?;
    let is_told = side == Side::Right && shaft_of(Side::Left).is_some_and(|left| left.make == shaft.make);
    let Some(HalfshaftLength::Donor(reach)) = shaft.make.length.filter(|_| !is_told) else { return None };
    let most_mm = most_mm(&shaft.make);
    if is_in(reach.width(), [PLUNGE_MM[0], most_mm]) {
        return None;
    }
    let units = geometry.units;
    let is_usual = |reach: Interval| {
        is_in(reach.width(), [USUAL_PLUNGE_MM[0], USUAL_PLUNGE_MM[1].min(most_mm)])
            && is_in(shaft.length_mm(), [reach.low, reach.high])
    };
    let guesses = |key: &'static str, mm: f64, with: fn(Interval, f64) -> Interval| {
        let all = meant(as_typed(mm / units.in_mm()), units).into_iter();
        all.filter(move |(_, number)| is_usual(with(reach, units.to_mm(*number)))).map(move |guess| (key, guess))
    };
    let low = guesses("length_min", reach.low, |reach, low| Interval { low, ..reach });
    let high = guesses("length_max", reach.high, |reach, high| Interval { high, ..reach });
    let fits: Vec<(&str, (Slip, f64))> = low.chain(high).collect();
    // Two that fit tell nothing.
    let only = fits.first().filter(|_| fits.len() == 1);
    let about = only.map_or("length_max", |(key, _)| key);
    let why = match only {
        Some((key, (slip, meant))) => format!("probably `{key}` = {meant:?}: {}", slip.words()),
        None => "measure `length_min` and `length_max` again".to_owned(),
    };
    let [width, least, most] = [reach.width(), PLUNGE_MM[0], most_mm].map(|mm| units.show(mm));
    let rest = format!(
        ": from `length_min` to `length_max` it plunges by {width}, and {least} to {most} is what a shaft with such joints does; \
         {why}."
    );
    let sentence = Sentence::of_side("halfshaft", side, &rest);
    Some(Doubt::new(Some(side), about, only.map(|(_, (_, meant))| format!("{meant:?}")), sentence))
}

/// The most that a shaft with these joints plunges, mm; of kinds that do not plunge a spline does.
fn most_mm(make: &HalfshaftMake) -> f64 {
    let both = make.inner.zip(make.outer).map(|(inner, outer)| [inner, outer].map(HalfshaftJoint::typical_plunge_mm));
    let typical_mm = both.map(|[inner, outer]| inner + outer).filter(|mm| *mm > 0.0);
    typical_mm.map_or(PLUNGE_MM[1], |mm| TIMES_TYPICAL * mm)
}
