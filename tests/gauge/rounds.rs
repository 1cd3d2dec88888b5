//! The rounds so far read back exactly as they were written, and say what is wrong where they were edited.

use hubtrace::cli::listing;
use hubtrace::file::GeometryFile;
use hubtrace::gauge::{Beam, Change, GaugeFile, GaugeNoise, Instrument, Round, RoundsFile, What, with_round};
use hubtrace::geometry::{End, Geometry, PerSide};
use nalgebra::{Unit, Vector3};

const CORNER: &str = include_str!("../good/corner.toml");
const TOE: &str =
    "# gauged on the ramp\nside,bump_mm,toe_deg,session\nleft,-60,0.1,it's A\n\nright,60,0.30000000000000004,\n";
const DIALS: &str = "side,bump_mm,front_mm,rear_mm\r\nleft,-10,0.1,0.2\r\nleft,10,0.3,0.4\r\n";
const SPOTS: &str = "side,bump_mm,wall_mm\nright,-10,1\nright,10,2\n";

fn car() -> Geometry {
    GeometryFile::parse("rear.toml", CORNER).unwrap_or_else(|error| panic!("{error}")).geometry
}

fn shim(along: Vector3<f64>, by_mm: f64) -> Change {
    Change { link: 4, what: What::Shim { end: End::Chassis, along: Unit::new_normalize(along) }, by_mm }
}

/// A round with what was read and what was changed.
fn round(csv: &str, instrument: Instrument, changes: PerSide<Vec<Change>>) -> Round {
    let readings = GaugeFile::parse("readings.csv", csv, instrument).unwrap_or_else(|error| panic!("{error}")).readings;
    Round { readings, noise: GaugeNoise { toe_sd_deg: 0.013, ..GaugeNoise::default() }, changes }
}

fn read(text: &str) -> RoundsFile {
    RoundsFile::parse("rounds.toml", text, &car()).unwrap_or_else(|error| panic!("{}", listing(&error)))
}

/// Lines count in the file of rounds, which a round that was just read does not know.
fn without_lines(mut round: Round) -> Round {
    round.readings.readings.iter_mut().for_each(|reading| reading.line = 0);
    round
}

fn three_rounds() -> [(&'static str, Round); 3] {
    let oblique = Change {
        link: 0,
        what: What::Slot { end: End::Upright, along: Unit::new_normalize(Vector3::new(0.0, 0.6, 0.8)) },
        by_mm: -0.7,
    };
    let longer = Change { link: 2, what: What::Length, by_mm: 0.1 + 0.2 };
    let changes = PerSide { left: vec![shim(Vector3::z(), 2.0), longer], right: vec![oblique] };
    [
        (TOE, round(TOE, Instrument::Angle, changes)),
        (DIALS, round(DIALS, Instrument::Plate { width_mm: 400.5, zeroed: true }, PerSide::default())),
        (SPOTS, round(SPOTS, Instrument::Wall { distance_mm: 3000.0, beam: Beam::Spindle }, PerSide::default())),
    ]
}

#[test]
fn rounds_read_back_exactly_and_the_text_of_those_before_stays() {
    let mut file: Option<RoundsFile> = None;
    for (csv, round) in three_rounds() {
        let text = with_round(file.as_ref(), csv, &round, &car());
        if let Some(before) = &file {
            assert!(text.starts_with(before.text.trim_end()), "{text}");
        }
        // By hand, between two rounds.
        file = Some(read(&format!("{text}# it rained\n")));
    }
    let file = file.expect("three rounds");
    assert_eq!(file.rounds.len(), 3);
    for (read, (_, written)) in file.rounds.iter().zip(three_rounds()) {
        assert_eq!(without_lines(read.clone()), without_lines(written));
    }
    let at = file.text.lines().position(|line| line.starts_with("right,60,")).expect("the reading");
    assert_eq!(file.rounds[0].readings.readings[1].line, at + 1);
}

#[test]
fn what_was_really_done_is_read_where_it_was_edited() {
    let (csv, round) = three_rounds()[0].clone();
    let text = with_round(None, csv, &round, &car());
    assert!(text.contains("by_mm = 2.0\n"), "{text}");
    let edited = read(&text.replace("by_mm = 2.0\n", "by_mm = 1.5 # only these were in the box\n"));
    assert_eq!(edited.rounds[0].changes.left[0], shim(Vector3::z(), 1.5));
    assert_eq!(edited.rounds[0].changes.left[1..], round.changes.left[1..]);
}

/// A shim of the right side that goes outboard counts to the right in the file.
#[test]
fn directions_are_those_of_the_car() {
    let changes = PerSide { left: Vec::new(), right: vec![shim(Vector3::y(), 1.0)] };
    let text = with_round(None, TOE, &round(TOE, Instrument::Angle, changes.clone()), &car());
    assert!(text.contains("along = [0.0, -1.0, 0.0]\n"), "{text}");
    assert_eq!(read(&text).rounds[0].changes, changes);
}

#[track_caller]
fn assert_refused(from: &str, to: &str, expected: &[&str]) {
    let (csv, round) = three_rounds()[0].clone();
    let text = with_round(None, csv, &round, &car());
    assert!(text.contains(from), "{text}");
    let error = RoundsFile::parse("rounds.toml", &text.replace(from, to), &car()).expect_err("a mistake");
    let told = listing(&error);
    assert!(expected.iter().all(|expected| told.contains(expected)), "{told}");
}

#[test]
fn every_mistake_is_told_at_its_line() {
    assert_refused("left,-60,0.1", "left,-60,O.1", &["`toe_deg` is no number: \"O.1\"", "   13 | left,-60,O.1,it's A"]);
    assert_refused("\"toe link\"", "\"tow link\"", &["the car has no link \"tow link\"", "write \"toe link\""]);
    assert_refused(
        "\"shim\"",
        "\"shims\"",
        &["`what` does not know \"shims\"", "write \"shim\" or \"slot\" or \"length\""],
    );
    assert_refused("by_mm = 2.0\n", "by_in = 2.0\n", &["unknown key \"by_in\""]);
    assert_refused("by_mm = 2.0\n", "by_mm = 2e3\n", &["`by_mm` is out of range: 2000.0 mm", "from -200 to 200"]);
    assert_refused("what = \"length\"", "what = \"length\"\nend = \"chassis\"", &["unknown key \"end\""]);
    assert_refused("kind = \"angle\"", "kind = \"plate\"", &["lacks `width_mm`"]);
    assert_refused("[[round]]", "[[rounds]]", &["unknown key \"rounds\" in the file", "write `round`"]);
    assert_refused("toe_sd_deg = 0.013", "toe_sd_deg = 0", &["`toe_sd_deg` is out of range"]);
}
