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
    let rows: Vec<&str> = svg.lines().collect();
    let one_look = |a: &&str, b: &&str| look_and_path(a).zip(look_and_path(b)).is_some_and(|(a, b)| a.0 == b.0);
    let element = |run: &[&str]| match look_and_path(run[0]).filter(|_| run.len() > 1) {
        Some((look, _)) => {
            let paths = run.iter().filter_map(|row| look_and_path(row));
            let moves: String = paths.map(|(_, path)| format!("M{path}")).collect();
            format!("<path {look} d=\"{moves}\"/>\n")
        }
        None => format!("{}\n", run[0]),
    };
    rows.chunk_by(one_look).map(element).collect()
}

/// Of a line as the library writes it: everything but its places, and its places.
fn look_and_path(row: &str) -> Option<(&str, &str)> {
    let (look, path) = row.strip_prefix("<polyline ")?.split_once(" points=\"")?;
    Some((look, path.strip_suffix(" \"/>")?))
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
