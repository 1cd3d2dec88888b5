//! What a file of readings says once it is read.

use hubtrace::gauge::{Beam, GaugeFile, GaugeReading, Instrument, Read, ReadSide};
use hubtrace::geometry::{Interval, Side};

fn read(text: &str, instrument: Instrument) -> GaugeFile {
    GaugeFile::parse("readings.csv", text, instrument).unwrap_or_else(|error| panic!("{error}"))
}

const LEFT: ReadSide = ReadSide::One(Side::Left);
const RIGHT: ReadSide = ReadSide::One(Side::Right);

#[test]
fn columns_stand_in_any_order_among_comments_and_blank_lines() {
    let text = "\u{feff}# Saturday, in the pits\r\n\r\n Session ,toe_deg,BUMP_MM,camber_deg,side\r\n\
        A,0.30,-60,-1.5,left\r\n,,,,\r\n# the gauge was knocked here\r\nB,\"-0.12\",0,,Right\r\n,0.40,30.5,,both\r\n";
    let file = read(text, Instrument::Angle);
    let angles = |toe_deg: f64, camber_deg: Option<f64>| Read::Angles {
        toe_rad: toe_deg.to_radians(),
        camber_rad: camber_deg.map(f64::to_radians),
    };
    let reading = |line, session, side, bump_mm, read| GaugeReading { line, session, side, bump_mm, read };
    assert_eq!(
        file.readings.readings,
        [
            reading(4, 0, LEFT, -60.0, angles(0.30, Some(-1.5))),
            reading(7, 1, RIGHT, 0.0, angles(-0.12, None)),
            reading(8, 2, ReadSide::Both, 30.5, angles(0.40, None)),
        ]
    );
    assert_eq!(file.readings.sessions, ["A", "B", ""]);
    assert!(file.not_taken.is_empty() && file.text == text);
}

#[test]
fn without_a_column_of_sessions_there_is_one_without_a_name() {
    let file = read("side,bump_mm,toe_deg\nleft,-10,0.1\nleft,10,0.2\n", Instrument::Angle);
    assert_eq!(file.readings.sessions, [""]);
    assert!(file.readings.readings.iter().all(|reading| reading.session == 0));
}

#[test]
fn dials_and_spots_are_read_in_millimetres() {
    let plate = Instrument::Plate { width_mm: 400.0, zeroed: true };
    let dials = read("side,front_mm,rear_mm,bump_mm\nright,-0.25,1.5,20\n", plate);
    assert_eq!(dials.readings.instrument, plate);
    assert_eq!(dials.readings.readings[0].read, Read::Dials { front_mm: -0.25, rear_mm: 1.5 });
    let wall = Instrument::Wall { distance_mm: 3000.0, beam: Beam::Spindle };
    let spot = read("side,bump_mm,wall_mm\nleft,-20,12.5\n", wall);
    let expected = GaugeReading { line: 2, session: 0, side: LEFT, bump_mm: -20.0, read: Read::Spot { wall_mm: 12.5 } };
    assert_eq!(spot.readings.readings, [expected]);
}

#[test]
fn a_line_without_a_reading_is_still_to_be_taken() {
    let file = read("side,bump_mm,toe_deg\nleft,-10,0.1\nleft,0,\nleft,10\nright,0,0.3\n", Instrument::Angle);
    assert_eq!((file.readings.readings.len(), file.not_taken), (2, vec![3, 4]));
}

#[test]
fn readings_beyond_the_stops_are_told_from_those_within() {
    let mut readings =
        read("side,bump_mm,toe_deg\nleft,-60,0\nleft,60,0\nleft,60.1,0\nright,-61,0\n", Instrument::Angle).readings;
    let beyond = readings.take_beyond(Interval { low: -60.0, high: 60.0 });
    assert_eq!(beyond.iter().map(|reading| reading.line).collect::<Vec<_>>(), [4, 5]);
    assert_eq!(readings.readings.iter().map(|reading| reading.line).collect::<Vec<_>>(), [2, 3]);
}
