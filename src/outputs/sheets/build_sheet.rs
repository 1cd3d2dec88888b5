//! `build-sheet.html`: the page to pin to the wall, brackets and clock angles, the tape check, and the order of welding.

use super::TrueSizeFile;
use super::page::{SCALE_BAR, document, steps, table};
use super::source::SheetSource;
use crate::geometry::{Quantity, Side};
use crate::outputs::html::{Cell, number, paragraph, words};
use crate::present::{self, LengthFormat, fabrication, forces, rounded, runs_out, trimmed, weld_study, words};
use crate::studies::fabrication::{BoltFrom, Bracket, CutLink, FabricationFindings, LinkClock, Setting, TapeRow};
use crate::studies::tolerance::{JigSet, Jigged};
use crate::studies::{State, ToeFindings, Verdict};

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
    let mut sheets = vec![sheet.wall()];
    if sheet.wheels().len() > 1 {
        sheets.push(sheet.limits());
    }
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
    let rows = of_drawings.chain(tables).map(|(name, what_for)| vec![words(name), words(what_for)]);
    format!("<h2>Beside this sheet</h2>\n{}{}", table(&["file", "what for"], rows), paragraph(fabrication::TRUE_SIZE))
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

    fn wall(&self) -> String {
        let car = &self.found.car;
        let mut page = format!("<h1>{}</h1>\n", crate::outputs::markup::escaped(self.source.name));
        for &side in self.wheels() {
            if let Some(toe) = car.heave.get(&side) {
                page += &self.toe(side, toe);
            }
        }
        page += &self.total_toe();
        if self.wheels().len() == 1 {
            page += &self.limits();
        }
        for sentence in self.facts() {
            page += &paragraph(&sentence);
        }
        page + &paragraph(present::STUDY_CAUTION)
    }

    fn toe(&self, side: Side, toe: &ToeFindings) -> String {
        let (curve, span, unit) = (&toe.curve, &toe.over_span, self.lengths.symbol());
        let over = self.lengths.with_unit(span.span_mm);
        let who = words::wheel(self.mirrored(), side);
        let head = format!("<h2>Toe per wheel ({who}), also over your plate of {over}</h2>\n");
        let worst_at = format!("at {}", words::travel(self.lengths, curve.worst_at_bump_mm));
        let rows = [
            ("set at design height", curve.design_toe_deg, span.design_toe_mm, "toe-in positive".to_owned()),
            ("worst bump steer over full travel", curve.worst_change_deg, span.worst_change_mm, worst_at),
            (
                "slope per 25 mm",
                curve.slope_deg_per_25mm(),
                span.slope_mm_per_25mm,
                "one bracket's height cures it".to_owned(),
            ),
            ("bow", curve.bow_deg, span.bow_mm, "link length and lean cure it".to_owned()),
        ];
        let rows = rows.map(|(what, deg, mm, note)| {
            vec![words(what), number(rounded(deg, 3)), number(self.lengths.finer(mm)), words(note)]
        });
        let band = toe.tape_band.as_ref().map(|band| present::tape_band(self.lengths, band));
        let cure = toe.cure.as_ref().map(|cure| present::cure(self.lengths, cure));
        let said: String = band.iter().chain(&cure).map(|sentence| paragraph(sentence)).collect();
        head + &table(&["", "deg", unit, ""], rows) + &said
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

    fn limits(&self) -> String {
        let wheels = self.wheels();
        let mut quantities: Vec<Quantity> = Vec::new();
        for verdict in self.found.car.limits.iter().filter(|verdict| verdict.range.is_some()) {
            if !quantities.contains(&verdict.quantity) {
                quantities.push(verdict.quantity);
            }
        }
        let shown = |verdict: &&Verdict| verdict.side.is_none_or(|side| wheels.contains(&side));
        let rows = quantities.into_iter().map(|quantity| {
            let of_it: Vec<&Verdict> =
                self.found.car.limits.iter().filter(|verdict| verdict.quantity == quantity).filter(shown).collect();
            let limit = of_it.first().and_then(|of| of.limit);
            let decimals = present::decimals(self.lengths, quantity, limit);
            let digits = |value: f64| present::number(self.lengths, quantity, decimals, value);
            let short = |value: f64| trimmed(&digits(value)).to_owned();
            let values: Vec<String> = of_it
                .iter()
                .map(|of| {
                    let band = of.range.map_or("–".to_owned(), |range| present::band(digits, range));
                    if of_it.len() > 1 { format!("{} {band}", of.side.map_or("", Side::name)) } else { band }
                })
                .collect();
            let limit = limit.map_or("–".to_owned(), |of| present::limit_band(short, of));
            let verdict = present::verdict(&of_it);
            let verdict = if verdict.contains("FAIL") { Cell::Judged(State::Fail, verdict) } else { words(verdict) };
            let name = format!("{}, {}", quantity.name(), present::unit(self.lengths, quantity.unit()));
            vec![words(name), number(values.join("; ")), number(limit), verdict]
        });
        "<h2>Over bump and droop</h2>\n".to_owned() + &table(&["", "value", "limit", "verdict"], rows)
    }

    /// What runs out first, the tightest gap, the shaft, the spring, and what to jig.
    fn facts(&self) -> Vec<String> {
        let car = &self.found.car;
        let mut facts = Vec::new();
        facts.extend(self.found.forces.as_ref().and_then(|found| forces::weakest(self.lengths, found)));
        for &side in self.wheels() {
            let who = words::wheel(self.mirrored(), side);
            let runs_out = self.found.shop.runs_out.get(&side);
            facts.extend(
                runs_out
                    .into_iter()
                    .flat_map(|found| runs_out::sentences(self.lengths, found))
                    .map(|said| format!("Runs out ({who}). {said}")),
            );
            let shaft = car.halfshaft.get(&side);
            facts.extend(
                shaft.map(|shaft| present::halfshaft(self.lengths, (!self.mirrored()).then_some(side), shaft) + "."),
            );
            let nearest = car.heave.get(&side).and_then(|toe| toe.clearance.pairs.first());
            facts.extend(nearest.map(|pair| {
                let (gap, at) = (self.lengths.with_unit(pair.least_mm), words::travel(self.lengths, pair.at_bump_mm));
                format!("Tightest gap ({who}): {}, {gap} at {at}.", pair.pair)
            }));
            let spring = car.judged.heave.design[side].wheel.spring;
            facts.extend(spring.map(|spring| {
                format!("Damper ({who}): {} mm per wheel mm at design height.", rounded(spring.ratio, 3))
            }));
        }
        if let Some(study) = &self.found.weld {
            let is_three = |set: &&JigSet| {
                set.held.len() == 3 && set.held.iter().all(|held| matches!(held, Jigged::Coordinate(_)))
            };
            let jigs = study.jigs.as_ref().and_then(|budget| budget.few.iter().find(is_three));
            facts.extend(jigs.map(|set| {
                let corner = &car.judged.geometry().left;
                format!(
                    "The three dimensions to jig, with the share of cars that then pass: {}.",
                    weld_study::jig_set(set, corner)
                )
            }));
            facts.extend(
                study.drawing_breaks_bump_steer.then(|| weld_study::tune_first(words::stage(car.judged.geometry()))),
            );
        }
        facts
    }

    fn brackets(&self, side: Side) -> String {
        let shop = &self.found.shop;
        let of_side: Vec<&Bracket> =
            shop.brackets.iter().filter(|bracket| bracket.side == side).take(BRACKETS).collect();
        let unit = self.lengths.symbol();
        let mut page = format!("<h2>Brackets, {} wheel, at design height</h2>\n", side.name());
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
        page += &table(&head, rows);
        page += &paragraph(fabrication::BOLT_ANGLES);
        page += &fabrication::bolts(&shop.brackets).map_or(String::new(), |sentence| paragraph(&sentence));
        page += "<h2>Clock angle between the two ends of a link</h2>\n";
        let links: Vec<&LinkClock> = shop.clocking.iter().filter(|link| link.side == side).collect();
        let rows = links.iter().map(|link| {
            let travel = link
                .over_travel_deg
                .map_or("–".to_owned(), |of| format!("{} to {}", rounded(of.low, 2), rounded(of.high, 2)));
            vec![words(link.link.as_str()), deg(link.best_deg, 1), number(travel), deg(link.permitted_deg, 1)]
        });
        page += &table(&["", "set to, deg", "over the travel, deg", "may be off, deg"], rows);
        page += &paragraph(fabrication::CLOCKING);
        for sentence in links.iter().filter_map(|link| fabrication::clock_without_room(link)) {
            page += &paragraph(&sentence);
        }
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
                format!("<h2>Tape check, centre to centre</h2>\n{said}{}", table(&head, rows.iter().map(row)))
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
        let said: String = fabrication::cut_list(&of_side).iter().map(|said| paragraph(said)).collect();
        format!("<h2>Cut list, {} wheel</h2>\n{}{said}", side.name(), table(&head, rows))
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
        let table = table(&head, of_side.map(row));
        format!("<h2>Setting chart, {who}</h2>\n{table}{}", paragraph(fabrication::SETTING_CHART))
    }

    fn weld_order(&self) -> String {
        let study = self.found.weld.as_ref();
        let last = study.and_then(|study| study.last_bracket.as_ref());
        let order = fabrication::weld_order(self.lengths, &self.found.car, last);
        let practice = paragraph(fabrication::COMMON_PRACTICE);
        format!("<h2>Order of welding, and what to gauge when</h2>\n{}{practice}", steps(&order))
    }
}
