//! Sheets at true size: SVG in millimetres with every point where it is, and PDF on the paper that was asked for.
//!
//! A general PDF library measures them in `tests/outside/true_size.py`.

use roxmltree::{Document, Node};

use crate::car::Car;
use crate::program::{Folder, Ran};

const TUBES: &str = "\n[[tube]]\nname = \"rail\"\nfrom = [400.0, 345.0, 140.0]\nto = [-420.0, 345.0, 140.0]\nod = 38.1\n\
    [[tube]]\nname = \"brace\"\nfrom = [-200.0, 345.0, 140.0]\nto = [-200.0, 345.0, 420.0]\nod = 30.0\n";

fn fabricate(car: impl std::fmt::Display, options: &str) -> Ran {
    Folder::with(car).run(&format!("fabricate car.toml --quiet {options}"))
}

fn number(node: Node, name: &str) -> f64 {
    node.attribute(name).and_then(|text| text.trim_end_matches("mm").parse().ok()).unwrap_or_else(|| panic!("{name}"))
}

/// Middles of the level strokes of 12 mm, mm from the upper left corner.
fn crosses(svg: &Document) -> Vec<[f64; 2]> {
    let lines = svg.descendants().filter(|node| node.has_tag_name("line"));
    let ends = lines.map(|line| ["x1", "y1", "x2", "y2"].map(|name| number(line, name)));
    let level = ends.filter(|[x1, y1, x2, y2]| y1 == y2 && (x2 - x1 - 12.0).abs() < 1e-3);
    level.map(|[x1, y1, x2, _]| [0.5 * (x1 + x2), y1]).collect()
}

/// From one cross to the next it is as far as from one point to the next, and one user unit is one millimetre.
#[test]
fn a_cross_stands_where_its_point_is() {
    let ran = fabricate(Car::read("geometries/as-built.toml"), "");
    let points = ran.table("points.csv");
    let [x, y, z] = ["x_mm", "y_mm", "z_mm"].map(|column| points.numbers(column));
    for (name, up) in [("floor-plan.svg", &x), ("rear-elevation.svg", &z)] {
        let text = ran.text(name);
        let svg = Document::parse(&text).expect("SVG");
        let root = svg.root_element();
        let view: Vec<f64> =
            root.attribute("viewBox").expect("a view").split(' ').map(|n| n.parse().unwrap()).collect();
        assert_eq!(view, [0.0, 0.0, number(root, "width"), number(root, "height")]);
        assert!(root.attribute("width").is_some_and(|width| width.ends_with("mm")));
        let crosses = crosses(&svg);
        assert_eq!(crosses.len(), points.rows.len(), "{name}");
        for k in 1..crosses.len() {
            let (across, down) = (crosses[k][0] - crosses[0][0], crosses[k][1] - crosses[0][1]);
            assert!((across + (y[k] - y[0])).abs() < 2e-4 && (down + (up[k] - up[0])).abs() < 2e-4, "{name}: {k}");
        }
        let texts: Vec<&str> =
            svg.descendants().filter(|node| node.has_tag_name("text")).filter_map(|of| of.text()).collect();
        points.column("point").iter().for_each(|point| assert!(texts.contains(point), "{name}: {point}"));
        assert!(texts.iter().any(|text| text.contains("car.toml") && text.contains("SHA-256")), "{name}");
    }
}

/// Width and height of the pages, mm.
fn paper_mm(pdf: &[u8]) -> [f64; 2] {
    let text = String::from_utf8_lossy(pdf);
    let boxes: Vec<&str> = text.split("/MediaBox [").skip(1).filter_map(|rest| rest.split(']').next()).collect();
    assert!(!boxes.is_empty() && boxes.iter().all(|of| *of == boxes[0]), "{boxes:?}");
    let sides: Vec<f64> = boxes[0].split(' ').map(|side| side.parse().expect("a number")).collect();
    [sides[2] - sides[0], sides[3] - sides[1]].map(|points| points * 25.4 / 72.0)
}

#[test]
fn the_paper_is_that_of_the_option_or_of_the_units() {
    let inches = std::fs::read_to_string("tests/outside/inch-hub-axes.toml").expect("a car");
    for (car, options, paper) in [
        (Car::demo().to_string(), "", [210.0, 297.0]),
        (Car::demo().to_string(), "--paper letter", [215.9, 279.4]),
        (inches.clone(), "", [215.9, 279.4]),
        (inches, "--paper a4", [210.0, 297.0]),
    ] {
        let folder = Folder::with(car);
        let ran = folder.run(&format!("fabricate car.toml --quiet {options}"));
        for name in ["floor-plan.pdf", "rear-elevation.pdf", "templates.pdf", "targets.pdf"] {
            let pdf = std::fs::read(folder.path("hubtrace-out").join(name)).unwrap_or_else(|_| panic!("{name}: {ran}"));
            let size = paper_mm(&pdf);
            assert!((size[0] - paper[0]).abs() < 1e-3 && (size[1] - paper[1]).abs() < 1e-3, "{name}: {size:?}");
        }
    }
}

#[test]
fn wraps_are_written_when_a_tube_sits_on_another() {
    assert!(!fabricate(Car::demo(), "").written().contains(&"notches.pdf".to_owned()));
    let folder = Folder::with(Car::demo().to_string() + TUBES);
    folder.run("fabricate car.toml --quiet");
    let pdf = std::fs::read(folder.path("hubtrace-out/notches.pdf")).expect("wraps");
    assert!(String::from_utf8_lossy(&pdf).contains("Notch wrap: brace"));
}

/// The lines of letters of a PDF whose pages are not packed: literal strings, or hexadecimal ones when not all of ASCII.
fn letters(pdf: &[u8]) -> Vec<String> {
    let text = String::from_utf8_lossy(pdf);
    let shown = text.split(" Td\n").skip(1).filter_map(|rest| rest.split(" Tj\n").next());
    let hex = |digits: &str| -> String {
        let bytes = (0..digits.len() / 2).map(|k| u8::from_str_radix(&digits[2 * k..2 * k + 2], 16).expect("a byte"));
        bytes.map(char::from).collect()
    };
    let read = |string: &str| match string.strip_prefix('<') {
        Some(digits) => hex(digits.trim_end_matches('>')),
        None => string[1..string.len() - 1].replace("\\(", "(").replace("\\)", ")").replace("\\\\", "\\"),
    };
    shown.map(read).collect()
}

/// Name, place and origin on each, also where a name has what steers PDF.
#[test]
fn every_datum_and_pickup_has_one_target() {
    let datum = "\n[[datum]]\nname = \"a) Tj \\\\(<b>\"\nat = [900.0, 450.0, 120.5]\n";
    let folder = Folder::with(Car::demo().to_string() + datum);
    let ran = folder.run("fabricate car.toml --quiet");
    let letters = letters(&std::fs::read(folder.path("hubtrace-out/targets.pdf")).expect("targets"));
    let count = |wanted: &str| letters.iter().filter(|line| *line == wanted).count();
    let points = ran.table("points.csv");
    let mut seen = 0;
    for (row, name) in points.rows.iter().zip(points.column("point")) {
        let is_pickup = name.ends_with(" chassis") || name.ends_with(" upright");
        let is_taped = (is_pickup && !name.contains("spring")) || name.starts_with("a)");
        assert_eq!(count(name), usize::from(is_taped), "{name}: {letters:?}");
        if is_taped {
            let [x, y, z] = [1, 2, 3].map(|k| row[k].parse::<f64>().expect("a number"));
            assert_eq!(count(&format!("x {x:.1}  y {y:.1}  z {z:.1} mm")), 1, "{name}");
            seen += 1;
        }
    }
    assert_eq!(seen, 21);
    let sha = ran.summary()["input_sha256"].as_str().map(|hash| hash[..12].to_owned()).expect("a hash");
    let origins = letters.iter().filter(|line| line.contains("car.toml") && line.contains(&sha)).count();
    // One on each target, and one at the foot of each of two sheets.
    assert_eq!(origins, 21 + 2, "{letters:?}");
}
