//! `hubtrace fabricate`: the car as sheets for the shop.

mod screen;

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use crate::file::untouched_points;
use crate::geometry::LengthUnit;
use crate::outputs::{
    Paper, SheetSource, bracket_places_csv, build_sheet, clocking_csv, cut_list_csv, named_points_csv, points_dxf,
    setting_chart_csv, sha256_hex, summary_json, tape_check_csv, true_size_sheets,
};
use crate::present::{LengthFormat, words};
use crate::studies::Rig;
use crate::studies::fabrication::FabricationFindings;

use super::failure::Failure;
use super::options::StudyArgs;
use super::{Outcome, Terminal, bind_failures, load};

/// Write the shop sheets of your car: brackets and bolts, what the tape must read, drawings at true size, points for CAD
#[derive(Debug, Args)]
pub struct FabricateArgs {
    /// Geometry file of your own car
    pub file: Option<PathBuf>,
    #[command(flatten)]
    pub study: StudyArgs,
    /// Paper of the PDF sheets; A4 for a file in mm, Letter for one in inches
    #[arg(long, value_enum)]
    pub paper: Option<PaperArg>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PaperArg {
    A4,
    Letter,
}

impl FabricateArgs {
    fn paper(&self, units: LengthUnit) -> Paper {
        match (self.paper, units) {
            (Some(PaperArg::A4), _) | (None, LengthUnit::Millimetre) => Paper::A4,
            (Some(PaperArg::Letter), _) | (None, LengthUnit::Inch) => Paper::Letter,
        }
    }
}

pub fn run(args: &FabricateArgs, terminal: &mut Terminal<'_>) -> Result<Outcome, Failure> {
    let Some(path) = &args.file else {
        return Err(Failure::input(
            "`hubtrace fabricate` takes the file of your own car: nobody welds the demo car",
            "name it: hubtrace fabricate rear.toml; `hubtrace new rear.toml` writes one to start from",
        ));
    };
    let file = load::geometry(Some(path), args.study.output.quiet, terminal)?;
    load::note_doubts(&file, Some(path), args.study.output.quiet, terminal);
    let rig = Rig::new(&file.geometry).map_err(|singular| load::singular(&file, singular.side))?;
    let sides = args.study.side.sides();
    let found = FabricationFindings::of(rig, sides);
    let input_sha256 = sha256_hex(file.text.as_bytes());
    let summary = summary_json(&found, &input_sha256).map_err(Failure::unwritable)?;

    let source = SheetSource {
        name: &file.geometry.name,
        file: &file.source,
        input_sha256: &input_sha256,
        state: words::stage(&file.geometry),
        starter_points: untouched_points(&file.geometry).map_or(0, |untouched| untouched.names.len()),
    };
    let shop = &found.shop;
    let mut folder = args.study.results("fabricate", Some(path), &file);
    folder.add("tape-check.csv", tape_check_csv(&shop.tape_check).map_err(Failure::unwritable)?);
    folder.add("bracket-places.csv", bracket_places_csv(&shop.brackets).map_err(Failure::unwritable)?);
    folder.add("clocking.csv", clocking_csv(&shop.clocking).map_err(Failure::unwritable)?);
    folder.add("cut-list.csv", cut_list_csv(&shop.cut_list).map_err(Failure::unwritable)?);
    folder.add("setting-chart.csv", setting_chart_csv(&shop.setting_chart).map_err(Failure::unwritable)?);
    folder.add("points.csv", named_points_csv(&shop.points).map_err(Failure::unwritable)?);
    folder.add("points.dxf", points_dxf(&shop.points, &shop.lines, &source));
    let units = file.geometry.units;
    let sheets = true_size_sheets(shop, &source, args.paper(units), LengthFormat(units));
    folder.add("build-sheet.html", build_sheet(&found, &sheets, &source));
    sheets.into_iter().for_each(|sheet| folder.add(sheet.name, sheet.contents));
    folder.add("summary.json", summary.as_str());
    let written = folder.write(&args.study.output.out, args.study.output.force)?;

    let screen = screen::Screen { found: &found, source };
    args.study.output.tell(terminal, &summary, || screen.text(&written))?;
    let binds = bind_failures(&found.car, "tape-check.csv");
    match binds.is_empty() {
        true => Ok(Outcome::of(&found.car.judged, sides)),
        false => Err(Failure::several(binds.into_iter())),
    }
}
