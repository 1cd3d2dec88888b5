//! `points.dxf`: points, lines and names for CAD, as plain DXF of release 12, which every reader takes.
//!
//! One unit is one millimetre. Source of the form: the DXF reference of release 12, from memory; `tests/outside/dxf_audit.py`
//! has a general library read and audit it.

use std::fmt::{self, Display, Write};

use nalgebra::Point3;

use super::source::SheetSource;
use crate::geometry::CornerPoint;
use crate::studies::fabrication::{LineKind, NamedLine, NamedPoint};

/// Names and colour numbers of the layers.
const LAYERS: [(&str, u8); 9] = [
    ("PICKUPS", 1),
    ("POINTS", 4),
    ("DATUMS", 3),
    ("LINKS", 7),
    ("HALFSHAFTS", 5),
    ("SPRINGS", 6),
    ("FRAME", 8),
    ("NAMES", 2),
    ("NOTES", 1),
];
const TEXT_MM: f64 = 8.0;
/// From a point to its name, along x and y.
const NAME_OFF_MM: f64 = 4.0;

/// A drawing of these points and lines, in the axes of the car.
pub fn points_dxf(points: &[NamedPoint], lines: &[NamedLine], source: &SheetSource) -> String {
    let mut text = String::new();
    let mut drawing = Drawing(&mut text);
    // Writing to a string cannot fail.
    let _ = drawing.write(points, lines, source);
    text
}

struct Drawing<'s>(&'s mut String);

impl Drawing<'_> {
    /// A group: its code, and its value on a line of its own.
    fn pair(&mut self, code: u16, value: impl Display) -> fmt::Result {
        write!(self.0, "{code}\n{value}\n")
    }

    fn pairs(&mut self, pairs: &[(u16, &str)]) -> fmt::Result {
        pairs.iter().try_for_each(|(code, value)| self.pair(*code, value))
    }

    fn write(&mut self, points: &[NamedPoint], lines: &[NamedLine], source: &SheetSource) -> fmt::Result {
        self.pair(999, "hubtrace: one unit is 1 mm, x forward, y left, z up")?;
        self.pair(999, ascii(&source.line()))?;
        self.header(points)?;
        self.tables()?;
        self.pairs(&[(0, "SECTION"), (2, "ENTITIES")])?;
        for point in points {
            self.pairs(&[(0, "POINT"), (8, layer_of(point))])?;
            self.place(10, &point.at)?;
            self.text("NAMES", &(point.at + nalgebra::Vector3::new(NAME_OFF_MM, NAME_OFF_MM, 0.0)), &point.name)?;
        }
        for line in lines {
            let layer = match line.kind {
                LineKind::Link => "LINKS",
                LineKind::Halfshaft => "HALFSHAFTS",
                LineKind::Spring => "SPRINGS",
                LineKind::Tube => "FRAME",
            };
            self.pairs(&[(0, "LINE"), (8, layer)])?;
            self.place(10, &line.from)?;
            self.place(11, &line.to)?;
        }
        let notes = [source.watermark().map(str::to_owned), Some(source.name.to_owned()), Some(source.line())];
        let lowest = least(points);
        for (row, note) in notes.into_iter().flatten().enumerate() {
            let down = TEXT_MM * (4.0 + 2.0 * row as f64);
            self.text("NOTES", &Point3::new(lowest.x, lowest.y - down, lowest.z), &note)?;
        }
        self.pairs(&[(0, "ENDSEC"), (0, "EOF")])
    }

    fn header(&mut self, points: &[NamedPoint]) -> fmt::Result {
        self.pairs(&[
            (0, "SECTION"),
            (2, "HEADER"),
            (9, "$ACADVER"),
            (1, "AC1009"),
            (9, "$DWGCODEPAGE"),
            (3, "ansi_1252"),
        ])?;
        let greatest = points.iter().fold(least(points), |most, point| most.sup(&point.at));
        for (name, corner) in [("$EXTMIN", least(points)), ("$EXTMAX", greatest)] {
            self.pair(9, name)?;
            self.place(10, &corner)?;
        }
        self.pair(0, "ENDSEC")
    }

    fn tables(&mut self) -> fmt::Result {
        self.pairs(&[(0, "SECTION"), (2, "TABLES"), (0, "TABLE"), (2, "LTYPE"), (70, "1")])?;
        self.pairs(&[
            (0, "LTYPE"),
            (2, "CONTINUOUS"),
            (70, "0"),
            (3, "Solid line"),
            (72, "65"),
            (73, "0"),
            (40, "0.0"),
        ])?;
        self.pairs(&[(0, "ENDTAB"), (0, "TABLE"), (2, "LAYER")])?;
        self.pair(70, LAYERS.len())?;
        for (name, colour) in LAYERS {
            self.pairs(&[(0, "LAYER"), (2, name), (70, "0")])?;
            self.pair(62, colour)?;
            self.pair(6, "CONTINUOUS")?;
        }
        self.pairs(&[(0, "ENDTAB"), (0, "TABLE"), (2, "STYLE"), (70, "1"), (0, "STYLE"), (2, "STANDARD"), (70, "0")])?;
        self.pairs(&[(40, "0.0"), (41, "1.0"), (50, "0.0"), (71, "0"), (42, "2.5"), (3, "txt"), (4, "")])?;
        self.pairs(&[(0, "ENDTAB"), (0, "ENDSEC")])
    }

    fn text(&mut self, layer: &str, at: &Point3<f64>, text: &str) -> fmt::Result {
        self.pairs(&[(0, "TEXT"), (8, layer)])?;
        self.place(10, at)?;
        self.pair(40, TEXT_MM)?;
        self.pair(1, ascii(text))
    }

    /// Three coordinates: the shortest decimals that read back as the same numbers.
    fn place(&mut self, code: u16, at: &Point3<f64>) -> fmt::Result {
        (0..3).try_for_each(|axis| self.pair(code + 10 * axis as u16, at[axis] + 0.0))
    }
}

fn layer_of(point: &NamedPoint) -> &'static str {
    match point.point {
        None => "DATUMS",
        Some(CornerPoint::Pickup(_)) => "PICKUPS",
        Some(_) => "POINTS",
    }
}

fn least(points: &[NamedPoint]) -> Point3<f64> {
    points.iter().map(|point| point.at).reduce(|a, b| a.inf(&b)).unwrap_or_else(Point3::origin)
}

/// Text of a group as readers of any code page take it: other letters as `\U+XXXX`, and nothing that steers the text.
fn ascii(text: &str) -> String {
    let mut out = String::new();
    let mut units = [0; 2];
    for letter in text.chars() {
        match letter {
            ' '..='~' if letter != '\\' && letter != '%' => out.push(letter),
            '%' => out.push_str("%%%"),
            _ => {
                for unit in letter.encode_utf16(&mut units) {
                    // Writing to a string cannot fail.
                    let _ = write!(out, "\\U+{unit:04X}");
                }
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::ascii;

    #[test]
    fn a_name_of_any_letters_is_plain_text_that_steers_nothing() {
        assert_eq!(ascii("toe link 2"), "toe link 2");
        assert_eq!(ascii("Träger"), "Tr\\U+00E4ger");
        assert_eq!(ascii("%%u\\P"), "%%%%%%u\\U+005CP");
        assert_eq!(ascii("\u{1d11e}"), "\\U+D834\\U+DD1E");
    }
}
