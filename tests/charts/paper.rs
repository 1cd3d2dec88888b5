//! What is on the paper of a chart, as a reader's eye has it: words with the room they take, lines with their grey, and the axes
//! as their numbers give them.

use roxmltree::{Document, Node};

pub type At = (f64, f64);

/// Greys of lines that words may lie on: the grid behind them, and the thin lines that lead from words.
const GRID: &str = "#DEDEDE";
pub const LEADER: &str = "#505050";
pub const LIMIT: &str = "#5A5A5A";
pub const PALE: &str = "#828282";
pub const BLACK: &str = "#000000";

/// Places in dots, ten to a point of the page.
pub struct Paper {
    pub width: f64,
    pub height: f64,
    pub width_mm: f64,
    pub height_mm: f64,
    pub words: Vec<Words>,
    pub lines: Vec<Line>,
    pub rings: Vec<Circle>,
    pub regions: Vec<(String, Vec<At>)>,
}

#[derive(Debug, Clone)]
pub struct Words {
    pub text: String,
    pub at: At,
    pub is_bold: bool,
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

#[derive(Debug, Clone)]
pub struct Line {
    pub stroke: String,
    pub width: f64,
    pub path: Vec<At>,
}

#[derive(Debug, Clone)]
pub struct Circle {
    pub at: At,
    pub fill: String,
}

fn number(node: Node, name: &str) -> f64 {
    let text = node.attribute(name).unwrap_or_else(|| panic!("{name} of {node:?}"));
    text.trim_end_matches("mm").parse().expect("a number")
}

/// Lines of one look may be one element.
fn paths(node: Node) -> Vec<Vec<At>> {
    match node.attribute("d") {
        None => vec![places(node.attribute("points").expect("points"))],
        Some(moves) => moves.split('M').skip(1).map(places).collect(),
    }
}

fn places(text: &str) -> Vec<At> {
    let pairs = text.split_whitespace();
    let at = |pair: &str| pair.split_once(',').map(|(x, y)| (x.parse().expect("x"), y.parse().expect("y")));
    pairs.map(|pair| at(pair).expect("a pair")).collect()
}

impl Paper {
    pub fn read(svg: &str) -> Self {
        let document = Document::parse(svg).expect("sound XML");
        let root = document.root_element();
        let of = |tag: &'static str| document.descendants().filter(move |node| node.has_tag_name(tag));
        let size: Vec<f64> =
            root.attribute("viewBox").expect("a view box").split(' ').map(|n| n.parse().expect("a number")).collect();
        let is_line = |node: &Node| node.has_tag_name("polyline") || node.has_tag_name("path");
        let lines = |node: Node| {
            let stroke = node.attribute("stroke").expect("a stroke").to_owned();
            let width = number(node, "stroke-width");
            paths(node).into_iter().map(move |path| Line { stroke: stroke.clone(), width, path }).collect::<Vec<_>>()
        };
        let circle = |node: Node| Circle {
            at: (number(node, "cx"), number(node, "cy")),
            fill: node.attribute("fill").expect("a fill").to_owned(),
        };
        let region = |node: Node| {
            (node.attribute("fill").expect("a fill").to_owned(), places(node.attribute("points").expect("points")))
        };
        Self {
            width: size[2],
            height: size[3],
            width_mm: number(root, "width"),
            height_mm: number(root, "height"),
            words: of("text").map(Words::read).collect(),
            lines: document.descendants().filter(is_line).flat_map(lines).collect(),
            rings: of("circle").map(circle).collect(),
            regions: of("polygon").map(region).collect(),
        }
    }

    pub fn find(&self, text: &str) -> &Words {
        self.words.iter().find(|words| words.text == text).unwrap_or_else(|| panic!("{text:?} is missing"))
    }

    /// Lines that words must keep clear of.
    pub fn curves(&self) -> impl Iterator<Item = &Line> {
        self.lines.iter().filter(|line| line.stroke != GRID && line.stroke != LEADER)
    }

    /// A value of the horizontal axis below a panel, read as from its numbers; `near` is a place in the panel.
    pub fn across(&self, x: f64, near: At) -> f64 {
        let row = self.ticks_below(near);
        read_off(x, &row.iter().map(|words| (words.at.0, words.value())).collect::<Vec<_>>())
    }

    /// A value of the vertical axis of the panel that starts left of a place.
    pub fn up(&self, y: f64, near: At) -> f64 {
        let column = self.ticks_beside(near);
        read_off(y, &column.iter().map(|words| (words.at.1, words.value())).collect::<Vec<_>>())
    }

    /// Numbers in one row, the nearest below a place, and in one panel.
    fn ticks_below(&self, near: At) -> Vec<&Words> {
        let below = self.words.iter().filter(|words| words.is_number() && !words.is_bold && words.at.1 > near.1);
        let mut rows: Vec<&Words> = below.collect();
        let lowest = rows.iter().map(|words| words.at.1).fold(0.0, f64::max);
        rows.retain(|words| (words.at.1 - lowest).abs() < 1.0);
        let half = self.width * 0.54;
        rows.retain(|words| !self.has_two_panels() || (words.at.0 < half) == (near.0 < half));
        rows
    }

    fn ticks_beside(&self, near: At) -> Vec<&Words> {
        let left = self.words.iter().filter(|words| words.is_number() && !words.is_bold && words.at.0 < near.0);
        let mut columns: Vec<&Words> = left.collect();
        let nearest = columns.iter().map(|words| words.at.0).filter(|x| self.is_column(*x)).fold(0.0, f64::max);
        columns.retain(|words| words.at.0 == nearest);
        columns
    }

    fn is_column(&self, x: f64) -> bool {
        self.words.iter().filter(|words| words.is_number() && words.at.0 == x).count() > 2
    }

    fn has_two_panels(&self) -> bool {
        let columns =
            self.words.iter().filter(|words| words.is_upright() && words.left < 6000.0).map(|words| words.at.0);
        let (low, high) = columns.fold((f64::INFINITY, 0.0_f64), |(low, high), x| (low.min(x), high.max(x)));
        let titles = self.words.iter().filter(|words| words.is_upright() && words.at.0 > 4000.0);
        high - low > 1000.0 && titles.into_iter().any(|words| words.text.contains("travel") || words.text.contains('%'))
    }
}

/// Distance of a place from a path.
pub fn distance(at: At, path: &[At]) -> f64 {
    let to_part = |part: &[At]| {
        let (from, to) = (part[0], part[1]);
        let along = (to.0 - from.0, to.1 - from.1);
        let square = along.0 * along.0 + along.1 * along.1;
        let share = (((at.0 - from.0) * along.0 + (at.1 - from.1) * along.1) / square.max(1e-9)).clamp(0.0, 1.0);
        (at.0 - from.0 - share * along.0).hypot(at.1 - from.1 - share * along.1)
    };
    path.windows(2).map(to_part).fold(f64::INFINITY, f64::min)
}

/// A line through the two outermost of places with their values.
fn read_off(place: f64, known: &[(f64, f64)]) -> f64 {
    let (first, last) = (known.first().expect("numbers"), known.last().expect("numbers"));
    first.1 + (place - first.0) / (last.0 - first.0) * (last.1 - first.1)
}

impl Words {
    fn read(node: Node) -> Self {
        let text = node.text().unwrap_or_default().trim().to_owned();
        let at = (number(node, "x"), number(node, "y"));
        let size = number(node, "font-size");
        let is_bold = node.attribute("font-weight") == Some("bold");
        // A letter of a common sans-serif face is half as wide as high; figures and small letters reach two thirds up.
        let long = text.chars().count() as f64 * size * if is_bold { 0.5 } else { 0.46 };
        let (before, after) = match node.attribute("text-anchor") {
            Some("middle") => (long / 2.0, long / 2.0),
            Some("end") => (long, 0.0),
            _ => (0.0, long),
        };
        let half = size * 0.36;
        let (left, top, right, bottom) = match node.attribute("transform") {
            Some(_) => (at.0 - half, at.1 - after, at.0 + half, at.1 + before),
            None => (at.0 - before, at.1 - half, at.0 + after, at.1 + half),
        };
        Self { text, at, is_bold, left, top, right, bottom }
    }

    pub fn meets(&self, other: &Self) -> bool {
        self.left < other.right && other.left < self.right && self.top < other.bottom && other.top < self.bottom
    }

    /// Whether a line passes under the words.
    pub fn is_cut_by(&self, path: &[At]) -> bool {
        path.windows(2).any(|part| self.is_entered(part[0], part[1]))
    }

    /// A straight part clipped by each of the four edges in turn; what is left of it lies inside.
    fn is_entered(&self, from: At, to: At) -> bool {
        let (mut enters, mut leaves) = (0.0_f64, 1.0_f64);
        for (start, end, low, high) in [(from.0, to.0, self.left, self.right), (from.1, to.1, self.top, self.bottom)] {
            let along = end - start;
            if along == 0.0 {
                if start < low || start > high {
                    return false;
                }
                continue;
            }
            let (a, b) = ((low - start) / along, (high - start) / along);
            (enters, leaves) = (enters.max(a.min(b)), leaves.min(a.max(b)));
        }
        enters < leaves
    }

    fn is_upright(&self) -> bool {
        self.bottom - self.top > self.right - self.left && self.text.chars().count() > 3
    }

    fn is_number(&self) -> bool {
        self.text.replace('\u{2212}', "-").parse::<f64>().is_ok()
    }

    pub fn value(&self) -> f64 {
        self.text.replace('\u{2212}', "-").parse().expect("a number")
    }
}
