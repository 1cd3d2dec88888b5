//! Every broken file of readings in `tests/gauge/broken/` gives exactly the message beside it.

use std::path::Path;

use hubtrace::cli::listing;
use hubtrace::gauge::{Beam, GaugeFile, Instrument};

use crate::broken_files::{assert_messages, mutated};

/// By the start of its name.
fn instrument(path: &Path) -> Instrument {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    match name.split('_').next() {
        Some("plate") => Instrument::Plate { width_mm: 400.0, zeroed: false },
        Some("wall") => Instrument::Wall { distance_mm: 3000.0, beam: Beam::Forward },
        _ => Instrument::Angle,
    }
}

#[test]
fn every_broken_file_of_readings_gives_the_message_beside_it() {
    assert_messages("tests/gauge/broken", "csv", |path| {
        GaugeFile::read(path, instrument(path))
            .map_or_else(|error| listing(&error), |_| "read without complaint".into())
    });
}

#[test]
fn no_change_of_a_few_bytes_makes_the_program_panic_or_gives_what_is_no_number() {
    const GOOD: &str =
        "# one\nside,bump_mm,toe_deg,camber_deg,session\nleft,-60,0.31,-1.2,A\nboth,0,0.2,,A\nright,60,-0.1,-1,B\n";
    const DIALS: &str = "side,bump_mm,front_mm,rear_mm\nleft,-60,0.5,-0.25\n\nright,60,-0.5,0.75\n";
    let pieces =
        [",", ";", "\"", "nan", "-", "1e300", "\n", "\r", "#", "left", "é", "\u{feff}", "\t", "0,1", "inf", ""];
    let (mut read, mut refused) = (0, 0);
    for text in mutated(&[GOOD, DIALS], &pieces, 20_000, 21) {
        for instrument in [Instrument::Angle, Instrument::Plate { width_mm: 400.0, zeroed: true }] {
            match GaugeFile::parse("mutated.csv", &text, instrument) {
                Err(error) => {
                    assert!(listing(&error).starts_with("error: mutated.csv, line "), "{error}");
                    refused += 1;
                }
                Ok(file) => {
                    let lines = text.lines().count();
                    let sound = |line: usize, bump_mm: f64| (1..=lines).contains(&line) && bump_mm.is_finite();
                    assert!(
                        file.readings.readings.iter().all(|reading| sound(reading.line, reading.bump_mm)),
                        "{text}"
                    );
                    read += 1;
                }
            }
        }
    }
    assert!(read > 200 && refused > 1000, "{read} read, {refused} refused");
}
