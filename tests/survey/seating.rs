//! Parts on their mounting points.

use hubtrace::studies::locate::{LocateFindings, NotSeated, registration};
use hubtrace::survey::{Part, PartPoint, Station};
use nalgebra::{Isometry3, Point3, Translation3, UnitQuaternion, Vector3};

use crate::simulated::{DATUMS, survey};

fn points<const N: usize>(at: [[f64; 3]; N]) -> Vec<Point3<f64>> {
    at.into_iter().map(Point3::from).collect()
}

fn sum_of_squares(seat: &Isometry3<f64>, from: &[Point3<f64>], to: &[Point3<f64>]) -> f64 {
    from.iter().zip(to).map(|(p, q)| (seat * p - q).norm_squared()).sum()
}

/// LO-05: four points in a plane; the angle is atan2(Σ cross, Σ dot).
#[test]
fn coplanar_points_are_turned_and_shifted_as_on_paper() {
    let from = points([[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [100.0, 60.0, 0.0], [0.0, 60.0, 0.0]]);
    let to = points([[10.0, 20.0, 5.0], [96.7, 70.1, 5.0], [66.4, 122.1, 5.0], [-20.1, 71.8, 5.0]]);
    let seat = registration(&from, &to, &[1.0; 4]).unwrap();
    let turn = seat.rotation.scaled_axis();
    assert!((turn - Vector3::z() * 30.124947_f64.to_radians()).norm() < 1e-7, "{turn}");
    assert!((seat.translation.vector - Vector3::new(10.059973, 19.957641, 5.0)).norm() < 1e-5);
    let rms = (sum_of_squares(&seat, &from, &to) / 4.0).sqrt();
    assert!((rms - 0.098812).abs() < 1e-6, "{rms}");
}

/// LO-06: a mirror image fits exactly and is refused; the best turn is half a turn about y.
#[test]
fn a_reflection_is_refused() {
    let from = points([
        [3.0, 0.0, 0.0],
        [-3.0, 0.0, 0.0],
        [0.0, 2.0, 0.0],
        [0.0, -2.0, 0.0],
        [0.0, 0.0, 1.0],
        [0.0, 0.0, -1.0],
    ]);
    let to: Vec<Point3<f64>> = from.iter().map(|p| Point3::new(-p.x, p.y, p.z)).collect();
    let seat = registration(&from, &to, &[1.0; 6]).unwrap();
    let turned = seat.rotation * Vector3::new(1.0, 1.0, 1.0);
    assert!((turned - Vector3::new(-1.0, 1.0, -1.0)).norm() < 1e-9, "{turned}");
    assert!((sum_of_squares(&seat, &from, &to) - 8.0).abs() < 1e-9);
}

#[test]
fn two_points_or_points_in_a_line_hold_nothing() {
    let line = points([[0.0, 0.0, 0.0], [100.0, 0.0, 0.0], [200.0, 0.0, 0.0]]);
    assert_eq!(registration(&line, &line, &[1.0; 3]), Err(NotSeated::OnOneLine));
    assert_eq!(registration(&line[..2], &line[..2], &[1.0; 2]), Err(NotSeated::TooFewPoints));
}

/// A part with a point on each of the first datums and one that it carries.
fn part(on_bench: impl Fn(Point3<f64>) -> Point3<f64>) -> Part {
    let point =
        |name: &str, at: Point3<f64>, sits_at| PartPoint { name: name.into(), at: on_bench(at), sd_mm: 0.5, sits_at };
    let mut points: Vec<PartPoint> = (0..5)
        .map(|k| point(&char::from(b'A' + k as u8).to_string(), Point3::from(DATUMS[k]), Some(Station::Datum(k))))
        .collect();
    points.push(point("carried", Point3::new(40.0, 650.0, 300.0), None));
    Part { name: "upright".into(), sd_mm: 0.5, points, line: 1 }
}

fn bench_axes() -> Isometry3<f64> {
    let turn = UnitQuaternion::from_euler_angles(2.8, -0.7, 0.4);
    Isometry3::from_parts(Translation3::new(120.0, -40.0, 900.0), turn)
}

#[test]
fn a_part_carries_its_other_points_into_the_car() {
    let mut survey = survey(&DATUMS, 0);
    survey.parts.push(part(|at| bench_axes() * at));
    let found = LocateFindings::of(&survey).located;
    assert!(found.parts[0].fits && !found.parts[0].is_mirrored && found.parts[0].not_seated.is_none());
    assert!(found.parts[0].misfits.iter().all(|misfit| misfit.distance_mm < 1e-9), "{:?}", found.parts[0]);
    let carried = &found.points[0];
    assert_eq!((carried.point.as_str(), carried.part.as_deref()), ("carried", Some("upright")));
    assert!((Point3::from(carried.at_mm.unwrap()) - Point3::new(40.0, 650.0, 300.0)).norm() < 1e-9);
    let sd = carried.sd_mm.unwrap();
    assert!(sd.iter().all(|sd| (0.5..0.8).contains(sd)), "its own 0.5 mm and what the five others leave: {sd:?}");
}

#[test]
fn a_part_measured_the_wrong_way_round_is_told() {
    let mut survey = survey(&DATUMS, 0);
    survey.parts.push(part(|at| bench_axes() * Point3::new(at.x, -at.y, at.z)));
    let found = &LocateFindings::of(&survey).located.parts[0];
    assert!(!found.fits && found.is_mirrored, "{found:?}");
}

#[test]
fn a_mounting_point_that_is_off_shows_in_the_misfits() {
    let mut survey = survey(&DATUMS, 0);
    survey.parts.push(part(|at| bench_axes() * at));
    survey.parts[0].points[2].at.x += 15.0;
    let found = &LocateFindings::of(&survey).located.parts[0];
    let worst = found.misfits.iter().max_by(|a, b| a.distance_mm.total_cmp(&b.distance_mm)).unwrap();
    assert_eq!((found.fits, found.is_mirrored, worst.point.as_str()), (false, false, "C"));
}
