//! A table under a view: the links by number with their pickups and lengths.

use nalgebra::Point3;

use super::context::ChartContext;
use super::labels::broken;
use super::sheet::{Anchor, PenError, Sheet, TextStyle};
use super::stroke::SheetPoint;
use crate::geometry::Corner;
use crate::present::words::sentence_start;

const LINE: f64 = 13.0;
/// Heads and right ends of the columns of numbers, as shares of the width of a table, and room for a name in letters.
const COLUMNS: [(&str, f64); 7] =
    [("chassis x", 0.37), ("y", 0.47), ("z", 0.57), ("upright x", 0.69), ("y", 0.79), ("z", 0.89), ("length", 1.0)];
const NAME_LETTERS: usize = 20;
/// Height of a table.
pub const HEIGHT: f64 = 6.0 * LINE;

/// The links of each wheel shown, a table beside the other.
pub struct PointTable<'c, 's> {
    pub context: &'c ChartContext<'s>,
    pub corners: &'c [&'s Corner],
}

impl PointTable<'_, '_> {
    /// With its upper left corner at a place; coordinates are those of the file's axes.
    pub fn write(&self, sheet: &Sheet, (left, top): SheetPoint, width: f64) -> Result<(), PenError> {
        let share = width / self.corners.len().max(1) as f64;
        for (k, corner) in self.corners.iter().enumerate() {
            self.wheel(sheet, corner, (left + share * k as f64, top), share - 24.0)?;
        }
        Ok(())
    }

    fn wheel(&self, sheet: &Sheet, corner: &Corner, (left, top): SheetPoint, width: f64) -> Result<(), PenError> {
        let cell = |words: &str, share: f64, y: f64| {
            sheet.words(words, (left + share * width, y), TextStyle::SMALL.anchored(Anchor::End))
        };
        let unit = self.context.unit_name();
        sheet.words(&format!("{}, {unit}", sentence_start(corner.side.name())), (left, top), TextStyle::SMALL)?;
        COLUMNS.into_iter().try_for_each(|(head, share)| cell(head, share, top))?;
        let number = |mm: f64| self.context.lengths().number(mm);
        for (k, link) in corner.links.iter().enumerate() {
            let y = top + LINE * (k + 1) as f64;
            let name = broken(&link.name, NAME_LETTERS, 1);
            let name = format!("{} {}", k + 1, name.first().map_or("", |line| line));
            sheet.words(&name, (left, y), TextStyle::SMALL)?;
            let in_car = |point: Point3<f64>| -> [f64; 3] { corner.side.to_car(point).into() };
            let points = in_car(link.chassis).into_iter().chain(in_car(link.upright));
            for ((_, share), mm) in COLUMNS.into_iter().zip(points.chain([link.length_mm()])) {
                cell(&number(mm), share, y)?;
            }
        }
        Ok(())
    }
}
