//! Names of files, folders and links are shown as what they are, and steer nothing.

use std::fs;
use std::process::Output;

use crate::car::{Car, SOUND};
use crate::program::{Folder, hubtrace, run};

/// Breaks a line, colours a terminal, turns the text around.
const STEERING: &str = "a\nerror: b\u{1b}[31m\u{202e}";
const WRITTEN_OUT: &str = "a\\nerror: b\\u{1b}[31m\\u{202e}";
const SHORT: [&str; 8] = ["--bump", "10", "--droop", "10", "--step", "10", "--roll", "0"];

fn ran(folder: &Folder, arguments: &[&str]) -> Output {
    hubtrace().current_dir(folder.path("")).args(arguments).output().expect("the program starts")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("text")
}

/// No line is more than an error of its own, and the name is there.
fn assert_tells_plainly(said: &[u8]) {
    let said = text(said);
    assert!(said.replace("\n      | ", "").replace("\n  ", "").contains(WRITTEN_OUT), "{said}");
    assert!(!said.contains(['\u{1b}', '\u{202e}']), "{said:?}");
    assert!(said.lines().skip(1).all(|line| !line.starts_with("error: ")), "{said}");
}

#[test]
fn a_file_of_any_name_is_told_on_one_line() {
    let folder = Folder::new();
    let name = format!("{STEERING}.toml");
    let missing = ran(&folder, &["check", &name]);
    assert_eq!(missing.status.code(), Some(2));
    assert_tells_plainly(&missing.stderr);
    folder.write(&name, "schema = 2\n");
    assert_eq!(ran(&folder, &["check", &name]).status.code(), Some(2));
    assert!(text(&ran(&folder, &["check", &name]).stderr).starts_with(&format!("error: {WRITTEN_OUT}.toml, line 1")));
    assert_tells_plainly(&ran(&folder, &["new", &name]).stderr);
    assert_tells_plainly(&ran(&folder, &["new", &name, "--force"]).stdout);
}

#[test]
fn a_folder_of_any_name_is_told_on_one_line() {
    let folder = Folder::with(Car::demo());
    let sweep = |folder: &Folder| ran(folder, &[&["sweep", "car.toml", "--out", STEERING][..], &SHORT].concat());
    let written = sweep(&folder);
    let said = text(&written.stdout);
    assert!(said.contains(&format!("Written to {WRITTEN_OUT}: ")) && !said.contains('\u{1b}'), "{said}");
    folder.write(&format!("{STEERING}/heave.csv"), "mine");
    let refused = sweep(&folder);
    assert_eq!(refused.status.code(), Some(4));
    assert_tells_plainly(&refused.stderr);
}

#[test]
fn a_command_line_of_any_words_is_told_plainly() {
    for arguments in [[STEERING, "car.toml"], ["sweep", &format!("--{STEERING}")]] {
        let said = ran(&Folder::new(), &arguments);
        assert_eq!(said.status.code(), Some(2));
        assert_tells_plainly(&said.stderr);
    }
}

#[test]
fn a_car_called_after_its_file_steers_no_drawing() {
    let folder = Folder::new();
    let name = format!("{STEERING}\u{fffe}.toml");
    folder.write(&name, Car::demo().without("name"));
    assert_eq!(ran(&folder, &[&["sweep", &name][..], &SHORT].concat()).status.code(), Some(1));
    for drawing in folder.names("hubtrace-out").iter().filter(|name| name.ends_with(".svg")) {
        let svg = folder.text(&format!("hubtrace-out/{drawing}"));
        assert!(svg.contains(WRITTEN_OUT) && !svg.contains(['\u{1b}', '\u{202e}', '\u{fffe}']), "{drawing}");
    }
}

#[test]
fn a_name_is_no_formula_of_a_spreadsheet() {
    for name in ["=1+1", "@SUM(1)", "+1", "-1", " =1+1"] {
        let car = Car::demo().set("toe link.name", &format!("{name:?}"));
        let ran = Folder::with(car).run("tune car.toml --starts 1 --bump 10 --droop 10 --quiet");
        for (table, column) in [("sensitivity.csv", "link"), ("moves.csv", "point")] {
            let cells = ran.table(table).column(column).into_iter().map(str::to_owned).collect::<Vec<_>>();
            assert!(cells.iter().any(|cell| cell.starts_with(&format!("'{name}"))), "{table}: {cells:?}");
            assert!(
                cells.iter().all(|cell| !cell.trim_start().starts_with(['=', '@', '+', '-'])),
                "{table}: {cells:?}"
            );
        }
    }
    for name in ["=1+1", "-1"] {
        let car = Car::demo().set("toe link.name", &format!("{name:?}")).to_string();
        let load = format!("\n[[load]]\nname = {name:?}\ncontact = [0.0, 0.0, 1000.0]\n");
        let ran = Folder::with(car + &load).run("forces car.toml --quiet");
        for (table, column) in [("forces.csv", "case"), ("forces.csv", "part"), ("brackets.csv", "bracket")] {
            let cells = ran.table(table).column(column).join("\n");
            assert!(format!("\n{cells}").contains(&format!("\n'{name}")), "{table}: {cells}");
            assert!(!format!("\n{cells}").contains(&format!("\n{name}")), "{table}: {cells}");
        }
    }
    let car =
        fs::read_to_string(SOUND).unwrap().replace("\"upper wishbone", "\"=1+1").replace("\"lower wishbone", "\"@SUM");
    let gauged = Folder::with(car);
    gauged.write("read.csv", fs::read_to_string("gaugings/double-wishbone.csv").unwrap());
    let table = gauged.run("correct car.toml read.csv --quiet").text("correction.csv");
    assert!(table.contains("\"'=1+1, ") || table.contains("\"'@SUM, "), "{table}");
    assert!(!table.contains(",\"=") && !table.contains(",\"@"), "{table}");
    let car = Car::read("tests/outside/clearance/car.toml").to_string().replace("\"toe link\"", "\"=1+1\"");
    let gaps = Folder::with(car).run("sweep car.toml --quiet --bump 10 --droop 10");
    let pairs = gaps.table("clearance.csv").column("pair").join("\n");
    assert!(format!("\n{pairs}").contains("\n'=1+1") && !format!("\n{pairs}").contains("\n="), "{pairs}");
}

#[cfg(target_os = "linux")]
#[test]
fn too_many_open_files_are_told_as_that() {
    let folder = Folder::with(Car::demo());
    // One handle beside the three streams: enough to read the geometry, too few to write beside a locked folder.
    let line = "ulimit -n 4; exec \"$0\" sweep car.toml --quiet --bump 0 --droop 0 --roll 0";
    let mut shell = std::process::Command::new("sh");
    let said = shell.current_dir(folder.path("")).args(["-c", line]).arg(hubtrace().get_program()).output();
    let said = said.expect("a shell");
    assert_eq!(said.status.code(), Some(4), "{}", text(&said.stderr));
    assert!(text(&said.stderr).contains("too many files are open: close other programs"), "{}", text(&said.stderr));
}

#[test]
fn the_largest_roll_of_the_file_is_that_of_the_command_line() {
    let folder = Folder::with(Car::demo().set("travel.roll", "45.0"));
    let of_file = folder.run("sweep car.toml --quiet --step 20 --out file").text("roll.csv");
    folder.write("car.toml", Car::demo());
    assert_eq!(folder.run("sweep car.toml --quiet --step 20 --roll 45 --out line").text("roll.csv"), of_file);
    run("sweep --roll 45.1").ends_with(2).assert_tells(&["write degrees from 0 to 45"]);
}

#[test]
fn the_smallest_travel_of_all_has_charts() {
    for travel in ["--roll 5e-324", "--bump 5e-324 --droop 5e-324"] {
        let ran = run(&format!("sweep --quiet {travel}"));
        assert!(matches!(ran.code, Some(0 | 1)), "{ran}");
    }
}

#[test]
fn no_mistake_of_a_file_steers_a_terminal() {
    let steers = |c: char| c.is_control() && c != '\n' || ('\u{202a}'..='\u{202e}').contains(&c) || c == '\u{2028}';
    for hidden in ["\\n", "\\u001b[31m", "\u{202e}", "\\u202e", "\u{2028}", "\\u2028", "\\uFEFF"] {
        for line in [
            format!("name = \"{hidden}\""),
            format!("\"{hidden}\" = 1"),
            format!("schema = \"{hidden}\""),
            format!("units = \"{hidden}\""),
            format!("[\"{hidden}\"]"),
            format!("[travel]\nbump = \"{hidden}\""),
            format!("[limits]\n\"{hidden}\" = 1.0"),
            format!("a = {hidden}"),
        ] {
            let folder = Folder::with(&line);
            let said = folder.run("check car.toml").ends_with(2).err;
            let lines = said.lines().all(|line| line.starts_with("error: car.toml") || line.starts_with(' '));
            assert!(lines && !said.contains(steers), "{line:?}: {said:?}");
        }
    }
}
