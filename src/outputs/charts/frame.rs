//! The look that all charts share: axes with round numbers, limit lines, labels at curve ends.

use super::labels::{Area, LabelPlacer, Place, broken, evenly, spread, width_of};
use super::scale::Scale;
use super::sheet::{Anchor, PenError, Sheet, TextStyle};
use super::stroke::{SheetPoint, Stroke};

/// Width and height of a chart on the page, without the words above and below it.
pub const CHART: (u32, f64) = (900, 520.0);
/// Where the axes of a chart with one panel stand.
pub const PANEL: Area = Area { left: 92.0, top: 26.0, right: 872.0, bottom: 462.0 };
/// The sheet of a chart with one panel: its width and height without the words round it, and where its axes stand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paper {
    pub size: (u32, f64),
    pub panel: Area,
    /// That go into a line under the axes.
    letters: usize,
}

impl Paper {
    /// To be printed, or read on a screen as wide.
    pub const WIDE: Self = Self { size: CHART, panel: PANEL, letters: 130 };
    /// So narrow that its letters can be read where it is 366 pixels wide, on a phone.
    pub const NARROW: Self =
        Self { size: (440, 534.0), panel: Area { left: 78.0, top: 26.0, right: 424.0, bottom: 462.0 }, letters: 54 };

    /// The sheet of so many panels, one or two, and where the axes of each stand: beside each other, on a narrow one below each other.
    pub fn of_panels(&self, panels: usize) -> ((u32, f64), Vec<Area>) {
        let (width, height) = self.size;
        match panels {
            1 => (self.size, vec![self.panel]),
            _ if width < CHART.0 => {
                let Area { top, bottom, .. } = self.panel;
                let below = Area { top: top + height, bottom: bottom + height, ..self.panel };
                ((width, 2.0 * height), vec![self.panel, below])
            }
            _ => (self.size, vec![LEFT_PANEL, RIGHT_PANEL]),
        }
    }

    /// A title of an axis in lines that it has room for.
    pub fn broken(&self, title: &str) -> String {
        broken(title, self.letters, 3).join("\n")
    }

    /// As many numbers along an axis across as have room, where the wide sheet has room for so many.
    pub fn marks(&self, on_wide: f64) -> f64 {
        on_wide * self.panel.width() / PANEL.width()
    }
}

/// And those of a chart with two panels beside each other.
pub const LEFT_PANEL: Area = Area { right: 448.0, ..PANEL };
pub const RIGHT_PANEL: Area = Area { left: 556.0, ..PANEL };

/// Where the axes of so many wheels stand, one panel each.
pub fn panels(wheels: usize) -> Vec<Area> {
    if wheels == 1 { vec![PANEL] } else { vec![LEFT_PANEL, RIGHT_PANEL] }
}

/// Half the height of the bar of a limit that holds at one travel.
const LIMIT_BAR: f64 = 16.0;
/// Half the width of the ring round a point.
const RING: f64 = 4.5;
/// Radius of a dot.
const DOT: f64 = 2.6;
/// Places off a limit at design that its name tries before it tries the other end of the bar.
const FAR_PLACES: usize = 200;
/// Height of a row of labels, and the room beside a word.
const ROW: f64 = 17.0;
const BESIDE: f64 = 10.0;
/// Words keep so far off the lines of the axes.
const OFF_AXES: f64 = 5.0;

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
    /// Draws grid, numbers and titles of both axes, that of the horizontal one in as many lines as will go under it.
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
        for (line, down) in across_title.lines().zip(evenly(39.0, 67.0, 14.0)) {
            sheet.words(line, (x, bottom + down), TextStyle::PLAIN.anchored(Anchor::Middle))?;
        }
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

    /// Where words may stand.
    fn inside(&self) -> Area {
        let Area { left, top, right, bottom } = self.area;
        Area { left: left + OFF_AXES, top: top + 1.0, right: right - OFF_AXES, bottom: bottom - 1.0 }
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
    pub fn baseline_at(&mut self, across: f64) -> Result<(), PenError> {
        let x = self.x(across);
        self.line(&[(x, self.area.top), (x, self.area.bottom)], Stroke::BASELINE)
    }

    /// A thin line across the chart at a value of the vertical axis.
    pub fn baseline_up(&mut self, up: f64) -> Result<(), PenError> {
        let y = self.y(up);
        self.line(&[(self.area.left, y), (self.area.right, y)], Stroke::BASELINE)
    }

    /// A line that words keep clear of.
    fn line(&mut self, path: &[SheetPoint], stroke: Stroke) -> Result<(), PenError> {
        self.taken.add_path(path);
        self.sheet.line(path, stroke)
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
    pub fn region(&mut self, outline: &[(f64, f64)], level: u8) -> Result<(), PenError> {
        let mut outline: Vec<SheetPoint> = outline.iter().map(|&point| self.place(point)).collect();
        self.sheet.region(&outline, level)?;
        outline.extend(outline.first().copied());
        self.line(&outline, Stroke::EDGE)
    }

    /// Limits as upright lines.
    pub fn limits_across(&mut self, limits: &[Limit]) -> Result<(), PenError> {
        let Area { top, bottom, .. } = self.area;
        for limit in limits {
            let line = [(self.x(limit.value), top), (self.x(limit.value), bottom)];
            self.line(&line, Stroke::LIMIT)?;
        }
        Ok(())
    }

    /// Limits that hold at one value of the vertical axis alone, as short upright bars there.
    pub fn limits_at(&mut self, up: f64, limits: &[Limit]) -> Result<(), PenError> {
        let y = self.y(up);
        for limit in limits {
            let x = self.x(limit.value);
            let bar = [(x, y - LIMIT_BAR), (x, y + LIMIT_BAR)];
            self.line(&bar, Stroke::LIMIT_BAR)?;
        }
        Ok(())
    }

    /// Limits as level lines.
    pub fn limits_up(&mut self, limits: &[Limit]) -> Result<(), PenError> {
        let Area { left, right, .. } = self.area;
        for limit in limits {
            let line = [(left, self.y(limit.value)), (right, self.y(limit.value))];
            self.line(&line, Stroke::LIMIT)?;
        }
        Ok(())
    }

    /// Names of upright limits, read upwards along their lines where there is room, else level beside them.
    pub fn name_limits_across(&mut self, limits: &[Limit]) -> Result<(), PenError> {
        let Area { top, bottom, .. } = self.area;
        for Limit { value, label } in limits {
            let (x, long) = (self.x(*value), width_of(label, TextStyle::PLAIN) + BESIDE);
            let outward = if x < self.area.middle().0 { -1.0 } else { 1.0 };
            let sides = [outward, -outward];
            let along = |side: f64| {
                evenly(bottom - long / 2.0 - 6.0, top + long / 2.0 + 6.0, ROW)
                    .chain(evenly(top + long / 2.0 + 6.0, bottom - long / 2.0 - 6.0, ROW))
                    .map(move |y| Place::beside((x + side * (ROW / 2.0 + 2.5), y), ROW, long))
            };
            let upwards = TextStyle::PLAIN.anchored(Anchor::Middle).upwards();
            let along: Vec<Place> = sides.into_iter().flat_map(along).collect();
            if self.taken.has_room(&along, &self.inside()) {
                self.taken.write(self.sheet, label, upwards, along, &self.inside())?;
                continue;
            }
            let level = |side: f64| {
                evenly(top + ROW / 2.0, bottom - ROW / 2.0, 5.0)
                    .map(move |y| Place::beside((x + side * (long / 2.0 + 2.5), y), long, ROW))
            };
            let off = Place::anywhere(self.area, long, ROW, (x, (top + bottom) / 2.0))
                .map(|place| Place { leads_to: Some((x, place.area.middle().1)), ..place });
            let letters = TextStyle::PLAIN.anchored(Anchor::Middle);
            let places = sides.into_iter().flat_map(level).chain(off);
            self.taken.write(self.sheet, label, letters, places, &self.inside())?;
        }
        Ok(())
    }

    /// Names of limits that hold at one value of the vertical axis.
    pub fn name_limits_at(&mut self, up: f64, limits: &[Limit]) -> Result<(), PenError> {
        let y = self.y(up);
        for Limit { value, label } in limits {
            let (x, long) = (self.x(*value), width_of(label, TextStyle::PLAIN) + 2.0 * BESIDE);
            let outward = if x < self.area.middle().0 { -1.0 } else { 1.0 };
            let near = [-1.0, 1.0].into_iter().flat_map(|down| {
                [0.0, outward, -outward].map(|aside| {
                    let middle = (x + aside * long / 2.0, y + down * (LIMIT_BAR + ROW / 2.0 + 1.0));
                    Place::beside(middle, long, ROW)
                })
            });
            let off = [-1.0, 1.0]
                .into_iter()
                .flat_map(|down| Place::anywhere(self.area, long, ROW, (x, y + down * LIMIT_BAR)).take(FAR_PLACES));
            let letters = TextStyle::PLAIN.anchored(Anchor::Middle);
            self.taken.write(self.sheet, label, letters, near.chain(off), &self.inside())?;
        }
        Ok(())
    }

    /// Names of level limits along their lines.
    pub fn name_limits_up(&mut self, limits: &[Limit]) -> Result<(), PenError> {
        let Area { left, right, .. } = self.area;
        for Limit { value, label } in limits {
            let (y, long) = (self.y(*value), width_of(label, TextStyle::PLAIN) + BESIDE);
            let outward = if y < self.area.middle().1 { -1.0 } else { 1.0 };
            let along = [outward, -outward].into_iter().flat_map(|side| {
                evenly(left + long / 2.0 + 6.0, right - long / 2.0 - 6.0, ROW)
                    .map(move |x| Place::beside((x, y + side * (ROW / 2.0 + 2.5)), long, ROW))
            });
            let off = Place::anywhere(self.area, long, ROW, ((left + right) / 2.0, y))
                .map(|place| Place { leads_to: Some((place.area.middle().0, y)), ..place });
            let letters = TextStyle::PLAIN.anchored(Anchor::Middle);
            self.taken.write(self.sheet, label, letters, along.chain(off), &self.inside())?;
        }
        Ok(())
    }

    /// A ring round a point.
    pub fn ring(&mut self, at: (f64, f64)) -> Result<(), PenError> {
        let (x, y) = self.place(at);
        self.taken.add_area(Area::around((x, y), 2.0 * RING + 2.0, 2.0 * RING + 2.0));
        self.sheet.circle((x, y), RING, Stroke { width: 1.6, ..Stroke::CURVE }, false)
    }

    /// A filled dot at a point.
    pub fn dot(&mut self, at: (f64, f64)) -> Result<(), PenError> {
        let (x, y) = self.place(at);
        self.taken.add_area(Area::around((x, y), 2.0 * DOT + 2.0, 2.0 * DOT + 2.0));
        self.sheet.circle((x, y), DOT, Stroke::THIN, true)
    }

    /// Words beside a ring, led to it where they stand off.
    pub fn name_ring(&mut self, at: (f64, f64), words: &str) -> Result<(), PenError> {
        let (x, y) = self.place(at);
        let letters = TextStyle::PLAIN.bold().anchored(Anchor::Middle);
        let long = width_of(words, letters) + BESIDE;
        let aside = long / 2.0 + RING + 3.0;
        let beside = [0.0, -12.0, 12.0].into_iter().flat_map(|down| [(aside, down), (-aside, down)]);
        let over = [18.0, -18.0].into_iter().flat_map(|down| [(0.0, down), (aside, down), (-aside, down)]);
        let near = beside.chain(over).map(|(right, down)| Place::beside((x + right, y + down), long, ROW));
        let edge = |place: Place| {
            let (right, down) = (place.area.middle().0 - x, place.area.middle().1 - y);
            let far = right.hypot(down).max(RING);
            Place { leads_to: Some((x + right / far * RING, y + down / far * RING)), ..place }
        };
        let off = Place::anywhere(self.area, long, ROW, (x, y)).map(edge);
        self.taken.write(self.sheet, words, letters, near.chain(off), &self.inside())
    }

    /// Names of curves in a row above the axes, each led to the upper end of its curve.
    pub fn names_above(&mut self, curves: &[(String, Option<(f64, f64)>)]) -> Result<(), PenError> {
        let ends = self.ends(curves);
        let wanted: Vec<(f64, f64)> =
            ends.iter().map(|(name, end)| (end.0, width_of(name, TextStyle::PLAIN.bold()) + BESIDE)).collect();
        // Together wider than the axes they begin left of them.
        let room: f64 = wanted.iter().map(|(_, wide)| wide).sum();
        let middles = spread(&wanted, self.area.left.min(self.area.right - room), self.area.right);
        for ((name, end), x) in ends.iter().zip(middles) {
            let leader = [*end, (x, self.area.top - 4.0)];
            self.line(&leader, Stroke::LEADER)?;
            let letters = TextStyle::PLAIN.bold().anchored(Anchor::Middle);
            self.sheet.words(name, (x, self.area.top - 12.0), letters)?;
        }
        Ok(())
    }

    /// Names of curves in a column to the right of the axes, each led to the right end of its curve.
    pub fn names_beside(&mut self, curves: &[(String, Option<(f64, f64)>)]) -> Result<(), PenError> {
        let ends = self.ends(curves);
        let wanted: Vec<(f64, f64)> = ends.iter().map(|(_, end)| (end.1, ROW)).collect();
        let middles = spread(&wanted, self.area.top, self.area.bottom);
        for ((name, end), y) in ends.iter().zip(middles) {
            let leader = [*end, (self.area.right + 6.0, y)];
            self.line(&leader, Stroke::LEADER)?;
            self.sheet.words(name, (self.area.right + 9.0, y), TextStyle::PLAIN.bold())?;
        }
        Ok(())
    }

    fn ends<'c>(&self, curves: &'c [(String, Option<(f64, f64)>)]) -> Vec<(&'c str, SheetPoint)> {
        let named = curves.iter().filter(|(name, _)| !name.is_empty());
        named.filter_map(|(name, end)| Some((name.as_str(), self.place((*end)?)))).collect()
    }
}
