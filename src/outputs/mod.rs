//! Findings as files: CSV, JSON and SVG, and the folder that they go into. Formats numbers and works none out.

mod charts;
mod commit;
mod correct;
mod correction_sheet;
mod csv;
mod driveline;
mod error;
mod file_list;
mod folder;
mod forces;
mod frame_tubes;
mod html;
mod locate;
mod markup;
mod measuring_sheet;
mod odds;
mod report;
mod sheets;
mod staged;
mod summary;
mod tables;
mod tolerance;
mod tune;
mod turn;

pub use charts::{
    CarBeside, CarShown, ChartError, ChartSource, before_after, chart_names, charts, charts_beside, correction_charts,
    driveline_charts, forces_charts, tolerance_charts,
};
pub use correct::{CorrectSummary, correction_csv, correction_curve_csv};
pub use correction_sheet::correction_sheet;
pub use csv::rows_csv;
pub use driveline::{halfshaft_angles_csv, halfshaft_csv, propshaft_csv, runs_out_csv};
pub use error::{Action, WriteError};
pub use file_list::{list_name, sha256_hex};
pub use folder::{Origin, OtherResults, OutputFolder, Written};
pub use forces::{ForcesSummary, brackets_csv, compliance_csv, forces_csv, margins_csv, mounts_csv};
pub use locate::{LocateSummary, points_csv, residuals_csv};
pub use measuring_sheet::measuring_sheet;
pub use report::{ReportSource, ReportSummary, ReportTable, report, report_tables};
pub use sheets::{
    Paper, SheetSource, TrueSizeFile, bracket_places_csv, build_sheet, clocking_csv, cut_list_csv, named_points_csv,
    points_dxf, setting_chart_csv, tape_check_csv, true_size_sheets,
};
pub use staged::{replace_file, write_file, write_files};
pub use summary::summary_json;
pub use tables::{clearance_csv, moves_csv, rod_ends_csv, sensitivity_csv};
pub use tolerance::{ToleranceSummary, tolerance_csv};
pub use tune::TuneSummary;
