//! A large survey: 30 points that hang together, 300 readings of them, six datums that were measured themselves.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use hubtrace::geometry::{Axis, LengthUnit};
use hubtrace::studies::locate::LocateFindings;
use hubtrace::survey::{Datum, Reading, ReadingKind, Station, Survey, SurveyPoint};
use nalgebra::Point3;
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

const DATUMS: [[f64; 3]; 6] = [
    [-500.0, 0.0, 0.0],
    [500.0, 0.0, 0.0],
    [-500.0, 900.0, 0.0],
    [500.0, 900.0, 0.0],
    [-300.0, 300.0, 700.0],
    [400.0, 300.0, 700.0],
];
const POINTS: usize = 30;

/// Each point taped from every datum and from two other points, and plumbed in two ways, to within 1.5 mm; one reading is
/// misread by 100 mm. `height_of_the_frame_mm` 0 puts all datums on the floor, so that both sides of it are tried.
fn survey(height_of_the_frame_mm: f64) -> Survey {
    let mut rng = StdRng::seed_from_u64(30);
    let datums = DATUMS.map(|[x, y, z]| Point3::new(x, y, if z > 0.0 { height_of_the_frame_mm } else { 0.0 }));
    let points: Vec<Point3<f64>> = (0..POINTS)
        .map(|_| {
            Point3::new(rng.random_range(-300.0..300.0), rng.random_range(150.0..750.0), rng.random_range(100.0..600.0))
        })
        .collect();
    let mut readings = Vec::new();
    let mut read = |kind, mm: f64| {
        let number = readings.len() + 1;
        let error_mm = if number == 100 { 100.0 } else { rng.random_range(-1.5..1.5) };
        readings.push(Reading { number, kind, read_mm: Some(mm + error_mm), sd_mm: 1.0, line: number });
    };
    for (i, at) in points.iter().enumerate() {
        let point = Station::Point(i);
        for (k, datum) in datums.iter().enumerate() {
            read(ReadingKind::Distance([Station::Datum(k), point]), (at - datum).norm());
        }
        for other in [(i + 1) % POINTS, (i + 7) % POINTS] {
            read(ReadingKind::Distance([point, Station::Point(other)]), (at - points[other]).norm());
        }
        for axis in [Axis::X, Axis::Y] {
            read(ReadingKind::Plumbed { axis, of: point }, at[axis.index()]);
        }
    }
    let name = |i: usize| format!("place {i}");
    Survey {
        name: "large".into(),
        units: LengthUnit::Millimetre,
        tape_sd_mm: 1.0,
        hook_mm: 0.0,
        datums: (0..).zip(datums).map(|(i, at)| Datum { name: name(i), at, sd_mm: 0.5, line: i + 1 }).collect(),
        points: (0..)
            .zip(&points)
            .map(|(i, at)| SurveyPoint { name: name(10 + i), near: Some(*at), line: i + 1 })
            .collect(),
        readings,
        parts: Vec::new(),
    }
}

fn locate(criterion: &mut Criterion) {
    for (name, height_mm) in [("datums high and low", 700.0), ("all datums on the floor", 0.0)] {
        let survey = survey(height_mm);
        criterion.bench_function(&format!("30 points, 300 readings, {name}"), |bencher| {
            bencher.iter(|| LocateFindings::of(black_box(&survey)));
        });
    }
}

criterion_group! { name = benches; config = Criterion::default().sample_size(10); targets = locate }
criterion_main!(benches);
