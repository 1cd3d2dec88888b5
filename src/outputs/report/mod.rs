//! `report.html`: everything that the file of a car has data for, on one page that needs nothing but itself.
//!
//! For the person who did not run the program: whoever checks the frame, scrutineering, a friend with a welder. Each section
//! is one function of its name, called in [`Page::sections`]; what it says comes from `present`, its charts from `charts`, its
//! markup from `html`.

mod car;
mod curves;
mod driveline;
mod forces;
mod gaps;
mod input;
mod open;
mod summary;
mod tables;
mod verdict;
mod weld;

use super::charts::{
    CarShown, ChartError, ChartSource, charts, driveline_charts, forces_charts, narrow_charts, tolerance_charts,
};
use super::file_list::file_and_hash;
use super::html::css_string;
use super::markup::escaped;
use crate::file::{Problem, Untouched};
use crate::geometry::{Geometry, Side};
use crate::present::words::stage;
use crate::present::{self, LengthFormat};
use crate::studies::ReportFindings;

pub use summary::ReportSummary;
pub use tables::{ReportTable, report_tables};

/// What a report is made from.
#[derive(Debug, Clone, Copy)]
pub struct ReportSource<'s> {
    /// Name of the geometry file, or of the demo car.
    pub file: &'s str,
    /// The file as it stands.
    pub text: &'s str,
    /// Hash of its text, hexadecimal.
    pub input_sha256: &'s str,
    /// Nobody's car.
    pub is_demo: bool,
    /// Which of its points still have starter numbers; `None` when it does not come from a starter.
    pub untouched: Option<&'s Untouched>,
    /// Mistakes for which a part of the driveline was left out.
    pub set_aside: &'s [Problem],
}

/// A part of the page with a heading of its own.
struct Section {
    /// What the list of contents goes to.
    id: &'static str,
    title: &'static str,
    body: String,
}

/// The charts of a study: file name and SVG text.
type Charts = Vec<(String, String)>;

/// The page as text; `tables` are the files beside it.
///
/// Tested by `tests/cli/report.rs`.
pub fn report(found: &ReportFindings, source: &ReportSource, tables: &[ReportTable]) -> Result<String, ChartError> {
    let geometry = found.sweep.car.judged.geometry();
    let mirrored = geometry.looks_alike();
    let sides = geometry.told_sides(&found.sweep.car.sides);
    let page = Page { found, source, geometry, mirrored, lengths: LengthFormat(geometry.units), sides };
    let sections = page.sections(tables)?;
    Ok(page.document(&sections))
}

struct Page<'p> {
    found: &'p ReportFindings<'p>,
    source: &'p ReportSource<'p>,
    geometry: &'p Geometry,
    mirrored: bool,
    lengths: LengthFormat,
    /// The wheels with figures of their own.
    sides: &'p [Side],
}

impl Page<'_> {
    /// In the order in which a reader needs them.
    fn sections(&self, tables: &[ReportTable]) -> Result<Vec<Section>, ChartError> {
        let drawn = charts(&self.found.sweep.car, self.chart_source(CarShown::AsInFile))?;
        let (views, curves): (Charts, Charts) = drawn.into_iter().partition(|(name, _)| name.starts_with("view-"));
        let narrow = named(narrow_charts(&self.found.sweep.car, self.chart_source(CarShown::AsInFile))?);
        let sections = [
            Some(verdict::section(self)),
            Some(open::section(self)),
            Some(car::section(self, &views)),
            Some(curves::section(self, &curves, &narrow)),
            Some(gaps::section(self, &curves, &narrow)),
            Some(weld::section(self, &self.weld_charts()?)),
            driveline::section(self, &self.driveline_charts()?),
            forces::section(self, &self.forces_charts()?),
        ];
        let mut sections: Vec<Section> = sections.into_iter().flatten().collect();
        sections.extend(open::glossary(&sections));
        sections.extend([open::assumptions(self), input::section(self, tables)]);
        Ok(sections)
    }

    fn chart_source(&self, car: CarShown) -> ChartSource<'_> {
        ChartSource { file: self.source.file, input_sha256: self.source.input_sha256, car }
    }

    fn weld_charts(&self) -> Result<Charts, ChartError> {
        let Ok(study) = &self.found.weld else { return Ok(Charts::new()) };
        Ok(named(tolerance_charts(study, self.chart_source(CarShown::Welded))?))
    }

    fn driveline_charts(&self) -> Result<Charts, ChartError> {
        Ok(named(driveline_charts(&self.found.driveline, self.chart_source(CarShown::AsInFile))?))
    }

    fn forces_charts(&self) -> Result<Charts, ChartError> {
        let Some(found) = self.found.forces.as_ref().filter(|found| !found.cases.is_empty()) else {
            return Ok(Charts::new());
        };
        Ok(named(forces_charts(found, self.chart_source(CarShown::AsInFile))?))
    }

    /// Whose figures these are, as a heading tells it.
    fn whose(&self, side: Side) -> &'static str {
        present::words::wheel(self.mirrored && self.found.sweep.car.sides.len() == 2, side)
    }

    fn document(&self, sections: &[Section]) -> String {
        let name = escaped(&self.geometry.name);
        let source = file_and_hash(self.source.file, self.source.input_sha256);
        let made = format!("{source} · the car {} · hubtrace {}", stage(self.geometry), env!("CARGO_PKG_VERSION"));
        let links: String =
            sections.iter().map(|of| format!("<li><a href=\"#{}\">{}</a></li>\n", of.id, escaped(of.title))).collect();
        let body: String = sections.iter().map(section).collect();
        format!(
            "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n\
             <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n<title>{name}: report</title>\n\
             <style>\n{}{}</style>\n</head>\n<body>\n<header>\n<h1>{name}</h1>\n<p class=\"from\">{}</p>\n<p>{WHAT_IT_IS}</p>\n{}</header>\n\
             <main>\n{}<nav aria-label=\"Contents\"><ul>\n{links}</ul></nav>\n{body}</main>\n</body>\n</html>\n",
            include_str!("style.css"),
            printed_foot(&source),
            escaped(&made),
            self.nobodys_car(),
            verdict::box_of(self),
        )
    }

    /// What a reader must know before any figure: the numbers are of no car that was built.
    fn nobodys_car(&self) -> String {
        let demo = self.source.is_demo.then(|| DEMO.to_owned());
        let starter = present::starter_numbers(self.source.untouched, self.geometry.tuned);
        let notes = demo.into_iter().chain(starter.map(|words| present::words::sentence_start(&words) + "."));
        notes.map(|words| format!("<p class=\"note\">{}</p>\n", escaped(&words))).collect()
    }
}

const WHAT_IT_IS: &str = "A calculation of the rear suspension from the geometry file at the end of this page, for whoever \
    checks the car. Compare the car with the points and lengths below before you trust a figure.";
const DEMO: &str = "This is the built-in demo car, and nobody's: run the command on the file of your own.";

fn section(section: &Section) -> String {
    let Section { id, title, body } = section;
    format!("<section id=\"{id}\">\n<h2>{}</h2>\n{body}</section>\n", escaped(title))
}

fn named(charts: Vec<(&'static str, String)>) -> Charts {
    charts.into_iter().map(|(name, svg)| (name.to_owned(), svg)).collect()
}

/// On every printed page: the file with its hash, and the number of the page.
fn printed_foot(source: &str) -> String {
    format!(
        "@page {{ margin: 13mm 14mm 16mm; @bottom-left {{ content: {}; font: 8pt sans-serif; }} \
         @bottom-right {{ content: \"page \" counter(page) \" of \" counter(pages); font: 8pt sans-serif; }} }}\n\
         @page to-scale {{ size: landscape; margin: 4mm 8mm 7mm; }}\n",
        css_string(source)
    )
}
