//! Runs the real program in a folder of its own and holds what it said and what it wrote.

use std::fmt::{self, Display, Formatter};
use std::fs;
use std::path::PathBuf;
use std::process::Command;
use std::rc::Rc;

use serde_json::Value;
use tempfile::{TempDir, tempdir};

use crate::table::Table;

/// What the program says on stderr when no file is given, unless it shall be quiet.
pub const DEMO_NOTE: &str = "No geometry file given: working on the built-in demo car.\n";
/// The same of `locate` without a survey.
pub const SURVEY_NOTE: &str = "No survey file given: working on the built-in demo survey.\n";
/// Where results go when the command line does not say.
const RESULTS: &str = "hubtrace-out";

/// The program, for what [`Folder::run`] cannot set up.
pub fn hubtrace() -> Command {
    Command::new(env!("CARGO_BIN_EXE_hubtrace"))
}

/// Runs a command line in an empty folder.
pub fn run(line: &str) -> Ran {
    Folder::new().run(line)
}

/// A folder that lasts as long as the last run in it.
#[derive(Clone)]
pub struct Folder(Rc<TempDir>);

impl Folder {
    pub fn new() -> Self {
        Self(Rc::new(tempdir().expect("a scratch folder")))
    }

    /// With this text as `car.toml`.
    pub fn with(text: impl Display) -> Self {
        let folder = Self::new();
        folder.write("car.toml", text);
        folder
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    /// Writes a file, and the folders above it.
    pub fn write(&self, name: &str, text: impl Display) {
        let path = self.path(name);
        fs::create_dir_all(path.parent().expect("a folder above")).expect("a folder that can be made");
        fs::write(path, text.to_string()).expect("a writable file");
    }

    pub fn text(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    /// Names of what stands in this folder or one below it, sorted; none when there is no such folder.
    pub fn names(&self, below: &str) -> Vec<String> {
        let entries = fs::read_dir(self.path(below)).into_iter().flatten();
        let mut names: Vec<String> =
            entries.map(|entry| entry.expect("an entry").file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }

    /// Runs a command line here, `hubtrace` left out; double quotes keep the spaces of an argument.
    pub fn run(&self, line: &str) -> Ran {
        self.run_with(line, &[])
    }

    /// The same with variables of the environment.
    pub fn run_with(&self, line: &str, variables: &[(&str, &str)]) -> Ran {
        let arguments = arguments(line);
        let results = arguments.iter().skip_while(|word| *word != "--out").nth(1).map_or(RESULTS, String::as_str);
        let before = self.names(results);
        let mut command = hubtrace();
        command.current_dir(self.0.path()).args(&arguments).envs(variables.iter().copied());
        let ran = command.output().expect("the program starts");
        let text = |bytes| String::from_utf8(bytes).expect("text");
        Ran {
            line: line.to_owned(),
            code: ran.status.code(),
            out: text(ran.stdout),
            err: text(ran.stderr),
            results: results.to_owned(),
            before,
            folder: self.clone(),
        }
    }
}

/// The words of a command line as a shell splits them.
fn arguments(line: &str) -> Vec<String> {
    let mut quoted = false;
    let words = line.split(|c: char| {
        quoted ^= c == '"';
        c.is_whitespace() && !quoted
    });
    words.filter(|word| !word.is_empty()).map(|word| word.replace('"', "")).collect()
}

/// One run of the program.
pub struct Ran {
    line: String,
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
    results: String,
    /// What stood in the folder of results before.
    before: Vec<String>,
    folder: Folder,
}

impl Ran {
    /// The run must end with this code, and say and write nothing that such an end does not call for: no word on stderr
    /// after 0 and 1, nothing but an error after 2 and 4, an error after 3.
    pub fn ends_with(self, code: i32) -> Self {
        assert_eq!(self.code, Some(code), "{self}");
        match code {
            0 | 1 => assert!(self.err.is_empty() || self.err == self.demo_note(), "{self}"),
            3 => assert!(self.err.starts_with("error: "), "{self}"),
            _ => {
                let error = self.err.strip_prefix(self.demo_note()).unwrap_or(&self.err);
                assert!(self.out.is_empty() && error.starts_with("error: "), "{self}");
                assert_eq!(self.folder.names(&self.results), self.before, "{self}");
            }
        }
        self
    }

    /// Every point has the starter's number, on purpose: the one line that says so is taken off stderr.
    pub fn of_starter(mut self) -> Self {
        let note = "warning: starter numbers, not yours: 15 of 15 points\n";
        self.err = self.err.strip_prefix(note).unwrap_or_else(|| panic!("{note:?} is missing; {self}")).to_owned();
        self
    }

    /// So many things of the file look wrong, on purpose: the one line that says so is taken off stderr.
    pub fn doubted(mut self, count: usize) -> Self {
        let file = self.line.split_whitespace().find(|word| word.ends_with(".toml")).expect("a file");
        let things = if count == 1 { "1 thing looks wrong".to_owned() } else { format!("{count} things look wrong") };
        let note = format!("warning: {things}: see `hubtrace check {file}`\n");
        self.err = self.err.strip_prefix(&note).unwrap_or_else(|| panic!("{note:?} is missing; {self}")).to_owned();
        self
    }

    /// What is said when no file was given.
    fn demo_note(&self) -> &'static str {
        match (self.line.contains(".toml"), self.line.starts_with("locate")) {
            (true, _) => "",
            (false, true) => SURVEY_NOTE,
            (false, false) => DEMO_NOTE,
        }
    }

    /// A file of the results.
    pub fn text(&self, name: &str) -> String {
        fs::read_to_string(self.folder.path(&self.results).join(name))
            .unwrap_or_else(|error| panic!("{name}: {error}; {self}"))
    }

    /// Names of the results, sorted.
    pub fn written(&self) -> Vec<String> {
        self.folder.names(&self.results)
    }

    pub fn table(&self, name: &str) -> Table {
        Table::of(&self.text(name))
    }

    /// The words of a chart, wherever its lines break.
    pub fn chart(&self, name: &str) -> String {
        let svg = self.text(name);
        let document = roxmltree::Document::parse(&svg).unwrap_or_else(|error| panic!("{name}: {error}"));
        let texts = document.descendants().filter(|node| node.has_tag_name("text")).filter_map(|node| node.text());
        flat(&texts.collect::<Vec<_>>().join(" "))
    }

    pub fn summary(&self) -> Value {
        serde_json::from_str(&self.text("summary.json")).expect("JSON")
    }

    /// A number of the summary, `/heave/left/bow_deg`.
    pub fn number(&self, pointer: &str) -> f64 {
        number(&self.summary(), pointer)
    }

    pub fn worst_deg(&self, side: &str) -> f64 {
        self.number(&format!("/heave/{side}/worst_bump_steer_deg"))
    }

    /// The screen wherever its lines break.
    pub fn screen(&self) -> String {
        flat(&self.out)
    }

    /// The messages wherever their lines break, without the bars before the advice.
    pub fn messages(&self) -> String {
        flat(&self.err.replace("      | ", " "))
    }

    pub fn assert_shows(&self, parts: &[&str]) {
        let screen = self.screen();
        parts.iter().for_each(|part| assert!(screen.contains(part), "{part:?} is missing on stdout; {self}"));
    }

    pub fn assert_tells(&self, parts: &[&str]) {
        let messages = self.messages();
        parts.iter().for_each(|part| assert!(messages.contains(part), "{part:?} is missing on stderr; {self}"));
    }
}

impl Display for Ran {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "`hubtrace {}` ended with {:?}\nstdout:\n{}stderr:\n{}", self.line, self.code, self.out, self.err)
    }
}

/// The part of a text from some words to the next place where it says others, both among it.
pub fn part<'t>(text: &'t str, from: &str, to: &str) -> &'t str {
    let start = text.find(from).unwrap_or_else(|| panic!("{from:?} is missing in {text}"));
    let end = text[start..].find(to).unwrap_or_else(|| panic!("{to:?} is missing in {text}"));
    &text[start..start + end + to.len()]
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A number of a JSON value, which must be there.
pub fn number(value: &Value, pointer: &str) -> f64 {
    value.pointer(pointer).and_then(Value::as_f64).unwrap_or_else(|| panic!("{pointer} in {value}"))
}
