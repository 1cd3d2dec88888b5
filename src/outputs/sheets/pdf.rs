//! Drawings as PDF at true size, cut into sheets that are laid together by their crosses.

use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, Str, TextStr};

use super::drawing::{At, Drawing, Pen, Shape, Text};
use super::source::SheetSource;
use super::tiles::{Paper, Sheet, sheets};

/// Points of PDF in a millimetre.
const PT_PER_MM: f64 = 72.0 / 25.4;
const FONT: Name = Name(b"F1");
/// A quarter of a circle as one Bézier curve: from its ends to its control points over the radius.
const QUARTER: f64 = 0.552_284_749_8;

/// All sheets of these drawings on this paper.
pub(super) fn pdf(drawings: &[Drawing], paper: Paper, source: &SheetSource) -> Vec<u8> {
    let all = sheets(drawings, paper, source);
    let [catalog, tree, font, info] = [1, 2, 3, 4].map(Ref::new);
    let page_of = |k: usize| Ref::new(5 + 2 * k as i32);
    let content_of = |k: usize| Ref::new(6 + 2 * k as i32);
    let mut pdf = Pdf::new();
    pdf.catalog(catalog).pages(tree);
    pdf.document_info(info).title(TextStr(source.name)).producer(TextStr("hubtrace"));
    pdf.pages(tree).kids((0..all.len()).map(page_of)).count(all.len() as i32);
    pdf.type1_font(font).base_font(Name(b"Helvetica")).encoding_predefined(Name(b"WinAnsiEncoding"));
    let [width, height] = paper.size_mm();
    for (k, sheet) in all.iter().enumerate() {
        let mut page = pdf.page(page_of(k));
        page.media_box(Rect::new(0.0, 0.0, pt(width), pt(height))).parent(tree).contents(content_of(k));
        page.resources().fonts().pair(FONT, font);
        page.finish();
        let mut ink = Ink { content: Content::new(), height_mm: height };
        ink.sheet(sheet);
        pdf.stream(content_of(k), ink.content.finish().as_slice());
    }
    pdf.finish()
}

fn pt(mm: f64) -> f32 {
    (mm * PT_PER_MM) as f32
}

/// Writes on one page; places in mm from its upper left corner.
struct Ink {
    content: Content,
    height_mm: f64,
}

impl Ink {
    fn sheet(&mut self, sheet: &Sheet) {
        if let Some(mark) = &sheet.watermark {
            self.content.set_fill_gray(0.75);
            self.text(mark, [0.0, 0.0]);
            self.content.set_fill_gray(0.0);
        }
        let [left, upper, right, lower] = sheet.window;
        self.content.save_state();
        let corner = self.place([left, lower]);
        self.content.rect(corner[0], corner[1], pt(right - left), pt(lower - upper)).clip_nonzero().end_path();
        sheet.drawing.iter().for_each(|shape| self.shape(shape, sheet.shift));
        self.content.restore_state();
        sheet.around.iter().for_each(|shape| self.shape(shape, [0.0, 0.0]));
    }

    fn place(&self, [x, y]: At) -> [f32; 2] {
        [pt(x), pt(self.height_mm - y)]
    }

    fn shape(&mut self, shape: &Shape, shift: At) {
        let moved = |[x, y]: At| [x + shift[0], y + shift[1]];
        match shape {
            Shape::Line(from, to, pen) => self.curve(&[moved(*from), moved(*to)], *pen),
            Shape::Curve(points, pen) => self.curve(&points.iter().map(|at| moved(*at)).collect::<Vec<_>>(), *pen),
            Shape::Circle(centre, radius, pen) => self.circle(moved(*centre), *radius, *pen),
            Shape::Text(text) => self.text(text, shift),
        }
    }

    fn pen(&mut self, pen: Pen) {
        self.content.set_line_width(pt(pen.width_mm())).set_stroke_gray(pen.grey() as f32);
        let dash = pen.dash_mm().map_or(Vec::new(), |dash| dash.map(pt).to_vec());
        self.content.set_dash_pattern(dash, 0.0);
    }

    fn curve(&mut self, points: &[At], pen: Pen) {
        self.pen(pen);
        for (k, at) in points.iter().enumerate() {
            let [x, y] = self.place(*at);
            if k == 0 {
                self.content.move_to(x, y)
            } else {
                self.content.line_to(x, y)
            };
        }
        self.content.stroke();
    }

    fn circle(&mut self, [x, y]: At, radius: f64, pen: Pen) {
        self.pen(pen);
        let place = |ink: &Self, across: f64, down: f64| ink.place([x + radius * across, y + radius * down]);
        let [start_x, start_y] = place(self, 1.0, 0.0);
        self.content.move_to(start_x, start_y);
        for [ax, ay] in [[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0]] {
            let [bx, by] = [-ay, ax];
            let [x1, y1] = place(self, ax + QUARTER * bx, ay + QUARTER * by);
            let [x2, y2] = place(self, bx + QUARTER * ax, by + QUARTER * ay);
            let [x3, y3] = place(self, bx, by);
            self.content.cubic_to(x1, y1, x2, y2, x3, y3);
        }
        self.content.close_path().stroke();
    }

    fn text(&mut self, text: &Text, shift: At) {
        let [x, y] = self.place([text.at[0] + shift[0], text.at[1] + shift[1]]);
        let letters: Vec<u8> = text.text.chars().map(letter).collect();
        self.content.begin_text().set_font(FONT, pt(text.size_mm)).next_line(x, y).show(Str(&letters)).end_text();
    }
}

/// A letter in the code page of the built-in fonts; `?` for one that they lack.
fn letter(letter: char) -> u8 {
    match letter {
        ' '..='~' | '\u{a0}'..='\u{ff}' => letter as u32 as u8,
        '…' => 0x85,
        '‘' => 0x91,
        '’' => 0x92,
        '“' => 0x93,
        '”' => 0x94,
        '–' => 0x96,
        '—' => 0x97,
        '€' => 0x80,
        _ => b'?',
    }
}
