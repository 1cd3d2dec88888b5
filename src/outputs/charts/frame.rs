//! The look that all charts share: axes with round numbers, limit lines, labels at curve ends.

use super::labels::{Area, LabelPlacer, spread, width_of};
use super::scale::Scale;
use super::sheet::{Anchor, PenError, Sheet, TextStyle};
use super::stroke::{SheetPoint, Stroke};

/// Width and height of a chart on the page.
pub const CHART: (u32, u32) = (900, 660);
/// Where the axes of a chart with one panel stand.
pub const PANEL: Area = Area { left: 92.0, top: 100.0, right: 872.0, bottom: 536.0 };
/// And those of a chart with two panels beside each other.
pub const LEFT_PANEL: Area = Area { right: 448.0, ..PANEL };
pub const RIGHT_PANEL: Area = Area { left: 556.0, ..PANEL };
/// Half the height of the bar of a limit that holds at one travel.
const LIMIT_BAR: f64 = 16.0;
/// Height of a row of labels, and the room beside a word.
const ROW: f64 = 17.0;
const BESIDE: f64 = 10.0;

/// A limit or a mark that goes across the whole chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    pub value: f64,
    pub label: String,
}

/// Axes on a sheet, and what is drawn between them.
pub struct Frame<'s, 'b> {
    sheet: &'s Sheet<'b>,
    area: Area,
    across: Scale,
    up: Scale,
    taken: LabelPlacer,
}

impl<'s, 'b> Frame<'s, 'b> {
    /// Draws grid, numbers and titles of both axes.
    pub fn new(
        sheet: &'s Sheet<'b>,
        area: Area,
        (across, across_title): (Scale, &str),
        (up, up_title): (Scale, &str),
    ) -> Result<Self, PenError> {
        let frame = Self { sheet, area, across, up, taken: LabelPlacer::default() };
        frame.grid()?;
        let Area { left, top, right, bottom } = area;
        let corners = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)];
        sheet.line(&corners, Stroke::THIN)?;
        let (x, y) = area.middle();
        sheet.words(across_title, (x, bottom + 39.0), TextStyle::PLAIN.anchored(Anchor::Middle))?;
        sheet.words(up_title, (left - 66.0, y), TextStyle::PLAIN.anchored(Anchor::Middle).upwards())?;
        Ok(frame)
    }

    fn grid(&self) -> Result<(), PenError> {
        let Area { left, top, right, bottom } = self.area;
        for &tick in &self.across.ticks {
            let x = self.x(tick);
            self.sheet.line(&[(x, top), (x, bottom)], Stroke::GRID)?;
            self.sheet.line(&[(x, bottom), (x, bottom + 5.0)], Stroke::THIN)?;
            let letters = TextStyle::PLAIN.anchored(Anchor::Middle);
            self.sheet.words(&self.across.label(tick), (x, bottom + 16.0), letters)?;
        }
        for &tick in &self.up.ticks {
            let y = self.y(tick);
            self.sheet.line(&[(left, y), (right, y)], Stroke::GRID)?;
            self.sheet.line(&[(left - 5.0, y), (left, y)], Stroke::THIN)?;
            self.sheet.words(&self.up.label(tick), (left - 9.0, y), TextStyle::PLAIN.anchored(Anchor::End))?;
        }
        Ok(())
    }

    fn x(&self, value: f64) -> f64 {
        self.area.left + self.across.share(value) * self.area.width()
    }

    fn y(&self, value: f64) -> f64 {
        self.area.bottom - self.up.share(value) * self.area.height()
    }

    fn place(&self, (across, up): (f64, f64)) -> SheetPoint {
        (self.x(across), self.y(up))
    }

    /// A thin line across the chart at a value of the horizontal axis.
    pub fn baseline_at(&self, across: f64) -> Result<(), PenError> {
        let x = self.x(across);
        self.sheet.line(&[(x, self.area.top), (x, self.area.bottom)], Stroke::BASELINE)
    }

    /// A thin line across the chart at a value of the vertical axis.
    pub fn baseline_up(&self, up: f64) -> Result<(), PenError> {
        let y = self.y(up);
        self.sheet.line(&[(self.area.left, y), (self.area.right, y)], Stroke::BASELINE)
    }

    /// A curve; it is broken where a value is missing, and a value that stands alone is a dot.
    pub fn curve(&mut self, points: &[Option<(f64, f64)>], stroke: Stroke) -> Result<(), PenError> {
        for part in points.split(Option::is_none).filter(|part| !part.is_empty()) {
            let path: Vec<SheetPoint> = part.iter().flatten().map(|&point| self.place(point)).collect();
            self.taken.add_path(&path);
            match path[..] {
                [only] => self.sheet.circle(only, 3.5, Stroke { dash: &[], ..stroke }, true)?,
                _ => self.sheet.line(&path, stroke)?,
            }
        }
        Ok(())
    }

    /// A grey region with a thin edge; what is drawn later lies on it.
    pub fn region(&self, outline: &[(f64, f64)], level: u8) -> Result<(), PenError> {
        let mut outline: Vec<SheetPoint> = outline.iter().map(|&point| self.place(point)).collect();
        self.sheet.region(&outline, level)?;
        outline.extend(outline.first().copied());
        self.sheet.line(&outline, Stroke::EDGE)
    }

    /// Limits as upright lines with their labels alongside.
    pub fn limits_across(&mut self, limits: &[Limit]) -> Result<(), PenError> {
        let Area { top, bottom, .. } = self.area;
        for limit in limits {
            let x = self.x(limit.value);
            self.sheet.line(&[(x, top), (x, bottom)], Stroke::LIMIT)?;
            self.taken.add_path(&[(x, top), (x, bottom)]);
        }
        for limit in limits {
            let (x, long) = (self.x(limit.value), width_of(&limit.label, TextStyle::PLAIN) + BESIDE);
            let outward = if x < self.area.middle().0 { -1.0 } else { 1.0 };
            let room = self.area.height() - long;
            let places = [outward, -outward].into_iter().flat_map(|side| {
                [0.97, 0.03, 0.85, 0.15, 0.7, 0.3, 0.5]
                    .map(|share| Area::around((x + side * 11.0, top + long / 2.0 + share * room), ROW, long))
            });
            let letters = TextStyle::PLAIN.anchored(Anchor::Middle).upwards();
            self.taken.write(self.sheet, &limit.label, letters, places, &self.area)?;
        }
        Ok(())
    }

    /// Limits that hold at one value of the vertical axis alone, as short upright bars there.
    pub fn limits_at(&mut self, up: f64, limits: &[Limit]) -> Result<(), PenError> {
        let y = self.y(up);
        for limit in limits {
            let x = self.x(limit.value);
            let bar = [(x, y - LIMIT_BAR), (x, y + LIMIT_BAR)];
            self.sheet.line(&bar, Stroke::LIMIT_BAR)?;
            self.taken.add_path(&bar);
        }
        for limit in limits {
            let (x, long) = (self.x(limit.value), width_of(&limit.label, TextStyle::PLAIN) + BESIDE);
            let outward = if x < self.area.middle().0 { -1.0 } else { 1.0 };
            let places = [-1.0, 1.0].into_iter().flat_map(|down| {
                [0.0, outward, -outward].map(|aside| {
                    Area::around((x + aside * long / 2.0, y + down * (LIMIT_BAR + ROW / 2.0 + 1.0)), long, ROW)
                })
            });
            let letters = TextStyle::PLAIN.anchored(Anchor::Middle);
            self.taken.write(self.sheet, &limit.label, letters, places, &self.area)?;
        }
        Ok(())
    }

    /// Limits as level lines with their labels alongside.
    pub fn limits_up(&mut self, limits: &[Limit]) -> Result<(), PenError> {
        let Area { left, right, .. } = self.area;
        for limit in limits {
            let y = self.y(limit.value);
            self.sheet.line(&[(left, y), (right, y)], Stroke::LIMIT)?;
            self.taken.add_path(&[(left, y), (right, y)]);
        }
        for limit in limits {
            let (y, long) = (self.y(limit.value), width_of(&limit.label, TextStyle::PLAIN) + BESIDE);
            let outward = if y < self.area.middle().1 { -1.0 } else { 1.0 };
            let room = self.area.width() - long;
            let places = [outward, -outward].into_iter().flat_map(|side| {
                [0.02, 0.98, 0.15, 0.85, 0.3, 0.7, 0.5]
                    .map(|share| Area::around((left + long / 2.0 + share * room, y + side * 11.0), long, ROW))
            });
            self.taken.write(
                self.sheet,
                &limit.label,
                TextStyle::PLAIN.anchored(Anchor::Middle),
                places,
                &self.area,
            )?;
        }
        Ok(())
    }

    /// A ring round a point with words beside it.
    pub fn mark(&mut self, at: (f64, f64), words: &str) -> Result<(), PenError> {
        let (x, y) = self.place(at);
        self.sheet.circle((x, y), 4.5, Stroke { width: 1.6, ..Stroke::CURVE }, false)?;
        self.taken.add_area(Area::around((x, y), 10.0, 10.0));
        let letters = TextStyle::PLAIN.bold().anchored(Anchor::Middle);
        let long = width_of(words, letters) + BESIDE;
        let aside = long / 2.0 + 9.0;
        let offsets = [12.0, 0.0, -12.0, 24.0, -24.0, 44.0, -44.0]
            .into_iter()
            .flat_map(|down| [(aside, down), (-aside, down)])
            .chain([18.0, -18.0, 30.0, -30.0, 48.0, -48.0].into_iter().flat_map(|down| {
                let half = long / 2.0 - 6.0;
                [(0.0, down), (half, down), (-half, down)]
            }));
        let places = offsets.map(|(right, down)| Area::around((x + right, y + down), long, ROW));
        let written = self.taken.write(self.sheet, words, letters, places, &self.area)?;
        match written.map(|area| area.nearest((x, y))) {
            Some(edge) if (edge.1 - y).abs() > ROW => {
                self.sheet.line(&[(x, y + 4.5_f64.copysign(edge.1 - y)), edge], Stroke::LEADER)
            }
            _ => Ok(()),
        }
    }

    /// Names of curves in a row above the axes, each led to the upper end of its curve.
    pub fn names_above(&self, curves: &[(String, Option<(f64, f64)>)]) -> Result<(), PenError> {
        let ends: Vec<(&str, SheetPoint)> = self.ends(curves);
        let wanted: Vec<(f64, f64)> =
            ends.iter().map(|(name, end)| (end.0, width_of(name, TextStyle::PLAIN.bold()) + BESIDE)).collect();
        let middles = spread(&wanted, self.area.left, self.area.right);
        for ((name, end), x) in ends.iter().zip(middles) {
            self.sheet.line(&[*end, (x, self.area.top - 4.0)], Stroke::LEADER)?;
            let letters = TextStyle::PLAIN.bold().anchored(Anchor::Middle);
            self.sheet.words(name, (x, self.area.top - 12.0), letters)?;
        }
        Ok(())
    }

    /// Names of curves in a column to the right of the axes, each led to the right end of its curve.
    pub fn names_beside(&self, curves: &[(String, Option<(f64, f64)>)]) -> Result<(), PenError> {
        let ends = self.ends(curves);
        let wanted: Vec<(f64, f64)> = ends.iter().map(|(_, end)| (end.1, ROW)).collect();
        let middles = spread(&wanted, self.area.top, self.area.bottom);
        for ((name, end), y) in ends.iter().zip(middles) {
            self.sheet.line(&[*end, (self.area.right + 6.0, y)], Stroke::LEADER)?;
            self.sheet.words(name, (self.area.right + 9.0, y), TextStyle::PLAIN.bold())?;
        }
        Ok(())
    }

    fn ends<'c>(&self, curves: &'c [(String, Option<(f64, f64)>)]) -> Vec<(&'c str, SheetPoint)> {
        curves.iter().filter_map(|(name, end)| Some((name.as_str(), self.place((*end)?)))).collect()
    }
}
