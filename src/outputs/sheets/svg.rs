//! A drawing as SVG: one user unit is one millimetre.

use std::fmt::{self, Write};

use super::drawing::{Drawing, Pen, Shape, Text};
use super::source::SheetSource;
use crate::outputs::markup::escaped;

/// Below the drawing, for what it is made from, mm.
const FOOT_MM: f64 = 10.0;
const FOOT_TEXT_MM: f64 = 3.5;

/// The drawing with its source below it, at true size.
pub(super) fn svg(drawing: &Drawing, source: &SheetSource) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail.
    let _ = write_svg(&mut text, drawing, source);
    text
}

fn write_svg(out: &mut String, drawing: &Drawing, source: &SheetSource) -> fmt::Result {
    let (width, height) = (drawing.width_mm, drawing.height_mm + FOOT_MM);
    writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" viewBox=\"0 0 {width} {height}\" font-family=\"Helvetica, Arial, sans-serif\">"
    )?;
    writeln!(out, "<title>{}</title>", escaped(&format!("{}: {}", source.name, drawing.title)))?;
    writeln!(out, "<rect width=\"{width}\" height=\"{height}\" fill=\"white\"/>")?;
    if let Some(mark) = source.watermark() {
        let (x, y) = (0.5 * width, 0.5 * height);
        let size = width / mark.len() as f64;
        writeln!(
            out,
            "<text x=\"{x:.3}\" y=\"{y:.3}\" font-size=\"{size:.3}\" text-anchor=\"middle\" fill=\"#bbb\">{mark}</text>"
        )?;
    }
    for shape in drawing.grid.iter().chain(&drawing.shapes) {
        write_shape(out, shape)?;
    }
    let line = format!("{} · {} · {}", source.name, drawing.title, source.line());
    let foot = Text::new([5.0, height - 4.0], FOOT_TEXT_MM, line);
    write_shape(out, &Shape::Text(foot))?;
    writeln!(out, "</svg>")
}

fn write_shape(out: &mut String, shape: &Shape) -> fmt::Result {
    match shape {
        Shape::Line([x1, y1], [x2, y2], pen) => {
            writeln!(out, "<line x1=\"{x1:.4}\" y1=\"{y1:.4}\" x2=\"{x2:.4}\" y2=\"{y2:.4}\" {}/>", stroke(*pen))
        }
        Shape::Circle([x, y], radius, pen) => {
            writeln!(out, "<circle cx=\"{x:.4}\" cy=\"{y:.4}\" r=\"{radius:.4}\" fill=\"none\" {}/>", stroke(*pen))
        }
        Shape::Curve(points, pen) => {
            let points: Vec<String> = points.iter().map(|[x, y]| format!("{x:.4},{y:.4}")).collect();
            writeln!(out, "<polyline points=\"{}\" fill=\"none\" {}/>", points.join(" "), stroke(*pen))
        }
        Shape::Text(Text { at: [x, y], text, size_mm }) => {
            writeln!(out, "<text x=\"{x:.3}\" y=\"{y:.3}\" font-size=\"{size_mm}\">{}</text>", escaped(text))
        }
    }
}

fn stroke(pen: Pen) -> String {
    let grey = (255.0 * pen.grey()) as u8;
    let dash = pen.dash_mm().map_or(String::new(), |[dash, gap]| format!(" stroke-dasharray=\"{dash} {gap}\""));
    format!("stroke=\"#{grey:02x}{grey:02x}{grey:02x}\" stroke-width=\"{}\"{dash}", pen.width_mm())
}
