//! Every broken survey in `tests/survey/broken/` gives exactly the message beside it.

use std::fs;
use std::path::Path;

use hubtrace::cli::listing;
use hubtrace::survey::SurveyFile;
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

const GOOD: &str = include_str!("good/corner.toml");

fn names(extension: &str) -> Vec<String> {
    let files = fs::read_dir("tests/survey/broken").unwrap().map(|entry| entry.unwrap().path());
    let mut names: Vec<_> = files
        .filter(|path| path.extension().is_some_and(|found| found == extension))
        .map(|path| path.file_stem().unwrap().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

#[test]
fn every_broken_survey_gives_the_message_beside_it() {
    assert_eq!(names("toml"), names("txt"), "each broken file has its message, each message its file");
    for name in names("toml") {
        let path = format!("tests/survey/broken/{name}");
        let expected = fs::read_to_string(format!("{path}.txt")).unwrap();
        let read = SurveyFile::read(Path::new(&format!("{path}.toml")));
        let message = read.map_or_else(|error| listing(&error), |_| "read without complaint".into());
        assert_eq!(message, expected.trim_end(), "{name}");
    }
}

#[test]
fn no_change_of_a_few_bytes_makes_the_reader_panic() {
    let mut rng = StdRng::seed_from_u64(11);
    let pieces =
        ["[", "]", "=", "\"", "nan", "-", "1e300", "\n", "{", "}", ".", "[[part]]\n", "é", "\u{feff}", "3/0", "#"];
    for _ in 0..5_000 {
        let mut text: Vec<char> = GOOD.chars().collect();
        for _ in 0..rng.random_range(1..6) {
            let at = rng.random_range(0..text.len());
            let end = (at + rng.random_range(0..8)).min(text.len());
            text.splice(at..end, pieces[rng.random_range(0..pieces.len())].chars());
        }
        if let Err(error) = SurveyFile::parse("mutated.toml", &text.into_iter().collect::<String>()) {
            assert!(listing(&error).starts_with("error: mutated.toml"), "{error}");
        }
    }
}
