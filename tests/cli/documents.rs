//! What the documents show is true: every command of the README works as printed, every link and picture is there, and
//! every test that a comment names.
//!
//! A `console` block holds commands behind `$ ` and the output that follows; a line of `...` stands for lines left out,
//! and a command that does not end with 0 is followed by `$ echo $?`. A `diff` block changes `rear.toml`.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use hubtrace::geometry::Quantity;
use serde_json::Value;

use crate::car::Car;
use crate::program::{Folder, Ran};

const README: &str = include_str!("../../README.md");
const RESULTS: &str = include_str!("../../docs/results.md");

/// A folder that begins with the example geometries, as a clone does.
fn folder_with_geometries() -> Folder {
    let folder = Folder::new();
    for entry in ["geometries", "surveys", "gaugings"].into_iter().flat_map(|of| fs::read_dir(of).unwrap()) {
        let path = entry.unwrap().path();
        folder.write(path.to_str().unwrap(), fs::read_to_string(&path).unwrap());
    }
    folder
}

/// Fenced blocks in their order: the language, and the lines between the fences.
pub fn blocks(text: &str) -> Vec<(&str, Vec<&str>)> {
    let mut blocks = Vec::new();
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        if let Some(language) = line.strip_prefix("```") {
            blocks.push((language, lines.by_ref().take_while(|line| *line != "```").collect()));
        }
    }
    blocks
}

/// The shown lines stand in the output in their order; without a `...` between them, one right after the other.
fn assert_shown(ran: &Ran, shown: &[&str]) {
    let mut left: Vec<&str> = ran.out.lines().map(str::trim_end).collect();
    let mut skips = false;
    for &line in shown {
        if line == "..." {
            skips = true;
            continue;
        }
        let at = if skips { left.iter().position(|found| *found == line) } else { Some(0) };
        let found = at.and_then(|at| left.get(at)).copied();
        assert_eq!(found, Some(line), "{ran}");
        left.drain(..=at.unwrap_or(0));
        skips = false;
    }
    assert!(skips || left.is_empty(), "{left:?} are not shown of {ran}");
}

/// Runs the commands of one block; every shown line must appear, and every exit code but 0 must be shown.
fn follow(folder: &Folder, block: &[&str]) {
    let mut last_code = 0;
    for entry in block.join("\n").split("\n$ ").map(|entry| entry.strip_prefix("$ ").unwrap_or(entry)) {
        let mut lines = entry.lines();
        let command = lines.next().unwrap();
        let shown: Vec<&str> = lines.collect();
        if command == "echo $?" {
            assert_eq!(shown, [last_code.to_string()], "exit code of the command before");
            last_code = 0;
            continue;
        }
        assert_eq!(last_code, 0, "the README does not show the exit code of the command before `{command}`");
        let ran = folder.run(command.strip_prefix("hubtrace ").expect("a command of hubtrace"));
        last_code = ran.code.unwrap();
        let warnings = shown.iter().take_while(|line| line.starts_with("warning: ")).count();
        assert_eq!(ran.err.lines().collect::<Vec<_>>(), shown[..warnings], "`{command}`");
        assert_shown(&ran, &shown[warnings..]);
    }
    assert_eq!(last_code, 0, "the README does not show the exit code of the last command: {block:?}");
}

/// Puts the `+` line of a diff in the place of its `-` line, which must stand in the file once.
fn change(file: &Path, block: &[&str]) {
    let [from, to] = block else { panic!("one line for another: {block:?}") };
    let (from, to) = (from.strip_prefix('-').unwrap(), to.strip_prefix('+').unwrap());
    let text = fs::read_to_string(file).unwrap();
    assert_eq!(text.matches(from).count(), 1, "{from}");
    fs::write(file, text.replace(from, to)).unwrap();
}

#[test]
fn the_tour_of_the_readme_works_as_printed() {
    let folder = folder_with_geometries();
    let mut commands = 0;
    for (language, block) in blocks(README) {
        match language {
            "console" => follow(&folder, &block),
            "diff" => change(&folder.path("rear.toml"), &block),
            "sh" => continue,
            other => panic!("a block of {other:?} is not checked"),
        }
        commands += block.iter().filter(|line| line.starts_with("$ hubtrace")).count();
    }
    assert!(commands >= 5, "only {commands} commands found");
}

#[test]
fn two_commands_set_everything_up_and_the_first_ends_with_a_broken_limit() {
    let set_up: Vec<_> = blocks(README).into_iter().filter(|(language, _)| *language == "sh").collect();
    assert_eq!(set_up, [("sh", vec!["cargo run --release -- sweep", "cargo test --release"])]);
    assert!(fs::read_to_string(".ci/run").unwrap().lines().any(|line| line == "cargo test --release"));

    let folder = folder_with_geometries();
    let ran = folder.run("sweep").ends_with(1);
    let failed: Vec<&str> = ran.out.lines().filter(|line| line.contains("FAIL")).collect();
    assert!(matches!(failed[..], [only] if only.starts_with("bump steer")), "{ran}");
    assert!(folder.path("hubtrace-out/heave.csv").is_file());
}

/// What a user or a maintainer reads of the program as it is; the changelog also tells what was.
pub fn documents() -> impl Iterator<Item = PathBuf> {
    let docs = fs::read_dir("docs").unwrap().map(|entry| entry.unwrap().path());
    let texts = docs.filter(|path| path.extension().is_some_and(|extension| extension == "md"));
    texts.chain(["README.md", "DEVELOPERS.md", "tests/outside/README.md"].map(Into::into))
}

#[test]
fn every_link_and_picture_of_the_documents_is_there() {
    for document in documents().chain(["CHANGELOG.md".into()]) {
        let text = fs::read_to_string(&document).unwrap();
        for target in text.split("](").skip(1).filter_map(|rest| rest.split([')', '#']).next()) {
            if target.starts_with("https://") || target.is_empty() {
                continue;
            }
            let path = document.parent().unwrap().join(target);
            assert!(path.exists(), "{} leads to {target}, which is not there", document.display());
        }
    }
}

/// Every `.rs` file below a folder.
pub fn sources(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let found = entries.flat_map(|path| if path.is_dir() { sources(&path) } else { vec![path] });
    found.filter(|path| path.extension().is_some_and(|extension| extension == "rs")).collect()
}

#[test]
fn every_test_that_the_source_names_is_there() {
    let paths: Vec<PathBuf> = sources(Path::new("src")).into_iter().chain(documents()).collect();
    let mut named = 0;
    for path in &paths {
        let text = fs::read_to_string(path).unwrap();
        let is_path = |piece: &&str| piece.starts_with("tests/") || piece.starts_with("src/");
        for test in text.split('`').filter(is_path).filter(|piece| !piece.contains('*')) {
            assert!(Path::new(test).exists(), "{} names {test}, which is not there", path.display());
            named += 1;
        }
    }
    assert!(named > 50, "only {named} found");
}

/// Every member of every summary and every column of `tolerance.csv` stands in `docs/results.md` in code letters, those that
/// are named after a quantity in the catalogue.
#[test]
fn every_member_of_a_summary_is_documented() {
    let folder = Folder::new();
    let held = Car::demo().set("limits.bump_steer", "0.55").set("travel.ride_heights", "[-20.0]");
    folder.write("car.toml", held.to_string() + "\n[tape]\nsd = 0.5\n\n[targets]\nroll_centre_height = 90.0\n");
    folder.write("binds.toml", Car::read("tests/outside/near-fold.toml"));
    let mut summaries: Vec<Value> = [
        "tune car.toml --starts 2",
        "tolerance car.toml --cars 100",
        "tolerance car.toml --cars 100 --last",
        "sweep car.toml",
        "check car.toml",
        "fabricate car.toml",
        "driveline car.toml",
        "forces car.toml --lightest",
        "report car.toml --cars 100",
    ]
    .iter()
    .map(|command| folder.run(&format!("{command} --json")))
    .map(|ran| serde_json::from_str(&ran.out).expect("JSON"))
    .collect();
    summaries.push(folder.run("sweep binds.toml --bump 60").summary());
    summaries.push(folder.run("locate").summary());
    let gauged = folder_with_geometries();
    let correct = "correct geometries/double-wishbone.toml gaugings/double-wishbone.csv";
    summaries.push(gauged.run(correct).summary());
    let documented: BTreeSet<&str> = RESULTS.split('`').skip(1).step_by(2).flat_map(|code| code.split('.')).collect();
    let quantities: BTreeSet<&str> = Quantity::ALL.iter().map(|quantity| quantity.definition().member).collect();
    let mut members = BTreeSet::new();
    summaries.iter().for_each(|summary| add_members(summary, &mut members));
    assert!(members.len() > 80, "{members:?}");
    for member in members {
        let short = member.strip_prefix("share_inside_bump_steer").filter(|rest| documented.contains(rest));
        let known = documented.contains(member.as_str()) || quantities.contains(member.as_str()) || short.is_some();
        assert!(known, "docs/results.md does not tell what `{member}` is");
    }
    let columns = folder.run("tolerance car.toml --cars 100").table("tolerance.csv").columns;
    columns.iter().for_each(|column| assert!(documented.contains(column.as_str()), "{column}"));
}

fn add_members(value: &Value, members: &mut BTreeSet<String>) {
    match value {
        Value::Array(values) => values.iter().for_each(|value| add_members(value, members)),
        Value::Object(of) => of.iter().for_each(|(name, value)| {
            members.insert(name.clone());
            add_members(value, members);
        }),
        _ => {}
    }
}
