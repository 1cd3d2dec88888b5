//! The real binary, its results, and cars made from the demo.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;
use tempfile::{TempDir, tempdir};

pub const DEMO: &str = "geometries/first-cut.toml";
/// The first chassis point and the room of the demo's toe link, as they stand in its file.
pub const TOE_LINK: &str = "chassis = [-150.0, 376.0, 255.0]";
pub const TOE_LINK_FREE: &str =
    "free = { chassis = { y = [-25.0, 25.0], z = [-25.0, 25.0] }, upright = { z = [-8.0, 8.0] } }";
const BRACKET_FREE: &str = "free = { chassis = { y = [-25.0, 25.0], z = [-25.0, 25.0] } }\n";

/// A folder that holds a car and what the program makes of it.
pub struct ToleranceStudy {
    scratch: TempDir,
}

/// One run of the program.
pub struct Ran {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
    pub folder: PathBuf,
}

impl ToleranceStudy {
    /// With this text as `car.toml`.
    pub fn with(text: &str) -> Self {
        let scratch = tempdir().expect("a scratch folder");
        fs::write(scratch.path().join("car.toml"), text).expect("a writable file");
        Self { scratch }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.scratch.path().join(name)
    }

    /// Runs a command line in this folder, `hubtrace` left out; results go to `out` unless it says otherwise.
    pub fn run(&self, line: &str) -> Ran {
        let mut command = Command::new(env!("CARGO_BIN_EXE_hubtrace"));
        command.current_dir(self.scratch.path()).args(line.split_whitespace());
        if !line.contains("--out") {
            command.args(["--out", "out"]);
        }
        let ran = command.output().expect("the program starts");
        let text = |bytes| String::from_utf8(bytes).expect("text");
        Ran { code: ran.status.code(), out: text(ran.stdout), err: text(ran.stderr), folder: self.path("out") }
    }
}

/// `hubtrace tune` on a text.
pub fn tuned(text: &str) -> (ToleranceStudy, Ran) {
    let shop = ToleranceStudy::with(text);
    let ran = shop.run("tune car.toml");
    (shop, ran)
}

impl Ran {
    pub fn text(&self, name: &str) -> String {
        read(&self.folder.join(name), &self.err)
    }

    pub fn summary(&self) -> Value {
        serde_json::from_str(&self.text("summary.json")).expect("JSON")
    }

    /// Worst bump steer of one side after tuning, deg.
    pub fn worst_deg(&self, side: &str) -> f64 {
        number(&self.summary(), &format!("/heave/{side}/worst_bump_steer_deg"))
    }

    /// The screen wherever its lines break.
    pub fn said(&self) -> String {
        [self.out.as_str(), &self.err]
            .concat()
            .replace("      | ", " ")
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
    }

    pub fn assert_says(&self, parts: &[&str]) {
        let said = self.said();
        for part in parts {
            assert!(said.contains(part), "{part:?} is missing in:\n{}{}", self.out, self.err);
        }
    }
}

fn read(path: &Path, instead: &str) -> String {
    fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}; {instead}", path.display()))
}

pub fn number(value: &Value, pointer: &str) -> f64 {
    value.pointer(pointer).and_then(Value::as_f64).unwrap_or_else(|| panic!("{pointer} in {value}"))
}

/// The demo car with pieces replaced, each of which it must hold.
pub fn demo(changes: &[(&str, &str)]) -> String {
    let text = fs::read_to_string(DEMO).expect("a readable file");
    changes.iter().fold(text, |text, (from, to)| {
        assert!(text.contains(from), "the demo does not hold {from}");
        text.replace(from, to)
    })
}

/// The demo car where nothing is free but what the toe link says.
pub fn demo_with_toe_link(free: &str, changes: &[(&str, &str)]) -> String {
    let mut all = vec![(BRACKET_FREE, ""), (TOE_LINK_FREE, free)];
    all.extend(changes);
    demo(&all)
}

/// The numbers of a `key = [x, y, z]` or `key = number` line of the `nth` table that has the key.
pub fn numbers(text: &str, key: &str, nth: usize) -> Vec<f64> {
    let lines = text.lines().filter_map(|line| line.strip_prefix(key)?.trim_start().strip_prefix('='));
    let value = lines.map(|rest| rest.split('#').next().unwrap_or(rest)).nth(nth).expect("a line with the key");
    value.trim().trim_matches(['[', ']']).split(',').map(|n| n.trim().parse().expect("a number")).collect()
}
