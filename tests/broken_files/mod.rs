//! Folders of broken files with the message of each beside it, and good files with a few bytes changed.

use std::fs;
use std::path::Path;

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

fn names(folder: &str, extension: &str) -> Vec<String> {
    let files = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let mut names: Vec<_> = files
        .filter(|path| path.extension().is_some_and(|found| found == extension))
        .map(|path| path.file_stem().unwrap().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

/// Every file of a folder with this extension gives exactly the text of the `.txt` beside it.
pub fn assert_messages(folder: &str, extension: &str, message: impl Fn(&Path) -> String) {
    let broken = names(folder, extension);
    assert_eq!(broken, names(folder, "txt"), "each broken file has its message, each message its file");
    for name in broken {
        let path = format!("{folder}/{name}");
        let expected = fs::read_to_string(format!("{path}.txt")).unwrap();
        assert_eq!(message(Path::new(&format!("{path}.{extension}"))), expected.trim_end(), "{name}");
    }
}

/// So many texts, each a good one in turn with a few of its bytes cut out or replaced by a piece.
pub fn mutated<'a>(good: &'a [&str], pieces: &'a [&str], count: usize, seed: u64) -> impl Iterator<Item = String> + 'a {
    let mut rng = StdRng::seed_from_u64(seed);
    (0..count).map(move |i| {
        let mut text: Vec<char> = good[i % good.len()].chars().collect();
        for _ in 0..rng.random_range(1..6) {
            let at = rng.random_range(0..text.len());
            let end = (at + rng.random_range(0..8)).min(text.len());
            text.splice(at..end, pieces[rng.random_range(0..pieces.len())].chars());
        }
        text.into_iter().collect()
    })
}
