//! The page for the wall: what the car comes to, what breaks and runs out first, what to jig, what a turn does.

use super::build_sheet::{BuildSheet, deg};
use super::page::beside;
use crate::geometry::Side;
use crate::outputs::html::{Cell, number, paragraph, paragraphs, table, words};
use crate::outputs::markup::escaped;
use crate::present::{self, LimitLine, driveline, fabrication, forces, rounded, runs_out, weld_study, words};
use crate::studies::ToeFindings;
use crate::studies::driveline::Exhaustion;
use crate::studies::fabrication::{Setting, SettingStep};

/// What hangs on the wall: of a mirrored car one sheet, of another one two.
pub(super) fn wall(sheet: &BuildSheet) -> Vec<String> {
    let car = &sheet.found.car;
    let mut page = format!("<h1>{}</h1>\n", escaped(sheet.source.name));
    for &side in sheet.wheels() {
        if let Some(toe) = car.heave.get(&side) {
            page += &toe_of_wheel(sheet, side, toe);
        }
    }
    page += &total_toe(sheet);
    let (of_wheels, of_axle) = (limits(sheet, false), limits(sheet, true));
    let settings: String = sheet.wheels().iter().map(|&side| settings(sheet, side)).collect();
    let facts = paragraphs(facts(sheet)) + &paragraph(present::STUDY_CAUTION);
    match sheet.wheels() {
        [side] => vec![page + &beside(&of_wheels, &(of_axle + &car_facts(sheet, *side))) + &settings + &facts],
        sides => {
            page += &sides.iter().map(|&side| car_facts(sheet, side)).collect::<String>();
            vec![page + &facts, of_wheels + &of_axle + &settings]
        }
    }
}

fn toe_of_wheel(sheet: &BuildSheet, side: Side, toe: &ToeFindings) -> String {
    let who = words::wheel(sheet.mirrored(), side);
    let over = sheet.lengths.with_unit(toe.over_span.span_mm);
    let caption = format!("Toe per wheel ({who}), also over your plate of {over}");
    let cells = |(what, deg, mm, note)| vec![words(what), number(deg), number(mm), words(note)];
    let rows: Vec<Vec<Cell>> = present::toe_lines(sheet.lengths, toe).into_iter().map(cells).collect();
    let band = toe.tape_band.as_ref().map(|band| present::tape_band(sheet.lengths, band));
    let welded = sheet.found.weld.as_ref().and_then(|study| weld_study::welded_bump_steer(study, side));
    let cure = toe.cure.as_ref().map(|cure| present::cure(sheet.lengths, cure));
    table(&caption, &["", "deg", sheet.lengths.symbol(), ""], &rows)
        + &paragraphs(band.into_iter().chain(welded).chain(cure))
}

/// Both wheels together, as toe plates read them.
fn total_toe(sheet: &BuildSheet) -> String {
    let toes: Vec<&ToeFindings> = Side::BOTH.iter().filter_map(|side| sheet.found.car.heave.get(side)).collect();
    let [left, right] = toes[..] else { return String::new() };
    let total_deg = left.curve.design_toe_deg + right.curve.design_toe_deg;
    let total_mm = left.over_span.design_toe_mm + right.over_span.design_toe_mm;
    paragraph(&format!(
        "Total toe of both wheels at design height: {} deg, {} in all, read over {} at each wheel.",
        rounded(total_deg, 3),
        sheet.lengths.finer_unit(total_mm),
        sheet.lengths.with_unit(left.over_span.span_mm)
    ))
}

/// Limits of the wheels or those of the axle.
fn limits(sheet: &BuildSheet, of_axle: bool) -> String {
    let wheels = sheet.wheels();
    let lines = present::limit_lines(sheet.lengths, &sheet.found.car.limits, wheels);
    let row = |line: &LimitLine| {
        let name = format!("{}, {}", line.quantity.name(), line.unit());
        let mut found: Vec<Cell> = line.found().into_iter().map(number).collect();
        found.resize(if of_axle { 1 } else { wheels.len() }, number(""));
        let verdict = Cell::Judged(line.state(), line.verdict());
        std::iter::once(words(name)).chain(found).chain([number(line.limit()), verdict]).collect()
    };
    let is_shown =
        |line: &&LimitLine| line.is_of_axle() == of_axle && line.verdicts.iter().any(|verdict| verdict.range.is_some());
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
fn car_facts(sheet: &BuildSheet, side: Side) -> String {
    let car = &sheet.found.car;
    let who = words::wheel(sheet.mirrored(), side);
    let shaft = car.halfshaft.get(&side);
    let shaft = shaft.map(|shaft| present::halfshaft(sheet.lengths, (!sheet.mirrored()).then_some(side), shaft) + ".");
    let nearest = car.heave.get(&side).and_then(|toe| toe.clearance.pairs.first());
    let nearest =
        nearest.map(|pair| format!("Tightest gap ({who}): {}.", fabrication::tightest_gap(sheet.lengths, pair)));
    let spring = car.judged.heave.design[side].wheel.spring;
    let spring =
        spring.map(|spring| format!("Damper ({who}): {} mm per wheel mm at design height.", rounded(spring.ratio, 3)));
    let runs_out = sheet.found.shop.runs_out.get(&side);
    let runs_out =
        runs_out.map(|found| format!("Runs out ({who}). {}", runs_out::sentences(sheet.lengths, found).join(" ")));
    let is_typical = |found: &Exhaustion| found.bump.iter().chain(&found.droop).any(|out| out.typical);
    let typical = sheet.found.shop.runs_out.get(&side).filter(|found| is_typical(found));
    let typical = typical.map(|_| driveline::TYPICAL.to_owned());
    paragraphs([shaft, nearest, spring, runs_out, typical].into_iter().flatten())
}

/// What is weakest, what to jig and which bracket to weld last.
fn facts(sheet: &BuildSheet) -> Vec<String> {
    let car = &sheet.found.car;
    let mut facts = Vec::new();
    facts.extend(sheet.found.forces.as_ref().and_then(|found| forces::weakest(sheet.lengths, found)));
    if let Some(study) = &sheet.found.weld {
        let geometry = car.judged.geometry();
        facts.extend(weld_study::three_to_jig(study, &geometry.left));
        let last = study.last_bracket.as_ref();
        facts.extend(last.map(|gain| weld_study::last_bracket_room(sheet.lengths, gain)));
        facts.extend(study.drawing_breaks_bump_steer.then(|| weld_study::move_first(geometry)));
    }
    facts
}

/// The setting chart in a line a link: its length, and the shim of its inner bracket.
fn settings(sheet: &BuildSheet, side: Side) -> String {
    let chart = sheet.found.shop.setting_chart.iter().filter(|row| row.side == side);
    let (shims, turns): (Vec<&Setting>, Vec<&Setting>) = chart
        .filter(|row| !matches!(row.what, SettingStep::UprightShim { .. }))
        .partition(|row| matches!(row.what, SettingStep::ChassisShim { .. }));
    let has_threads = turns.len() >= shims.len();
    let (_, longer) = sheet.lengths.slope_span();
    let row = |shim: &Setting| {
        let turn = turns.iter().find(|turn| turn.link == shim.link);
        let of = |value: &dyn Fn(&Setting) -> f64| deg(turn.map(|turn| value(turn)), 3);
        vec![
            words(shim.link.as_str()),
            words(turn.map_or("–".to_owned(), |turn| fabrication::setting_step(sheet.lengths, turn))),
            of(&|turn| turn.toe_deg),
            of(&|turn| turn.camber_deg),
            of(&|turn| longer * turn.slope_deg_per_25mm),
            deg(Some(shim.toe_deg), 3),
            deg(Some(longer * shim.slope_deg_per_25mm), 3),
        ]
    };
    let rows: Vec<Vec<Cell>> = shims.iter().map(|&shim| row(shim)).collect();
    if rows.is_empty() {
        return String::new();
    }
    let caption = format!("Setting, deg ({})", words::wheel(sheet.mirrored(), side));
    let head = ["", "", "toe", "camber", "slope", "shim: toe", "slope"];
    table(&caption, &head, &rows) + &paragraph(&fabrication::settings(sheet.lengths, has_threads, &shims))
}
