//! The forces of a car on one screen: the largest in each part, then on each bracket.

use std::fmt::{Result, Write};

use crate::cli::layout::{column, text_of, wrapped};
use crate::cli::results;
use crate::file::GeometryFile;
use crate::outputs::Written;
use crate::present::forces::{self, newtons};
use crate::present::{LengthFormat, words};
use crate::studies::forces::{BracketExtreme, Extreme, ForcesFindings, PartExtremes, WheelExtremes};

/// Columns of the name of a part, of a force and of where it comes up.
const NAME: usize = 16;
const FORCE: usize = 8;
const PLACE: usize = 23;

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
            say(out, forces::COMMON_PRACTICE)?;
        }
        say(out, &forces::cases(found))?;
        for wheels in &found.extremes {
            self.parts(out, wheels)?;
            self.brackets(out, wheels)?;
        }
        writeln!(out)?;
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
        let (found, travel) = (self.found, &self.found.geometry.travel);
        let cases =
            if found.cases.len() == 1 { "1 load case".to_owned() } else { format!("{} load cases", found.cases.len()) };
        let ends = [-travel.droop_mm, travel.bump_mm].map(|mm| words::travel(self.lengths(), mm));
        let static_load = found
            .static_wheel_load_n
            .map(|n| format!("; static load of one wheel {} N", newtons(n)))
            .unwrap_or_default();
        format!("{}: {cases} at design height, {} and {}{static_load}", self.file.source, ends[0], ends[1])
    }

    fn heading(&self, wheels: &WheelExtremes) -> &'static str {
        words::wheel(self.found.geometry.mirrored, wheels.wheels[0])
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
            let name = column(&part.part, NAME);
            format!("{name}{pull:>FORCE$} {}{push:>FORCE$} {}", column(&pull_in, PLACE), column(&push_in, PLACE))
        };
        wheels.parts.iter().try_for_each(|part| writeln!(out, "{}", line(part).trim_end()))
    }

    /// The largest force on each bracket of the frame.
    fn brackets(&self, out: &mut String, wheels: &WheelExtremes) -> Result {
        writeln!(out, "\nLargest force on the frame at each bracket, N, axes of the car")?;
        writeln!(out, "{:<24}{:>FORCE$}{:>FORCE$}{:>FORCE$}{:>FORCE$} in case", "", "size", "x", "y", "z")?;
        let one = wheels.wheels.len() == 1;
        let line = |bracket: &BracketExtreme| {
            let [x, y, z] = bracket.force_xyz_n.map(newtons);
            let size = newtons(bracket.largest.force_n);
            let place = forces::place(self.found, &bracket.largest, one);
            let name = column(&bracket.bracket, 24);
            format!("{name}{size:>FORCE$}{x:>FORCE$}{y:>FORCE$}{z:>FORCE$} {}", column(&place, PLACE))
        };
        wheels.brackets.iter().try_for_each(|bracket| writeln!(out, "{}", line(bracket).trim_end()))
    }
}
