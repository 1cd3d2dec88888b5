//! What a hand makes of a number between the tape and the file.

use super::axis::Axis;
use super::units::LengthUnit;

/// One way in which a number goes wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Slip {
    SignTurned,
    DigitsSwapped,
    OneDigit,
    PointShifted,
    /// The number is in inches, the file in mm.
    InInches,
    /// The number is in mm, the file in inches.
    InMillimetres,
    /// As a car's data sheet has it.
    InCentimetres,
    InMetres,
    /// A mass, and the file's is in kg.
    InPounds,
    /// The point is counted from the hub, and the file counts from the car's datum.
    InHubAxes,
    /// The other way round.
    InCarAxes,
    /// Two coordinates of one point stand in each other's place.
    Exchanged([Axis; 2]),
    /// Two points of one kind, or both ends of a part, stand in each other's place.
    OfOtherPoint,
    /// A tape was held at its 100 mm mark, or read from the hundred beside.
    HundredOff,
    /// A wheel that stands on z = 0, its centre at another height than its tyre's radius.
    OffTheRoad,
}

impl Slip {
    /// Why the number that was meant is another one.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Slip::SignTurned => "the sign is turned",
            Slip::DigitsSwapped => "two digits are swapped",
            Slip::OneDigit => "one digit is another",
            Slip::PointShifted => "the decimal point is shifted",
            Slip::InInches => "it is in inches, and the file in mm",
            Slip::InMillimetres => "it is in mm, and the file in inches",
            Slip::InCentimetres => "it is in cm",
            Slip::InMetres => "it is in metres",
            Slip::InPounds => "it is in lb",
            Slip::InHubAxes => "it is counted from the hub, and the file in car axes",
            Slip::InCarAxes => "it is in car axes, and the file counts from the hub",
            Slip::Exchanged([Axis::X, Axis::Y]) => "x and y are exchanged",
            Slip::Exchanged([Axis::Y, Axis::Z]) => "y and z are exchanged",
            Slip::Exchanged(_) => "x and z are exchanged",
            Slip::OfOtherPoint => "the two are probably in each other's place",
            Slip::HundredOff => "100 mm off, as a tape held at its 100 mm mark reads",
            Slip::OffTheRoad => "its tyre then stands on z = 0",
        }
    }

    /// One number of a point with what was meant by it, both in the unit of the file: `x = 52.0 is probably 25.0: two digits are
    /// swapped`.
    pub(crate) fn told_of(self, axis: Axis, [written, meant]: [f64; 2]) -> String {
        format!("{} = {written:?} is probably {meant:?}: {}", axis.name(), self.words())
    }

    /// The same of a point, of which one number changes or all three.
    pub(crate) fn told_of_point(self, axis: Option<Axis>, [written, meant]: [[f64; 3]; 2]) -> String {
        match axis {
            Some(axis) => self.told_of(axis, [written, meant].map(|numbers| numbers[axis.index()])),
            None => format!("{written:?} is probably {meant:?}: {}", self.words()),
        }
    }

    /// True when it makes a number larger or smaller as a whole, and leaves its digits.
    pub(crate) fn is_of_size(self) -> bool {
        use Slip::{InCentimetres, InInches, InMetres, InMillimetres, PointShifted};
        matches!(self, InCentimetres | InInches | InMetres | InMillimetres | PointShifted)
    }

    /// Of slips that explain as much the less rare one is likelier: what fits many points explains little.
    pub(crate) fn rarity(self) -> u8 {
        match self {
            Slip::HundredOff | Slip::OneDigit => 2,
            Slip::OfOtherPoint | Slip::Exchanged(_) | Slip::PointShifted => 1,
            _ => 0,
        }
    }
}

/// The other unit of length, and the factor that turns a number in it into one of the file's unit.
pub(crate) fn other_unit(units: LengthUnit) -> (Slip, f64) {
    let inch_mm = LengthUnit::Inch.in_mm();
    match units {
        LengthUnit::Millimetre => (Slip::InInches, inch_mm),
        LengthUnit::Inch => (Slip::InMillimetres, 1.0 / inch_mm),
    }
}

/// Nobody means a coordinate that is less than this and not 0, mm: a smaller number is only near to any number.
const LEAST_MM: f64 = 1.0;

/// What may have been meant by a length of the file, in the file's unit, if one slip was made.
pub(crate) fn meant(written: f64, units: LengthUnit) -> Vec<(Slip, f64)> {
    let (unit_slip, factor) = other_unit(units);
    let mut meant = vec![
        (Slip::SignTurned, -written),
        (unit_slip, as_measured(written * factor, units)),
        (Slip::PointShifted, as_typed(written * 10.0)),
        (Slip::PointShifted, as_typed(written / 10.0)),
    ];
    meant.extend(swapped(written).into_iter().map(|number| (Slip::DigitsSwapped, number)));
    meant.retain(|&(_, number)| number != written && units.to_mm(number.abs()) >= LEAST_MM);
    meant
}

/// What may have been meant by a length of the whole car, the likeliest first: data sheets give it in cm or metres.
pub(crate) fn meant_of_car(written: f64, units: LengthUnit) -> Vec<(Slip, f64)> {
    let in_unit = |(slip, factor): (Slip, f64)| (slip, as_measured(written * factor, units));
    let sheet =
        [(Slip::InMetres, 1000.0 / units.in_mm()), (Slip::InCentimetres, 10.0 / units.in_mm()), other_unit(units)];
    sheet.map(in_unit).into_iter().chain(meant(written, units)).collect()
}

/// A length of a file in mm with a hundred more or less.
pub(crate) fn hundred_off(written: f64, units: LengthUnit) -> Vec<(Slip, f64)> {
    match units {
        LengthUnit::Millimetre => [100.0, -100.0].map(|mm| (Slip::HundredOff, as_typed(written + mm))).to_vec(),
        LengthUnit::Inch => Vec::new(),
    }
}

/// The three numbers of a point with two of them in each other's place, each way once.
fn exchanged(written: [f64; 3]) -> impl Iterator<Item = (Slip, [f64; 3])> {
    let pairs = [[Axis::X, Axis::Y], [Axis::Y, Axis::Z], [Axis::X, Axis::Z]];
    pairs.into_iter().map(move |[a, b]| {
        let mut numbers = written;
        numbers.swap(a.index(), b.index());
        (Slip::Exchanged([a, b]), numbers)
    })
}

/// The three numbers of a point after every slip in one of them, in the unit of all three, or with two of them exchanged; with
/// the axis where only one number changes.
pub(crate) fn of_point(written: [f64; 3], units: LengthUnit) -> impl Iterator<Item = (Option<Axis>, Slip, [f64; 3])> {
    let one = Axis::ALL.into_iter().flat_map(move |axis| {
        let number = written[axis.index()];
        let all = meant(number, units).into_iter().chain(hundred_off(number, units));
        all.map(move |(slip, number)| {
            let mut numbers = written;
            numbers[axis.index()] = number;
            (Some(axis), slip, numbers)
        })
    });
    let (slip, factor) = other_unit(units);
    let all = (None, slip, written.map(|number| as_measured(number * factor, units)));
    let turned = exchanged(written).map(|(slip, numbers)| (None, slip, numbers));
    one.chain([all]).chain(turned)
}

/// The number, in the file's unit, that one slip makes of `written` and that `fits`; the nearest of several.
pub(crate) fn one_slip(written: f64, units: LengthUnit, fits: impl Fn(f64) -> bool) -> Option<(Slip, f64)> {
    let fitting = meant(written, units).into_iter().filter(|&(_, number)| fits(number));
    fitting.min_by(|(_, a), (_, b)| (a - written).abs().total_cmp(&(b - written).abs()))
}

/// What a radius was meant to be that puts its tyre on z = 0, where `on_floor` does, and why; all in the file's unit. One other digit
/// only where nothing else does.
pub(crate) fn radius_on_floor(
    written: f64,
    on_floor: f64,
    units: LengthUnit,
    fits: impl Fn(f64) -> bool,
) -> Option<(Option<Slip>, f64)> {
    const ON_FLOOR_MM: f64 = 1.0;
    let off_mm = |number: f64| units.to_mm((number - on_floor).abs());
    let nearest = |all: Vec<(Option<Slip>, f64)>| {
        let on_floor = all.into_iter().filter(|&(_, number)| off_mm(number) < ON_FLOOR_MM && fits(number));
        on_floor.min_by(|(_, a), (_, b)| off_mm(*a).total_cmp(&off_mm(*b)))
    };
    let slips = meant_of_car(written, units).into_iter().map(|(slip, number)| (Some(slip), number));
    let digits = one_digit(written).into_iter().map(|number| (Some(Slip::OneDigit), number));
    nearest([(None, as_typed(0.5 * written))].into_iter().chain(slips).collect()).or_else(|| nearest(digits.collect()))
}

/// What a radius is that is twice the one that was meant.
pub(crate) const IS_DIAMETER: &str = "that is the diameter";

/// Every number that differs from `written` by two neighbouring digits; the point stays where it is.
fn swapped(written: f64) -> Vec<f64> {
    let text = as_typed(written).to_string().into_bytes();
    let digits: Vec<usize> = (0..text.len()).filter(|&at| text[at].is_ascii_digit()).collect();
    let with_swap = |pair: &[usize]| {
        let mut other = text.clone();
        other.swap(pair[0], pair[1]);
        // Nobody types a zero before the first digit.
        let begins_with_zero = pair[0] == digits[0] && other[pair[0]] == b'0' && pair[1] == pair[0] + 1;
        if begins_with_zero { None } else { std::str::from_utf8(&other).ok()?.parse().ok() }
    };
    digits.windows(2).filter_map(with_swap).collect()
}

/// Every number that differs from `written` by one digit, which is most of those near it: only a sharp fact tells which.
pub(crate) fn one_digit(written: f64) -> Vec<f64> {
    let text = as_typed(written).to_string().into_bytes();
    let digits = (0..text.len()).filter(|&at| text[at].is_ascii_digit());
    let with_other = |at: usize, digit: u8| {
        let mut other = text.clone();
        other[at] = digit;
        std::str::from_utf8(&other).ok()?.parse().ok()
    };
    digits
        .flat_map(|at| (b'0'..=b'9').map(move |digit| (at, digit)))
        .filter(|&(at, digit)| text[at] != digit)
        .filter_map(|(at, digit)| with_other(at, digit))
        .collect()
}

/// To a ten-thousandth, finer than any tape: what is left of a unit change or of hub axes is not digits.
pub(crate) fn as_typed(number: f64) -> f64 {
    (number * 1e4).round() / 1e4 + 0.0
}

/// To the tenth of a millimetre, or its thousandth of an inch, that a number in the other unit was measured to at best.
pub(crate) fn as_measured(number: f64, units: LengthUnit) -> f64 {
    let parts = match units {
        LengthUnit::Millimetre => 10.0,
        LengthUnit::Inch => 1e3,
    };
    (number * parts).round() / parts + 0.0
}

#[cfg(test)]
mod tests {
    use super::{Slip, meant, one_slip};
    use crate::geometry::LengthUnit;

    #[test]
    fn a_number_is_read_as_every_slip_would_have_left_it() {
        let of = |slip: Slip| -> Vec<f64> {
            let all = meant(-240.5, LengthUnit::Millimetre).into_iter();
            all.filter(|(made, _)| *made == slip).map(|(_, number)| number).collect()
        };
        assert_eq!(of(Slip::SignTurned), [240.5]);
        assert_eq!(of(Slip::DigitsSwapped), [-420.5, -204.5, -245.0]);
        assert_eq!(of(Slip::PointShifted), [-2405.0, -24.05]);
        assert_eq!(of(Slip::InInches), [-6108.7]);
        assert_eq!(of(Slip::InMillimetres), Vec::<f64>::new());
    }

    #[test]
    fn a_number_that_no_slip_changes_is_none_of_them() {
        let all = meant(0.0, LengthUnit::Inch);
        assert_eq!(all, []);
        // 55 with its fives swapped is 55, and 0416 is typed by nobody.
        let swapped = |written: f64| -> Vec<f64> {
            let all = meant(written, LengthUnit::Millimetre).into_iter();
            all.filter(|(slip, _)| *slip == Slip::DigitsSwapped).map(|(_, number)| number).collect()
        };
        assert_eq!((swapped(55.0), swapped(4016.0)), (vec![], vec![4106.0, 4061.0]));
    }

    #[test]
    fn the_nearest_slip_that_fits_is_taken() {
        let is_tyre = |mm: f64| (150.0..=430.0).contains(&mm);
        assert_eq!(one_slip(11.1, LengthUnit::Millimetre, is_tyre), Some((Slip::InInches, 281.9)));
        assert_eq!(one_slip(900.0, LengthUnit::Millimetre, is_tyre), None);
    }
}
