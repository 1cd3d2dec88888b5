//! The car at true size from above and from behind: a cross at every point, to chalk or plumb from.

use super::drawing::{At, Drawing, Pen, Shape, Text, overlap};
use crate::geometry::Axis;
use crate::present::LengthFormat;
use crate::studies::fabrication::{LineKind, NamedLine, NamedPoint};

/// Round the outermost points, mm.
const BORDER_MM: f64 = 60.0;
/// Datums as near as this to the other points are on the sheet, mm.
const NEAR_MM: f64 = 150.0;
const GRID_MM: f64 = 100.0;
const CROSS_MM: f64 = 6.0;
const NAME_MM: f64 = 3.5;
const SMALL_MM: f64 = 2.5;
/// Labels farther from their points have a line to them, mm.
const BESIDE_MM: f64 = 5.0;
/// A label is its own point's to the eye while the next one is so many times as far.
const MUCH_FARTHER: f64 = 2.0;

/// From where the car is seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum View {
    /// Forward is up the sheet.
    Above,
    /// The left wheel is on the left.
    Behind,
}

impl View {
    /// The axis of the car that runs up the sheet; y runs to the left.
    fn up(self) -> Axis {
        match self {
            View::Above => Axis::X,
            View::Behind => Axis::Z,
        }
    }

    fn title(self) -> &'static str {
        match self {
            View::Above => "Floor plan, true size",
            View::Behind => "Rear elevation, true size",
        }
    }

    fn notes(self) -> &'static str {
        match self {
            View::Above => {
                "Seen from above, front of the car up. Lay the sheet so that its line \"y 0\" is the centreline and its line \
                 \"x 0\" the datum plane; drop a plumb bob from every point to its cross."
            }
            View::Behind => {
                "Seen from behind, left wheel on the left. Hang the sheet plumb so that its line \"y 0\" is the centreline and \
                 its line \"z 0\" the height of the datum."
            }
        }
    }
}

/// Points and lines of a car seen so.
pub(super) fn plan(view: View, points: &[NamedPoint], lines: &[NamedLine], lengths: LengthFormat) -> Drawing {
    let up = view.up();
    let flat = |at: &nalgebra::Point3<f64>| [-at.y, -at[up.index()]];
    let own: Vec<At> = points.iter().filter(|point| point.side.is_some()).map(|point| flat(&point.at)).collect();
    let [left, upper, right, lower] = bounds(&own);
    let near = [left - NEAR_MM, upper - NEAR_MM, right + NEAR_MM, lower + NEAR_MM];
    let is_shown = |point: &&NamedPoint| {
        let [x, y] = flat(&point.at);
        point.side.is_some() || overlap([x, y, x, y], near)
    };
    let shown: Vec<&NamedPoint> = points.iter().filter(is_shown).collect();
    let places: Vec<At> = shown.iter().map(|point| flat(&point.at)).collect();
    let [left, upper, right, lower] = bounds(&places);
    let corner = [left - BORDER_MM, upper - BORDER_MM];
    let on_sheet = |at: At| [at[0] - corner[0], at[1] - corner[1]];
    let (width_mm, height_mm) = (right - left + 2.0 * BORDER_MM, lower - upper + 2.0 * BORDER_MM);

    let mut shapes = Vec::new();
    for line in lines {
        let pen = if line.kind == LineKind::Link { Pen::Fine } else { Pen::Dashed };
        shapes.push(Shape::Line(on_sheet(flat(&line.from)), on_sheet(flat(&line.to)), pen));
    }
    for (point, at) in shown.iter().zip(&places) {
        let [x, y] = on_sheet(*at);
        shapes.push(Shape::Line([x - CROSS_MM, y], [x + CROSS_MM, y], Pen::Bold));
        shapes.push(Shape::Line([x, y - CROSS_MM], [x, y + CROSS_MM], Pen::Bold));
        if point.side.is_none() {
            shapes.push(Shape::Circle([x, y], 0.5 * CROSS_MM, Pen::Bold));
        }
    }
    let words = |point: &&NamedPoint| {
        let [x, y, z] = [0, 1, 2].map(|axis| lengths.number(point.at[axis]));
        [point.name.clone(), format!("x {x}  y {y}  z {z}")]
    };
    let labelled: Vec<(At, [String; 2])> =
        shown.iter().zip(&places).map(|(point, at)| (on_sheet(*at), words(point))).collect();
    let grid = grid(up, corner, [width_mm, height_mm]);
    let others: Vec<Shape> = shapes.iter().chain(&grid).cloned().collect();
    shapes.extend(labels(&labelled, &others, [width_mm, height_mm]));

    let far = points.iter().filter(|point| !is_shown(point)).map(|point| {
        let [x, y, z] = [0, 1, 2].map(|axis| lengths.number(point.at[axis]));
        format!("Off the sheet: {} at x {x}, y {y}, z {z} {}.", point.name, lengths.symbol())
    });
    Drawing {
        title: view.title().to_owned(),
        notes: [view.notes().to_owned()].into_iter().chain(far).collect(),
        width_mm,
        height_mm,
        shapes,
        grid,
    }
}

/// Left, upper, right and lower end of some places.
fn bounds(places: &[At]) -> [f64; 4] {
    places.iter().fold([f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY], |of, [x, y]| {
        [of[0].min(*x), of[1].min(*y), of[2].max(*x), of[3].max(*y)]
    })
}

/// Lines at every 100 mm of the car, named where they cross.
fn grid(up: Axis, corner: At, [width, height]: [f64; 2]) -> Vec<Shape> {
    let steps = |from: f64, size: f64| {
        let (first, last) = ((from / GRID_MM).ceil() as i64, ((from + size) / GRID_MM).floor() as i64);
        (first..=last).map(|k| GRID_MM * k as f64)
    };
    let mut shapes = Vec::new();
    for across in steps(corner[0], width) {
        let x = across - corner[0];
        shapes.push(Shape::Line([x, 0.0], [x, height], if across == 0.0 { Pen::Dashed } else { Pen::Grid }));
        for down in steps(corner[1], height) {
            let text = format!("y {:.0}  {} {:.0}", 0.0 - across, up.name(), 0.0 - down);
            shapes.push(Shape::Text(Text::new([x + 1.0, down - corner[1] - 1.0], SMALL_MM, text)));
        }
    }
    for down in steps(corner[1], height) {
        let y = down - corner[1];
        shapes.push(Shape::Line([0.0, y], [width, y], if down == 0.0 { Pen::Dashed } else { Pen::Grid }));
    }
    shapes
}

/// Two lines of letters beside each place, where nothing else is drawn; those that could be of another place have a line to their own.
fn labels(labelled: &[(At, [String; 2])], others: &[Shape], [width, height]: [f64; 2]) -> Vec<Shape> {
    let cross = |[x, y]: At| [x - CROSS_MM, y - CROSS_MM, x + CROSS_MM, y + CROSS_MM];
    let crosses: Vec<[f64; 4]> = labelled.iter().map(|(at, _)| cross(*at)).collect();
    let (mut written, mut leaders): (Vec<[f64; 4]>, Vec<Shape>) = (Vec::new(), Vec::new());
    let mut shapes = Vec::new();
    for (own, (at, words)) in labelled.iter().enumerate() {
        let texts = |corner: At| {
            let line = |k: usize| {
                Text::new([corner[0], corner[1] + 1.3 * NAME_MM * k as f64], [NAME_MM, SMALL_MM][k], words[k].as_str())
            };
            [line(0), line(1)]
        };
        let covers = |texts: &[Text; 2]| {
            let [a, b] = [texts[0].covers(), texts[1].covers()];
            [a[0], a[1], a[2].max(b[2]), b[3]]
        };
        let size = covers(&texts([0.0, 0.0]));
        let leader = |box_of: [f64; 4]| {
            let own_mm = apart_mm(box_of, *at);
            let nearest_mm = labelled.iter().map(|(other, _)| other).filter(|other| *other != at);
            let nearest_mm = nearest_mm.map(|other| apart_mm(box_of, *other)).fold(f64::INFINITY, f64::min);
            let is_plain = own_mm <= CROSS_MM + BESIDE_MM && nearest_mm > MUCH_FARTHER * own_mm;
            (!is_plain).then(|| Shape::Line(*at, nearest_on(box_of, *at), Pen::Fine))
        };
        let fits = |corner: &At| {
            let box_of = covers(&texts(*corner));
            let inside = box_of[0] >= 0.0 && box_of[1] >= 0.0 && box_of[2] <= width && box_of[3] <= height;
            let is_clear = !crosses.iter().chain(&written).any(|other| overlap(*other, box_of));
            let is_crossed = || others.iter().chain(&leaders).any(|other| other.meets(box_of));
            let leads = || {
                // A line from one of two crosses that lie on each other passes both.
                let apart = crosses.iter().filter(|other| !overlap(**other, crosses[own]));
                let mut in_the_way = apart.chain(&written);
                leader(box_of).is_none_or(|leader| !in_the_way.any(|other| leader.meets(*other)))
            };
            (inside && is_clear && !is_crossed(), leads())
        };
        let beside = BESIDE_MM + CROSS_MM;
        let corners = (0..12).flat_map(|ring| {
            let off = beside + 9.0 * f64::from(ring) - if ring == 0 { 4.0 } else { 0.0 };
            let [right, left] = [at[0] + off, at[0] - off - size[2]];
            [[right, at[1] - off + 4.0], [left, at[1] - off + 4.0], [right, at[1] + off], [left, at[1] + off]]
        });
        let best = corners.clone().find(|corner| fits(corner) == (true, true));
        let good = || corners.clone().find(|corner| fits(corner).0);
        let corner = best.or_else(good).or(corners.clone().next()).unwrap_or(*at);
        let texts = texts(corner);
        let box_of = covers(&texts);
        leaders.extend(leader(box_of));
        written.push(box_of);
        shapes.extend(texts.map(Shape::Text));
    }
    leaders.extend(shapes);
    leaders
}

/// The place of a box that is nearest to a point.
fn nearest_on(box_of: [f64; 4], at: At) -> At {
    [at[0].clamp(box_of[0], box_of[2]), at[1].clamp(box_of[1], box_of[3])]
}

fn apart_mm(box_of: [f64; 4], at: At) -> f64 {
    let [x, y] = nearest_on(box_of, at);
    (x - at[0]).hypot(y - at[1])
}
