//! Shop sheets: tables to weld and tape by, points for CAD, and drawings at true size.
//!
//! In reading order: `source` (what every sheet says of where it is from), `tables` (CSV), `dxf` (points for CAD), `drawing`
//! (shapes in mm), `plan` (the car from above and behind), `bench` (templates and wraps), `targets` (for tape and laser), `svg`,
//! `tiles` (a drawing cut into sheets of paper), `pdf`, `build_sheet` (HTML, made of the pieces of `page`) and `wall` (its first page).

mod bench;
mod build_sheet;
mod drawing;
mod dxf;
mod page;
mod pdf;
mod plan;
mod source;
mod svg;
mod tables;
mod targets;
mod tiles;
mod wall;

pub use build_sheet::build_sheet;
pub use dxf::points_dxf;
pub use source::SheetSource;
pub use tables::{bracket_places_csv, clocking_csv, cut_list_csv, named_points_csv, setting_chart_csv, tape_check_csv};
pub use tiles::Paper;

use crate::present::LengthFormat;
use crate::studies::fabrication::ShopFindings;

/// A file of drawings at true size.
#[derive(Debug, Clone, PartialEq)]
pub struct TrueSizeFile {
    /// Of the file.
    pub name: &'static str,
    /// What it is for, as the build sheet lists it.
    pub what_for: &'static str,
    /// Its bytes.
    pub contents: Vec<u8>,
}

/// The drawings at true size: the car from above and from behind, templates of its brackets, targets for tape and laser, and
/// wraps for notched tubes where the frame has any.
///
/// Tested by `tests/cli/true_size.rs` and, as they print, by `tests/outside/true_size.py`.
pub fn true_size_sheets(
    shop: &ShopFindings,
    source: &SheetSource,
    paper: Paper,
    lengths: LengthFormat,
) -> Vec<TrueSizeFile> {
    let [floor, rear] =
        [plan::View::Above, plan::View::Behind].map(|view| plan::plan(view, &shop.points, &shop.lines, lengths));
    let svgs = [
        ("floor-plan.svg", "the car from above, for a plotter", svg::svg(&floor, source)),
        ("rear-elevation.svg", "the car from behind, for a plotter", svg::svg(&rear, source)),
    ];
    let pdfs = [
        ("floor-plan.pdf", "the car from above, to lay on the floor and plumb from", vec![floor]),
        ("rear-elevation.pdf", "the car from behind, to hang up and level from", vec![rear]),
        (
            "templates.pdf",
            "drilling templates, to glue to the bracket plates",
            bench::templates(&shop.templates, &shop.brackets, lengths),
        ),
        (
            "targets.pdf",
            "targets to stick on datums and pickups, for tape and laser",
            targets::targets(&shop.points, source, lengths),
        ),
        ("notches.pdf", "wraps that mark the notch of a frame tube", bench::notches(&shop.tube_ends, lengths)),
    ];
    let svgs = svgs.map(|(name, what_for, text)| TrueSizeFile { name, what_for, contents: text.into_bytes() });
    let drawn = pdfs.into_iter().filter(|(_, _, drawings)| !drawings.is_empty());
    let pdfs = drawn.map(|(name, what_for, drawings)| TrueSizeFile {
        name,
        what_for,
        contents: pdf::pdf(&drawings, paper, source),
    });
    svgs.into_iter().chain(pdfs).collect()
}
