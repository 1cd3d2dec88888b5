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

impl LengthUnit {
    /// Millimetres in one of this unit (the inch is 25.4 mm exactly).
    pub fn in_mm(self) -> f64 {
        match self {
            LengthUnit::Millimetre => 1.0,
            LengthUnit::Inch => 25.4,
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
