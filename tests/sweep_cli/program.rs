//! The real binary and what it leaves behind.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;
use tempfile::{TempDir, tempdir};

pub const DEMO: &str = "geometries/first-cut.toml";
/// Keeps every limit it sets.
pub const SOUND: &str = "geometries/double-wishbone.toml";

/// One run of `hubtrace sweep` into a folder of its own.
pub struct Ran {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
    pub folder: PathBuf,
    _scratch: TempDir,
}

pub fn sweep(arguments: &[&str]) -> Ran {
    sweep_from(env!("CARGO_MANIFEST_DIR"), arguments)
}

/// As somebody who has gone to a folder and calls the files there by their names.
pub fn sweep_from(here: &str, arguments: &[&str]) -> Ran {
    let scratch = tempdir().expect("a scratch folder");
    let folder = scratch.path().join("out");
    let (code, out, err) = run_from(here, &folder, arguments);
    Ran { code, out, err, folder, _scratch: scratch }
}

/// Exit code, stdout and stderr of a sweep into a given folder.
pub fn run(folder: &Path, arguments: &[&str]) -> (Option<i32>, String, String) {
    run_from(env!("CARGO_MANIFEST_DIR"), folder, arguments)
}

fn run_from(here: &str, folder: &Path, arguments: &[&str]) -> (Option<i32>, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_hubtrace"));
    command.current_dir(here).arg("sweep").args(arguments).arg("--out").arg(folder);
    let ran = command.output().expect("the program starts");
    let text = |bytes| String::from_utf8(bytes).expect("text");
    (ran.status.code(), text(ran.stdout), text(ran.stderr))
}

impl Ran {
    pub fn text(&self, name: &str) -> String {
        fs::read_to_string(self.folder.join(name)).unwrap_or_else(|e| panic!("{name}: {e}; {}", self.err))
    }

    pub fn table(&self, name: &str) -> Table {
        let text = self.text(name);
        let mut lines = text.lines().map(|line| line.split(',').map(str::to_owned).collect::<Vec<_>>());
        Table { columns: lines.next().expect("a header"), rows: lines.collect() }
    }

    pub fn summary(&self) -> Value {
        serde_json::from_str(&self.text("summary.json")).expect("JSON")
    }

    /// Messages are the same wherever their lines break.
    pub fn said(&self) -> String {
        self.err.split_whitespace().filter(|word| *word != "|").collect::<Vec<_>>().join(" ")
    }
}

/// A table as its cells stand in the file.
pub struct Table {
    pub columns: Vec<String>,
    pub rows: Vec<Vec<String>>,
}

impl Table {
    pub fn column(&self, name: &str) -> Vec<&str> {
        let at = self.columns.iter().position(|column| column == name).expect("a column of that name");
        self.rows.iter().map(|row| row[at].as_str()).collect()
    }

    pub fn numbers(&self, name: &str) -> Vec<f64> {
        self.column(name).into_iter().map(|cell| cell.parse().expect("a number")).collect()
    }

    /// The numbers of a column in the rows of one side.
    pub fn of(&self, side: &str, name: &str) -> Vec<f64> {
        let sides = self.column("side").into_iter();
        sides.zip(self.numbers(name)).filter(|(of, _)| *of == side).map(|(_, number)| number).collect()
    }
}

/// A geometry file that lives as long as this does.
pub struct Written {
    path: PathBuf,
    _scratch: TempDir,
}

impl Written {
    pub fn new(text: impl AsRef<[u8]>) -> Self {
        let scratch = tempdir().expect("a scratch folder");
        let path = scratch.path().join("car.toml");
        fs::write(&path, text).expect("a writable file");
        Self { path, _scratch: scratch }
    }

    pub fn path(&self) -> &str {
        self.path.to_str().expect("a plain path")
    }
}

/// The text of a file with pieces replaced, each of which it must hold.
pub fn changed(file: &str, changes: &[(&str, &str)]) -> String {
    let text = fs::read_to_string(file).expect("a readable file");
    changes.iter().fold(text, |text, (from, to)| {
        assert!(text.contains(from), "{file} does not hold {from}");
        text.replace(from, to)
    })
}

/// The demo's wheel with five links of one's own; the first link is on line 5.
pub fn five_links(links: [([f64; 3], [f64; 3]); 5]) -> Written {
    let mut text = "schema = 1\n[wheel]\ncentre = [0.0, 745.0, 308.0]\ntyre_radius = 308.0\n".to_owned();
    for (i, (chassis, upright)) in links.into_iter().enumerate() {
        text += &format!("[[link]]\nname = \"link {i}\"\nchassis = {chassis:?}\nupright = {upright:?}\n");
    }
    Written::new(text)
}

/// Five links and the vertical through the wheel centre meet one line; the first link's outer end is off by this.
pub fn all_meet_one_line(off_mm: f64) -> Written {
    let chassis = [
        [150.0, 380.0, 400.0],
        [-110.0, 372.0, 388.0],
        [240.0, 372.0, 181.0],
        [-70.0, 345.0, 172.0],
        [-150.0, 376.0, 255.0],
    ];
    let met_at_x = [60.0, -90.0, 20.0, -40.0, -180.0];
    five_links(std::array::from_fn(|i| {
        let [x, y, z]: [f64; 3] = chassis[i];
        let off_mm = if i == 0 { off_mm } else { 0.0 };
        (chassis[i], [x + 0.8 * (met_at_x[i] - x), y + 0.8 * (745.0 - y), z + 0.8 * (100.0 - z) + off_mm])
    }))
}
