//! A drawing at true size: shapes in millimetres on paper, x to the right and y down from the upper left corner.

/// A place on paper, mm.
pub(super) type At = [f64; 2];

/// Shapes on a sheet of this size.
#[derive(Debug, Clone)]
pub(super) struct Drawing {
    /// What the sheet is.
    pub(super) title: String,
    /// How it is used, one line each.
    pub(super) notes: Vec<String>,
    pub(super) width_mm: f64,
    pub(super) height_mm: f64,
    pub(super) shapes: Vec<Shape>,
    /// Lines to lay sheets together by; they make no sheet worth printing.
    pub(super) grid: Vec<Shape>,
}

#[derive(Debug, Clone)]
pub(super) enum Shape {
    Line(At, At, Pen),
    Circle(At, f64, Pen),
    Curve(Vec<At>, Pen),
    Text(Text),
}

#[derive(Debug, Clone)]
pub(super) struct Text {
    /// Left end of the line of letters.
    pub(super) at: At,
    pub(super) text: String,
    /// Of the letters, mm.
    pub(super) size_mm: f64,
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Pen {
    /// What is cut, drilled or marked.
    Bold,
    /// What is there.
    Fine,
    /// Where it swings to, and centre lines.
    Dashed,
    /// To lay sheets together by.
    Grid,
}

impl Pen {
    pub(super) fn width_mm(self) -> f64 {
        match self {
            Pen::Bold => 0.35,
            Pen::Fine | Pen::Dashed => 0.18,
            Pen::Grid => 0.1,
        }
    }

    /// Lengths of dash and gap, mm.
    pub(super) fn dash_mm(self) -> Option<[f64; 2]> {
        (self == Pen::Dashed).then_some([4.0, 2.0])
    }

    /// From 0, black, to 1, white.
    pub(super) fn grey(self) -> f64 {
        if self == Pen::Grid { 0.6 } else { 0.0 }
    }
}

/// Width of a letter over its height in the sheets' fonts, on the wide side.
pub(super) const LETTER: f64 = 0.56;

impl Text {
    pub(super) fn new(at: At, size_mm: f64, text: impl Into<String>) -> Self {
        Self { at, text: text.into(), size_mm }
    }

    /// Left, upper, right and lower end of what it covers, mm.
    pub(super) fn covers(&self) -> [f64; 4] {
        let width = LETTER * self.size_mm * self.text.chars().count() as f64;
        [self.at[0], self.at[1] - self.size_mm, self.at[0] + width, self.at[1] + 0.3 * self.size_mm]
    }
}

impl Shape {
    /// Whether any of it may lie in a window: left, upper, right and lower end, mm.
    pub(super) fn meets(&self, window: [f64; 4]) -> bool {
        match self {
            Shape::Line(from, to, _) => line_meets(*from, *to, window),
            Shape::Circle([x, y], radius, _) => overlap([x - radius, y - radius, x + radius, y + radius], window),
            Shape::Curve(points, _) => points.windows(2).any(|pair| line_meets(pair[0], pair[1], window)),
            Shape::Text(text) => overlap(text.covers(), window),
        }
    }
}

pub(super) fn overlap(a: [f64; 4], b: [f64; 4]) -> bool {
    a[0] <= b[2] && b[0] <= a[2] && a[1] <= b[3] && b[1] <= a[3]
}

/// Cuts a line at the edges of a window, one after the other (Liang and Barsky), and says whether anything is left.
fn line_meets(from: At, to: At, window: [f64; 4]) -> bool {
    let (mut first, mut last) = (0.0_f64, 1.0_f64);
    for axis in 0..2 {
        let (start, way) = (from[axis], to[axis] - from[axis]);
        let (low, high) = (window[axis] - start, window[axis + 2] - start);
        if way == 0.0 {
            if low > 0.0 || high < 0.0 {
                return false;
            }
            continue;
        }
        let (enters, leaves) = if way > 0.0 { (low / way, high / way) } else { (high / way, low / way) };
        first = first.max(enters);
        last = last.min(leaves);
    }
    first <= last
}

#[cfg(test)]
mod tests {
    use super::{Pen, Shape};

    #[test]
    fn a_line_meets_the_windows_that_it_runs_through() {
        let line = Shape::Line([0.0, 0.0], [100.0, 50.0], Pen::Fine);
        assert!(line.meets([40.0, 20.0, 60.0, 30.0]) && line.meets([-5.0, -5.0, 5.0, 5.0]));
        assert!(!line.meets([0.0, 30.0, 40.0, 60.0]) && !line.meets([101.0, 0.0, 120.0, 60.0]));
        let level = Shape::Line([0.0, 10.0], [100.0, 10.0], Pen::Fine);
        assert!(level.meets([20.0, 0.0, 30.0, 10.0]) && !level.meets([20.0, 0.0, 30.0, 9.9]));
    }
}
