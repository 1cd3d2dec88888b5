//! Heights that are counted from an end of the travel are told from those of a gauging that is sound and short, or has slips.

use hubtrace::gauge::{GaugeFile, GaugeReadings, Instrument, TravelEnd};
use hubtrace::geometry::{Interval, Side};

/// 50 mm of droop and 55 mm of bump.
const TRAVEL: Interval = Interval { low: -50.0, high: 55.0 };

fn gauged(heights: &[(&str, f64)]) -> GaugeReadings {
    let rows: String = heights.iter().map(|(side, mm)| format!("{side},{mm},0.1\n")).collect();
    let file = GaugeFile::parse("readings.csv", &format!("side,bump_mm,toe_deg\n{rows}"), Instrument::Angle);
    file.unwrap_or_else(|error| panic!("{error}")).readings
}

fn of(side: &'static str, from: i32, to: i32) -> Vec<(&'static str, f64)> {
    (from..=to).step_by(10).map(|mm| (side, f64::from(mm))).collect()
}

fn left_from(heights: &[(&str, f64)], travel: Interval) -> Option<TravelEnd> {
    gauged(heights).counted_from(Side::Left, travel)
}

#[test]
fn heights_from_one_end_over_the_whole_travel_are_told() {
    for side in ["left", "both"] {
        for (from, to, end) in [
            (0, 100, TravelEnd::FullDroop),
            (5, 105, TravelEnd::FullDroop),
            (0, 80, TravelEnd::FullDroop),
            (-100, 0, TravelEnd::FullBump),
            (-100, 5, TravelEnd::FullBump),
        ] {
            assert_eq!(left_from(&of(side, from, to), TRAVEL), Some(end), "{side} {from} {to}");
        }
    }
}

#[test]
fn heights_from_design_height_are_not() {
    let short = [(-50, 55), (0, 50), (0, 60), (-50, 0), (-10, 70), (-60, 60)];
    for (from, to) in short {
        assert_eq!(left_from(&of("left", from, to), TRAVEL), None, "{from} {to}");
    }
    // Slips at two heights of a gauging of bump alone.
    let mut slips = of("left", 0, 50);
    slips.extend([("left", 100.0), ("left", 99.0)]);
    assert_eq!(left_from(&slips, TRAVEL), None);
    // Hardly any droop to be counted from.
    assert_eq!(left_from(&of("left", 0, 100), Interval { low: -10.0, high: 90.0 }), None);
}

/// The other wheel is taken with it where its heights may be counted so, and only slips are taken out where it may not.
#[test]
fn none_of_such_heights_is_taken_out_as_a_slip() {
    let beyond = |right: Vec<(&'static str, f64)>| {
        let mut readings = gauged(&[of("left", 0, 100), right].concat());
        let beyond = readings.take_slips_beyond(TRAVEL);
        beyond.iter().map(|slip| (slip.line, slip.bump_mm)).collect::<Vec<_>>()
    };
    assert_eq!(beyond(of("right", 0, 60)), []);
    assert_eq!(beyond(of("right", -50, 60)), [(24, 60.0)]);
    let mut sound = gauged(&of("left", -50, 60));
    assert_eq!(sound.take_slips_beyond(TRAVEL).len(), 1);
}
