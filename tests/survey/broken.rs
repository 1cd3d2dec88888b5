//! Every broken survey in `tests/survey/broken/` gives exactly the message beside it.

use std::path::Path;

use hubtrace::cli::listing;
use hubtrace::survey::SurveyFile;

use crate::broken_files::{assert_messages, mutated};

const GOOD: &str = include_str!("good/corner.toml");

fn message(path: &Path) -> String {
    SurveyFile::read(path).map_or_else(|error| listing(&error), |_| "read without complaint".into())
}

#[test]
fn every_broken_survey_gives_the_message_beside_it() {
    assert_messages("tests/survey/broken", message);
}

#[test]
fn no_change_of_a_few_bytes_makes_the_reader_panic() {
    let pieces =
        ["[", "]", "=", "\"", "nan", "-", "1e300", "\n", "{", "}", ".", "[[part]]\n", "é", "\u{feff}", "3/0", "#"];
    for text in mutated(&[GOOD], &pieces, 5_000, 11) {
        if let Err(error) = SurveyFile::parse("mutated.toml", &text) {
            assert!(listing(&error).starts_with("error: mutated.toml"), "{error}");
        }
    }
}
