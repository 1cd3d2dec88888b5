//! `hubtrace fabricate`: what it refuses, the sheets it writes, and what each says of where it is from.

use std::fmt::Display;

use crate::car::Car;
use crate::program::{Folder, Ran, run};
use crate::screen::{assert_fits_one_screen, assert_fits_the_width, assert_numbers_are_known};

const DATUMS: &str = "\n[[datum]]\nname = \"hoop left\"\nat = [900.0, 450.0, 120.0]\n[[datum]]\nname = \"hoop right\"\n\
    at = [900.0, -450.0, 120.0]\n[[datum]]\nname = \"hoop top\"\nat = [880.0, 0.0, 1150.0]\n[[datum]]\nname = \"tail\"\n\
    at = [-420.0, 300.0, 150.0]\n";

fn surveyed() -> String {
    Car::demo().to_string() + DATUMS
}

fn fabricate(car: impl Display, options: &str) -> Ran {
    Folder::with(car).run(&format!("fabricate car.toml {options}"))
}

#[test]
fn nobody_welds_the_demo_car() {
    let ran = run("fabricate").ends_with(2);
    ran.assert_tells(&["takes the file of your own car", "hubtrace fabricate rear.toml"]);
    assert!(ran.written().is_empty());
}

#[test]
fn it_writes_its_sheets_and_ends_as_the_limits_do() {
    let ran = fabricate(surveyed(), "").ends_with(1);
    let names = [
        "bracket-places.csv",
        "build-sheet.html",
        "clocking.csv",
        "floor-plan.pdf",
        "floor-plan.svg",
        "points.csv",
        "points.dxf",
        "rear-elevation.pdf",
        "rear-elevation.svg",
        "summary.json",
        "tape-check.csv",
        "targets.pdf",
        "templates.pdf",
    ];
    let written = ran.written();
    names.iter().for_each(|name| assert!(written.iter().any(|written| written == name), "{name}: {written:?}"));
    assert_fits_one_screen(&ran.out);
    // What is broken is named.
    let limits = ran.summary()["limits"].as_array().expect("a list").clone();
    let fails = limits.iter().filter(|limit| limit["state"] == "fail");
    let names = fails.filter_map(|limit| limit["quantity"].as_str()?.split(" (").next());
    let mut broken: Vec<&str> = names.collect();
    broken.dedup();
    ran.assert_shows(&[&format!(" fail. FAIL: {}.", broken.join(", "))]);
    fabricate(Car::read("geometries/double-wishbone.toml"), "--quiet").ends_with(0);
}

#[test]
fn every_number_of_the_screen_is_in_the_summary() {
    for (car, options) in
        [(surveyed(), ""), (surveyed(), "--side right"), (Car::read("geometries/as-built.toml").to_string(), "")]
    {
        let ran = fabricate(car, options);
        assert_fits_the_width(&ran.out);
        let counts = ["brackets", "tape_check/distances"].map(|list| {
            ran.summary()
                .pointer(&format!("/fabricate/{list}"))
                .and_then(|list| list.as_array())
                .map_or(0.0, |list| list.len() as f64)
        });
        let stars = ran.out.matches("* ").count() as f64;
        assert_numbers_are_known(&ran.out, &ran.summary(), &[counts[0], counts[1], stars, 2.0 * stars]);
    }
}

/// Each distance is that of the two places that the file gives under these names.
#[test]
fn a_distance_of_the_tape_check_is_that_of_its_two_points() {
    let ran = fabricate(surveyed(), "--quiet");
    let (check, points) = (ran.table("tape-check.csv"), ran.table("points.csv"));
    assert_eq!(check.columns, ["point", "to", "distance_mm", "tolerance_mm", "measured_mm"]);
    assert_eq!(points.columns, ["point", "x_mm", "y_mm", "z_mm", "side"]);
    let names = points.column("point");
    let places = ["x_mm", "y_mm", "z_mm"].map(|column| points.numbers(column));
    let place = |name: &str| {
        let at = names.iter().position(|of| *of == name).unwrap_or_else(|| panic!("no point {name}"));
        [0, 1, 2].map(|axis| places[axis][at])
    };
    assert_eq!(place("right toe link upright"), [-120.0, -668.0, 254.0]);
    let rows = check.column("point").into_iter().zip(check.column("to")).zip(check.numbers("distance_mm"));
    let mut rows_seen = 0;
    for ((from, to), distance_mm) in rows {
        let (a, b) = (place(from), place(to));
        let square: f64 = (0..3).map(|axis| (a[axis] - b[axis]).powi(2)).sum();
        assert!((square.sqrt() - distance_mm).abs() < 1e-9, "{from} to {to}");
        rows_seen += 1;
    }
    assert!(rows_seen > 80, "{rows_seen}");
    assert!(check.column("measured_mm").iter().all(|cell| cell.is_empty()));
}

/// Groups of a DXF file: a code on one line, its value on the next.
fn groups(text: &str) -> Vec<(u16, String)> {
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len() % 2, 0);
    lines.chunks(2).map(|pair| (pair[0].parse().expect("a code"), pair[1].to_owned())).collect()
}

#[test]
fn the_points_for_cad_are_those_of_the_table_to_the_last_digit() {
    let ran = fabricate(surveyed(), "--quiet");
    let groups = groups(&ran.text("points.dxf"));
    let entities: Vec<&[(u16, String)]> =
        groups.chunk_by(|_, next| next.0 != 0).filter(|of| of[0].1 == "POINT").collect();
    let points = ran.table("points.csv");
    assert_eq!(entities.len(), points.rows.len());
    for (entity, row) in entities.iter().zip(&points.rows) {
        let value = |code: u16| &entity.iter().find(|(of, _)| *of == code).expect("a group").1;
        assert_eq!([value(10), value(20), value(30)], [&row[1], &row[2], &row[3]]);
    }
    assert_eq!(groups.last(), Some(&(0, "EOF".to_owned())));
    let links = groups.iter().filter(|group| **group == (8, "LINKS".to_owned())).count();
    assert_eq!(links, 10);
}

#[test]
fn every_drawing_says_whose_car_it_is() {
    let folder = Folder::with(surveyed());
    let drawn = folder.run("fabricate car.toml --quiet").text("points.dxf");
    assert!(drawn.contains("car.toml ") && drawn.contains("as drawn") && !drawn.contains("STARTER"), "{drawn}");
    folder.run("tune car.toml --starts 2 --cars 20 --quiet --out tuned");
    let tuned = folder.run("fabricate tuned/tuned.toml --out sheets");
    assert!(tuned.text("points.dxf").contains("· as tuned".replace('·', "\\U+00B7").as_str()), "{tuned}");
    tuned.assert_shows(&["shop sheets, as tuned"]);
    let chart = folder.run("sweep tuned/tuned.toml --quiet").ends_with(0).text("toe.svg");
    assert!(chart.contains("the car as tuned"), "{chart}");
    // Under another name and with a word of the builder's it is the same car, until a point of it moves.
    let text = folder.text("tuned/tuned.toml") + "# mine\n";
    folder.write("mine.toml", &text);
    folder.run("fabricate mine.toml --out sheets").assert_shows(&["shop sheets, as tuned"]);
    let moved = Car::parse(&text).set("toe link.upright", "[-120.0, 668.0, 251.5]");
    folder.write("mine.toml", moved);
    folder.run("fabricate mine.toml --out sheets").assert_shows(&["shop sheets, as drawn"]);
    let measured = Car::demo().set("toe link.measured_sd", "{ chassis = [0.5, 0.5, 0.5] }");
    fabricate(measured, "").assert_shows(&["shop sheets, as in the file"]);
}

#[test]
fn starter_numbers_are_marked_until_they_are_overwritten() {
    let folder = Folder::new();
    folder.run("new car.toml").ends_with(0);
    let ran = folder.run("fabricate car.toml");
    ran.assert_shows(&["warning: starter numbers, not yours"]);
    assert!(ran.text("points.dxf").contains("STARTER NUMBERS - NOT YOUR CAR"));
}

#[test]
fn a_name_is_no_formula_and_steers_no_sheet() {
    let car = surveyed().replace("\"toe link\"", "\"=1+1\"").replace("\"hoop top\"", "\"@<b>%%u\\\\P\"");
    let ran = fabricate(car, "--quiet");
    for (table, column) in [
        ("tape-check.csv", "point"),
        ("tape-check.csv", "to"),
        ("bracket-places.csv", "point"),
        ("points.csv", "point"),
    ] {
        let table = ran.table(table);
        let cells = table.column(column);
        assert!(cells.iter().any(|cell| cell.starts_with("'=1+1") || cell.starts_with("'@")), "{column}: {cells:?}");
        assert!(cells.iter().all(|cell| !cell.starts_with(['=', '@', '+', '-'])), "{column}: {cells:?}");
    }
    assert!(ran.table("clocking.csv").column("link").contains(&"'=1+1"));
    assert!(ran.text("points.dxf").contains("\n@<b>%%%%%%u\\U+005CP\n"));
}
