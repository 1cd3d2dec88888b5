//! Sheets that are glued to steel: drilling templates of brackets, and wraps that mark the notch of a tube.

use super::drawing::{At, Drawing, Pen, Shape, Text};
use super::tiles::{ONE_SHEET_MM, broken, fitted};
use crate::geometry::LengthUnit;
use crate::present::LengthFormat;
use crate::present::fabrication::{bolt_angles, no_notch, notch_fit, seen_from, zero_line};
use crate::studies::fabrication::{Bracket, BracketTemplate, LinkAt, Notch, TubeEnd};

const HEAD_MM: f64 = 5.0;
const PLAIN_MM: f64 = 3.5;
const SMALL_MM: f64 = 2.5;
const LINE_MM: f64 = 5.5;
/// From the bolt to the end of what is drawn round it, mm.
const REACH_MM: f64 = 52.0;
/// Blank round a wrap, mm.
const BORDER_MM: f64 = 8.0;

/// Diameters of bolts, mm, and what they are called: those of the tables of the unit.
fn holes(units: LengthUnit) -> ([f64; 4], &'static str) {
    match units {
        LengthUnit::Millimetre => ([6.0, 8.0, 10.0, 12.0], "6, 8, 10, 12 mm"),
        LengthUnit::Inch => ([0.25, 0.3125, 0.375, 0.5].map(|inches| units.to_mm(inches)), "1/4, 5/16, 3/8, 1/2 in"),
    }
}

/// Two templates on a sheet, each to be cut out and glued to its plate.
pub(super) fn templates(templates: &[BracketTemplate], brackets: &[Bracket], lengths: LengthFormat) -> Vec<Drawing> {
    let sheets = templates.chunks(2);
    sheets
        .map(|two| {
            let half = 0.5 * ONE_SHEET_MM[1];
            let shapes = two.iter().enumerate().flat_map(|(k, template)| {
                let bracket = brackets.iter().find(|bracket| bracket.point == template.point);
                template_shapes(template, bracket, lengths, half * k as f64)
            });
            Drawing {
                title: "Drilling templates, true size".to_owned(),
                notes: Vec::new(),
                width_mm: ONE_SHEET_MM[0],
                height_mm: ONE_SHEET_MM[1],
                shapes: shapes.collect(),
                grid: Vec::new(),
            }
        })
        .collect()
}

fn template_shapes(
    template: &BracketTemplate,
    bracket: Option<&Bracket>,
    lengths: LengthFormat,
    upper: f64,
) -> Vec<Shape> {
    let bolt = [REACH_MM + 2.0, upper + REACH_MM + 4.0];
    let on_sheet = |[right, up]: [f64; 2]| [bolt[0] + right, bolt[1] - up];
    let mut shapes = Vec::new();
    let (holes_mm, holes) = holes(lengths.0);
    for diameter in holes_mm {
        shapes.push(Shape::Circle(bolt, 0.5 * diameter, Pen::Fine));
    }
    shapes.push(Shape::Circle(bolt, REACH_MM, Pen::Grid));
    shapes.push(Shape::Line(on_sheet([-REACH_MM, 0.0]), on_sheet([REACH_MM, 0.0]), Pen::Fine));
    shapes.push(Shape::Line(on_sheet([0.0, -REACH_MM]), on_sheet([0.0, REACH_MM]), Pen::Fine));
    for (which, [right, up]) in &template.link {
        let end = |scale: f64, off: f64| on_sheet([right * scale - up * off, up * scale + right * off]);
        let half = 0.5 * template.link_od_mm;
        match which {
            LinkAt::Design => {
                shapes.push(Shape::Line(end(0.0, 0.0), end(REACH_MM, 0.0), Pen::Bold));
                for off in [-half, half] {
                    shapes.push(Shape::Line(end(2.0 * half, off), end(REACH_MM, off), Pen::Fine));
                }
            }
            LinkAt::Bump | LinkAt::Droop => {
                shapes.push(Shape::Line(end(half, 0.0), end(REACH_MM, 0.0), Pen::Dashed));
                let word = if *which == LinkAt::Bump { "bump" } else { "droop" };
                // Before the edges of the link begin.
                shapes.push(Shape::Text(beside_line([end(half, 0.0), end(half + 9.0, 0.0)], *which, word)));
            }
        }
    }
    let tube = template.tube.map_or(Vec::new(), |([from, to], od_mm)| {
        tube_lines(on_sheet(from), on_sheet(to), od_mm)
            .into_iter()
            .filter_map(|([from, to], pen)| {
                let [from, to] = inside_circle([from, to], bolt, REACH_MM)?;
                Some(Shape::Line(from, to, pen))
            })
            .collect()
    });
    let shows_tube = !tube.is_empty();
    shapes.extend(tube);
    let words = [
        Some(template.point.clone()),
        Some(seen_from(template.seen_from).to_owned()),
        bracket.and_then(|of| of.angles).map(|angles| format!("bolt: {}", bolt_angles(&angles))),
        bracket.map(|of| {
            let [x, y, z] = of.at_mm.map(|mm| lengths.number(mm));
            format!("x {x}  y {y}  z {z} {}", lengths.symbol())
        }),
        Some("cross: level and plumb".to_owned()),
        Some(format!("circles: {holes}")),
        Some("full line: link as drawn, its edges beside it".to_owned()),
        Some("dashed: full bump and droop".to_owned()),
        shows_tube.then(|| "across the circle: frame tube, its centre line dashed".to_owned()),
    ];
    let column = 2.0 * REACH_MM + 10.0;
    let lines = words.into_iter().flatten().enumerate().flat_map(|(k, words)| {
        let size = if k == 0 { HEAD_MM } else { PLAIN_MM };
        fitted(&words, size, ONE_SHEET_MM[0] - column, 2).into_iter().map(move |line| (size, line))
    });
    let lines = lines
        .enumerate()
        .map(|(k, (size, line))| Shape::Text(Text::new([column, upper + 10.0 + 7.0 * k as f64], size, line)));
    shapes.extend(lines);
    shapes.push(Shape::Line(
        [0.0, upper + 0.5 * ONE_SHEET_MM[1]],
        [ONE_SHEET_MM[0], upper + 0.5 * ONE_SHEET_MM[1]],
        Pen::Grid,
    ));
    shapes
}

/// A word near the outer end of a line, clear of it: above for bump and below for droop, to the right of a steep line.
fn beside_line([inner, outer]: [At; 2], which: LinkAt, word: &str) -> Text {
    let text = Text::new([0.0, 0.0], SMALL_MM, word);
    let width = text.covers()[2];
    let [x, y] = [outer[0] - inner[0], outer[1] - inner[1]];
    if y.abs() > x.abs() {
        return Text { at: [inner[0].max(outer[0]) + 1.0, 0.5 * (inner[1] + outer[1])], ..text };
    }
    // From the outer end inward, as far as the word is wide, the line is between these heights.
    let past = [outer[1], outer[1] - y / x.abs() * width];
    let left = if x < 0.0 { outer[0] } else { outer[0] - width };
    let base = match which {
        LinkAt::Droop => past[0].max(past[1]) + 1.0 + SMALL_MM,
        LinkAt::Bump | LinkAt::Design => past[0].min(past[1]) - 1.0,
    };
    Text { at: [left, base], ..text }
}

/// Centre line and both edges of a tube.
fn tube_lines(from: At, to: At, od_mm: Option<f64>) -> Vec<([At; 2], Pen)> {
    let [x, y] = [to[0] - from[0], to[1] - from[1]];
    let length = x.hypot(y);
    let mut lines = vec![([from, to], Pen::Dashed)];
    if let Some(od_mm) = od_mm.filter(|_| length > 0.0) {
        let half = [-y / length * 0.5 * od_mm, x / length * 0.5 * od_mm];
        for sign in [-1.0, 1.0] {
            lines.push(([from, to].map(|at| [at[0] + sign * half[0], at[1] + sign * half[1]]), Pen::Fine));
        }
    }
    lines
}

/// What of a line lies in a circle, mm: another template begins beyond it. `None` for one that passes it by.
fn inside_circle([from, to]: [At; 2], centre: At, radius_mm: f64) -> Option<[At; 2]> {
    let way = [to[0] - from[0], to[1] - from[1]];
    let out = [from[0] - centre[0], from[1] - centre[1]];
    // |out + t way| = radius, as a quadratic in t.
    let (square, half_linear) = (way[0] * way[0] + way[1] * way[1], out[0] * way[0] + out[1] * way[1]);
    let constant = out[0] * out[0] + out[1] * out[1] - radius_mm * radius_mm;
    let root = (half_linear * half_linear - square * constant).max(0.0).sqrt();
    let (enters, leaves) = (((-half_linear - root) / square).max(0.0), ((-half_linear + root) / square).min(1.0));
    let at = |t: f64| [from[0] + t * way[0], from[1] + t * way[1]];
    (square > 0.0 && enters < leaves).then(|| [at(enters), at(leaves)])
}

/// A wrap for every notched end, and a sheet that names the ends without one.
pub(super) fn notches(ends: &[TubeEnd], lengths: LengthFormat) -> Vec<Drawing> {
    let mut drawings: Vec<Drawing> =
        ends.iter().filter_map(|of| of.notch.as_ref().ok()).map(|notch| wrap(notch, lengths)).collect();
    let without: Vec<String> = ends
        .iter()
        .filter_map(|of| Some(format!("{} ({}) on {}: {}", of.tube, of.end, of.on, no_notch(of.notch.as_ref().err()?))))
        .collect();
    if !without.is_empty() {
        let line = |(k, words): (usize, &String)| {
            Shape::Text(Text::new([0.0, 14.0 + LINE_MM * k as f64], PLAIN_MM, words.as_str()))
        };
        let mut shapes = vec![Shape::Text(Text::new([0.0, HEAD_MM], HEAD_MM, "Tube ends without a wrap"))];
        shapes.extend(without.iter().enumerate().map(line));
        drawings.push(Drawing {
            title: "Tube ends without a wrap".to_owned(),
            notes: Vec::new(),
            width_mm: ONE_SHEET_MM[0],
            height_mm: 20.0 + LINE_MM * without.len() as f64,
            shapes,
            grid: Vec::new(),
        });
    }
    drawings
}

fn wrap(notch: &Notch, lengths: LengthFormat) -> Drawing {
    let round_mm = std::f64::consts::PI * notch.od_mm;
    let highest = notch.edge.iter().map(|point| point[1]).fold(0.0, f64::max);
    let title = format!("Notch wrap: {}, its end `{}`, on {}", notch.tube, notch.end, notch.on);
    let words = [
        notch_fit(lengths, notch),
        format!(
            "Wrap round the tube, print outside, arrows toward the end; \"0\" on the side that faces {}.",
            zero_line(notch.zero)
        ),
        format!(
            "Base line: {} from the other end of the drawn centre line, along the tube.",
            lengths.finer_unit(notch.base_from_far_mm)
        ),
        "Cut along the curve. On the right side of the car the same wrap with the print inside.".to_owned(),
    ];
    let words: Vec<String> = broken(&title, HEAD_MM - 1.0, ONE_SHEET_MM[0]).into_iter().chain(words).collect();
    let top = LINE_MM * (words.len() as f64 + 1.0);
    let base = top + highest + BORDER_MM;
    let on_sheet = |[round, toward]: [f64; 2]| [BORDER_MM + round, base - toward];
    let mut shapes: Vec<Shape> = words
        .iter()
        .enumerate()
        .map(|(k, words)| {
            Shape::Text(Text::new(
                [0.0, LINE_MM * (k as f64 + 1.0)],
                if k == 0 { HEAD_MM - 1.0 } else { 3.0 },
                words.as_str(),
            ))
        })
        .collect();
    shapes.push(Shape::Curve(notch.edge.iter().map(|point| on_sheet(*point)).collect(), Pen::Bold));
    shapes.push(Shape::Line(on_sheet([0.0, 0.0]), on_sheet([round_mm, 0.0]), Pen::Bold));
    for quarter in 0..=4 {
        let round = 0.25 * round_mm * f64::from(quarter);
        let pen = if quarter % 4 == 0 { Pen::Fine } else { Pen::Dashed };
        shapes.push(Shape::Line(on_sheet([round, 0.0]), on_sheet([round, highest + 4.0]), pen));
        let name = ["0", "1/4", "1/2", "3/4", "0"][quarter as usize];
        shapes.push(Shape::Text(Text::new(on_sheet([round - 1.0, -5.0]), PLAIN_MM, name)));
        let tip = on_sheet([round, 18.0]);
        for side in [-2.0, 2.0] {
            shapes.push(Shape::Line(tip, [tip[0] + side, tip[1] + 4.0], Pen::Fine));
        }
    }
    Drawing {
        title,
        notes: Vec::new(),
        width_mm: (round_mm + 2.0 * BORDER_MM).max(ONE_SHEET_MM[0]),
        height_mm: base + 2.0 * BORDER_MM,
        shapes,
        grid: Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::drawing::{Pen, Shape};
    use super::template_shapes;
    use crate::geometry::{LengthUnit, Side};
    use crate::present::LengthFormat;
    use crate::studies::fabrication::{BracketTemplate, LinkAt, SeenFrom};

    fn template(tube: [[f64; 2]; 2]) -> BracketTemplate {
        BracketTemplate {
            point: "toe link chassis".to_owned(),
            side: Side::Left,
            seen_from: SeenFrom::Behind,
            link: vec![(LinkAt::Design, [-1.0, 0.0])],
            link_od_mm: 25.4,
            tube: Some((tube, Some(38.0))),
        }
    }

    fn words_and_lines(tube: [[f64; 2]; 2]) -> (Vec<String>, Vec<[[f64; 2]; 2]>) {
        let (mut words, mut lines) = (Vec::new(), Vec::new());
        for shape in template_shapes(&template(tube), None, LengthFormat(LengthUnit::Millimetre), 118.5) {
            match shape {
                Shape::Text(text) => words.push(text.text),
                Shape::Line(from, to, _) => lines.push([from, to]),
                _ => {}
            }
        }
        (words, lines)
    }

    /// Bolts of an inch car are drilled in inches.
    #[test]
    fn the_circles_of_a_template_are_bolts_of_the_unit_of_the_file() {
        for (units, said, largest_mm) in [
            (LengthUnit::Millimetre, "circles: 6, 8, 10, 12 mm", 12.0),
            (LengthUnit::Inch, "circles: 1/4, 5/16, 3/8, 1/2 in", 12.7),
        ] {
            let shapes = template_shapes(&template([[-20.0, -600.0], [25.0, 900.0]]), None, LengthFormat(units), 118.5);
            assert!(shapes.iter().any(|shape| matches!(shape, Shape::Text(text) if text.text == said)), "{said}");
            let fine = |shape: &Shape| matches!(shape, Shape::Circle(_, radius, Pen::Fine) if (2.0 * radius - largest_mm).abs() < 1e-9);
            assert!(shapes.iter().any(fine), "{largest_mm}");
        }
    }

    /// On a sheet with two templates a tube of the one must not run through the other.
    #[test]
    fn a_tube_is_drawn_inside_the_circle_of_its_template() {
        let (words, lines) = words_and_lines([[-20.0, -600.0], [25.0, 900.0]]);
        let bolt = [54.0, 174.5];
        let off_mm = |at: [f64; 2]| (at[0] - bolt[0]).hypot(at[1] - bolt[1]);
        let steep =
            lines.iter().filter(|[from, to]| (from[1] - to[1]).abs() > 60.0 && (from[0] - bolt[0]).abs() > 1e-9);
        let ends: Vec<f64> = steep.flatten().map(|&at| off_mm(at)).collect();
        assert!(ends.len() == 6 && ends.iter().all(|mm| (mm - 52.0).abs() < 1e-9), "{ends:?}");
        assert!(words.iter().any(|words| words.contains("frame tube")), "{words:?}");
    }

    #[test]
    fn a_tube_beyond_the_circle_is_not_drawn() {
        let (here, none) = (words_and_lines([[80.0, -600.0], [80.0, 900.0]]), words_and_lines([[0.0; 2], [0.0; 2]]));
        assert_eq!(here.1, none.1);
        assert!(!here.0.iter().any(|words| words.contains("frame tube")), "{:?}", here.0);
    }
}
