//! What every sheet says of where it is from.

use crate::outputs::file_list::file_and_hash;

/// What sheets are made from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetSource<'s> {
    /// Of the car.
    pub name: &'s str,
    /// Name of the geometry file.
    pub file: &'s str,
    /// Hash of its text, hexadecimal.
    pub input_sha256: &'s str,
    /// Which car it describes: drawn or measured, and whether `tune` wrote it.
    pub state: &'s str,
    /// How many of its points still have starter numbers, and are nobody's car.
    pub starter_points: usize,
}

impl SheetSource<'_> {
    /// The last line of every sheet: `rear.toml · SHA-256 0123456789ab… · as drawn`.
    pub fn line(&self) -> String {
        format!("{} · {}", file_and_hash(self.file, self.input_sha256), self.state)
    }

    /// Written across every sheet while the car is nobody's.
    pub fn watermark(&self) -> Option<&'static str> {
        (self.starter_points > 0).then_some("STARTER NUMBERS - NOT YOUR CAR")
    }
}
