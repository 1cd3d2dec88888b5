//! Surveys against scipy; `tests/outside/survey_reference.py` and `least_squares_reference.py` make the tables anew.

use hubtrace::studies::locate::LocateFindings;
use hubtrace::survey::{Station, SurveyFile};
use nalgebra::Point3;

use crate::simulated::{distance, read, survey};

const PLACES_WITHIN_MM: f64 = 1e-6;

fn rows(csv: &str) -> Vec<Vec<&str>> {
    csv.lines().skip(1).map(|line| line.split(',').collect()).collect()
}

fn numbers(cells: &[&str]) -> Vec<f64> {
    cells.iter().map(|cell| cell.parse().unwrap()).collect()
}

#[test]
fn points_of_a_corner_and_of_a_part_on_it_stand_where_scipy_puts_them() {
    let file = SurveyFile::parse("corner.toml", include_str!("../outside/survey/corner.toml")).unwrap();
    let found = LocateFindings::of(&file.survey).located;
    assert!(found.suspects.is_empty() && found.contradictions.is_empty() && !found.noise.widened, "{found:?}");
    let expected = rows(include_str!("../outside/survey/corner.points.csv"));
    assert_eq!(found.points.len(), expected.len());
    for (point, row) in found.points.iter().zip(&expected) {
        assert_eq!(point.point, row[0]);
        let expected = numbers(&row[1..]);
        for axis in 0..3 {
            let (at, sd) = (point.at_mm.unwrap()[axis], point.sd_mm.unwrap()[axis]);
            assert!((at - expected[axis]).abs() < PLACES_WITHIN_MM, "{}: {at} {}", row[0], expected[axis]);
            assert!((sd - expected[3 + axis]).abs() < PLACES_WITHIN_MM, "{}: {sd} {}", row[0], expected[3 + axis]);
        }
    }
}

#[test]
fn a_network_of_twenty_points_on_uncertain_datums_stands_where_scipy_puts_it() {
    let points = rows(include_str!("../outside/network.points.csv"));
    let (datums, sought): (Vec<_>, Vec<_>) = points.iter().partition(|row| !row[0].is_empty());
    let given: Vec<[f64; 3]> = datums.iter().map(|row| numbers(&row[1..4]).try_into().unwrap()).collect();
    let mut survey = survey(&given, sought.len());
    survey.datums.iter_mut().for_each(|datum| datum.sd_mm = 0.5);
    let station = |index: usize| match index.checked_sub(given.len()) {
        None => Station::Datum(index),
        Some(point) => Station::Point(point),
    };
    for row in rows(include_str!("../outside/network.readings.csv")) {
        let [from, to] = [row[0], row[1]].map(|index| station(index.parse().unwrap()));
        read(&mut survey, distance(from, to), row[2].parse().unwrap());
    }
    let found = LocateFindings::of(&survey).located;
    assert!(found.suspects.is_empty(), "{:?}", found.suspects);
    let of_datums = found.datums.iter().map(|datum| (datum.at_mm, datum.sd_mm));
    let of_points = found.points.iter().map(|point| (point.at_mm.unwrap(), point.sd_mm.unwrap()));
    for ((at, sd), row) in of_datums.chain(of_points).zip(&points) {
        let expected = numbers(&row[4..]);
        let apart = (Point3::from(at) - Point3::new(expected[0], expected[1], expected[2])).norm();
        assert!(apart < PLACES_WITHIN_MM, "{at:?} {expected:?}");
        assert!((0..3).all(|axis| (sd[axis] - expected[3 + axis]).abs() < PLACES_WITHIN_MM), "{sd:?} {expected:?}");
    }
}
