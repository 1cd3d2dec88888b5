//! A sheet of white paper and a pen: lines, dots and letters at places in points of the page, right and down.

use std::io;

use plotters::backend::SVGBackend;
use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, DrawingAreaErrorKind, IntoDrawingArea};
use plotters::element::{Circle, PathElement, Polygon};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontDesc, FontFamily, FontStyle, FontTransform, RGBColor, ShapeStyle, WHITE};

use super::stroke::{SheetPoint, Stroke, dashes, thinned};

/// What the pen can fail with.
pub type PenError = DrawingAreaErrorKind<io::Error>;

/// The drawing library places ink on whole dots; this many to a point keep curves smooth in print.
const DOTS: f64 = 10.0;
/// White round everything that is drawn on a sheet, in points of the page.
pub const MARGIN: f64 = 24.0;
/// Size of a point of the page in print, mm: the widest sheet then fits A4 and Letter.
pub const POINT_MM: f64 = 0.27;
/// The library divides the size of letters by this before it writes it.
const LETTER_SIZE_FACTOR: f64 = 1.24;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    Start,
    Middle,
    End,
}

/// How words look; they stand centred on the height of their place.
#[derive(Debug, Clone, Copy)]
pub struct TextStyle {
    pub size: f64,
    pub bold: bool,
    pub grey: u8,
    pub anchor: Anchor,
    /// Read from below to above, the page turned by a quarter.
    pub upwards: bool,
}

impl TextStyle {
    pub const TITLE: Self = Self { size: 18.0, bold: true, grey: 0, anchor: Anchor::Start, upwards: false };
    pub const SMALL: Self = Self { size: 10.5, bold: false, grey: 70, anchor: Anchor::Start, upwards: false };
    pub const PLAIN: Self = Self { size: 12.5, bold: false, grey: 40, anchor: Anchor::Start, upwards: false };

    pub fn anchored(self, anchor: Anchor) -> Self {
        Self { anchor, ..self }
    }

    pub fn upwards(self) -> Self {
        Self { upwards: true, ..self }
    }

    pub fn bold(self) -> Self {
        Self { bold: true, grey: 0, ..self }
    }
}

pub struct Sheet<'a> {
    area: DrawingArea<SVGBackend<'a>, Shift>,
    /// How far the places of what is drawn are moved down.
    down: f64,
}

/// The SVG text of a sheet of the given width and height, drawn on by `ink`.
pub fn draw((width, height): (u32, u32), ink: impl FnOnce(&Sheet) -> Result<(), PenError>) -> Result<String, PenError> {
    let mut svg = String::new();
    let dots = |points: u32| points * DOTS as u32;
    let area = SVGBackend::with_string(&mut svg, (dots(width), dots(height))).into_drawing_area();
    area.fill(&WHITE)?;
    let sheet = Sheet { area, down: 0.0 };
    ink(&sheet)?;
    sheet.area.present()?;
    drop(sheet);
    // The view box counts dots; the size in print is in millimetres.
    let in_dots = format!("width=\"{}\" height=\"{}\"", dots(width), dots(height));
    let mm = |points: u32| format!("{:.2}mm", f64::from(points) * POINT_MM);
    let in_mm = format!("width=\"{}\" height=\"{}\"", mm(width), mm(height));
    Ok(lines_joined(&svg.replacen(&in_dots, &in_mm, 1)))
}

/// Lines of one look that follow each other as one element: a curve of dashes is a hundred of them, and a page lays out elements.
fn lines_joined(svg: &str) -> String {
    let rows: Vec<Row> = svg.lines().map(Row::of).collect();
    let mut joined = String::with_capacity(svg.len());
    for run in rows.chunk_by(|a, b| a.line.zip(b.line).is_some_and(|(a, b)| a.look == b.look)) {
        match run {
            [Row { line: Some(first), .. }, _, ..] => {
                let path: String = run.iter().filter_map(|row| row.line).flat_map(|line| ["M", line.path]).collect();
                joined.extend(["<path ", first.look, " d=\"", &path, "\"/>\n"]);
            }
            _ => joined.extend([run[0].text, "\n"]),
        }
    }
    joined
}

/// A row of the text of the drawing library.
struct Row<'t> {
    text: &'t str,
    line: Option<Line<'t>>,
}

/// A line as the library writes it.
#[derive(Clone, Copy)]
struct Line<'t> {
    /// Everything but its places.
    look: &'t str,
    path: &'t str,
}

impl<'t> Row<'t> {
    fn of(text: &'t str) -> Self {
        let line = || {
            let (look, path) = text.strip_prefix("<polyline ")?.split_once(" points=\"")?;
            Some(Line { look, path: path.strip_suffix(" \"/>")? })
        };
        Self { text, line: line() }
    }
}

impl<'a> Sheet<'a> {
    /// The same sheet for a drawing that counts its places from so far down.
    pub fn lowered(&self, down: f64) -> Sheet<'a> {
        Sheet { area: self.area.clone(), down: self.down + down }
    }

    fn dots(&self, (x, y): SheetPoint) -> (i32, i32) {
        ((x * DOTS).round() as i32, ((y + self.down) * DOTS).round() as i32)
    }

    pub fn line(&self, path: &[SheetPoint], stroke: Stroke) -> Result<(), PenError> {
        let path = thinned(path);
        if stroke.dash.is_empty() {
            return self.solid(&path, stroke);
        }
        dashes(&path, stroke.dash).iter().try_for_each(|dash| self.solid(dash, stroke))
    }

    fn solid(&self, path: &[SheetPoint], stroke: Stroke) -> Result<(), PenError> {
        let path: Vec<(i32, i32)> = path.iter().map(|&at| self.dots(at)).collect();
        self.area.draw(&PathElement::new(path, style(stroke)))
    }

    /// A circle, open (its inside white) or filled.
    pub fn circle(&self, centre: SheetPoint, radius: f64, stroke: Stroke, filled: bool) -> Result<(), PenError> {
        let (at, size) = (self.dots(centre), (radius * DOTS).round() as i32);
        let inside = if filled { grey(stroke.grey).filled() } else { WHITE.filled() };
        self.area.draw(&Circle::new(at, size, inside))?;
        self.area.draw(&Circle::new(at, size, style(stroke)))
    }

    /// A region of one grey without a line around it.
    pub fn region(&self, outline: &[SheetPoint], level: u8) -> Result<(), PenError> {
        let outline: Vec<(i32, i32)> = outline.iter().map(|&at| self.dots(at)).collect();
        self.area.draw(&Polygon::new(outline, grey(level).filled()))
    }

    pub fn words(&self, words: &str, at: SheetPoint, letters: TextStyle) -> Result<(), PenError> {
        let weight = if letters.bold { FontStyle::Bold } else { FontStyle::Normal };
        let turn = if letters.upwards { FontTransform::Rotate270 } else { FontTransform::None };
        let h_pos = match letters.anchor {
            Anchor::Start => HPos::Left,
            Anchor::Middle => HPos::Center,
            Anchor::End => HPos::Right,
        };
        let font = FontDesc::new(FontFamily::SansSerif, letters.size * DOTS * LETTER_SIZE_FACTOR, weight);
        let look = font.transform(turn).color(&grey(letters.grey)).pos(Pos::new(h_pos, VPos::Center));
        self.area.draw_text(words, &look, self.dots(at))
    }
}

fn grey(level: u8) -> RGBColor {
    RGBColor(level, level, level)
}

fn style(stroke: Stroke) -> ShapeStyle {
    grey(stroke.grey).stroke_width((stroke.width * DOTS).round() as u32)
}
