//! What a suspect reading probably was.

use serde::Serialize;

use super::adjustment::Adjustment;
use crate::geometry::LengthUnit;
use crate::survey::{Reading, ReadingKind, Station};

use super::observation::{Observed, index_of};

/// A guess is made when it comes this near to what the other readings say, in standard deviations.
const NEAR_SDS: f64 = 2.5;
const INCH_MM: f64 = 25.4;

/// A way to misread a tape.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Slip {
    /// Two digits beside each other changed places.
    SwappedDigits,
    /// The tape was held at 100 mm and this was not taken off, or the hundreds were misread.
    Hundred,
    /// A centimetre too many or too few.
    Ten,
    /// A metre too many or too few.
    Thousand,
    /// An inch too many or too few.
    Inch,
    /// A foot too many or too few.
    Foot,
    /// Ten inches too many or too few.
    TenInches,
    /// A mark of a half, a quarter or an eighth of an inch miscounted.
    Fraction,
    /// What the hook adds was left out, or was in the reading already.
    Hook,
    /// It was measured from or to another place.
    OtherPlace,
}

/// A guess at what a reading should have been.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Misreading {
    /// How it went wrong.
    pub slip: Slip,
    /// What the tape would then have shown, mm; the reading itself when it was of another place.
    pub meant_mm: f64,
    /// The place that was meant instead of one of the two ends.
    pub place: Option<String>,
}

struct Guess {
    misreading: Misreading,
    /// What the tape would have shown, less what was read, mm.
    off_mm: f64,
    /// How much less common this slip is than the most common ones, as a square of standard deviations.
    rarity: f64,
}

/// The likeliest of the guesses that fit; `should_be_mm` is what the tape should have shown by the other readings, and `sd_mm` its
/// standard deviation with that of the reading.
pub(super) fn probable(
    adjustment: &Adjustment<'_>,
    reading: &Reading,
    read_mm: f64,
    should_be_mm: f64,
    sd_mm: f64,
) -> Option<Misreading> {
    let mut guesses = slips(adjustment, reading, read_mm);
    guesses.extend(other_places(adjustment, reading, read_mm));
    let miss = |guess: &Guess| ((guess.off_mm + read_mm - should_be_mm) / sd_mm).abs();
    guesses.retain(|guess| miss(guess) <= NEAR_SDS);
    let cost = |guess: &Guess| miss(guess).powi(2) + guess.rarity;
    guesses.into_iter().min_by(|a, b| cost(a).total_cmp(&cost(b))).map(|guess| guess.misreading)
}

/// The same place, read wrongly.
fn slips(adjustment: &Adjustment<'_>, reading: &Reading, read_mm: f64) -> Vec<Guess> {
    let units = adjustment.survey.units;
    let guess = |slip, by_mm: f64, rarity| Guess {
        misreading: Misreading { slip, meant_mm: read_mm + by_mm, place: None },
        off_mm: by_mm,
        rarity,
    };
    let lengths: &[(Slip, f64, f64)] = match units {
        LengthUnit::Millimetre => &[
            (Slip::Hundred, 100.0, 0.0),
            (Slip::Ten, 10.0, 1.0),
            (Slip::Inch, INCH_MM, 3.0),
            (Slip::Thousand, 1000.0, 1.0),
        ],
        LengthUnit::Inch => &[
            (Slip::Inch, INCH_MM, 0.0),
            (Slip::Foot, 12.0 * INCH_MM, 0.0),
            (Slip::TenInches, 10.0 * INCH_MM, 1.0),
            (Slip::Fraction, 0.5 * INCH_MM, 1.0),
            (Slip::Fraction, 0.25 * INCH_MM, 1.0),
            (Slip::Fraction, 0.125 * INCH_MM, 2.0),
        ],
    };
    let both_ways = |&(slip, mm, rarity): &(Slip, f64, f64)| [guess(slip, mm, rarity), guess(slip, -mm, rarity)];
    let mut guesses: Vec<Guess> = lengths.iter().flat_map(both_ways).collect();
    guesses.extend(swapped_mm(read_mm, units).into_iter().map(|mm| guess(Slip::SwappedDigits, mm - read_mm, 1.0)));
    let hook_mm = adjustment.survey.added_mm(reading.kind);
    if hook_mm != 0.0 {
        guesses.extend([guess(Slip::Hook, hook_mm, 0.0), guess(Slip::Hook, -hook_mm, 0.0)]);
    }
    guesses
}

/// A reading with two neighbouring digits changed, each way once, mm: of the number in mm, of the whole inches.
fn swapped_mm(read_mm: f64, units: LengthUnit) -> Vec<f64> {
    let read = read_mm / units.in_mm();
    let (text, rest) = match units {
        LengthUnit::Millimetre => (format!("{:.1}", read.abs()), 0.0),
        LengthUnit::Inch => (format!("{:.0}", read.abs().trunc()), read.abs().fract()),
    };
    let digits: Vec<char> = text.chars().collect();
    let places: Vec<usize> = (0..digits.len()).filter(|&i| digits[i].is_ascii_digit()).collect();
    let swapped = places.windows(2).filter(|pair| digits[pair[0]] != digits[pair[1]]).filter_map(|pair| {
        let mut digits = digits.clone();
        digits.swap(pair[0], pair[1]);
        digits.into_iter().collect::<String>().parse::<f64>().ok()
    });
    swapped.map(|number| units.to_mm(number + rest) * read.signum()).collect()
}

/// The reading as it was, from or to another place than the one named.
fn other_places(adjustment: &Adjustment<'_>, reading: &Reading, read_mm: f64) -> Vec<Guess> {
    let survey = adjustment.survey;
    let ReadingKind::Distance(ends) = reading.kind else { return Vec::new() };
    let datums = (0..survey.datums.len()).map(Station::Datum);
    let all: Vec<Station> = datums.chain((0..survey.points.len()).map(Station::Point)).collect();
    let mut guesses = Vec::new();
    for (kept, named) in [(ends[0], ends[1]), (ends[1], ends[0])] {
        let is_datum = |station: Station| matches!(station, Station::Datum(_));
        let others = all.iter().filter(|&&other| other != kept && other != named && is_datum(other) == is_datum(named));
        for &other in others.filter(|&&other| adjustment.is_determined(index_of(survey, other))) {
            let [from, to] = [kept, other].map(|station| adjustment.place(index_of(survey, station)));
            let fitted_mm = Observed::Distance([0, 1]).value_mm(&[from, to]) - survey.hook_mm;
            let place = Some(survey.name_of(other).to_owned());
            // What the other place leaves of the reading counts as what a slip leaves of it.
            let named_mm = ends.map(|station| adjustment.place(index_of(survey, station)));
            let named_mm = Observed::Distance([0, 1]).value_mm(&named_mm) - survey.hook_mm;
            guesses.push(Guess {
                misreading: Misreading { slip: Slip::OtherPlace, meant_mm: read_mm, place },
                off_mm: named_mm - fitted_mm,
                rarity: 2.0,
            });
        }
    }
    guesses
}

#[cfg(test)]
mod tests {
    use super::swapped_mm;
    use crate::geometry::LengthUnit;

    #[test]
    fn every_pair_of_neighbouring_digits_is_changed_once() {
        assert_eq!(swapped_mm(812.5, LengthUnit::Millimetre), [182.5, 821.5, 815.2]);
        assert_eq!(swapped_mm(-255.0, LengthUnit::Millimetre), [-525.0, -250.5]);
        let inches: Vec<f64> = swapped_mm(31.9375 * 25.4, LengthUnit::Inch).iter().map(|mm| mm / 25.4).collect();
        assert!((inches[0] - 13.9375).abs() < 1e-12 && inches.len() == 1, "{inches:?}");
    }
}
