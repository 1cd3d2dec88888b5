//! The inner joint of the halfshaft: it stands where the shaft runs nearly straight.

use std::cmp::Ordering;

use super::oddities::{Around, count_odd};
use super::shaft::is_on_line;
use super::written::{Source, Writing, put};
use super::{Doubt, Sentence};
use crate::geometry::slips::{Slip, hundred_off, meant};
use crate::geometry::{Axis, Corner, CornerPoint, Geometry, Side, Travel};
use crate::measures::shaft;
use crate::mechanism::{Linkage, WheelPath};

/// A shaft that is bent by less at design may be meant so: a final drive that is high or low, deg.
const BENT_DEG: f64 = 8.0;
/// A joint that turns further at design runs hot or wears, so that a file which says nothing of its joints does not mean it, deg.
/// Common practice.
pub(super) const MUCH_DEG: f64 = 11.0;
/// Final drives are placed so that the shafts run as straight as this at design, deg.
const STRAIGHT_DEG: f64 = 3.0;
/// A shaft whose outer joint was found to be off as well need only become so straight, deg: camber and a final drive ahead of the
/// axle line bend it.
pub(super) const NEARLY_STRAIGHT_DEG: f64 = 5.5;

/// The inner joint, where the shaft turns further than its joints allow, much at design or its outer joint was as far off, and one
/// number of it makes the shaft straight; without one, where it turns further at design than its joints do. `outer_was_off` says that the outer joint was found so; while it is, the shaft tells nothing.
pub(super) fn mend(geometry: &mut Geometry, side: Side, outer_was_off: bool) -> Option<Doubt> {
    let (writing, around) = (Writing::of(geometry), Around::of(geometry, side));
    let corner = geometry.corner(side);
    let drawn_deg = bent_deg(corner).filter(|_| is_on_line(corner))?;
    let beyond = beyond_limit(corner, &geometry.travel);
    let is_much = drawn_deg > MUCH_DEG;
    if drawn_deg < BENT_DEG || (beyond.is_none() && !outer_was_off && !is_much) {
        return None;
    }
    let most_deg = if outer_was_off { NEARLY_STRAIGHT_DEG } else { STRAIGHT_DEG };
    let mended = straight(corner, around, most_deg, &geometry.travel, &writing);
    let at_design_beyond = beyond.filter(|beyond| beyond.at_bump_mm == 0.0);
    if mended.is_none() && at_design_beyond.is_none() {
        return None; // what runs out over the travel is told where the driveline is judged
    }
    let show = |mm: f64| geometry.units.show(mm);
    let much = if is_much { format!(", and {MUCH_DEG} deg is much") } else { String::new() };
    let allowed = beyond.map_or(much, |Beyond { joint, at_bump_mm, deg, limit_deg }| {
        let at = match at_bump_mm {
            0.0 => String::new(),
            mm => format!(" at {} of {}", show(mm.abs()), if mm < 0.0 { "droop" } else { "bump" }),
        };
        match limit_deg {
            Some(limit_deg) => {
                format!(", its {joint} joint turns {deg:.1} deg{at}, and the file allows {limit_deg:.1} deg")
            }
            None => format!(", and {MUCH_DEG} deg is much for a joint without `{joint}_limit` in the file"),
        }
    });
    let drawn = format!("the shaft is bent by {drawn_deg:.1} deg at design{allowed}");
    // The angle is of the joint that was put back.
    let why = if outer_was_off { format!("with the outer joint put back {drawn}") } else { drawn };
    let Some(Mended { source, axis, slip, meant, corner: mended }) = mended else {
        let sentence = Sentence::of_side("halfshaft", side, &format!(": {why}; measure both its joints again."));
        return Some(Doubt::new(Some(side), "halfshaft", None, sentence));
    };
    let name = Writing::name(corner, JOINT, source);
    let [from, to] = [writing.numbers_of(corner, JOINT, source), meant].map(|numbers| numbers[axis.index()]);
    let as_written = if outer_was_off { "" } else { "as written " };
    let rest = format!(": {}; {as_written}{why}.", slip.told_of(axis, [from, to]));
    let sentence = match source {
        Source::Own => Sentence::of_side(&name, side, &rest),
        Source::Housing | Source::Flange => format!("{name}{rest}").into(),
    };
    put(geometry, mended, source);
    Some(Doubt::new(Some(side), name, Some(format!("{to:?}")), sentence))
}

const JOINT: CornerPoint = CornerPoint::HalfshaftInner;

/// The larger angle of the two joints at design, deg; `None` without a shaft, or where nothing moves.
pub(super) fn bent_deg(corner: &Corner) -> Option<f64> {
    let measures = shaft(corner, &Linkage::new(corner).design().ok()?)?;
    Some(measures.inner_angle_deg.max(measures.outer_angle_deg))
}

/// A joint that turns too far.
#[derive(Debug, Clone, Copy)]
struct Beyond {
    joint: &'static str,
    at_bump_mm: f64,
    deg: f64,
    /// What the file allows.
    limit_deg: Option<f64>,
}

/// The first of design, full droop and full bump where a joint turns too far; what a wheel does not reach is left out.
fn beyond_limit(corner: &Corner, travel: &Travel) -> Option<Beyond> {
    let halfshaft = corner.halfshaft.as_ref()?;
    let limits = [("inner", halfshaft.inner_limit_deg), ("outer", halfshaft.outer_limit_deg)];
    let rows_mm = [-travel.droop_mm, 0.0, travel.bump_mm];
    let path = WheelPath::follow(&Linkage::new(corner), &rows_mm).ok()?;
    [0.0, -travel.droop_mm, travel.bump_mm].into_iter().find_map(|at_bump_mm| {
        let measures = shaft(corner, &path.at(at_bump_mm)?)?;
        let angles_deg = [measures.inner_angle_deg, measures.outer_angle_deg];
        limits.into_iter().zip(angles_deg).find_map(|((joint, limit_deg), deg)| {
            let much_deg = (at_bump_mm == 0.0).then_some(MUCH_DEG);
            let most_deg = limit_deg.or(much_deg)?;
            (deg > most_deg).then_some(Beyond { joint, at_bump_mm, deg, limit_deg })
        })
    })
}

/// A corner with one number of its inner joint as it was probably meant.
struct Mended {
    source: Source,
    axis: Axis,
    slip: Slip,
    meant: [f64; 3],
    corner: Corner,
}

/// The commonest slip in one number of the inner joint without which the shaft is straight and turns as far as it may.
fn straight(corner: &Corner, around: Around, most_deg: f64, travel: &Travel, writing: &Writing) -> Option<Mended> {
    let before = count_odd(corner, around);
    let across = [Axis::X, Axis::Z];
    let numbers = writing.sources(JOINT).iter().flat_map(|&source| across.map(|axis| (source, axis)));
    let guesses = numbers.flat_map(|(source, axis)| {
        let number = writing.numbers_of(corner, JOINT, source)[axis.index()];
        let all = meant(number, writing.units).into_iter().chain(hundred_off(number, writing.units));
        all.map(move |(slip, number)| (source, axis, slip, number))
    });
    let fits = guesses.filter_map(|(source, axis, slip, number)| {
        let mut meant = writing.numbers_of(corner, JOINT, source);
        meant[axis.index()] = number;
        let mended = writing.reread_of(corner, JOINT, source, meant);
        let bent_deg = bent_deg(&mended)?;
        let is_straight =
            bent_deg < most_deg && beyond_limit(&mended, travel).is_none() && count_odd(&mended, around) <= before;
        is_straight.then_some(((slip.rarity(), bent_deg), Mended { source, axis, slip, meant, corner: mended }))
    });
    fits.min_by(|(a, _), (b, _)| a.partial_cmp(b).unwrap_or(Ordering::Equal)).map(|(_, mended)| mended)
}
