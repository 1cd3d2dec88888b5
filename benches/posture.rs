//! What one solved posture costs, each way in the same run: `cargo bench --bench posture`.
//!
//! Every row is the time for **one** posture (those of "peak", for a thousand floating-point operations of one core).
//! Absolute times are the machine's; compare the rows with each other.

#[cfg(target_arch = "x86_64")]
use std::arch::x86_64::{_mm256_fmadd_pd, _mm256_set1_pd, _mm512_fmadd_pd, _mm512_set1_pd};
use std::hint::black_box;
use std::path::Path;
use std::time::{Duration, Instant};

use criterion::{Bencher, Criterion, criterion_group, criterion_main};
use hubtrace::batch::{Batch, SimdWidth};
use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Corner, Geometry, Side};
use hubtrace::measures::{Derivatives, Gradient, Measure, RoadMeasures, WheelMeasures};
use hubtrace::mechanism::{LinkSetting, Linkage, PickupErrors, Posture, PostureSensitivity, Walker};
use hubtrace::studies::forces::ForcesFindings;
use hubtrace::studies::{Grid, Heave, Rig, Roll, stations};
use nalgebra::{Matrix6, Point3, UnitQuaternion, Vector3, Vector6};
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};
use rayon::prelude::{ParallelIterator, ParallelSlice};

const CARS: usize = 4096;
/// Floating-point operations in one round of a peak row.
const OPERATIONS: usize = 8_000_000;

fn first_cut() -> Geometry {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("geometries/first-cut.toml");
    GeometryFile::read(&path).expect("a sound file").geometry
}

/// Times `work`, which does `count` of what the row is about, as the time of one.
fn each(b: &mut Bencher<'_>, count: usize, mut work: impl FnMut()) {
    let count = u32::try_from(count).expect("a small count");
    b.iter_custom(|repeats| {
        let start = Instant::now();
        for _ in 0..repeats {
            work();
        }
        start.elapsed() / count
    });
}

/// Newton on five lengths and the driver with a quaternion and nalgebra's dense 6 × 6 LU.
fn plain_newton(
    corner: &Corner,
    bump_mm: f64,
    start: (Point3<f64>, UnitQuaternion<f64>),
) -> (Point3<f64>, UnitQuaternion<f64>) {
    let design = corner.wheel.centre;
    let (mut centre, mut turn) = start;
    for _ in 0..20 {
        let mut jacobian = Matrix6::zeros();
        let mut error = Vector6::zeros();
        for (i, link) in corner.links.iter().enumerate() {
            let arm = turn * (link.upright - design);
            let along = centre + arm - link.chassis;
            let unit = along.normalize();
            error[i] = along.norm() - link.length_mm();
            jacobian.fixed_view_mut::<1, 3>(i, 0).tr_copy_from(&unit);
            jacobian.fixed_view_mut::<1, 3>(i, 3).tr_copy_from(&(arm.cross(&unit) / 100.0));
        }
        error[5] = centre.z - design.z - bump_mm;
        jacobian[(5, 2)] = 1.0;
        if error.amax() < 1e-9 {
            break;
        }
        let step = jacobian.lu().solve(&-error).expect("a regular posture");
        centre += step.fixed_rows::<3>(0);
        turn = UnitQuaternion::from_scaled_axis(step.fixed_rows::<3>(3) / 100.0) * turn;
    }
    (centre, turn)
}

/// Walks from design through the stations, handing each posture on.
fn walk(linkage: &Linkage, design: Posture, bumps_mm: &[f64], mut see: impl FnMut(&Posture)) {
    let mut walker = Walker::new(linkage, design);
    for &bump_mm in bumps_mm {
        while walker.here().bump_mm != bump_mm {
            assert!(walker.step_towards(bump_mm));
        }
        see(walker.here());
    }
}

/// One car after the other, 5 mm apart.
fn one_car(c: &mut Criterion) {
    let geometry = first_cut();
    let linkage = Linkage::new(&geometry.left);
    let design = linkage.design().expect("a sound design");
    let rig = Rig::new(&geometry).expect("a sound design");
    let bumps_mm = stations(0.0, 60.0, 5.0);
    let postures = bumps_mm.len() - 1;
    let at_design = (geometry.left.wheel.centre, UnitQuaternion::identity());
    let mut group = c.benchmark_group("one car, one posture");
    group.bench_function("plain dense Newton, from design", |b| {
        each(b, postures, || {
            for &z in &bumps_mm[1..] {
                black_box(plain_newton(&geometry.left, black_box(z), at_design));
            }
        })
    });
    group.bench_function("plain dense Newton, from the neighbour", |b| {
        each(b, postures, || {
            bumps_mm[1..].iter().fold(at_design, |here, &z| plain_newton(&geometry.left, black_box(z), here));
        })
    });
    group.bench_function("solve", |b| {
        each(b, postures, || {
            walk(black_box(&linkage), design, &bumps_mm, |posture| {
                black_box(posture);
            })
        })
    });
    group.bench_function("solve, all measures, first-order motion", |b| {
        each(b, postures, || {
            walk(black_box(&linkage), design, &bumps_mm, |posture| {
                let road = rig.left.design_contact.level_road(rig.left.corner, posture);
                black_box(WheelMeasures::of(&geometry.left, &geometry.car, posture));
                black_box(RoadMeasures::of(&geometry.left, &geometry.car, posture, &road, 760.0));
            })
        })
    });
    let walked: Vec<Posture> = {
        let mut seen = Vec::new();
        walk(&linkage, design, &bumps_mm[1..], |posture| seen.push(*posture));
        seen
    };
    let ten: Vec<Measure> = Measure::differentiable().take(10).collect();
    group.bench_function("exact derivatives of ten measures by all 30 coordinates", |b| {
        each(b, postures, || {
            let mut gradient = Gradient::default();
            for posture in &walked {
                let sensitivity = PostureSensitivity::new(&linkage, black_box(posture)).expect("a regular posture");
                let derivatives = Derivatives::at(&geometry.left, &geometry.car, posture, &sensitivity);
                for &measured in &ten {
                    black_box(derivatives.write(measured, &mut gradient));
                    black_box(&gradient);
                }
            }
        })
    });
    group.finish();
}

/// Cars with every coordinate of every pickup off by up to `most_mm` either way.
fn built_cars(most_mm: f64) -> Vec<PickupErrors> {
    let mut random = StdRng::seed_from_u64(1);
    let mut off = || Vector3::from_fn(|_, _| random.random_range(-most_mm..most_mm));
    (0..CARS)
        .map(|_| PickupErrors { chassis: std::array::from_fn(|_| off()), upright: std::array::from_fn(|_| off()) })
        .collect()
}

/// Worst toe and camber change of every car: reads every answer, as a study would.
fn worst_changes(batch: &Batch, cars: &[PickupErrors], lengths: LinkSetting) -> f64 {
    let mut worst = 0.0_f64;
    batch.solve(cars, lengths, |_, curve| {
        let Ok(curve) = curve else { return };
        for station in 0..batch.stations() {
            worst = worst.max(curve.toe_deg(station).abs()).max(curve.camber_deg(station).abs());
        }
    });
    worst
}

fn many_cars(c: &mut Criterion) {
    let geometry = first_cut();
    let linkage = Linkage::new(&geometry.left);
    let bumps_mm = stations(-60.0, 60.0, 5.0);
    let batch = Batch::new(&linkage, &geometry.left.wheel.spin_axis, &bumps_mm).expect("a sound design");
    let postures = CARS * bumps_mm.len();
    let cars = built_cars(1.0);
    let mut group = c.benchmark_group("many cars, one posture with toe and camber");
    for width in SimdWidth::ALL {
        let Some(batch) = batch.clone().at_width(width) else { continue };
        group.bench_function(format!("{width:?}, links adjusted"), |b| {
            each(b, postures, || {
                black_box(worst_changes(&batch, black_box(&cars), LinkSetting::Adjusted));
            })
        });
    }
    group.bench_function("links cut", |b| {
        each(b, postures, || {
            black_box(worst_changes(&batch, black_box(&cars), LinkSetting::Cut));
        })
    });
    let wilder = built_cars(10.0);
    group.bench_function("links adjusted, ten times the error", |b| {
        each(b, postures, || {
            black_box(worst_changes(&batch, black_box(&wilder), LinkSetting::Adjusted));
        })
    });
    for threads in [1, 2] {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        group.bench_function(format!("links adjusted, {threads} threads"), |b| {
            each(b, postures, || {
                let worst = |cars| worst_changes(&batch, cars, LinkSetting::Adjusted);
                pool.install(|| black_box(cars.par_chunks(256).map(worst).reduce(|| 0.0, f64::max)));
            })
        });
    }
    group.finish();
}

/// Sums that multiply-adds go into in a peak row: independent, so that none waits for another, and all in registers.
#[cfg(target_arch = "x86_64")]
const SUMS: usize = 12;

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2,fma")]
fn peak_of_four() {
    let (factor, term) = (_mm256_set1_pd(black_box(0.999_999)), _mm256_set1_pd(black_box(1e-6)));
    let mut sums = [term; SUMS];
    for _ in 0..OPERATIONS / (2 * 4 * SUMS) {
        for sum in &mut sums {
            *sum = _mm256_fmadd_pd(*sum, factor, term);
        }
    }
    black_box(sums);
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx512f")]
fn peak_of_eight() {
    let (factor, term) = (_mm512_set1_pd(black_box(0.999_999)), _mm512_set1_pd(black_box(1e-6)));
    let mut sums = [term; SUMS];
    for _ in 0..OPERATIONS / (2 * 8 * SUMS) {
        for sum in &mut sums {
            *sum = _mm512_fmadd_pd(*sum, factor, term);
        }
    }
    black_box(sums);
}

#[cfg(target_arch = "x86_64")]
fn peak(c: &mut Criterion) {
    let mut group = c.benchmark_group("peak, a thousand operations");
    if is_x86_feature_detected!("avx2") && is_x86_feature_detected!("fma") {
        // SAFETY: the processor has AVX2 and FMA.
        group.bench_function("AVX2", |b| each(b, OPERATIONS / 1000, || unsafe { peak_of_four() }));
    }
    if is_x86_feature_detected!("avx512f") {
        // SAFETY: the processor has AVX-512 F, which includes FMA.
        group.bench_function("AVX-512", |b| each(b, OPERATIONS / 1000, || unsafe { peak_of_eight() }));
    }
    group.finish();
}

#[cfg(not(target_arch = "x86_64"))]
fn peak(_: &mut Criterion) {}

fn whole_studies(c: &mut Criterion) {
    let geometry = first_cut();
    let mut group = c.benchmark_group("whole studies, both wheels");
    group.bench_function("heave, 25 rows a side, all measures", |b| {
        b.iter(|| black_box(Heave::run(&Rig::new(black_box(&geometry)).expect("a sound design"))))
    });
    group.bench_function("heave, roll and grid", |b| {
        b.iter(|| {
            let rig = Rig::new(black_box(&geometry)).expect("a sound design");
            black_box((Heave::run(&rig), Roll::run(&rig), Grid::run(&rig)))
        })
    });
    group.bench_function("forces: seven cases, margins, compliance, lightest tubes", |b| {
        b.iter(|| {
            let rig = Rig::new(black_box(&geometry)).expect("a sound design");
            black_box(ForcesFindings::of(&rig, &Side::BOTH, &[]).expect("a spring").with_lightest_tubes());
        })
    });
    group.finish();
}

fn short() -> Criterion {
    Criterion::default().warm_up_time(Duration::from_millis(500)).measurement_time(Duration::from_secs(2))
}

criterion_group! { name = benches; config = short(); targets = one_car, many_cars, peak, whole_studies }
criterion_main!(benches);
