//! The unit of length of a file.

/// The unit of length a file is written in. Numbers are millimetres once read; this is kept so that what is
/// written for people follows the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LengthUnit {
    /// `mm`.
    Millimetre,
    /// `in`.
    Inch,
}

/// A length in inches is told to this part of a millimetre: below any digit of a file, and above rounding at 2 m.
const PARTS_OF_MM: f64 = 1e12;

impl LengthUnit {
    /// Millimetres in one of this unit (the inch is 25.4 mm exactly).
    pub fn in_mm(self) -> f64 {
        match self {
            LengthUnit::Millimetre => 1.0,
            LengthUnit::Inch => 25.4,
        }
    }

    /// A length in this unit in mm, the number nearest to what stands there: 1.75 in are 44.45 mm and no digit less, so that a
    /// height read at a stop is at the stop.
    ///
    /// Tested by `an_inch_is_the_millimetres_that_a_hand_finds`.
    pub fn to_mm(self, length: f64) -> f64 {
        match self {
            LengthUnit::Millimetre => length,
            LengthUnit::Inch => (length * self.in_mm() * PARTS_OF_MM).round() / PARTS_OF_MM,
        }
    }

    /// As files and people write it.
    pub fn symbol(self) -> &'static str {
        match self {
            LengthUnit::Millimetre => "mm",
            LengthUnit::Inch => "in",
        }
    }

    /// A length in this unit with its unit, to 0.1 mm or 0.001 in, as people read it.
    pub fn show(self, mm: f64) -> String {
        let decimals = match self {
            LengthUnit::Millimetre => 1,
            LengthUnit::Inch => 3,
        };
        format!("{:.decimals$} {}", mm / self.in_mm(), self.symbol())
    }
}

#[cfg(test)]
mod tests {
    use super::LengthUnit;

    /// By hand: 1.75 x 25.4 = 44.45 and so on; the nearest number that there is of each.
    #[test]
    fn an_inch_is_the_millimetres_that_a_hand_finds() {
        let by_hand = [
            (1.75, 44.45),
            (0.75, 19.05),
            (0.875, 22.225),
            (1.5, 38.1),
            (2.125, 53.975),
            (2.375, 60.325),
            (3.0, 76.2),
            (-1.75, -44.45),
            (0.04167, 1.058418),
            (12.66794, 321.765676),
            (31.9375, 811.2125),
        ];
        for (inches, mm) in by_hand {
            assert_eq!(LengthUnit::Inch.to_mm(inches), mm, "{inches} in");
        }
        assert_eq!(LengthUnit::Millimetre.to_mm(44.449_999_999_999_996), 44.449_999_999_999_996);
        assert!(LengthUnit::Inch.to_mm(f64::NAN).is_nan());
    }
}
