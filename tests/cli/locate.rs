//! `hubtrace locate`: points from a survey, and what of it was misread.

use hubtrace::file::GeometryFile;
use serde_json::Value;

use crate::program::{Folder, Ran, SURVEY_NOTE, run};
use crate::screen::{assert_fits_one_screen, assert_fits_the_width, assert_numbers_are_known};

const HEAD: &str = "schema = 1\nname = \"corner\"\n";
const FLOOR: &str = "datum = [\n{ name = \"A\", at = [0.0, 0.0, 0.0] },\n{ name = \"B\", at = [800.0, 0.0, 0.0] },\n\
                     { name = \"C\", at = [0.0, 900.0, 0.0] },\n]\n";

fn locate(survey: &str) -> Ran {
    let folder = Folder::new();
    folder.write("survey.toml", survey);
    folder.run("locate survey.toml")
}

/// Distances of one point at (300, 400, 500) from the datums of `FLOOR`: 707.1, 812.4 and 768.1 mm.
fn taped_from_the_floor(point: &str) -> String {
    format!(
        "{HEAD}{FLOOR}point = [{point}]\ndistance = [\n{{ between = [\"A\", \"P\"], read = 707.1 }},\n\
         {{ between = [\"B\", \"P\"], read = 812.4 }},\n{{ between = [\"C\", \"P\"], read = 768.1 }},\n]\n"
    )
}

#[test]
fn the_demo_survey_says_so_and_tells_points_suspect_and_missing() {
    let ran = run("locate").ends_with(0);
    assert_eq!(ran.err, SURVEY_NOTE);
    assert_fits_one_screen(&ran.out);
    ran.assert_shows(&[
        "71 readings; none still to be taken, 1 does not fit: see below",
        "Reading 21 (line 55), the distance from \"C\" to \"lower rear chassis\": 821.5 mm, by the others 723.1 mm",
        "Probably 100 mm were miscounted, as with a tape held at 100: 721.5 mm. Measure it again.",
        "\"spring chassis\" (line 31): its 2 readings do not hold it. First measure the height",
        "Part \"upright\" misses its mounting points by",
        "The reading that would help most",
    ]);
    assert_eq!(ran.written(), ["hubtrace-locate.sha256", "points.csv", "points.toml", "residuals.csv", "summary.json"]);
    let (quiet, json) = (run("locate --quiet").ends_with(0), run("locate --json").ends_with(0));
    assert_eq!((quiet.out.as_str(), quiet.err.as_str()), ("", ""));
    assert_eq!(json.out, json.text("summary.json"));
}

/// The survey was made of the car with errors of 1 mm: no pickup is farther off than its standard deviations allow.
#[test]
fn the_demo_survey_finds_the_pickups_of_the_demo_car() {
    let car = GeometryFile::parse("car", include_str!("../../geometries/first-cut.toml")).unwrap().geometry;
    let found = run("locate").summary();
    let points = found["locate"]["points"].as_array().unwrap();
    for (k, (point, place)) in car.left.points().into_iter().enumerate().filter(|(k, _)| (1..11).contains(k)) {
        let name = car.left.name_of(point);
        let found = points.iter().find(|found| found["point"] == name.as_str()).unwrap_or_else(|| panic!("{name}"));
        for axis in 0..3 {
            let [at, sd] = ["at_mm", "sd_mm"].map(|of| found[of][axis].as_f64().unwrap());
            assert!((at - place[axis]).abs() < 3.5 * sd && sd < 0.8, "{k} {name} {axis}: {at} ± {sd}, {place}");
        }
    }
}

#[test]
fn every_number_of_the_screen_is_in_the_summary() {
    let ran = run("locate");
    let summary = ran.summary();
    let readings = summary["locate"]["readings"].as_array().unwrap().len() as f64;
    let datums = summary["locate"]["datums"].as_array().unwrap();
    let moved = datums.iter().flat_map(|datum| {
        (0..3).map(|axis| datum["at_mm"][axis].as_f64().unwrap() - datum["given_mm"][axis].as_f64().unwrap())
    });
    // `a tape held at 100`
    let others: Vec<f64> = moved.chain([readings, 100.0]).collect();
    assert_numbers_are_known(&ran.out, &summary, &others);
}

#[test]
fn tables_have_their_columns_and_a_point_without_a_place_has_empty_cells() {
    let ran = run("locate");
    let points = ran.text("points.csv");
    assert_eq!(points.lines().next(), Some("point,x_mm,y_mm,z_mm,sd_x_mm,sd_y_mm,sd_z_mm"));
    assert!(points.lines().any(|line| line == "spring chassis,,,,,,"), "{points}");
    assert_eq!(points.lines().count(), 1 + 15);
    let residuals = ran.text("residuals.csv");
    let rows: Vec<Vec<&str>> = residuals.lines().map(|line| line.split(',').collect()).collect();
    assert_eq!(rows[0][..7], ["kind", "from", "to", "read_mm", "fitted_mm", "residual_mm", "suspect"]);
    assert_eq!(rows.len(), 1 + 71);
    for row in &rows[1..] {
        let [read, fitted, residual] = [3, 4, 5].map(|k: usize| row[k].parse::<f64>().unwrap());
        assert!((read - fitted - residual).abs() < 1e-9, "{row:?}");
        assert_eq!(row[6], if row[10] == "21" { "yes" } else { "" }, "{row:?}");
    }
}

#[test]
fn the_points_stand_in_a_piece_of_a_geometry() {
    let ran = run("locate");
    let (piece, summary) = (ran.text("points.toml"), ran.summary());
    let piece: toml_edit::DocumentMut = piece.parse().unwrap();
    let number = |item: &toml_edit::Item, axis: usize| item[axis].as_float().unwrap();
    let at = |name: &str, of: &str, axis: usize| {
        let points = summary["locate"]["points"].as_array().unwrap();
        points.iter().find(|point| point["point"] == name).unwrap()[of][axis].as_f64().unwrap()
    };
    for link in piece["link"].as_array_of_tables().unwrap() {
        for (end, axis) in ["chassis", "upright"].into_iter().flat_map(|end| [0, 1, 2].map(|axis| (end, axis))) {
            let name = format!("{} {end}", link["name"].as_str().unwrap());
            assert!((number(&link[end], axis) - at(&name, "at_mm", axis)).abs() < 6e-5, "{name}");
            assert!((number(&link["measured_sd"][end], axis) - at(&name, "sd_mm", axis)).abs() < 6e-3, "{name}");
        }
    }
    assert_eq!(piece["link"].as_array_of_tables().unwrap().len(), 5);
    for (table, key, name) in [
        ("wheel", "centre", "wheel centre"),
        ("halfshaft", "inner", "halfshaft inner"),
        ("halfshaft", "outer", "halfshaft outer"),
        ("spring", "mount", "spring mount"),
    ] {
        assert!((number(&piece[table][key], 1) - at(name, "at_mm", 1)).abs() < 6e-5, "{name}");
    }
    assert!(piece["spring"].get("chassis").is_none(), "it has no place");
}

#[test]
fn a_point_that_fits_on_either_side_of_the_floor_is_asked_for() {
    let ran = locate(&taped_from_the_floor("{ name = \"P\" }"));
    assert_eq!(ran.code, Some(3), "{ran}");
    ran.assert_shows(&[
        "\"P\" (line 8): it may be at (300.0, 400.0, 500.0) or at (300.0, 400.0, -500.0) mm, the readings fit both.",
        "Write `near` to say about where it is, or measure the height of \"P\".",
    ]);
    assert_eq!(ran.err.lines().next(), Some("error: the readings of survey.toml place no point"), "{ran}");
    let settled = locate(&taped_from_the_floor("{ name = \"P\", near = [300.0, 300.0, 300.0] }")).ends_with(0);
    settled.assert_shows(&["P 300.0 400.0 500.0", "No reading is left over to check the others"]);
    assert_fits_the_width(&settled.out);
}

#[test]
fn readings_that_contradict_one_another_are_named_and_answered_all_the_same() {
    let again = "{ between = [\"P\", \"B\"], read = 912.4 },\n]\n";
    let survey = taped_from_the_floor("{ name = \"P\", near = [300.0, 300.0, 300.0] }");
    let ran = locate(&(survey.trim_end_matches("]\n").to_owned() + again)).ends_with(0);
    ran.assert_shows(&[
        "Reading 2 or 4 is wrong (lines 11 and 13), and the others cannot tell which: measure these again.",
        "Line 13: this reading and the one on line 11 measure the same and differ by 100.0 mm;",
    ]);
    assert_eq!(ran.summary()["warnings"].as_array().map(Vec::len), Some(1));
    assert_fits_the_width(&ran.out);
}

/// One point hangs on nothing but another that hangs on nothing; a third is placed.
#[test]
fn what_is_not_tied_to_a_datum_is_told_and_the_rest_is_answered() {
    let more = "{ between = [\"Q\", \"R\"], read = 100.0 },\n]\n";
    let points = "{ name = \"P\", near = [300.0, 300.0, 300.0] }, { name = \"Q\" }, { name = \"R\" }, { name = \"S\" }";
    let ran = locate(&(taped_from_the_floor(points).trim_end_matches("]\n").to_owned() + more)).ends_with(0);
    ran.assert_shows(&[
        "\"Q\" (line 8): its 1 reading does not hold it. First measure",
        "\"S\" (line 8): no reading reaches it. Three in different directions place it",
        "P 300.0 400.0 500.0",
    ]);
    assert_fits_the_width(&ran.out);
}

#[test]
fn a_survey_in_inches_is_told_in_inches() {
    let survey = format!(
        "{HEAD}units = \"in\"\npoint = [{{ name = \"P\" }}]\nheight = [{{ of = \"P\", read = \"10 1/2\" }}]\n\
         offset = [{{ of = \"P\", read = \"15-3/4\" }}]\nfore_aft = [{{ of = \"P\", read = -6 }}]\n"
    );
    let ran = locate(&survey).ends_with(0);
    ran.assert_shows(&["point, in", "P -6.000 15.750 10.500"]);
    let row = ran.text("points.csv").lines().nth(1).unwrap().to_owned();
    let at: Vec<f64> = row.split(',').skip(1).take(3).map(|cell| cell.parse().unwrap()).collect();
    assert!([-152.4, 400.05, 266.7].iter().zip(&at).all(|(mm, at)| (mm - at).abs() < 1e-9), "{row}");
    assert!(ran.text("points.toml").contains("\n# \"P\" = [-6.0, 15.75, 10.5]"), "{}", ran.text("points.toml"));
}

#[test]
fn a_part_that_was_measured_the_wrong_way_round_is_told() {
    let points =
        [("P", [0.0, 0.0, 300.0]), ("Q", [200.0, 50.0, 300.0]), ("R", [50.0, 300.0, 350.0]), ("S", [0.0, 80.0, 500.0])];
    let named: Vec<String> = points.iter().map(|(name, _)| format!("{{ name = \"{name}\" }}")).collect();
    let mut survey = format!("{HEAD}point = [{}]\n", named.join(", "));
    for (key, axis) in [("fore_aft", 0), ("offset", 1), ("height", 2)] {
        let read = points.iter().map(|(name, at)| format!("{{ of = \"{name}\", read = {:.1} }}", at[axis]));
        survey += &format!("{key} = [{}]\n", read.collect::<Vec<_>>().join(", "));
    }
    let part = |y: f64| {
        let at = points
            .iter()
            .map(|(name, [x, of, z])| format!("{{ name = \"{name}\", at = [{x:.1}, {:.1}, {z:.1}] }}", y * of));
        let at: Vec<String> = at.chain(["{ name = \"hub\", at = [10.0, 20.0, 330.0] }".to_owned()]).collect();
        format!("{survey}[[part]]\nname = \"upright\"\npoint = [{}]\n", at.join(", "))
    };
    let ran = locate(&part(-1.0)).ends_with(0);
    ran.assert_shows(&["its mirror image fits far better: turn the sign of y in the part"]);
    let sound = locate(&part(1.0)).ends_with(0);
    sound.assert_shows(&["hub 10.0 20.0 330.0", "\"S\" 0.00; as near as was to be expected."]);
}

#[test]
fn mistakes_of_the_survey_are_told_at_their_lines_and_nothing_is_written() {
    let folder = Folder::new();
    let survey =
        taped_from_the_floor("{ name = \"P\" }").replace("read = 812.4", "read = -812.4").replace("[\"C\"", "[\"K\"");
    folder.write("survey.toml", survey);
    let ran = folder.run("locate survey.toml").ends_with(2);
    ran.assert_tells(&[
        "survey.toml, line 11, column",
        "survey.toml, line 12, column",
        "no datum and no point is called \"K\"",
    ]);
    let folder = Folder::new();
    folder.run("locate none.toml").ends_with(2).assert_tells(&["none.toml cannot be read", "check the path"]);
}

#[test]
fn the_survey_is_never_overwritten_by_its_own_results() {
    let folder = Folder::new();
    let survey = taped_from_the_floor("{ name = \"P\", near = [300.0, 300.0, 300.0] }");
    folder.write("points.toml", &survey);
    let ran = folder.run("locate points.toml --out . --force").ends_with(4);
    ran.assert_tells(&["the results would overwrite their own source"]);
    assert_eq!(folder.text("points.toml"), survey);
    assert_eq!(
        folder.run("locate points.toml --out results").ends_with(0).summary()["locate"]["suspects"],
        Value::Array(vec![])
    );
}
