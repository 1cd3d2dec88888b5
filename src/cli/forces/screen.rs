//! The forces of a car on one screen: the largest in each part, then what breaks first.

use std::fmt::{Result, Write};

use crate::cli::layout::{column, named, text_of, wrapped};
use crate::cli::results;
use crate::file::GeometryFile;
use crate::outputs::Written;
use crate::present::forces::{self, ComplianceLine, TubeLine, newtons};
use crate::present::{LengthFormat, rounded, words};
use crate::studies::forces::{
    BracketExtreme, Extreme, ForcesFindings, Margin, PartExtremes, WANTED_RESERVE, WheelExtremes, WheelMargins,
};

/// Columns of the name of a part, of a force and of where it comes up.
const NAME: usize = 16;
const FORCE: usize = 8;
const PLACE: usize = 23;
/// Of the name of a part behind its reserve, and of what is checked of it.
const PART: usize = 14;
const CHECK: usize = 22;
/// Of the form of a frame tube.
const FORM: usize = 34;
/// Checks that are told in any case, and at most.
const LEAST_SHOWN: usize = 6;
const MOST_SHOWN: usize = 12;

pub struct Screen<'a> {
    pub file: &'a GeometryFile,
    pub found: &'a ForcesFindings<'a>,
}

impl Screen<'_> {
    pub fn text(&self, written: &Written) -> String {
        text_of(|out| self.write(out, written))
    }

    fn lengths(&self) -> LengthFormat {
        LengthFormat(self.found.geometry.units)
    }

    fn write(&self, out: &mut String, written: &Written) -> Result {
        let found = self.found;
        let say = |out: &mut String, text: &str| writeln!(out, "{}", wrapped("", text));
        say(out, &found.geometry.name)?;
        say(out, &self.head())?;
        if found.common_practice {
            say(out, &format!("{} {}", forces::COMMON_PRACTICE, forces::LOAD_ADVICE))?;
        }
        say(out, &forces::cases(found))?;
        say(out, forces::EVERY_HEIGHT)?;
        for wheels in &found.extremes {
            self.parts(out, wheels)?;
            self.brackets(out, wheels)?;
        }
        for sentence in forces::strap(self.lengths(), found) {
            say(out, &sentence)?;
        }
        for margins in &found.margins {
            self.margins(out, margins)?;
        }
        for said in forces::rating_divisor(found).into_iter().chain(forces::weaker_than_ranked(found)) {
            say(out, &said)?;
        }
        self.compliance(out)?;
        writeln!(out)?;
        for sentence in forces::brackets_on_tubes(self.lengths(), found) {
            say(out, &sentence)?;
        }
        self.tube_forms(out)?;
        if let Some(mounts) = &found.mounts {
            say(out, &forces::mounts(self.lengths(), mounts))?;
        }
        if let Some(sentence) = forces::masses(&found.masses) {
            say(out, &sentence)?;
        }
        for caution in forces::part_cautions(found) {
            say(out, &caution)?;
        }
        if let Some(sentence) = forces::not_checked(&found.lacking) {
            say(out, &sentence)?;
        }
        say(
            out,
            &format!("Solver check: forces on the frame balance the loads to {:.0e}.", found.worst_equilibrium_error()),
        )?;
        out.push_str(&results::text(written, &self.file.source));
        say(out, forces::CAUTION)
    }

    fn head(&self) -> String {
        let found = self.found;
        let cases =
            if found.cases.len() == 1 { "1 load case".to_owned() } else { format!("{} load cases", found.cases.len()) };
        let places: Vec<String> = found.stations_mm.iter().map(|&mm| words::travel(self.lengths(), mm)).collect();
        let static_load = found
            .static_wheel_load_n
            .map(|n| format!("; static load of one wheel {} N", newtons(n)))
            .unwrap_or_default();
        format!("{}: {cases} at {}{static_load}", self.file.source, words::listed(&places))
    }

    fn heading(&self, wheels: &WheelExtremes) -> &'static str {
        words::wheel(self.found.geometry.looks_alike(), wheels.wheels[0])
    }

    /// The largest pull and push in each part.
    fn parts(&self, out: &mut String, wheels: &WheelExtremes) -> Result {
        let title = format!("Largest force along each part ({}), N, pull positive", self.heading(wheels));
        writeln!(out, "\n{title}")?;
        writeln!(out, "{:<NAME$}{:>FORCE$} {:<PLACE$}{:>FORCE$} in case", "", "pull", "in case", "push")?;
        let one = wheels.wheels.len() == 1;
        let half = |extreme: &Option<Extreme>| match extreme {
            Some(extreme) => (newtons(extreme.force_n), forces::place(self.found, extreme, one)),
            None => ("-".to_owned(), String::new()),
        };
        let line = |part: &PartExtremes| {
            let ((pull, pull_in), (push, push_in)) = (half(&part.pull), half(&part.push));
            let cells = format!("{pull:>FORCE$} {}{push:>FORCE$} {push_in}", column(&pull_in, PLACE));
            named("", &part.part, NAME, &cells)
        };
        wheels.parts.iter().try_for_each(|part| writeln!(out, "{}", line(part).trim_end()))
    }

    /// The largest force on the frame.
    fn brackets(&self, out: &mut String, wheels: &WheelExtremes) -> Result {
        let one = wheels.wheels.len() == 1;
        let by_size = |a: &&BracketExtreme, b: &&BracketExtreme| a.largest.force_n.total_cmp(&b.largest.force_n);
        let Some(largest) = wheels.brackets.iter().max_by(by_size) else { return Ok(()) };
        let [x, y, z] = largest.force_xyz_n.map(newtons);
        let size = newtons(largest.largest.force_n);
        let place = forces::place(self.found, &largest.largest, one);
        let said = format!(
            "Largest force on the frame: {} {size} N (x {x}, y {y}, z {z}) in case {place}; all are in brackets.csv.",
            largest.bracket
        );
        writeln!(out, "{}", wrapped("", &said))
    }

    /// The checks with the least reserve, all that are below the wanted one among them.
    fn margins(&self, out: &mut String, margins: &WheelMargins) -> Result {
        if margins.ranked.is_empty() {
            return Ok(());
        }
        let one = margins.wheels.len() == 1;
        let who = words::wheel(self.found.geometry.looks_alike(), margins.wheels[0]);
        let title = forces::breaks_first_title(who);
        writeln!(out, "\n{}", wrapped("", &title))?;
        let line = |margin: &Margin| {
            let verdict = forces::reserve_verdict(margin);
            let load = margin.load_n.map_or("-".to_owned(), newtons);
            let lead = format!("{:>6} {verdict:<5}", forces::reserve(margin.reserve));
            let place = forces::margin_place(self.found, margin, one);
            named(
                &lead,
                &margin.part,
                PART,
                &format!("{}{load:>7} {place}", column(forces::check(margin.check), CHECK)),
            )
        };
        let is_shown = |(k, margin): &(usize, &Margin)| *k < LEAST_SHOWN || (*k < MOST_SHOWN && margin.is_thin());
        let shown = margins.ranked.iter().enumerate().filter(is_shown);
        shown.map(|(_, margin)| margin).try_for_each(|margin| writeln!(out, "{}", line(margin).trim_end()))?;
        self.lightest(out, margins)
    }

    fn lightest(&self, out: &mut String, margins: &WheelMargins) -> Result {
        let lengths = self.lengths();
        for link in margins.lightest_tubes.iter().flatten() {
            let assumed = if link.assumed { ", assumed" } else { "" };
            let said = match &link.tube {
                None => {
                    format!("{:?}: no tube of the list keeps {WANTED_RESERVE} in {}{assumed}", link.link, link.material)
                }
                Some(tube) => format!(
                    "Lightest tube for {:?}: {}, {}{assumed}, {} kg, reserve {}",
                    link.link,
                    forces::tube_size(lengths, tube.od_mm, tube.wall_mm),
                    link.material,
                    rounded(tube.mass_kg, 2),
                    forces::reserve(tube.reserve)
                ),
            };
            writeln!(out, "{}", wrapped("", &said))?;
        }
        Ok(())
    }

    /// Tubes under brackets against other forms of them.
    fn tube_forms(&self, out: &mut String) -> Result {
        let lines = forces::tube_forms(self.lengths(), &self.found.frame);
        if lines.is_empty() {
            return Ok(());
        }
        writeln!(out, "\n{}", wrapped("", forces::TUBE_FORMS_TITLE))?;
        writeln!(out, "{:<NAME$}{:<FORM$}{:>11}{:>10}{:>8}", "tube", "form", "stiffness", "strength", "kg")?;
        for (k, line) in lines.iter().enumerate() {
            let is_new = k == 0 || line.tube != lines[k - 1].tube;
            let TubeLine { form, stiffness, strength, mass_kg, .. } = line;
            let cells = format!("{form:<FORM$}{stiffness:>11}{strength:>10}{mass_kg:>8}");
            writeln!(out, "{}", named("", if is_new { &line.tube } else { "" }, NAME, &cells))?;
        }
        writeln!(out, "{}\n", wrapped("", forces::TUBE_FORMS_NOTE))
    }

    /// What one unit of load does at design height, each wheel with its height held, then free.
    fn compliance(&self, out: &mut String) -> Result {
        let found = self.found;
        let shown = found.compliance.iter().filter(|wheel| wheel.bump_mm == 0.0);
        let wheels = if found.geometry.looks_alike() { 1 } else { 2 };
        for wheel in shown.take(wheels) {
            let who = words::wheel(found.geometry.looks_alike(), wheel.side);
            let title = forces::compliance_title(who);
            writeln!(out, "\n{}", wrapped("", &title))?;
            let unit = self.lengths().symbol();
            writeln!(
                out,
                "{:<18}{:>10}{:>12}{:>12}{:>18}",
                "",
                "toe deg",
                "camber deg",
                format!("tyre {unit}"),
                "height free: toe"
            )?;
            for line in forces::compliance(self.lengths(), wheel) {
                let ComplianceLine { load, held: [toe, camber, tyre], free_toe } = line;
                writeln!(out, "{load:<18}{toe:>10}{camber:>12}{tyre:>12}{free_toe:>18}")?;
            }
        }
        if !found.compliance.is_empty() {
            writeln!(out, "{}", wrapped("", forces::COMPLIANCE_NOTE))?;
        }
        Ok(())
    }
}
