//! The sheets of the weld study: what was off, what was done about the links, and the chances of a car and of a wheel.

use hubtrace::geometry::{Geometry, Interval, MeasuredSd, Quantity, Side, Tape, Weld};
use hubtrace::outputs::{CarShown, ChartSource, tolerance_charts};
use hubtrace::studies::errors::ErrorSource;
use hubtrace::studies::tolerance::{LinksAfterWelding, ToleranceFindings, ToleranceRequest};
use hubtrace::studies::{JudgedCar, Rig};

use crate::paper::{At, BLACK, Line, Paper, distance};
use crate::{assert_contains, car, words};

/// A car with a limit that some of its wheels keep.
fn sound(name: &str, limit_deg: f64) -> Geometry {
    let mut geometry = car(name);
    geometry.limits.set(Quantity::BumpSteer, Some(Interval::either_way(limit_deg)));
    // Few rows: how finely the wheel is moved is no matter here.
    geometry.travel.step_mm = 20.0;
    geometry
}

fn drawn(geometry: &Geometry, links: LinksAfterWelding) -> Vec<(String, String)> {
    let request = ToleranceRequest {
        cars: 200,
        seed: 3,
        errors: ErrorSource::of_file(geometry.weld.as_ref()),
        links,
        gauge_sd_deg: 0.015,
        placing_sd_mm: 0.25,
        jig_sd_mm: 0.1,
    };
    let judged = JudgedCar::of(Rig::new(geometry).expect("a car that moves"));
    let found = ToleranceFindings::of(judged, &Side::BOTH, request).expect("a study");
    let source = ChartSource { file: "cars/rear.toml", input_sha256: "0123456789abcdef", car: CarShown::Welded };
    let charts = tolerance_charts(&found, source).expect("charts");
    charts.into_iter().map(|(name, svg)| (name.to_owned(), svg)).collect()
}

const BOTH: [&str; 2] = ["tolerance-band.svg", "tolerance-worst.svg"];

#[test]
fn both_sheets_say_how_the_cars_were_built() {
    let geometry = sound("first-cut.toml", 0.55);
    for (links, method) in [
        (LinksAfterWelding::Adjusted, "links adjusted, seed 3."),
        (LinksAfterWelding::Cut, "links cut as drawn, seed 3."),
        (
            LinksAfterWelding::LastBracket(Some("toe link".to_owned())),
            "links adjusted, \"toe link\" inner bracket last, seed 3.",
        ),
    ] {
        let charts = drawn(&geometry, links);
        for name in BOTH {
            let words = words(&charts, name).replace('\n', " ");
            assert_contains(&words, &["200 cars, brackets and upright holes 0.50 mm one sd", method]);
            assert_contains(&words, &["rear.toml · SHA-256 0123456789ab… · the car as drawn, with weld errors"]);
            assert_contains(
                &words,
                &["Chance that yours passes", "Chance for one wheel inside the bump-steer limit: "],
            );
            let last = words.contains("gauged to 0.015 deg and welded to 0.25 mm, one sd");
            assert_eq!(last, method.contains("bracket last"), "{words}");
        }
    }
}

#[test]
fn errors_of_holes_tape_and_measured_points_are_named() {
    let mut geometry = sound("first-cut.toml", 0.55);
    geometry.weld = Some(Weld { upright_sd_mm: Some(0.1), ..Weld::new(0.4) });
    geometry.tape = Some(Tape { sd_mm: 0.3 });
    for corner in [&mut geometry.left, &mut geometry.right] {
        corner.links[2].measured_sd = MeasuredSd { chassis_mm: Some([1.0; 3]), upright_mm: None };
    }
    let charts = drawn(&geometry, LinksAfterWelding::Cut);
    let errors =
        "brackets 0.40 mm, upright holes 0.10 mm one sd, tape 0.30 mm one sd, 1 point by its own sd, links cut";
    BOTH.into_iter().for_each(|name| assert_contains(&words(&charts, name).replace('\n', " "), &[errors]));
}

#[test]
fn words_stand_free_on_these_sheets_too() {
    let mut faults = Vec::new();
    for (name, limit_deg) in
        [("first-cut.toml", 0.05), ("first-cut.toml", 0.55), ("as-built.toml", 0.05), ("as-built.toml", 0.3)]
    {
        for (file, svg) in drawn(&sound(name, limit_deg), LinksAfterWelding::Cut) {
            let paper = Paper::read(&svg);
            assert!(paper.words.iter().any(|words| words.text == format!("limit {limit_deg} deg")), "{name}, {file}");
            faults.extend(paper.faults().into_iter().map(|fault| format!("{name}, {limit_deg}, {file}: {fault}")));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// The ring on the curve stands at the limit and at the chance that is written, read off the axes.
#[test]
fn the_spread_rises_to_the_chance_at_the_limit() {
    for (name, limit_deg) in [("first-cut.toml", 0.55), ("as-built.toml", 0.2)] {
        let charts = drawn(&sound(name, limit_deg), LinksAfterWelding::Cut);
        let paper = Paper::read(&charts[1].1);
        let rings: Vec<At> = paper.rings.iter().filter(|ring| ring.fill == "none").map(|ring| ring.at).collect();
        assert_eq!(rings.len(), if name == "as-built.toml" { 2 } else { 1 });
        let said = paper.words.iter().filter(|words| words.text.starts_with("one wheel: "));
        let said: Vec<_> = said.collect();
        assert_eq!(rings.len(), said.len(), "{name}: each ring has its chance");
        for (&ring, said) in rings.iter().zip(said) {
            let said: f64 = said.text.split(' ').nth(2).and_then(|n| n.parse().ok()).expect("a chance");
            let (at_deg, share) = (paper.across(ring.0, ring), paper.up(ring.1, ring));
            assert!((at_deg - limit_deg).abs() < 2e-3 && (share - said).abs() < 0.6, "{name}: {at_deg} {share} {said}");
            let is_on = |line: &Line| distance(ring, &line.path) < 2.0;
            assert!(paper.lines.iter().any(|line| line.stroke == BLACK && line.width == 20.0 && is_on(line)), "{name}");
        }
        for curve in paper.lines.iter().filter(|line| line.stroke == BLACK && line.path.len() > 10) {
            assert!(curve.path.windows(2).all(|part| part[0].0 <= part[1].0 && part[0].1 >= part[1].1), "{name} falls");
        }
    }
}

#[test]
fn grey_bands_have_an_edge() {
    let charts = drawn(&car("as-built.toml"), LinksAfterWelding::Cut);
    let paper = Paper::read(&charts[0].1);
    assert_eq!(
        paper.regions.iter().map(|(fill, _)| fill.as_str()).collect::<Vec<_>>(),
        ["#E4E4E4", "#BEBEBE"].repeat(2)
    );
    for (fill, outline) in &paper.regions {
        let is_edge = |line: &&Line| line.stroke == "#787878" && line.path.len() > 4;
        let on_edge = |at: &At| {
            paper
                .lines
                .iter()
                .filter(is_edge)
                .any(|line| line.path.iter().any(|e| (e.0 - at.0).hypot(e.1 - at.1) < 2.0))
        };
        let corners = [&outline[0], &outline[outline.len() / 2], &outline[outline.len() - 1]];
        assert!(corners.into_iter().all(on_edge), "{fill}");
    }
}
