//! Sound files with a few things wrong.

use std::fs;
use std::path::PathBuf;

use rand::rngs::StdRng;
use rand::seq::IndexedRandom;
use rand::{Rng, SeedableRng};

/// Folders of sound files to begin with.
const SOUND: [&str; 3] = ["geometries", "tests/good", "tests/outside"];
/// Each with a mistake of its own.
const BROKEN: &str = "tests/broken";
/// In place of a number.
const NUMBERS: [&str; 24] = [
    "0.0",
    "-0.0",
    "0",
    "1",
    "-1",
    "1e-300",
    "5e-324",
    "-5e-324",
    "1e-9",
    "0.00002",
    "1e5",
    "1e300",
    "-1e300",
    "nan",
    "inf",
    "-inf",
    "99999999999999999999",
    "0x10",
    "1_0",
    "89.99",
    "90.0",
    "500.0",
    "45.0",
    "[1.0, 2.0]",
];
/// Lines that a builder may add anywhere.
const LINES: [&str; 50] = [
    "[limits]",
    "bump_steer = 0.00002",
    "recession = 1e-6",
    "roll_centre_height = [65.0, 65.00001]",
    "roll_steer = 0.1",
    "track_change = 0.001",
    "thrust_angle = 5e-324",
    "anti_squat = [0.0, 90.0]",
    "[targets]",
    "camber_gain = -0.5",
    "anti_squat = 40.0",
    "recession = 0.5",
    "plunge = [-1.0, 1.0]",
    "toe = [[-50.0, 0.1], [50.0, 0.0]]",
    "[weld]",
    "sd = 0.3",
    "within = 1.0",
    "shape = \"uniform\"",
    "class = \"B\"",
    "[tape]",
    "units = \"in\"",
    "upright_axes = \"hub\"",
    "ride_heights = [-10.0, 10.0]",
    "free = { chassis = { y = [-5.0, 5.0], z = [-5.0, 5.0] } }",
    "rod_end_limit = 0.001",
    "adjust = { chassis = { kind = \"shim\", along = [0.0, 0.0, 1.0], step = 0.5, range = [-6.0, 6.0] } }",
    "sets_toe = true",
    "clock = [-2.0, 2.0]",
    "[[load]]\nname = \"corner\"",
    "contact = [0.0, -4000.0, 5000.0]",
    "contact_times_static = [-1.0, 0.0, 2.0]",
    "torque_to = \"halfshaft\"",
    "mass = 600.0",
    "rear_mass_share = 0.0",
    "[[datum]]\nname = \"left foot\"\nat = [300.0, 450.0, 120.0]",
    "[propshaft]",
    "mount = { ratio = 1.0, thread = \"M2x0.2\", class = \"8.8\", along = [[0, 0, 1], [1, 0, 0], [0, 1, 0]] }",
    "[[propshaft.joint]]",
    "[[propshaft.tube]]",
    "phase = 90.0",
    "kind = \"flexible\"",
    "radial_stiffness = 1e-3",
    "tube = { od = 1e-9, wall = 1e-9, material = \"E355\" }",
    "[rod_end]\nthread = \"M10\"\nshank = 20.0\nengagement = 300.0\nstatic_kn = 1e-9\nshank_yield_mpa = 1e-9",
    "[bolt]\nthread = \"M60x0.2\"\nclass = \"12.9\"\ngap = 200.0",
    "bolt = { thread = \"M2x0.2\", class = \"8.8\", upright = { shear = \"single\" } }",
    "rod_end = { static_kn = 1000.0 }",
    "rod_end = { thread = \"M10\", shank_yield_mpa = 1e-9, stand_off = { chassis = 200.0, upright = 1e-9 } }",
    "rate = 1e-9",
    "bracket_kn_per_mm = 1e-9",
];

/// Makes files.
pub struct Mutator {
    seed: u64,
    sound: Vec<String>,
    broken: Vec<String>,
}

impl Mutator {
    pub fn new(seed: u64) -> Self {
        let sound: Vec<String> = SOUND.into_iter().flat_map(files_in).collect();
        assert!(sound.len() > 10, "only {} files to begin with", sound.len());
        Self { seed, sound, broken: files_in(BROKEN) }
    }

    /// One in sixteen comes from a file with a mistake of its own.
    pub fn file(&self, index: u64) -> String {
        let mut random = StdRng::seed_from_u64(self.seed.wrapping_mul(0x9E37_79B9_7F4A_7C15).wrapping_add(index));
        let begin = if random.random_bool(1.0 / 16.0) { &self.broken } else { &self.sound };
        let mut text = begin.choose(&mut random).expect("files to begin with").to_string();
        for _ in 0..random.random_range(1..=4) {
            text = self.mutated(&text, &mut random);
        }
        text
    }

    fn mutated(&self, text: &str, random: &mut StdRng) -> String {
        match random.random_range(0..16) {
            0..7 => number_changed(text, random, nudged),
            7..9 => number_changed(text, random, |_, random| NUMBERS.choose(random).expect("numbers").to_string()),
            9 => lines_changed(text, random, |lines, at, _| _ = lines.remove(at)),
            10 => lines_changed(text, random, |lines, at, _| lines.insert(at, lines[at].clone())),
            11 => lines_changed(text, random, |lines, at, random| {
                let other = random.random_range(0..lines.len());
                lines.swap(at, other);
            }),
            12 | 13 => lines_changed(text, random, |lines, at, random| {
                lines.insert(at, LINES.choose(random).expect("lines").to_string());
            }),
            14 => {
                let other: Vec<String> = self.sound.choose(random).expect("files").lines().map(str::to_owned).collect();
                lines_changed(text, random, |lines, at, random| {
                    let from = random.random_range(0..other.len().max(1));
                    let taken = other.iter().skip(from).take(random.random_range(1..12)).cloned();
                    lines.splice(at..at, taken);
                })
            }
            _ => character_changed(text, random),
        }
    }
}

/// The geometry files of a folder, by name.
fn files_in(folder: &str) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap_or_else(|error| panic!("{folder}: {error}"));
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.expect("an entry").path()).collect();
    paths.retain(|path| path.extension().is_some_and(|extension| extension == "toml"));
    paths.sort();
    paths.iter().map(|path| String::from_utf8_lossy(&fs::read(path).expect("a file")).into_owned()).collect()
}

/// A number with some of it added, or another sign, or another size.
fn nudged(number: f64, random: &mut StdRng) -> String {
    let to = match random.random_range(0..8) {
        0..4 => number + random.random_range(-20.0..20.0),
        4 => number * (1.0 + 1e-9),
        5 => -number,
        6 => number * 10.0_f64.powi(random.random_range(-6..4)),
        _ => number.round(),
    };
    format!("{to:?}")
}

fn number_changed(text: &str, random: &mut StdRng, change: impl Fn(f64, &mut StdRng) -> String) -> String {
    let is_part = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | 'e' | '_');
    let starts: Vec<usize> = text
        .char_indices()
        .filter(|&(at, c)| {
            c.is_ascii_digit() && !text[..at].ends_with(|before: char| is_part(before) || before.is_alphabetic())
        })
        .map(|(at, _)| at)
        .collect();
    let Some(&at) = starts.choose(random) else { return text.to_owned() };
    let start = if text[..at].ends_with('-') { at - 1 } else { at };
    let end = text[at..].find(|c| !is_part(c)).map_or(text.len(), |length| at + length);
    let Ok(number) = text[start..end].parse() else { return text.to_owned() };
    format!("{}{}{}", &text[..start], change(number, random), &text[end..])
}

fn lines_changed(text: &str, random: &mut StdRng, change: impl Fn(&mut Vec<String>, usize, &mut StdRng)) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    if lines.is_empty() {
        return text.to_owned();
    }
    let at = random.random_range(0..lines.len());
    change(&mut lines, at, random);
    lines.join("\n") + "\n"
}

/// A character lost, doubled or in place of another.
fn character_changed(text: &str, random: &mut StdRng) -> String {
    const OTHERS: [&str; 14] =
        ["", "\"", "[", "]", "{", "}", "=", "\n", "\u{0}", "\u{202e}", "ä", "\u{1b}[2J", ",", "#"];
    let places: Vec<(usize, char)> = text.char_indices().collect();
    let Some(&(at, old)) = places.choose(random) else { return text.to_owned() };
    format!("{}{}{}", &text[..at], OTHERS.choose(random).expect("characters"), &text[at + old.len_utf8()..])
}
