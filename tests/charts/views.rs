//! The linkage drawn to scale: every place measured with a rule on the print.

use hubtrace::geometry::{Geometry, Side};

use crate::paper::{At, BLACK, LEADER, Line, Paper, distance};
use crate::{assert_contains, car, drawn, words};

const VIEWS: [&str; 3] = ["view-front.svg", "view-side.svg", "view-plan.svg"];

fn view(geometry: &Geometry, name: &str) -> Paper {
    let charts = drawn(geometry, &Side::BOTH);
    let (_, svg) = charts.iter().find(|(file, _)| file == name).expect("the view is drawn");
    Paper::read(svg)
}

/// The N of the 1:N that a view states, and mm of the car for each dot of the sheet.
fn scale(paper: &Paper) -> (f64, f64) {
    let title = &paper.words[0].text;
    let after = title.split("scale 1:").nth(1).expect("a scale");
    let reduction: f64 = after.split(' ').next().and_then(|n| n.parse().ok()).expect("a number");
    (reduction, reduction * paper.width_mm / paper.width)
}

/// The bar, measured on the print, has the length written over it at the scale in the title; so all views have one scale.
#[test]
fn a_view_is_printed_to_the_scale_that_it_states() {
    for (name, expected) in [("first-cut.toml", 6.0), ("as-built.toml", 6.0), ("semi-trailing.toml", 6.0)] {
        for file in VIEWS {
            let paper = view(&car(name), file);
            let (reduction, mm_per_dot) = scale(&paper);
            assert_eq!(reduction, expected, "{name}, {file}");
            let bar = &paper.lines.last().expect("the bar").path;
            let on_paper_mm = (bar[1].0 - bar[0].0) * paper.width_mm / paper.width;
            let stated = format!(" where the bar of 100 mm measures {on_paper_mm:.1} mm");
            assert!(paper.words[0].text.ends_with(&stated), "{name}, {file}: {stated}");
            let length_mm = (bar[1].0 - bar[0].0) * mm_per_dot;
            let written = paper.words.iter().find(|words| words.text == "100 mm").expect("its length");
            assert!((length_mm - 100.0).abs() < 0.2, "{name}, {file}: {length_mm} mm");
            assert!(bar[0].0 < written.at.0 && written.at.0 < bar[1].0);
        }
    }
}

fn links(paper: &Paper) -> Vec<&Line> {
    let key_starts = paper.find("design height").left;
    paper
        .lines
        .iter()
        .filter(|line| line.width == 26.0 && line.path[0].0 > 0.0 && line.path[1].0 != key_starts - 80.0)
        .collect()
}

/// Length of a link as each view shows it, from the coordinates of the file.
#[test]
fn every_link_is_as_long_on_the_print_as_in_the_car() {
    let geometry = car("first-cut.toml");
    for (file, axes) in VIEWS.into_iter().zip([[1, 2], [0, 2], [0, 1]]) {
        let paper = view(&geometry, file);
        let (_, mm_per_dot) = scale(&paper);
        for (link, drawn) in geometry.left.links.iter().zip(links(&paper)) {
            let between = link.upright - link.chassis;
            let seen_mm = between[axes[0]].hypot(between[axes[1]]);
            let [from, to] = [drawn.path[0], drawn.path[1]];
            let printed_mm = (to.0 - from.0).hypot(to.1 - from.1) * mm_per_dot;
            assert!((printed_mm - seen_mm).abs() < 0.5, "{file}, {}: {printed_mm} and {seen_mm}", link.name);
        }
    }
}

/// A number stands off its link, and the thin line from it ends on that link.
#[test]
fn every_number_is_led_to_its_own_link() {
    for name in ["first-cut.toml", "double-wishbone.toml", "semi-trailing.toml", "as-built.toml"] {
        for file in VIEWS {
            let paper = view(&car(name), file);
            let drawn = links(&paper);
            assert!(drawn.len() >= 5, "{name}, {file}");
            for (k, link) in drawn.iter().enumerate() {
                let number = (k % 5 + 1).to_string();
                let same = paper.words.iter().filter(|words| words.is_bold && words.text == number);
                // Two wheels have each number twice: the one whose leader ends here.
                let leaders = paper.lines.iter().filter(|line| line.stroke == LEADER);
                let starts_at = |line: &Line, at: At| (line.path[0].0 - at.0).hypot(line.path[0].1 - at.1) < 130.0;
                let ends = same.flat_map(|words| leaders.clone().filter(|line| starts_at(line, words.at)));
                let ends_here = ends.into_iter().any(|leader| distance(leader.path[1], &link.path) < 10.0);
                assert!(ends_here, "{name}, {file}: {number} is not led to its link");
            }
        }
    }
}

/// The upright is a grey region with an edge, round all its pickups (the black dots).
#[test]
fn the_upright_is_drawn_round_its_pickups() {
    for file in VIEWS {
        let paper = view(&car("first-cut.toml"), file);
        let (_, outline) = paper.regions.iter().find(|(fill, _)| fill == "#E8E8E8").expect("the upright");
        assert!(paper.lines.iter().any(|line| line.stroke == "#787878" && line.path == *outline), "{file}: no edge");
        let pickups = paper.rings.iter().filter(|ring| ring.fill == BLACK && ring.at.1 < 5000.0);
        let mut seen = 0;
        for pickup in pickups {
            seen += 1;
            let sides = outline.windows(2).map(|side| {
                let (a, b) = (side[0], side[1]);
                (b.0 - a.0) * (pickup.at.1 - a.1) - (b.1 - a.1) * (pickup.at.0 - a.0)
            });
            let sides: Vec<f64> = sides.collect();
            let slack = 1e4;
            assert!(sides.iter().all(|s| *s > -slack) || sides.iter().all(|s| *s < slack), "{file}: {:?}", pickup.at);
        }
        assert_eq!(seen, 5, "{file}");
    }
}

#[test]
fn links_carry_the_numbers_of_check_with_their_points_and_lengths() {
    let paper = view(&car("first-cut.toml"), "view-plan.svg");
    let row = |name: &str| {
        let y = paper.find(name).at.1;
        let mut cells: Vec<_> = paper.words.iter().filter(|words| words.at.1 == y && words.text != name).collect();
        cells.sort_by(|a, b| a.at.0.total_cmp(&b.at.0));
        cells.iter().map(|words| words.text.as_str()).collect::<Vec<_>>()
    };
    assert_eq!(row("Left, mm"), ["chassis x", "y", "z", "upright x", "y", "z", "length"]);
    assert_eq!(row("1 upper front"), ["150.0", "380.0", "400.0", "28.0", "655.0", "405.0", "300.9"]);
    assert_eq!(row("2 upper rear"), ["-110.0", "372.0", "388.0", "-45.0", "652.0", "400.0", "287.7"]);
    assert_eq!(row("3 lower front"), ["240.0", "372.0", "181.0", "38.0", "684.0", "160.0", "372.3"]);
    assert_eq!(row("4 lower rear"), ["-70.0", "345.0", "172.0", "-32.0", "680.0", "157.0", "337.5"]);
    assert_eq!(row("5 toe link"), ["-150.0", "376.0", "255.0", "-120.0", "668.0", "254.0", "293.5"]);
}

#[test]
fn the_key_tells_of_the_end_where_the_wheel_binds_and_of_the_other() {
    let mut geometry = car("first-cut.toml");
    (geometry.travel.bump_mm, geometry.travel.droop_mm) = (300.0, 300.0);
    let side = words(&drawn(&geometry, &Side::BOTH), "view-side.svg");
    assert_contains(&side, &["300 mm of bump", "as far as it goes in droop", "bind at 248.7 mm of droop"]);
}

/// The larger distance of the ends of two lines, dots.
fn far_apart(a: &[At], b: &[At]) -> f64 {
    (0..2).map(|end| (a[end].0 - b[end].0).hypot(a[end].1 - b[end].1)).fold(0.0, f64::max)
}

/// What stands nearer to another link reads as its number; the legs of an arm, which lie all but on each other from the front, are left out.
#[test]
fn every_number_stands_nearest_to_its_own_link() {
    for name in ["first-cut.toml"] {
        for file in VIEWS {
            let paper = view(&car(name), file);
            let drawn = links(&paper);
            for (k, link) in drawn.iter().enumerate() {
                let number = (k % 5 + 1).to_string();
                let wheel = &drawn[k / 5 * 5..k / 5 * 5 + 5];
                let far = |words: &crate::paper::Words, path: &[At]| {
                    distance(((words.left + words.right) / 2.0, (words.top + words.bottom) / 2.0), path)
                };
                let same = paper.words.iter().filter(|words| words.is_bold && words.text == number);
                let own = same.min_by(|a, b| far(a, &link.path).total_cmp(&far(b, &link.path))).expect("a number");
                let others = wheel.iter().enumerate().filter(|(other, _)| *other != k % 5);
                let nearest = others.map(|(_, other)| far(own, &other.path)).fold(f64::INFINITY, f64::min);
                // Links that lie on each other in a view cannot be told apart in it.
                let apart =
                    |other: &[At]| far_apart(&link.path, other).min(far_apart(&link.path, &[other[1], other[0]]));
                let lies_on = wheel.iter().enumerate().any(|(other, of)| other != k % 5 && apart(&of.path) < 60.0);
                assert!(lies_on || far(own, &link.path) < nearest, "{name}, {file}: {number} reads as another link's");
            }
        }
    }
}

/// A tube from ahead of the axle to far behind it, cut to what is drawn; the key says what it is.
#[test]
fn tubes_of_the_frame_are_drawn_pale_and_named() {
    let tube = hubtrace::geometry::Tube {
        name: "rail".to_owned(),
        from: nalgebra::Point3::new(300.0, 330.0, 200.0),
        to: nalgebra::Point3::new(-3000.0, 330.0, 200.0),
        od_mm: Some(40.0),
        wall_mm: None,
        material: None,
    };
    let geometry = Geometry { tubes: vec![tube], ..car("first-cut.toml") };
    let pale = |paper: &Paper| paper.lines.iter().filter(|line| line.stroke == "#A5A5A5").count();
    for (file, tubes) in VIEWS.into_iter().zip([0, 1, 1]) {
        let paper = view(&geometry, file);
        // Seen along its length it is a point, and the key is silent; else one line of the key is as pale.
        assert_eq!(pale(&paper), 2 * tubes, "{file}");
        assert_eq!(paper.words.iter().any(|words| words.text == "frame tube"), tubes > 0, "{file}");
        assert_eq!(pale(&view(&car("first-cut.toml"), file)), 0);
        assert_eq!(scale(&paper).0, 6.0, "{file}");
    }
}
