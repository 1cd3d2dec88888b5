//! Points with an answer on paper or in print.

use hubtrace::studies::locate::{LocateFindings, Located, WhyNot};
use hubtrace::survey::{Station, Survey};
use nalgebra::Point3;

use crate::simulated::{distance, height, read, survey};

/// One point taped from these datums.
fn taped(datums: &[[f64; 3]], read_mm: &[f64]) -> Survey {
    let mut survey = survey(datums, 1);
    for (k, mm) in read_mm.iter().enumerate() {
        read(&mut survey, distance(Station::Datum(k), Station::Point(0)), *mm);
    }
    survey
}

fn located(survey: &Survey) -> Located {
    LocateFindings::of(survey).located
}

fn assert_at(found: &Located, expected: [f64; 3], within_mm: f64) {
    let at = found.points[0].at_mm.unwrap_or_else(|| panic!("{found:?}"));
    assert!((Point3::from(at) - Point3::from(expected)).norm() < within_mm, "{at:?}");
}

/// LO-02: a question about multilateration in space on a public forum; the distances are exact.
#[test]
fn four_datums_give_the_point_exactly() {
    let survey = taped(&[[1.0, 0.0, 0.0], [0.0, 2.0, 0.0], [0.0, 0.0, 3.0], [0.0, 3.0, 4.0]], &[1.0, 2.0, 3.0, 5.0]);
    let found = located(&survey);
    assert_at(&found, [0.0; 3], 1e-9);
    assert_eq!((found.noise.redundancy, found.suspects.len()), (1, 0));
}

/// LO-01: the same in a plane, whose height is given.
#[test]
fn three_datums_and_a_height_give_the_point() {
    let datums = [[795.0, 332.0, 0.0], [795.0, 569.0, 0.0], [516.0, 569.0, 0.0]];
    let mut survey = taped(&datums, &[245.735630302, 327.946642001, 220.635445928]);
    read(&mut survey, height(Station::Point(0)), 0.0);
    assert_at(&located(&survey), [550.0, 351.0, 0.0], 1e-6);
}

/// LO-04: Gauss–Newton to convergence, by hand elsewhere; squared distances would give a point 0.4 mm away.
#[test]
fn distances_that_contradict_a_little_give_the_least_squares_point() {
    let datums =
        [[0.0, 0.0, 0.0], [1500.0, 0.0, 0.0], [0.0, 1100.0, 0.0], [1500.0, 1100.0, 100.0], [700.0, 500.0, 900.0]];
    let found = located(&taped(&datums, &[876.0, 1204.0, 797.0, 1124.0, 588.0]));
    assert_at(&found, [521.48264, 609.16389, 350.64527], 1e-4);
    let left: Vec<f64> = found.readings.iter().map(|reading| -reading.residual_mm).collect();
    for (left, expected) in left.iter().zip([-0.7989, 0.7942, 0.3809, -0.9509, -0.1430]) {
        assert!((left - expected).abs() < 1e-4, "{left} {expected}");
    }
    let sum: f64 = left.iter().map(|mm| mm * mm).sum();
    assert!((found.noise.factor - (sum / 2.0).sqrt()).abs() < 1e-9, "five readings, three unknowns");
    assert!((sum.sqrt() - 1.52928).abs() < 1e-4);
}

const IN_PLANE: [[f64; 3]; 3] = [[0.0, 0.0, 0.0], [1000.0, 0.0, 0.0], [0.0, 800.0, 0.0]];

/// Distances to (480, 240, ±320), by Pythagoras.
fn in_plane() -> Survey {
    taped(&IN_PLANE, &[390_400.0_f64.sqrt(), 430_400.0_f64.sqrt(), 646_400.0_f64.sqrt()])
}

/// LO-03.
#[test]
fn datums_in_a_plane_leave_two_places_and_the_question_which() {
    let found = located(&in_plane());
    assert_eq!((found.points[0].at_mm, found.points[0].sd_mm), (None, None), "no place is better than a wrong one");
    let asked = &found.not_determined[0];
    assert_eq!((asked.why, asked.readings, asked.point.as_str()), (WhyNot::EitherSide, 3, "point 1"));
    let mut heights: Vec<f64> = asked.either_mm.unwrap().iter().map(|at| at[2]).collect();
    heights.sort_by(f64::total_cmp);
    assert!((heights[0] + 320.0).abs() < 1e-6 && (heights[1] - 320.0).abs() < 1e-6, "{heights:?}");
    let extra = asked.extra_reading.as_ref().unwrap();
    assert_eq!((extra.kind, extra.from.as_str()), ("height", "floor"), "which tells the two apart by 640 mm");
}

#[test]
fn a_rough_place_says_which_side() {
    for z in [100.0, -100.0] {
        let mut survey = in_plane();
        survey.points[0].near = Some(Point3::new(400.0, 300.0, z));
        let found = located(&survey);
        assert_at(&found, [480.0, 240.0, 320.0 * z.signum()], 1e-8);
        assert!(found.not_determined.is_empty());
    }
}

#[test]
fn a_rough_height_says_which_side_too() {
    let mut survey = in_plane();
    read(&mut survey, height(Station::Point(0)), -321.0);
    assert_at(&located(&survey), [480.0, 240.0, -320.0], 1.0);
}

/// Two points taped to the same plane and to each other stand on one side of it together: one rough place settles both.
#[test]
fn points_that_hang_together_change_sides_together() {
    let mut survey = survey(&IN_PLANE, 2);
    let truth = [Point3::new(480.0, 240.0, 320.0), Point3::new(200.0, 500.0, 450.0)];
    for (i, at) in truth.iter().enumerate() {
        for (k, datum) in IN_PLANE.iter().enumerate() {
            read(&mut survey, distance(Station::Datum(k), Station::Point(i)), (at - Point3::from(*datum)).norm());
        }
    }
    read(&mut survey, distance(Station::Point(0), Station::Point(1)), (truth[0] - truth[1]).norm());
    let found = located(&survey);
    assert_eq!(found.not_determined.iter().filter(|asked| asked.why == WhyNot::EitherSide).count(), 2);
    survey.points[1].near = Some(Point3::new(150.0, 450.0, 500.0));
    let found = located(&survey);
    assert!(found.not_determined.is_empty(), "{:?}", found.not_determined);
    for (point, at) in found.points.iter().zip(truth) {
        assert!((Point3::from(point.at_mm.unwrap()) - at).norm() < 1e-6, "{point:?}");
    }
}

#[test]
fn what_no_reading_ties_down_is_told_and_the_rest_is_answered() {
    let datums = [[1.0, 0.0, 0.0], [0.0, 2.0, 0.0], [0.0, 0.0, 3.0], [0.0, 3.0, 4.0]].map(|at| at.map(|mm| 100.0 * mm));
    let mut survey = taped(&datums, &[100.0, 200.0, 300.0, 500.0]);
    for name in ["seen once", "seen by none", "tied to the one before"] {
        let line = survey.points.len();
        survey.points.push(hubtrace::survey::SurveyPoint { name: name.into(), near: None, line });
    }
    read(&mut survey, distance(Station::Datum(0), Station::Point(1)), 250.0);
    read(&mut survey, distance(Station::Point(1), Station::Point(3)), 80.0);
    let found = located(&survey);
    assert_at(&found, [0.0; 3], 1e-6);
    let told: Vec<_> = found.not_determined.iter().map(|asked| (asked.point.as_str(), asked.why)).collect();
    assert_eq!(
        told,
        [("seen once", WhyNot::Free), ("seen by none", WhyNot::NoReading), ("tied to the one before", WhyNot::Free)]
    );
    assert!(found.points[1..].iter().all(|point| point.at_mm.is_none()));
    assert!(found.not_determined.iter().all(|asked| asked.extra_reading.is_some()));
}

/// Plumbed in all three ways with 1 mm: each coordinate is its reading, with its standard deviation.
#[test]
fn a_point_needs_no_datum_when_it_is_plumbed_in_all_three_ways() {
    let mut survey = survey(&[], 1);
    for (axis, mm) in hubtrace::geometry::Axis::ALL.into_iter().zip([-150.0, 380.0, 255.0]) {
        read(&mut survey, hubtrace::survey::ReadingKind::Plumbed { axis, of: Station::Point(0) }, mm);
    }
    let found = located(&survey);
    assert_at(&found, [-150.0, 380.0, 255.0], 1e-9);
    assert!(found.points[0].sd_mm.unwrap().iter().all(|sd| (sd - 1.0).abs() < 1e-9));
}

/// One more height of the same sd halves the variance of z: 1 mm becomes 1/√2, and nothing else is worse than that.
#[test]
fn the_measurement_that_helps_most_is_named_with_what_it_gives() {
    let mut survey = survey(&[[0.0, 0.0, 0.0]], 1);
    for (axis, mm) in hubtrace::geometry::Axis::ALL.into_iter().zip([0.0, 0.0, 500.0]) {
        read(&mut survey, hubtrace::survey::ReadingKind::Plumbed { axis, of: Station::Point(0) }, mm);
    }
    survey.readings[2].sd_mm = 4.0;
    let extra = located(&survey).extra_reading.unwrap();
    assert_eq!((extra.kind, extra.from.as_str(), extra.to.as_str()), ("distance", "A", "point 1"));
    assert!((extra.worst_sd_mm.unwrap() - 4.0).abs() < 1e-9);
    // x and y keep their 1 mm; z has 1/√(1/16 + 1) = 0.970.
    assert!((extra.then_mm.unwrap() - 1.0).abs() < 1e-9, "{extra:?}");
}

/// Tied to a point that four datums place, the other point is still free, and that takes nothing from the first. Only a datum
/// with a standard deviation of its own is told with the place that the readings give it.
#[test]
fn a_point_that_others_hang_on_keeps_its_place() {
    let datums = [[100.0, 0.0, 0.0], [0.0, 200.0, 0.0], [0.0, 0.0, 300.0], [0.0, 300.0, 400.0]];
    let mut survey = survey(&datums, 2);
    survey.datums[3].sd_mm = 2.0;
    for (k, mm) in [100.0, 200.0, 300.0, 500.0].into_iter().enumerate() {
        read(&mut survey, distance(Station::Datum(k), Station::Point(0)), mm);
    }
    read(&mut survey, distance(Station::Point(0), Station::Point(1)), 80.0);
    let found = located(&survey);
    assert_at(&found, [0.0; 3], 1e-6);
    assert_eq!(found.points[1].at_mm, None);
    let told: Vec<(&str, WhyNot)> =
        found.not_determined.iter().map(|asked| (asked.point.as_str(), asked.why)).collect();
    assert_eq!(told, [("point 2", WhyNot::Free)]);
    assert_eq!(found.datums.iter().map(|datum| datum.datum.as_str()).collect::<Vec<_>>(), ["D"]);
}
