//! `hubtrace new`: a starter file, and what stands in its way.

use std::process::Command;

use serde_json::Value;

use crate::car::Car;
use crate::program::{Folder, run};
use crate::screen::assert_fits_the_width;

#[test]
fn new_writes_a_starter_that_check_reads() {
    let folder = Folder::new();
    let said = folder.run("new rear.toml --tyre 185/60R13 --track 1337").ends_with(0).out;
    assert!(said.contains("185/60R13, track 1337 mm") && said.contains("hubtrace check"), "{said}");
    let page = folder.run("check rear.toml").ends_with(0).out;
    assert!(page.contains("track 1337.0 mm") && page.contains("15 of 15 points"), "{page}");
}

/// The same corner in both units: what is printed in inches is 1/25.4 of what is printed in mm, to the digits of the file.
#[test]
fn a_starter_in_inches_is_the_same_corner() {
    let folder = Folder::new();
    let said = folder.run("new inches.toml --units in --tyre 185/60R13 --track 1337").ends_with(0).out;
    assert!(said.contains("starter numbers in inches for 185/60R13, track 1337 mm (52.638 in).\n"), "{said}");
    let refused = folder.run("new other.toml --units in --track 56").ends_with(2);
    refused.assert_tells(&["56 in are 1422.4 mm, whatever the units of the file"]);
    folder.run("new mm.toml --tyre 185/60R13 --track 1337").ends_with(0);
    let [inches, mm] = ["inches", "mm"].map(|name| {
        let page = folder.run(&format!("check {name}.toml")).ends_with(0).out;
        assert!(page.contains("15 of 15 points"), "{page}");
        let json: Value = serde_json::from_str(&folder.run(&format!("check {name}.toml --json")).out).expect("JSON");
        (page, json)
    });
    assert!(inches.0.contains("track 52.638 in;") && mm.0.contains("track 1337.0 mm;"), "{}", inches.0);
    assert_eq!(inches.1["warnings"], serde_json::json!([]));
    for link in 0..5 {
        let length = |of: &Value| of["wheels"]["left"]["links"][link]["eye_to_eye_mm"].as_f64().expect("a length");
        assert!((length(&inches.1) - length(&mm.1)).abs() < 0.15, "link {link}");
    }
    assert_fits_the_width(&folder.run("sweep inches.toml").of_starter().ends_with(1).out);
    folder.run("new other.toml --units cubits").ends_with(2).assert_tells(&["possible values: mm, in"]);
    folder.run("new survey.toml --survey --of mm.toml --units in").ends_with(2).assert_tells(&["--units"]);
}

/// A builder who writes the sizes of usual parts into the starter finds no two of them that meet.
#[test]
fn parts_of_usual_size_have_room_in_a_starter() {
    let folder = Folder::new();
    folder.run("new rear.toml").ends_with(0);
    let sizes = "\n[clearance]\nspring_radius = 32.0\nboot_radius = 40.0\nboot_length = 80.0\n";
    let text = folder.text("rear.toml").replace("tyre_radius = ", "tyre_width = 205.0\ntyre_radius = ") + sizes;
    folder.write("rear.toml", &text);
    folder.run("sweep rear.toml --out sweep").of_starter().ends_with(1);
    let table = folder.text("sweep/clearance.csv");
    let gaps: Vec<(&str, f64)> = table
        .lines()
        .skip(1)
        .map(|row| {
            let cells: Vec<&str> = row.split(',').collect();
            (cells[1], cells[2].parse().expect("a number"))
        })
        .collect();
    for part in ["spring", "boot", "tyre and rim"] {
        assert!(gaps.iter().any(|(pair, _)| pair.contains(part)), "{table}");
    }
    assert!(gaps.iter().all(|(_, mm)| *mm > 10.0), "{table}");
}

#[test]
fn new_keeps_a_file_that_exists_unless_forced() {
    let folder = Folder::new();
    folder.write("rear.toml", "mine");
    let said = folder.run("new rear.toml").ends_with(4).err;
    assert_eq!(said, "error: rear.toml exists already\n      | choose another name, or overwrite it with --force\n");
    assert_eq!(folder.text("rear.toml"), "mine");
    assert_eq!(folder.run("new rear.toml --force --quiet").ends_with(0).out, "");
    assert!(folder.text("rear.toml").contains("[[link]]"));
    assert_eq!(folder.names("."), ["rear.toml"]);
}

#[test]
fn new_says_where_it_cannot_write() {
    let folder = Folder::new();
    folder.run("new missing/rear.toml").ends_with(4).assert_tells(&["make sure that the folder"]);
    folder.write("kept/notes", "mine");
    folder.run("new kept --force").ends_with(4).assert_tells(&["is a folder, not a plain file"]);
}

/// Numbers and ends of the readings of a survey file, and of its sheet.
fn readings(survey: &str, sheet: &str) -> [Vec<(String, String)>; 2] {
    let of_file = survey.lines().filter(|line| line.contains("read = \"\"")).map(|line| {
        let (rest, number) = line.rsplit_once("# ").unwrap();
        let names: Vec<&str> = rest.split('"').skip(1).step_by(2).filter(|name| !name.is_empty()).collect();
        (number.to_owned(), names.last().unwrap().to_string())
    });
    let of_sheet = sheet.lines().filter_map(|line| line.strip_prefix("<tr><td class=\"number\">")).map(|row| {
        let mut cells = row.split("<td>");
        let number = cells.next().unwrap().to_owned();
        (number, cells.nth(1).unwrap().split('<').next().unwrap().to_owned())
    });
    [of_file.collect(), of_sheet.collect()]
}

#[test]
fn a_survey_and_its_sheet_have_the_same_readings_by_the_same_numbers() {
    let folder = Folder::new();
    folder.write("car.toml", Car::demo());
    for (options, name) in [("", "survey"), (" --of car.toml", "demo")] {
        let said = folder.run(&format!("new --survey {name}.toml{options}")).ends_with(0);
        said.assert_shows(&["135 readings of 15 points", &format!("`hubtrace locate {name}.toml`")]);
        let [of_file, of_sheet] =
            readings(&folder.text(&format!("{name}.toml")), &folder.text(&format!("{name}.html")));
        assert_eq!(of_file.len(), 135);
        assert_eq!(of_file, of_sheet);
        assert!((1..=135).all(|k| of_file[k - 1].0 == k.to_string()));
    }
    let untaken = folder.run("locate survey.toml");
    assert_eq!(untaken.code, Some(3), "{untaken}");
    untaken.assert_shows(&["0 readings; 135 more still to be taken", "no reading reaches it"]);
}

/// A car that has datums is surveyed from them; two cannot fix a point.
#[test]
fn a_survey_of_a_car_measures_from_its_datums() {
    let datum = |name: &str, x_mm: f64| format!("\n[[datum]]\nname = {name:?}\nat = [{x_mm:?}, 300.25, 90.0]\n");
    let two = datum("hoop <left>", 712.0) + &datum("jig", -402.5);
    let surveyed = |datums: &str| {
        let folder = Folder::with(format!("{}{datums}", Car::demo()));
        folder.run("new survey.toml --survey --of car.toml").ends_with(0);
        (folder.text("survey.toml"), folder.text("survey.html"))
    };
    let (survey, sheet) = surveyed(&(two.clone() + &datum("rear member", -500.0)));
    assert!(survey.contains("{ name = \"jig\", at = [-402.500, 300.250, 90.000], sd = 0.0 }"), "{survey}");
    assert!(
        survey.contains("between = [\"rear member\", \"toe link chassis\"]") && !survey.contains("\"A\""),
        "{survey}"
    );
    assert!(sheet.contains("hoop &lt;left&gt;") && !sheet.contains("hoop <left>"), "{sheet}");
    let (survey, _) = surveyed(&two);
    assert!(survey.contains("\"A\"") && !survey.contains("\"jig\""), "{survey}");
}

#[test]
fn a_survey_takes_the_place_of_no_file() {
    let folder = Folder::new();
    folder.write("survey.html", "mine");
    folder.run("new --survey survey.toml").ends_with(4).assert_tells(&["survey.html exists already"]);
    assert_eq!(folder.names("."), ["survey.html"], "not half of the two");
    folder.run("new --survey survey.toml --force --quiet").ends_with(0);
    assert!(folder.text("survey.html").contains("<table>"));
    folder.run("new --survey sheet.html").ends_with(2).assert_tells(&["is the name of the sheet", "survey.toml"]);
    folder.run("new --survey other.toml --of none.toml").ends_with(2).assert_tells(&["none.toml cannot be read"]);
    folder.run("new rear.toml --of survey.toml").ends_with(2).assert_tells(&["--survey"]);
}

/// A full disk is played by a limit on the size of files.
#[cfg(target_os = "linux")]
#[test]
fn a_disk_without_room_leaves_no_half_file() {
    let folder = Folder::new();
    let script = format!("trap '' XFSZ; ulimit -f 1; exec {} new rear.toml", env!("CARGO_BIN_EXE_hubtrace"));
    let output = Command::new("sh").args(["-c", &script]).current_dir(folder.path(".")).output().expect("a shell");
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!((output.status.code(), output.stdout.as_slice()), (Some(4), &b""[..]), "{said}");
    assert!(said.contains("cannot write") && said.contains("make room there"), "{said}");
    assert!(folder.names(".").is_empty());
}

#[test]
fn new_refuses_a_wheel_that_is_none() {
    for (option, words) in [
        ("--tyre 205-50-15", "is no tyre size; write"),
        ("--track 15", "900 to 2100"),
        ("--track wide", "for example 1490"),
    ] {
        let folder = Folder::new();
        let ran = folder.run(&format!("new rear.toml {option}")).ends_with(2);
        ran.assert_tells(&[words]);
        assert_fits_the_width(&ran.err);
        assert!(folder.names(".").is_empty());
    }
    run("new --force").ends_with(2).assert_tells(&["<PATH>"]);
}
