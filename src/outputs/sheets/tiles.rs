//! Drawings cut into sheets of paper, each with a scale bar, crosses to lay it by, its number and what it is made from.

use super::drawing::{At, Drawing, LETTER, Pen, Shape, Text};
use super::source::SheetSource;
use crate::present::unbroken::{freed, held};

/// Printers leave about this much blank at every edge, mm.
const MARGIN_MM: f64 = 10.0;
/// Below the drawing, for the scale bar, the source and the map, mm.
const FOOT_MM: f64 = 22.0;
/// Two sheets side by side show this much of each other, mm.
const OVERLAP_MM: f64 = 10.0;
/// To be measured on paper.
const SCALE_BAR_MM: f64 = 100.0;
const SMALL_MM: f64 = 2.6;
const PLAIN_MM: f64 = 3.5;
const HEAD_MM: f64 = 6.0;
const CROSS_MM: f64 = 4.0;
/// Of the map at the foot of a sheet, mm.
const MAP_MM: [f64; 2] = [36.0, 16.0];

/// What is in the printer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 210 × 297 mm.
    A4,
    /// 8.5 × 11 in.
    Letter,
}

impl Paper {
    /// Width and height, mm.
    pub fn size_mm(self) -> [f64; 2] {
        match self {
            Paper::A4 => [210.0, 297.0],
            Paper::Letter => [215.9, 279.4],
        }
    }

    /// Width and height that a drawing may have on one sheet, mm.
    fn room_mm(self) -> [f64; 2] {
        let [width, height] = self.size_mm();
        [width - 2.0 * MARGIN_MM, height - 2.0 * MARGIN_MM - FOOT_MM]
    }
}

/// Width and height that a drawing may have to stay on one sheet of either paper, mm.
pub(super) const ONE_SHEET_MM: [f64; 2] = [190.0, 237.0];

/// One sheet of paper.
pub(super) struct Sheet {
    /// Where the drawing shows: left, upper, right and lower end on paper, mm.
    pub(super) window: [f64; 4],
    /// From the drawing to the paper, mm.
    pub(super) shift: At,
    pub(super) drawing: Vec<Shape>,
    /// On paper, outside of the drawing.
    pub(super) around: Vec<Shape>,
    /// Drawn first, in grey.
    pub(super) watermark: Option<Text>,
}

/// A place in the order of sheets that cover one drawing.
#[derive(Clone, Copy)]
struct Tiling {
    columns: usize,
    rows: usize,
    /// Between two sheets.
    step: [f64; 2],
    room: [f64; 2],
}

impl Tiling {
    fn of(drawing: &Drawing, paper: Paper) -> Self {
        let room = paper.room_mm();
        let step = room.map(|mm| mm - OVERLAP_MM);
        let count = |size: f64, axis: usize| {
            if size <= room[axis] { 1 } else { ((size - OVERLAP_MM) / step[axis]).ceil() as usize }
        };
        Self { columns: count(drawing.width_mm, 0), rows: count(drawing.height_mm, 1), step, room }
    }

    fn is_one(&self) -> bool {
        self.columns * self.rows == 1
    }

    /// What a sheet shows of the drawing, mm.
    fn window(&self, column: usize, row: usize) -> [f64; 4] {
        let [left, upper] = [column as f64 * self.step[0], row as f64 * self.step[1]];
        [left, upper, left + self.room[0], upper + self.room[1]]
    }

    /// Sheets with something on them, row by row; the row with most of them has its blank ones too, so that what lies apart, such as
    /// the two sides of a car, can be laid by its crosses.
    fn used(&self, drawing: &Drawing) -> Vec<(usize, usize)> {
        let is_drawn = |column: usize, row: usize| {
            let window = self.window(column, row);
            drawing.shapes.iter().any(|shape| shape.meets(window))
        };
        let drawn: Vec<Vec<usize>> =
            (0..self.rows).map(|row| (0..self.columns).filter(|&column| is_drawn(column, row)).collect()).collect();
        let fullest = (0..self.rows).rev().max_by_key(|&row| drawn[row].len());
        let of_row = |(row, columns): (usize, &Vec<usize>)| -> Vec<(usize, usize)> {
            match columns[..] {
                [first, .., last] if Some(row) == fullest => (first..=last).map(|column| (column, row)).collect(),
                _ => columns.iter().map(|&column| (column, row)).collect(),
            }
        };
        drawn.iter().enumerate().flat_map(of_row).collect()
    }
}

/// Every sheet of every drawing, those of a large one after a page that maps them.
pub(super) fn sheets(drawings: &[Drawing], paper: Paper, source: &SheetSource) -> Vec<Sheet> {
    let mut all = Vec::new();
    for drawing in drawings {
        let tiling = Tiling::of(drawing, paper);
        let used = tiling.used(drawing);
        if !tiling.is_one() {
            all.push(map_page(drawing, paper, &tiling, &used, all.len() + 2));
        }
        all.extend(used.iter().map(|&place| tile(drawing, &tiling, &used, place)));
    }
    let count = all.len();
    all.iter_mut().enumerate().for_each(|(k, sheet)| foot(sheet, paper, source, k + 1, count));
    all
}

fn tile(drawing: &Drawing, tiling: &Tiling, used: &[(usize, usize)], (column, row): (usize, usize)) -> Sheet {
    let shown = tiling.window(column, row);
    let shift = [MARGIN_MM - shown[0], MARGIN_MM - shown[1]];
    let mut shapes: Vec<Shape> =
        drawing.grid.iter().chain(&drawing.shapes).filter(|shape| shape.meets(shown)).cloned().collect();
    let mut around = Vec::new();
    if !tiling.is_one() {
        shapes.extend(crosses(tiling));
        let corner = [MARGIN_MM + tiling.room[0], MARGIN_MM + tiling.room[1]];
        around.extend(frame([MARGIN_MM, MARGIN_MM], corner, Pen::Grid));
        // Rows below the last sheet are blank and nobody looks for them.
        let rows = used.iter().map(|&(_, row)| row + 1).max().unwrap_or(tiling.rows);
        let (title, columns) = (&drawing.title, tiling.columns);
        let place = format!("{title}, column {} of {columns}, row {} of {rows}", column + 1, row + 1);
        around.push(Shape::Text(Text::new([MARGIN_MM, corner[1] + 14.0], SMALL_MM, place)));
        let map_at = [MARGIN_MM + tiling.room[0] - MAP_MM[0], corner[1] + 4.0];
        around.extend(map(tiling, used, map_at, MAP_MM, Shown::Crossed((column, row))));
    }
    let window = [MARGIN_MM, MARGIN_MM, MARGIN_MM + tiling.room[0], MARGIN_MM + tiling.room[1]];
    Sheet { window, shift, drawing: shapes, around, watermark: None }
}

/// Crosses in the middle of where sheets overlap, on the drawing.
fn crosses(tiling: &Tiling) -> Vec<Shape> {
    let mut crosses = Vec::new();
    for column in 0..=tiling.columns {
        for row in 0..=tiling.rows {
            let x = column as f64 * tiling.step[0] + 0.5 * OVERLAP_MM;
            let y = row as f64 * tiling.step[1] + 0.5 * OVERLAP_MM;
            crosses.push(Shape::Line([x - CROSS_MM, y], [x + CROSS_MM, y], Pen::Fine));
            crosses.push(Shape::Line([x, y - CROSS_MM], [x, y + CROSS_MM], Pen::Fine));
            crosses.push(Shape::Circle([x, y], 0.5 * CROSS_MM, Pen::Fine));
        }
    }
    crosses
}

/// The first page of a large drawing: how its sheets lie, by their numbers from `first` on, and how it is used.
fn map_page(drawing: &Drawing, paper: Paper, tiling: &Tiling, used: &[(usize, usize)], first: usize) -> Sheet {
    let [width, height] = paper.room_mm();
    let window = [MARGIN_MM, MARGIN_MM, MARGIN_MM + width, MARGIN_MM + height];
    let text = |row: usize, size: f64, text: &str| {
        Shape::Text(Text::new([MARGIN_MM, MARGIN_MM + HEAD_MM + 6.0 * row as f64], size, text))
    };
    let mut around = vec![text(0, HEAD_MM, &drawing.title)];
    let how = format!(
        "{} sheets, laid as on this map. Print all at 100 % (\"actual size\"), not fitted to the page; measure the bar of 100 mm.",
        used.len()
    );
    let lay = "Lay each sheet so that its crosses cover those of its neighbours. Blank ones are left out but for one row, which joins \
               both sides."
        .to_owned();
    let lines: Vec<String> =
        [how, lay].iter().chain(&drawing.notes).flat_map(|note| broken(note, PLAIN_MM, width)).collect();
    around.extend(lines.iter().enumerate().map(|(k, line)| text(k + 2, PLAIN_MM, line)));
    let upper = MARGIN_MM + HEAD_MM + 6.0 * (lines.len() + 2) as f64;
    around.extend(map(tiling, used, [MARGIN_MM, upper], [width, height - upper], Shown::NumberedFrom(first)));
    Sheet { window, shift: [MARGIN_MM, MARGIN_MM], drawing: Vec::new(), around, watermark: None }
}

/// What is told in a map of sheets.
#[derive(Clone, Copy)]
enum Shown {
    /// This one.
    Crossed((usize, usize)),
    /// All, by their numbers in the file.
    NumberedFrom(usize),
}

/// How the sheets of a drawing lie, in a box.
fn map(tiling: &Tiling, used: &[(usize, usize)], at: At, size: [f64; 2], shown: Shown) -> Vec<Shape> {
    let [across, down] = [tiling.columns as f64 * tiling.step[0], tiling.rows as f64 * tiling.step[1]];
    let scale = (size[0] / across).min(size[1] / down);
    let cell = tiling.step.map(|mm| mm * scale);
    let mut shapes = Vec::new();
    for (k, &(column, row)) in used.iter().enumerate() {
        let upper_left = [at[0] + column as f64 * cell[0], at[1] + row as f64 * cell[1]];
        let lower_right = [upper_left[0] + cell[0], upper_left[1] + cell[1]];
        shapes.extend(frame(upper_left, lower_right, Pen::Fine));
        match shown {
            Shown::Crossed(here) if here == (column, row) => {
                shapes.push(Shape::Line(upper_left, lower_right, Pen::Bold));
                shapes.push(Shape::Line([lower_right[0], upper_left[1]], [upper_left[0], lower_right[1]], Pen::Bold));
            }
            Shown::Crossed(_) => {}
            Shown::NumberedFrom(first) => {
                let middle = [upper_left[0] + 0.4 * cell[0], upper_left[1] + 0.6 * cell[1]];
                shapes.push(Shape::Text(Text::new(middle, HEAD_MM.min(0.4 * cell[1]), format!("{}", k + first))));
            }
        }
    }
    shapes
}

fn frame([left, upper]: At, [right, lower]: At, pen: Pen) -> Vec<Shape> {
    vec![Shape::Curve(vec![[left, upper], [right, upper], [right, lower], [left, lower], [left, upper]], pen)]
}

/// Scale bar, source and number of a sheet, and the mark of a car that is nobody's.
fn foot(sheet: &mut Sheet, paper: Paper, source: &SheetSource, number: usize, count: usize) {
    let [width, height] = paper.size_mm();
    let bar = height - MARGIN_MM - FOOT_MM + 6.0;
    let end = MARGIN_MM + SCALE_BAR_MM;
    sheet.around.push(Shape::Line([MARGIN_MM, bar], [end, bar], Pen::Bold));
    for k in 0..=10 {
        let x = MARGIN_MM + 10.0 * f64::from(k);
        let tick = if k % 10 == 0 { 2.5 } else { 1.2 };
        sheet.around.push(Shape::Line([x, bar - tick], [x, bar + tick], Pen::Fine));
    }
    let words = "100 mm, or print again at 100 %";
    sheet.around.push(Shape::Text(Text::new([end + 3.0, bar + 1.0], SMALL_MM, words)));
    let made = format!("sheet {number} of {count} · {} · {}", source.line(), source.name);
    let lines = fitted(&made, SMALL_MM, width - 2.0 * MARGIN_MM - MAP_MM[0] - 2.0, 2);
    for (k, line) in lines.into_iter().enumerate() {
        let y = height - MARGIN_MM - 4.0 + 3.4 * k as f64;
        sheet.around.push(Shape::Text(Text::new([MARGIN_MM, y], SMALL_MM, line)));
    }
    sheet.watermark = source.watermark().map(|mark| {
        let size = (width - 2.0 * MARGIN_MM) / (0.72 * mark.len() as f64);
        Text::new([MARGIN_MM, 0.5 * height], size, mark)
    });
}

/// Text in lines of this width, broken at blanks or, in a longer word, where the line ends.
pub(super) fn broken(text: &str, size_mm: f64, width_mm: f64) -> Vec<String> {
    let letters = (width_mm / (LETTER * size_mm)) as usize;
    textwrap::wrap(&held(text), letters.max(10)).iter().map(|line| freed(line)).collect()
}

/// The same in so many lines at most; what is left out is told by an ellipsis.
pub(super) fn fitted(text: &str, size_mm: f64, width_mm: f64, most: usize) -> Vec<String> {
    let mut lines = broken(text, size_mm, width_mm);
    if lines.len() > most {
        lines.truncate(most);
        lines.iter_mut().skip(most - 1).for_each(|last| {
            last.pop();
            last.push('…');
        });
    }
    lines
}
