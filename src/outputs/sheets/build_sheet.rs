//! `build-sheet.html`: the page to pin to the wall, brackets and clock angles, the tape check, and the order of welding.

use super::TrueSizeFile;
use super::page::{SCALE_BAR, beside, document, steps};
use super::source::SheetSource;
use crate::geometry::Side;
use crate::outputs::html::{Cell, number, paragraph, paragraphs, table, words};
use crate::outputs::markup::escaped;
use crate::present::{
    self, LengthFormat, LimitLine, fabrication, forces, rounded, runs_out, trimmed, weld_study, words,
};
use crate::studies::fabrication::{
    BoltFrom, Bracket, CutLink, FabricationFindings, LinkClock, Setting, SettingStep, TapeRow,
};
use crate::studies::{State, ToeFindings};

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
    let mut sheets = sheet.wall();
    sheets.extend(found.car.sides.iter().map(|&side| sheet.brackets(side)));
    sheets.extend(found.car.sides.iter().map(|&side| sheet.cut_list(side)));
    sheets.extend(sheet.wheels().iter().map(|&side| sheet.setting_chart(side)));
    sheets.extend(sheet.tape_check());
    sheets.push(sheet.weld_order() + &other_files(drawn));
    document(&format!("Build sheet: {}", source.name), &sheets, source)
}

struct BuildSheet<'a> {
    found: &'a FabricationFindings<'a>,
    source: &'a SheetSource<'a>,
    lengths: LengthFormat,
}

fn deg(value: Option<f64>, decimals: usize) -> Cell {
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
    fn mirrored(&self) -> bool {
        self.found.car.judged.geometry().mirrored
    }

    /// One wheel stands for both when they are mirror images.
    fn wheels(&self) -> &[Side] {
        let sides = &self.found.car.sides;
        if self.mirrored() { &sides[..1] } else { sides }
    }

    /// What hangs on the wall: of a mirrored car one sheet, of another one two.
    fn wall(&self) -> Vec<String> {
        let car = &self.found.car;
        let mut page = format!("<h1>{}</h1>\n", escaped(self.source.name));
        for &side in self.wheels() {
            if let Some(toe) = car.heave.get(&side) {
                page += &self.toe(side, toe);
            }
        }
        page += &self.total_toe();
        let (of_wheels, of_axle) = (self.limits(false), self.limits(true));
        let settings: String = self.wheels().iter().map(|&side| self.settings(side)).collect();
        let facts = paragraphs(self.facts()) + &paragraph(present::STUDY_CAUTION);
        match self.wheels() {
            [side] => vec![page + &beside(&of_wheels, &(of_axle + &self.car_facts(*side))) + &settings + &facts],
            sides => {
                page += &sides.iter().map(|&side| self.car_facts(side)).collect::<String>();
                vec![page + &facts, of_wheels + &of_axle + &settings]
            }
        }
    }

    fn toe(&self, side: Side, toe: &ToeFindings) -> String {
        let who = words::wheel(self.mirrored(), side);
        let over = self.lengths.with_unit(toe.over_span.span_mm);
        let caption = format!("Toe per wheel ({who}), also over your plate of {over}");
        let rows = present::toe_lines(self.lengths, toe)
            .map(|(what, deg, mm, note)| vec![words(what), number(deg), number(mm), words(note)]);
        let band = toe.tape_band.as_ref().map(|band| present::tape_band(self.lengths, band));
        let welded = self.found.weld.as_ref().and_then(|study| weld_study::welded_bump_steer(study, side));
        let cure = toe.cure.as_ref().map(|cure| present::cure(self.lengths, cure));
        table(&caption, &["", "deg", self.lengths.symbol(), ""], &rows)
            + &paragraphs(band.into_iter().chain(welded).chain(cure))
    }

    /// Both wheels together, as toe plates read them.
    fn total_toe(&self) -> String {
        let toes: Vec<&ToeFindings> = Side::BOTH.iter().filter_map(|side| self.found.car.heave.get(side)).collect();
        let [left, right] = toes[..] else { return String::new() };
        let total_deg = left.curve.design_toe_deg + right.curve.design_toe_deg;
        let total_mm = left.over_span.design_toe_mm + right.over_span.design_toe_mm;
        paragraph(&format!(
            "Total toe of both wheels at design height: {} deg, {} over {} at each wheel.",
            rounded(total_deg, 3),
            self.lengths.finer_unit(total_mm),
            self.lengths.with_unit(left.over_span.span_mm)
        ))
    }

    /// Limits of the wheels or those of the axle.
    fn limits(&self, of_axle: bool) -> String {
        let wheels = self.wheels();
        let lines = present::limit_lines(self.lengths, &self.found.car.limits, wheels, self.mirrored());
        let row = |line: &LimitLine| {
            let name = format!("{}, {}", line.quantity.name(), line.unit());
            let mut found: Vec<Cell> = line.found().into_iter().map(number).collect();
            found.resize(if of_axle { 1 } else { wheels.len() }, number(""));
            let verdict = Cell::Judged(line.state(), line.verdict());
            std::iter::once(words(name)).chain(found).chain([number(line.limit()), verdict]).collect()
        };
        let is_shown = |line: &&LimitLine| {
            line.is_of_axle() == of_axle && line.verdicts.iter().any(|verdict| verdict.range.is_some())
        };
        let rows: Vec<Vec<Cell>> = lines.iter().filter(is_shown).map(row).collect();
        if rows.is_empty() {
            return String::new();
        }
        let whose = if of_axle { "The axle, over bump and droop" } else { "Each wheel, over bump and droop" };
        match wheels {
            [_, _] if !of_axle => table(whose, &["", "left", "right", "limit", "verdict"], &rows),
            _ => table(whose, &["", "value", "limit", "verdict"], &rows),
        }
    }

    /// The shaft, the tightest gap and the spring of a wheel, and what runs out first.
    fn car_facts(&self, side: Side) -> String {
        let car = &self.found.car;
        let who = words::wheel(self.mirrored(), side);
        let shaft = car.halfshaft.get(&side);
        let shaft =
            shaft.map(|shaft| present::halfshaft(self.lengths, (!self.mirrored()).then_some(side), shaft) + ".");
        let nearest = car.heave.get(&side).and_then(|toe| toe.clearance.pairs.first());
        let nearest = nearest.map(|pair| {
            let (gap, at) = (self.lengths.with_unit(pair.least_mm), words::travel(self.lengths, pair.at_bump_mm));
            format!("Tightest gap ({who}): {}, {gap} at {at}.", pair.pair)
        });
        let spring = car.judged.heave.design[side].wheel.spring;
        let spring = spring
            .map(|spring| format!("Damper ({who}): {} mm per wheel mm at design height.", rounded(spring.ratio, 3)));
        let runs_out = self.found.shop.runs_out.get(&side);
        let runs_out =
            runs_out.map(|found| format!("Runs out ({who}). {}", runs_out::sentences(self.lengths, found).join(" ")));
        paragraphs([shaft, nearest, spring, runs_out].into_iter().flatten())
    }

    /// What is weakest, what to jig and which bracket to weld last.
    fn facts(&self) -> Vec<String> {
        let car = &self.found.car;
        let mut facts = Vec::new();
        facts.extend(self.found.forces.as_ref().and_then(|found| forces::weakest(self.lengths, found)));
        if let Some(study) = &self.found.weld {
            let geometry = car.judged.geometry();
            facts.extend(weld_study::three_to_jig(study, &geometry.left));
            let last = study.last_bracket.as_ref();
            facts.extend(last.map(|gain| weld_study::last_bracket_room(self.lengths, gain)));
            facts.extend(study.drawing_breaks_bump_steer.then(|| weld_study::tune_first(words::stage(geometry))));
        }
        facts
    }

    /// The setting chart in a line a link: its length, and the shim of its inner bracket.
    fn settings(&self, side: Side) -> String {
        let chart = self.found.shop.setting_chart.iter().filter(|row| row.side == side);
        let (shims, turns): (Vec<&Setting>, Vec<&Setting>) = chart
            .filter(|row| !matches!(row.what, SettingStep::UprightShim { .. }))
            .partition(|row| matches!(row.what, SettingStep::ChassisShim { .. }));
        let row = |shim: &Setting| {
            let turn = turns.iter().find(|turn| turn.link == shim.link);
            let of = |value: &dyn Fn(&Setting) -> f64| deg(turn.map(|turn| value(turn)), 3);
            vec![
                words(shim.link.as_str()),
                words(turn.map_or("–".to_owned(), |turn| fabrication::setting_step(self.lengths, turn))),
                of(&|turn| turn.toe_deg),
                of(&|turn| turn.camber_deg),
                of(&|turn| turn.slope_deg_per_25mm),
                deg(Some(shim.toe_deg), 3),
                deg(Some(shim.slope_deg_per_25mm), 3),
            ]
        };
        let rows: Vec<Vec<Cell>> = shims.into_iter().map(row).collect();
        if rows.is_empty() {
            return String::new();
        }
        let caption = format!("Setting, deg ({})", words::wheel(self.mirrored(), side));
        let head = ["", "", "toe", "camber", "slope", "shim: toe", "slope"];
        table(&caption, &head, &rows) + &paragraph(&fabrication::settings(self.lengths))
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
        table(&caption, &head, &rows.collect::<Vec<_>>()) + &paragraphs(fabrication::cut_list(&of_side))
    }

    fn setting_chart(&self, side: Side) -> String {
        let who = words::wheel(self.mirrored(), side);
        let of_side = self.found.shop.setting_chart.iter().filter(|row| row.side == side);
        let row = |row: &Setting| {
            vec![
                words(row.link.as_str()),
                words(fabrication::setting_step(self.lengths, row)),
                number(rounded(row.toe_deg, 3)),
                number(rounded(row.camber_deg, 3)),
                number(self.lengths.finer(row.recession_mm)),
                number(rounded(row.slope_deg_per_25mm, 3)),
            ]
        };
        let recession = format!("recession, {}", self.lengths.symbol());
        let head = ["", "", "toe per wheel, deg", "camber, deg", &recession, "slope, deg per 25 mm"];
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
