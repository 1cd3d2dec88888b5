//! `build-sheet.html`: the page to pin to the wall, brackets and clock angles, the tape check, and the order of welding.

use super::TrueSizeFile;
use super::page::{SCALE_BAR, document, steps};
use super::source::SheetSource;
use super::wall::wall;
use crate::geometry::Side;
use crate::outputs::frame_tubes::tube_forms;
use crate::outputs::html::{Cell, number, paragraph, paragraphs, table, words};
use crate::present::{LengthFormat, fabrication, rounded, trimmed, words};
use crate::studies::State;
use crate::studies::fabrication::{BoltFrom, Bracket, CutLink, FabricationFindings, LinkClock, Setting, TapeRow};

/// Rows of the tape check that a sheet of either paper holds.
const ROWS: usize = 36;
/// Rows of brackets that leave room for their words.
const BRACKETS: usize = 10;

/// The sheets of a car, one after the other.
///
/// Tested by `tests/cli/build_sheet.rs`.
pub fn build_sheet(found: &FabricationFindings, drawn: &[TrueSizeFile], source: &SheetSource) -> String {
    let geometry = found.car.judged.geometry();
    let sheet = BuildSheet { found, source, lengths: LengthFormat(geometry.units) };
    let mut sheets = wall(&sheet);
    sheets.extend(found.car.sides.iter().map(|&side| sheet.brackets(side)));
    sheets.extend(found.car.sides.iter().map(|&side| sheet.cut_list(side)));
    sheets.last_mut().into_iter().for_each(|last| *last += &sheet.tubes());
    sheets.extend(sheet.wheels().iter().map(|&side| sheet.setting_chart(side)));
    sheets.extend(sheet.tape_check());
    sheets.push(sheet.weld_order() + &other_files(drawn));
    document(&format!("Build sheet: {}", source.name), &sheets, source)
}

pub(super) struct BuildSheet<'a> {
    pub(super) found: &'a FabricationFindings<'a>,
    pub(super) source: &'a SheetSource<'a>,
    pub(super) lengths: LengthFormat,
}

pub(super) fn deg(value: Option<f64>, decimals: usize) -> Cell {
    Cell::Number(value.map_or("–".to_owned(), |deg| rounded(deg, decimals)))
}

/// What lies in the same folder, and what it is for.
fn other_files(drawn: &[TrueSizeFile]) -> String {
    let tables = [
        ("points.dxf", "points and lines for CAD, one unit is one mm"),
        ("points.csv, bracket-places.csv, clocking.csv", "the points, brackets and clock angles with all their digits"),
        ("tape-check.csv, cut-list.csv, setting-chart.csv", "the tables of these sheets, to fill in on a screen"),
    ];
    let of_drawings = drawn.iter().map(|file| (file.name, file.what_for));
    let rows: Vec<Vec<Cell>> =
        of_drawings.chain(tables).map(|(name, what_for)| vec![words(name), words(what_for)]).collect();
    table("Beside this sheet", &["file", "what for"], &rows) + &paragraph(fabrication::TRUE_SIZE)
}

impl BuildSheet<'_> {
    pub(super) fn mirrored(&self) -> bool {
        self.found.car.judged.geometry().looks_alike()
    }

    /// One wheel stands for both when they are mirror images.
    pub(super) fn wheels(&self) -> &[Side] {
        let sides = &self.found.car.sides;
        if self.mirrored() { &sides[..1] } else { sides }
    }

    fn brackets(&self, side: Side) -> String {
        let shop = &self.found.shop;
        let of_side: Vec<&Bracket> =
            shop.brackets.iter().filter(|bracket| bracket.side == side).take(BRACKETS).collect();
        let unit = self.lengths.symbol();
        let rows = of_side.iter().map(|bracket| {
            let [x, y, z] = bracket.at_mm.map(|mm| number(self.lengths.number(mm)));
            let mark = if bracket.bolt_from == Some(BoltFrom::Best) { " *" } else { "" };
            let limit = match bracket.margin_deg {
                Some(margin) if margin < 0.0 => {
                    Cell::Judged(State::Fail, format!("FAIL, {} over", rounded(-margin, 1)))
                }
                margin => deg(margin, 1),
            };
            let plan = bracket.angles.and_then(|of| of.plan_deg);
            vec![
                words(format!("{}{mark}", bracket.point)),
                x,
                y,
                z,
                deg(plan, 1),
                deg(bracket.angles.map(|of| of.tilt_deg), 1),
                deg(bracket.misalignment_deg, 1),
                limit,
            ]
        });
        let head = [
            "",
            &format!("x, {unit}"),
            &format!("y, {unit}"),
            &format!("z, {unit}"),
            "plan, deg",
            "tilt, deg",
            "leans, deg",
            "left, deg",
        ];
        let caption = format!("Brackets, {} wheel, at design height", side.name());
        let mut page = table(&caption, &head, &rows.collect::<Vec<_>>());
        page += &paragraph(fabrication::BOLT_ANGLES);
        page += &fabrication::bolts(&shop.brackets).map_or(String::new(), |sentence| paragraph(&sentence));
        let links: Vec<&LinkClock> = shop.clocking.iter().filter(|link| link.side == side).collect();
        let rows = links.iter().map(|link| {
            let travel = link
                .over_travel_deg
                .map_or("–".to_owned(), |of| format!("{} to {}", rounded(of.low, 2), rounded(of.high, 2)));
            vec![words(link.link.as_str()), deg(link.best_deg, 1), number(travel), deg(link.permitted_deg, 1)]
        });
        let head = ["", "set to, deg", "over the travel, deg", "may be off, deg"];
        page += &table("Clock angle between the two ends of a link", &head, &rows.collect::<Vec<_>>());
        page += &paragraph(fabrication::CLOCKING);
        page += &paragraphs(links.iter().filter_map(|link| fabrication::clock_without_room(link)));
        page + "<h2>Scale of this print</h2>\n" + SCALE_BAR
    }

    fn tape_check(&self) -> Vec<String> {
        let check = &self.found.shop.tape_check;
        let unit = self.lengths.symbol();
        let row = |row: &TapeRow| {
            let [distance, tolerance] = [row.distance_mm, row.tolerance_mm].map(|mm| self.lengths.number(mm));
            vec![
                words(row.point.as_str()),
                words(row.to.as_str()),
                number(distance),
                number(format!("±{tolerance}")),
                Cell::Fill,
            ]
        };
        let head = ["point", "to", unit, "tolerance", "measured"];
        let sheets = check.distances.chunks(ROWS).enumerate();
        sheets
            .map(|(k, rows)| {
                let said =
                    if k == 0 { paragraph(&fabrication::tape_check(self.lengths, check)) } else { String::new() };
                table("Tape check, centre to centre", &head, &rows.iter().map(row).collect::<Vec<_>>()) + &said
            })
            .collect()
    }

    fn cut_list(&self, side: Side) -> String {
        let shop = &self.found.shop;
        let of_side: Vec<CutLink> = shop.cut_list.iter().filter(|link| link.side == side).cloned().collect();
        let length = |mm: Option<f64>| number(mm.map_or("–".to_owned(), |mm| self.lengths.number(mm)));
        let turns = |of: Option<f64>| of.map_or("–".to_owned(), |turns| trimmed(&rounded(turns, 2)).to_owned());
        let rows = of_side.iter().map(|link| {
            let tube = link.tube;
            let range = |mm: Option<f64>, of: Option<f64>| {
                let mm = mm.map_or("–".to_owned(), |mm| self.lengths.number(mm));
                number(format!("{mm} ({})", turns(of)))
            };
            let shorter = range(tube.map(|tube| tube.range_mm.low), tube.map(|tube| tube.range_turns.low));
            let longer = range(tube.map(|tube| tube.range_mm.high), tube.map(|tube| tube.range_turns.high));
            let says = link.faults.iter().map(|&fault| fabrication::cut_fault(self.lengths, fault)).collect::<Vec<_>>();
            vec![
                words(link.link.as_str()),
                length(Some(link.eye_to_eye_mm)),
                length(tube.map(|tube| tube.tube_mm)),
                length(tube.map(|tube| tube.engagement_mm)),
                length(tube.map(|tube| tube.stands_out_mm)),
                shorter,
                longer,
                number(link.tube_mass_kg.map_or("–".to_owned(), |kg| rounded(kg, 2))),
                if says.is_empty() { words("") } else { Cell::Judged(State::Fail, says.join("; ")) },
            ]
        });
        let unit = self.lengths.symbol();
        let eye = format!("eye to eye, {unit}");
        let head =
            ["", &eye, "tube", "held", "ball to face", "shorter (turns)", "longer (turns)", "tube, kg", "look at"];
        let caption = format!("Cut list, {} wheel", side.name());
        let corner = self.found.car.judged.geometry().corner(side);
        let adjusters = fabrication::adjusters(self.lengths, corner);
        table(&caption, &head, &rows.collect::<Vec<_>>())
            + &paragraphs(fabrication::cut_list(&of_side).into_iter().chain(adjusters))
    }

    /// What all tubes weigh, and those of the frame beside square ones.
    fn tubes(&self) -> String {
        let (found, tubes) = (self.found.forces.as_ref(), &self.found.car.judged.geometry().tubes);
        let told = found.map_or(String::new(), |found| tube_forms(self.lengths, found));
        let said = fabrication::masses(&self.found.shop.cut_list, found.map(|found| &found.masses));
        let lacks = fabrication::frame_tubes_lack(tubes, found, told.is_empty());
        format!("<h2>What the tubes weigh</h2>\n{}{told}{}", paragraph(&said), paragraphs(lacks))
    }

    fn setting_chart(&self, side: Side) -> String {
        let who = words::wheel(self.mirrored(), side);
        let of_side = self.found.shop.setting_chart.iter().filter(|row| row.side == side);
        let (span, longer) = self.lengths.slope_span();
        let row = |row: &Setting| {
            vec![
                words(row.link.as_str()),
                words(fabrication::setting_step(self.lengths, row)),
                number(rounded(row.toe_deg, 3)),
                number(rounded(row.camber_deg, 3)),
                number(self.lengths.finer(row.recession_mm)),
                number(rounded(longer * row.slope_deg_per_25mm, 3)),
            ]
        };
        let recession = format!("recession, {}", self.lengths.symbol());
        let slope = format!("slope, deg per {span}");
        let head = ["", "", "toe per wheel, deg", "camber, deg", &recession, &slope];
        let rows: Vec<Vec<Cell>> = of_side.map(row).collect();
        table(&format!("Setting chart, {who}"), &head, &rows) + &paragraph(fabrication::SETTING_CHART)
    }

    fn weld_order(&self) -> String {
        let study = self.found.weld.as_ref();
        let last = study.and_then(|study| study.last_bracket.as_ref());
        let order = fabrication::weld_order(self.lengths, &self.found.car, last);
        let practice = paragraph(fabrication::COMMON_PRACTICE);
        format!("<h2>Order of welding, and what to gauge when</h2>\n{}{practice}", steps(&order))
    }
}
