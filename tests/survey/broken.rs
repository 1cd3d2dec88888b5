//! Every broken survey in `tests/survey/broken/` gives exactly the message beside it.

use std::path::Path;

use hubtrace::cli::listing;
use hubtrace::studies::locate::LocateFindings;
use hubtrace::survey::SurveyFile;

use crate::broken_files::{assert_messages, mutated};

const GOOD: &str = include_str!("good/corner.toml");
/// With a part on its mounting points, misread and missing readings.
const DEMO: &str = include_str!("../../surveys/first-cut.toml");

fn message(path: &Path) -> String {
    SurveyFile::read(path).map_or_else(|error| listing(&error), |_| "read without complaint".into())
}

#[test]
fn every_broken_survey_gives_the_message_beside_it() {
    assert_messages("tests/survey/broken", "toml", message);
}

#[test]
fn no_change_of_a_few_bytes_makes_the_program_panic_or_gives_what_is_no_number() {
    let pieces =
        ["[", "]", "=", "\"", "nan", "-", "1e300", "\n", "{", "}", ".", "[[part]]\n", "é", "\u{feff}", "3/0", "#"];
    let mut located = 0;
    for text in mutated(&[GOOD], &pieces, 5_000, 11).chain(mutated(&[DEMO], &pieces, 300, 12)) {
        match SurveyFile::parse("mutated.toml", &text) {
            Err(error) => assert!(listing(&error).starts_with("error: mutated.toml"), "{error}"),
            Ok(file) => {
                let found = LocateFindings::of(&file.survey).located;
                let places = found.points.iter().filter_map(|point| Some(point.at_mm?.into_iter().chain(point.sd_mm?)));
                assert!(places.flatten().all(f64::is_finite), "{text}");
                assert!(found.readings.iter().all(|reading| reading.residual_mm.is_finite()), "{text}");
                located += 1;
            }
        }
    }
    assert!(located > 100, "only {located} can be read");
}
