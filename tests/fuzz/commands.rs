//! One file through every command, with what must hold whatever is in it.

use std::fmt::{self, Display, Formatter};
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind, set_hook};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::thread::current;
use std::time::{Duration, Instant};

use hubtrace::cli::run_with;
use serde_json::Value;
use tempfile::{TempDir, tempdir};

/// Few rows, and travel like the file's or a short one of its own.
const SHORT: &str = "--bump 20 --droop 15 --step 10 --roll 1 --step-roll 1";
const AS_IN_FILE: &str = "--step 60 --step-roll 2";
/// Longer than any of these may take, here and on a busy machine.
const PATIENCE: Duration = Duration::from_secs(60);

/// What a file came to.
pub struct Driven {
    /// Of every command.
    pub codes: Vec<u8>,
    /// It is a car that moves.
    pub moves: bool,
}

/// What must not be.
#[derive(Debug)]
pub struct Fault {
    pub kind: Kind,
    told: String,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    /// At this place.
    Panic(String),
    ExitCode,
    NoNumber,
    WrittenThoughRefused,
    RefusedByCheckAlone,
    PassWithoutValue,
    BindsAsTuned,
    Slow,
}

impl Display for Fault {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}: {}", self.kind, self.told)
    }
}

/// Where a thread without a name panicked last: those that drive files, and those of the pool.
static PANICKED_AT: Mutex<String> = Mutex::new(String::new());

/// Keeps the place of a panic that is looked for; others are told.
pub fn silence_panics() {
    set_hook(Box::new(|panic| match current().name() {
        None => *PANICKED_AT.lock().expect("whole") = panic.location().map_or_else(String::new, ToString::to_string),
        Some(_) => eprintln!("{panic}"),
    }));
}

/// Runs every command on a file.
pub fn drive(text: &str) -> Result<Driven, Fault> {
    let bench = Bench::with(text);
    let check = bench.run("check", "--json")?;
    // A link may still lack its chassis point; `tune` alone takes such a car.
    let unplaced = check.err.contains("has no chassis point yet");
    let sweep = bench.run("sweep", SHORT)?;
    let mut runs = vec![bench.run("sweep", &format!("{AS_IN_FILE} --side right --json"))?];
    runs.push(bench.run("driveline", "--json")?);
    runs.push(bench.run("tolerance", &format!("{SHORT} --cars 50"))?);
    runs.push(bench.run("tolerance", &format!("{AS_IN_FILE} --cars 20 --last --json"))?);
    runs.push(bench.run("forces", &format!("{SHORT} --json"))?);
    runs.push(bench.run("fabricate", "--side both")?);
    runs.push(bench.run("report", &format!("{SHORT} --cars 20"))?);
    let tune = bench.run("tune", &format!("{SHORT} --starts 1 --cars 50"))?;
    // Of a part of the driveline that is left out for its mistake `check` tells with the same code, beside the page of the rest.
    let refused = check.code == 2 && check.out.is_empty();
    for run in runs.iter().chain([&sweep, &tune]).filter(|run| refused && run.code != 2) {
        if !(unplaced && run.line.starts_with("tune")) {
            return Err(run.fault(Kind::RefusedByCheckAlone));
        }
    }
    if matches!(tune.code, 0 | 1) {
        let tuned = bench.folder.path().join(&tune.out_folder).join("tuned.toml");
        let again = bench.run_on(&tuned, "sweep", SHORT)?;
        if !matches!(again.code, 0 | 1) {
            return Err(again.fault(Kind::BindsAsTuned));
        }
    }
    let moves = matches!(sweep.code, 0 | 1);
    let codes = runs.iter().chain([&check, &sweep, &tune]).map(|run| run.code).collect();
    Ok(Driven { codes, moves })
}

/// A folder with one file in it.
struct Bench {
    folder: TempDir,
    text: String,
}

struct Ran {
    line: String,
    code: u8,
    out: String,
    err: String,
    out_folder: PathBuf,
}

impl Ran {
    fn fault(&self, kind: Kind) -> Fault {
        let Self { line, code, out, err, .. } = self;
        Fault { kind, told: format!("`{line}` ended with {code}\n{out}{err}") }
    }
}

impl Bench {
    fn with(text: &str) -> Self {
        let folder = tempdir().expect("a scratch folder");
        fs::write(folder.path().join("car.toml"), text).expect("a writable file");
        Self { folder, text: text.to_owned() }
    }

    fn run(&self, command: &str, options: &str) -> Result<Ran, Fault> {
        self.run_on(&self.folder.path().join("car.toml"), command, options)
    }

    /// One command with what holds of every one.
    fn run_on(&self, file: &Path, command: &str, options: &str) -> Result<Ran, Fault> {
        let results = tempfile::Builder::new().tempdir_in(self.folder.path()).expect("a folder").keep().join("results");
        let mut words = vec!["hubtrace".to_owned(), command.to_owned(), file.display().to_string()];
        words.extend(options.split(' ').map(str::to_owned));
        if command != "check" {
            words.extend(["--out".to_owned(), results.display().to_string()]);
        }
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let begun = Instant::now();
        let ended = catch_unwind(AssertUnwindSafe(|| run_with(&words, &mut out, &mut err)));
        let line = format!("{command} {options}");
        let Ok(code) = ended else {
            let at = PANICKED_AT.lock().expect("whole").clone();
            return Err(Fault { told: format!("`{line}` at {at}"), kind: Kind::Panic(at) });
        };
        let text = |bytes: Vec<u8>| String::from_utf8_lossy(&bytes).into_owned();
        let ran = Ran { line, code, out: text(out), err: text(err), out_folder: results };
        let held = [
            (code <= 4, Kind::ExitCode),
            (begun.elapsed() < PATIENCE, Kind::Slow),
            // A mistake in one part of the driveline leaves the others.
            (code != 2 || command == "driveline" || names(&ran.out_folder).is_empty(), Kind::WrittenThoughRefused),
            (self.has_numbers_only(&ran), Kind::NoNumber),
            (passes_have_values(&ran), Kind::PassWithoutValue),
        ];
        match held.into_iter().find(|(holds, _)| !holds) {
            Some((_, kind)) => Err(ran.fault(kind)),
            None => Ok(ran),
        }
    }

    /// No NaN and no infinity on the screen or in a file, unless the input itself has the word.
    fn has_numbers_only(&self, ran: &Ran) -> bool {
        let files = names(&ran.out_folder).into_iter().filter(|name| !name.ends_with(".toml"));
        let text = |bytes: Vec<u8>| String::from_utf8_lossy(&bytes).into_owned();
        let texts = files.map(|name| text(fs::read(ran.out_folder.join(name)).expect("a file")));
        let is_word = |c: char| c.is_alphanumeric();
        let has = |text: &str, word: &str| text.split(|c| !is_word(c)).any(|part| part.eq_ignore_ascii_case(word));
        let absent = ["nan", "inf", "infinity"].into_iter().filter(|word| !has(&self.text, word)).collect::<Vec<_>>();
        texts.chain([ran.out.clone()]).all(|text| absent.iter().all(|word| !has(&text, word)))
    }
}

fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    entries.map(|entry| entry.file_name().to_string_lossy().into_owned()).collect()
}

/// Every limit that is told as kept has a value inside it.
fn passes_have_values(ran: &Ran) -> bool {
    let Ok(text) = fs::read_to_string(ran.out_folder.join("summary.json")) else { return true };
    let summary: Value = serde_json::from_str(&text).expect("JSON");
    let limits = summary["limits"].as_array().cloned().unwrap_or_default();
    let end = |limit: &Value, name: &str| limit[name].as_f64();
    limits.iter().filter(|limit| limit["state"] == "pass").all(|limit| {
        let (least, most) = (end(limit, "limit_low"), end(limit, "limit_high"));
        let (Some(low), Some(high)) = (end(limit, "low"), end(limit, "high")) else { return false };
        // A limit may have one end only: a least gap.
        (least.is_some() || most.is_some())
            && least.is_none_or(|least| least <= low)
            && low <= high
            && most.is_none_or(|most| high <= most)
    })
}
