//! One number of a side that is finer than all others: its decimal point was shifted, or it was turned from another unit.
//!
//! A builder reads one tape to one fineness. A bracket at 24.72 mm among twenty-nine numbers of at most one decimal is 247.2.

use super::oddities::{Around, count_odd};
use super::written::Writing;
use super::{Doubt, Sentence, is_in};
use crate::geometry::slips::{Slip, as_typed, meant};
use crate::geometry::{Axis, Corner, CornerPoint, End, Geometry, LengthUnit, Side, SpringMount};

/// So many numbers show how finely a builder reads.
const LEAST_NUMBERS: usize = 20;
/// What a slip moves by less is no gross mistake, mm.
const GROSS_MM: f64 = 60.0;
/// Tapes and rules are read no finer than to a tenth.
const READ_TO: usize = 1;

/// The one number of a point that is finer than every other of its side, as it was probably meant.
pub(super) fn mend(geometry: &mut Geometry, side: Side) -> Option<Doubt> {
    let (writing, around) = (Writing::of(geometry), Around::of(geometry, side));
    if geometry.tuned || writing.units != LengthUnit::Millimetre {
        return None; // tuning and inches make digits of their own
    }
    let corner = geometry.corner(side);
    // Wheel centre and outer joint are often calculated, for they lie on one line; a spring's eye may lie on that of its link, and a
    // final drive gives the inner joint.
    let is_measured = |point: CornerPoint| match point {
        CornerPoint::WheelCentre | CornerPoint::HalfshaftOuter => false,
        CornerPoint::Pickup(pickup) => pickup.end == End::Upright || around.placed[pickup.link],
        CornerPoint::SpringMount => corner.spring.as_ref().is_some_and(|spring| spring.on == SpringMount::Upright),
        CornerPoint::HalfshaftInner => geometry.final_drive.is_none(),
        CornerPoint::SpringChassis => true,
    };
    let points = corner.points().into_iter().map(|(point, _)| point).filter(|point| is_measured(*point));
    let numbers = points.flat_map(|point| {
        let written = writing.numbers(corner, point);
        Axis::ALL.into_iter().map(move |axis| (point, axis, written[axis.index()]))
    });
    let numbers: Vec<(CornerPoint, Axis, f64)> = numbers.collect();
    let mut finer = numbers.iter().filter(|(.., number)| decimals(*number) > READ_TO);
    let &(point, axis, written) = finer.next().filter(|_| finer.next().is_none() && numbers.len() >= LEAST_NUMBERS)?;
    // Quarters, and halves of halves, are calculated: half a tube, a quarter of an inch.
    let is_calculated = (20.0 * written).fract() == 0.0;
    if is_calculated {
        return None;
    }
    let before = count_odd(corner, around);
    let is_meant = |slip: Slip, number: f64| {
        let is_unit = matches!(slip, Slip::PointShifted if decimals(written) == READ_TO + 1)
            || matches!(slip, Slip::InInches if decimals(written) > READ_TO + 1);
        is_unit && is_in((number - written).abs(), [GROSS_MM, f64::INFINITY]) && decimals(number) <= READ_TO
    };
    let all = meant(written, writing.units).into_iter().filter(|&(slip, number)| is_meant(slip, number));
    let guesses = all.filter_map(|(slip, number)| {
        let mut numbers = writing.numbers(corner, point);
        numbers[axis.index()] = number;
        let mended = writing.reread(corner, point, numbers);
        (count_odd(&mended, around) <= before).then_some((slip, number, mended))
    });
    let (slip, number, mended) = guesses.into_iter().next()?;
    let doubt = doubt(corner, point, (axis, written, number), slip);
    *geometry.corner_mut(side) = mended;
    Some(doubt)
}

fn doubt(corner: &Corner, point: CornerPoint, (axis, written, meant): (Axis, f64, f64), slip: Slip) -> Doubt {
    let (about, side) = (corner.name_of(point), corner.side);
    let told = slip.told_of(axis, [written, meant]);
    let rest = format!(": {told}; as written it is finer than every other number that was measured.");
    let sentence = Sentence::of_side(&about, side, &rest);
    Doubt::new(Some(side), about, Some(format!("{meant:?}")), sentence).naming(point.link())
}

/// Digits behind the point.
pub(super) fn decimals(number: f64) -> usize {
    as_typed(number).to_string().split_once('.').map_or(0, |(_, behind)| behind.len())
}
