//! `tape-check.csv` and `points.csv` in full precision, `bracket-places.csv`, `clocking.csv`, `cut-list.csv` and
//! `setting-chart.csv` as fine as a shop can use; car axes.

use ::csv::Error;

use crate::outputs::csv::{cell, shop_cell, text_cell};
use crate::outputs::tables::{finished, writer};
use crate::studies::fabrication::{
    BoltFrom, Bracket, CutLink, CutTube, LinkClock, NamedPoint, Setting, SettingStep, TapeCheck,
};

/// `tape-check.csv`: a distance to tape in each row, and an empty cell for what was read.
pub fn tape_check_csv(check: &TapeCheck) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record(["point", "to", "distance_mm", "tolerance_mm", "measured_mm"])?;
    for row in &check.distances {
        let lengths = [row.distance_mm, row.tolerance_mm].map(|mm| cell(Some(mm)));
        let names = [&row.point, &row.to].map(|name| text_cell(name));
        writer.write_record(names.into_iter().chain(lengths).chain([String::new()]))?;
    }
    finished(writer)
}

/// `bracket-places.csv`: every rod end with its bolt.
pub fn bracket_places_csv(brackets: &[Bracket]) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record([
        "point",
        "x_mm",
        "y_mm",
        "z_mm",
        "bolt_from",
        "bolt_x",
        "bolt_y",
        "bolt_z",
        "plan_deg",
        "tilt_deg",
        "misalignment_deg",
        "limit_deg",
        "margin_deg",
        "best_leaves_deg",
    ])?;
    for bracket in brackets {
        let from = match bracket.bolt_from {
            None => "",
            Some(BoltFrom::File) => "file",
            Some(BoltFrom::Best) => "best",
        };
        let bolt = (0..3).map(|k| bracket.bolt.map(|bolt| bolt[k]));
        let angles = [bracket.angles.and_then(|of| of.plan_deg), bracket.angles.map(|of| of.tilt_deg)];
        let leans = [bracket.misalignment_deg, bracket.limit_deg, bracket.margin_deg, bracket.best_leaves_deg];
        let place = bracket.at_mm.map(Some).map(shop_cell);
        let head = std::iter::once(text_cell(&bracket.point)).chain(place).chain([from.to_owned()]);
        writer.write_record(head.chain(bolt.chain(angles).chain(leans).map(shop_cell)))?;
    }
    finished(writer)
}

/// `clocking.csv`: the angle at which the ends of each link are locked.
pub fn clocking_csv(links: &[LinkClock]) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record(["link", "clock_deg", "travel_low_deg", "travel_high_deg", "permitted_deg"])?;
    for link in links {
        let travel = [link.over_travel_deg.map(|of| of.low), link.over_travel_deg.map(|of| of.high)];
        let numbers = [link.best_deg].into_iter().chain(travel).chain([link.permitted_deg]);
        writer.write_record(std::iter::once(text_cell(&link.link)).chain(numbers.map(shop_cell)))?;
    }
    finished(writer)
}

/// `cut-list.csv`: every link as it is sawn; cells that lack data are empty.
pub fn cut_list_csv(links: &[CutLink]) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record([
        "side",
        "link",
        "eye_to_eye_mm",
        "tube_mm",
        "engagement_mm",
        "stands_out_mm",
        "head_room_mm",
        "shorter_mm",
        "longer_mm",
        "shorter_turns",
        "longer_turns",
        "tube_mass_kg",
    ])?;
    for link in links {
        let of = |value: &dyn Fn(&CutTube) -> f64| link.tube.as_ref().map(value);
        let numbers = [
            Some(link.eye_to_eye_mm),
            of(&|tube| tube.tube_mm),
            of(&|tube| tube.engagement_mm),
            of(&|tube| tube.stands_out_mm),
            of(&|tube| tube.head_room_mm),
            of(&|tube| tube.range_mm.low),
            of(&|tube| tube.range_mm.high),
            of(&|tube| tube.range_turns.low),
            of(&|tube| tube.range_turns.high),
            link.tube_mass_kg,
        ];
        writer.write_record(
            [link.side.name().to_owned(), text_cell(&link.link)].into_iter().chain(numbers.map(shop_cell)),
        )?;
    }
    finished(writer)
}

/// `setting-chart.csv`: what a turn of each link and a shim under each bracket change.
pub fn setting_chart_csv(chart: &[Setting]) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record([
        "side",
        "link",
        "step",
        "along_x",
        "along_y",
        "along_z",
        "by_mm",
        "toe_deg",
        "camber_deg",
        "recession_mm",
        "slope_deg_per_25mm",
    ])?;
    for row in chart {
        let (step, along) = match row.what {
            SettingStep::Flat => ("flat", None),
            SettingStep::HalfTurn => ("half_turn", None),
            SettingStep::ChassisShim { along } => ("chassis_shim", Some(along)),
            SettingStep::UprightShim { along } => ("upright_shim", Some(along)),
        };
        let along = (0..3).map(|k| shop_cell(along.map(|along| along[k])));
        let numbers = [row.by_mm, row.toe_deg, row.camber_deg, row.recession_mm, row.slope_deg_per_25mm];
        let head = [row.side.name().to_owned(), text_cell(&row.link), step.to_owned()];
        writer.write_record(head.into_iter().chain(along).chain(numbers.map(|number| shop_cell(Some(number)))))?;
    }
    finished(writer)
}

/// `points.csv`: every point of the car and every datum.
pub fn named_points_csv(points: &[NamedPoint]) -> Result<Vec<u8>, Error> {
    let mut writer = writer();
    writer.write_record(["point", "x_mm", "y_mm", "z_mm", "side"])?;
    for point in points {
        let place = point.at.iter().map(|mm| cell(Some(*mm)));
        let side = point.side.map_or("", |side| side.name()).to_owned();
        writer.write_record(std::iter::once(text_cell(&point.name)).chain(place).chain([side]))?;
    }
    finished(writer)
}
