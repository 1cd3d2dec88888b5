//! Shop sheets: tables to weld and tape by, points for CAD, and drawings at true size.
//!
//! In reading order: `source` (what every sheet says of where it is from), `tables` (CSV), `dxf` (points for CAD), `drawing`
//! (shapes in mm), `plan` (the car from above and behind), `bench` (templates and wraps), `svg`, `tiles` (a drawing cut into
//! sheets of paper), `pdf`, and `build_sheet` (HTML, made of the pieces of `page`).

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
mod tiles;

pub use build_sheet::build_sheet;
pub use dxf::points_dxf;
pub use source::SheetSource;
pub use tables::{bracket_places_csv, clocking_csv, cut_list_csv, named_points_csv, setting_chart_csv, tape_check_csv};
pub use tiles::Paper;

use crate::present::LengthFormat;
use crate::studies::fabrication::ShopFindings;

/// The drawings at true size by file name: the car from above and from behind, templates of its brackets, and wraps for notched
/// tubes where the frame has any.
///
/// Tested by `tests/cli/true_size.rs` and, as they print, by `tests/outside/true_size.py`.
pub fn true_size_sheets(
    shop: &ShopFindings,
    source: &SheetSource,
    paper: Paper,
    lengths: LengthFormat,
) -> Vec<(&'static str, Vec<u8>)> {
    let [floor, rear] =
        [plan::View::Above, plan::View::Behind].map(|view| plan::plan(view, &shop.points, &shop.lines, lengths));
    let mut sheets = vec![
        ("floor-plan.svg", svg::svg(&floor, source).into_bytes()),
        ("rear-elevation.svg", svg::svg(&rear, source).into_bytes()),
        ("floor-plan.pdf", pdf::pdf(&[floor], paper, source)),
        ("rear-elevation.pdf", pdf::pdf(&[rear], paper, source)),
    ];
    let others = [
        ("templates.pdf", bench::templates(&shop.templates, &shop.brackets, lengths)),
        ("notches.pdf", bench::notches(&shop.tube_ends, lengths)),
    ];
    let drawn = others.into_iter().filter(|(_, drawings)| !drawings.is_empty());
    sheets.extend(drawn.map(|(name, drawings)| (name, pdf::pdf(&drawings, paper, source))));
    sheets
}
