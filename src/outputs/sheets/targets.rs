//! Targets to cut out and stick on: what a tape or a laser starts from, one for every datum and every pickup.

use super::drawing::{At, Drawing, Pen, Shape, Text};
use super::source::SheetSource;
use super::tiles::{ONE_SHEET_MM, fitted};
use crate::geometry::CornerPoint;
use crate::present::LengthFormat;
use crate::studies::fabrication::NamedPoint;

const ACROSS: usize = 3;
const DOWN: usize = 4;
/// Above the targets, for how they are used, mm.
const HEAD_MM: f64 = 11.0;
/// Diameters of the rings, mm.
const RINGS_MM: [f64; 3] = [10.0, 20.0, 30.0];
/// From the centre to the end of a hair of the cross, mm.
const HAIR_MM: f64 = 18.0;
/// From the edge of a target to what is on it, mm.
const EDGE_MM: f64 = 2.0;
const NAME_MM: f64 = 3.5;
const PLACE_MM: f64 = 2.8;
const SMALL_MM: f64 = 2.1;
/// Between two lines of letters, of their size (no unit).
const SPACING: f64 = 1.2;
const USE: [&str; 2] = [
    "Cut along the grey lines, prick the centre with a needle and set it on the mark. Rings: 10, 20 and 30 mm across.",
    "At a pickup the centre goes on the axis of its bolt; the numbers are those of the centre of its ball.",
];

/// Targets of these points, twelve on a sheet.
pub(super) fn targets(points: &[NamedPoint], source: &SheetSource, lengths: LengthFormat) -> Vec<Drawing> {
    let is_taped = |point: &&NamedPoint| matches!(point.point, None | Some(CornerPoint::Pickup(_)));
    let taped: Vec<&NamedPoint> = points.iter().filter(is_taped).collect();
    let sheet = |points: &[&NamedPoint]| {
        let (cell, cells) = (cell_mm(), points.iter().enumerate());
        let head = USE
            .iter()
            .enumerate()
            .map(|(k, line)| Shape::Text(Text::new([0.0, PLACE_MM + 1.4 * PLACE_MM * k as f64], PLACE_MM, *line)));
        let targets = cells.flat_map(|(k, point)| {
            let corner = [cell[0] * (k % ACROSS) as f64, HEAD_MM + cell[1] * (k / ACROSS) as f64];
            target(point, corner, source, lengths)
        });
        Drawing {
            title: "Survey targets, true size".to_owned(),
            notes: Vec::new(),
            width_mm: ONE_SHEET_MM[0],
            height_mm: ONE_SHEET_MM[1],
            shapes: head.chain(targets).collect(),
            grid: Vec::new(),
        }
    };
    taped.chunks(ACROSS * DOWN).map(sheet).collect()
}

/// Width and height of a target with its words, mm.
fn cell_mm() -> At {
    [ONE_SHEET_MM[0] / ACROSS as f64, (ONE_SHEET_MM[1] - HEAD_MM) / DOWN as f64]
}

fn target(point: &NamedPoint, [left, upper]: At, source: &SheetSource, lengths: LengthFormat) -> Vec<Shape> {
    let [width, height] = cell_mm();
    let (right, lower) = (left + width, upper + height);
    let centre = [left + 0.5 * width, upper + EDGE_MM + HAIR_MM];
    let edge = [[left, upper], [right, upper], [right, lower], [left, lower], [left, upper]];
    let mut shapes = vec![
        Shape::Curve(edge.into(), Pen::Grid),
        Shape::Line([centre[0] - HAIR_MM, centre[1]], [centre[0] + HAIR_MM, centre[1]], Pen::Fine),
        Shape::Line([centre[0], centre[1] - HAIR_MM], [centre[0], centre[1] + HAIR_MM], Pen::Fine),
    ];
    shapes.extend(RINGS_MM.map(|across| Shape::Circle(centre, 0.5 * across, Pen::Bold)));

    let [x, y, z] = [0, 1, 2].map(|axis| lengths.number(point.at[axis]));
    let place = format!("x {x}  y {y}  z {z} {}", lengths.symbol());
    let small = source.watermark().map(str::to_owned).into_iter().chain([source.line()]);
    let words =
        [(point.name.clone(), NAME_MM), (place, PLACE_MM)].into_iter().chain(small.map(|line| (line, SMALL_MM)));
    let mut base = centre[1] + HAIR_MM;
    for (text, size_mm) in words {
        for line in fitted(&text, size_mm, width - 2.0 * EDGE_MM, 2) {
            base += SPACING * size_mm;
            shapes.push(Shape::Text(Text::new([left + EDGE_MM, base], size_mm, line)));
        }
    }
    shapes
}
