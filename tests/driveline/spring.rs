//! The spring at design height: a hinge arm on paper, and differences.

use std::path::Path;

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Corner, Geometry, Link, Side, Spring, SpringMake, SpringMount, Travel, Wheel};
use hubtrace::measures::spring;
use hubtrace::mechanism::Acceleration;
use hubtrace::studies::driveline::DrivelineFindings;
use hubtrace::studies::{JudgedCar, Rig};
use nalgebra::{Point3, Vector3};

/// Five links whose upright ends are carried about a hinge along x through (0, 300, 300): the wheel is an arm of 450 mm, level
/// at design. A spring from straight above the arm's middle stands on it, 200 mm long, 225 mm from the hinge.
fn hinge_arm(make: SpringMake) -> Geometry {
    let wheel = Wheel::new(Point3::new(0.0, 750.0, 300.0), 0.0, 0.0, 300.0);
    let hinge = [Point3::new(-200.0, 300.0, 300.0), Point3::new(200.0, 300.0, 300.0)];
    let ends = [
        Point3::new(-60.0, 700.0, 400.0),
        Point3::new(80.0, 690.0, 380.0),
        Point3::new(-50.0, 710.0, 200.0),
        Point3::new(70.0, 700.0, 190.0),
        Point3::new(0.0, 720.0, 310.0),
    ];
    let links = std::array::from_fn(|k| Link::new(format!("link {k}"), hinge[k % 2], ends[k]));
    let spring = Spring {
        chassis: Point3::new(0.0, 525.0, 500.0),
        mount: Point3::new(0.0, 525.0, 300.0),
        on: SpringMount::Upright,
        make,
    };
    let left = Corner { side: Side::Left, wheel, links, halfshaft: None, spring: Some(spring) };
    Geometry::mirrored("hinge arm", left, Travel::default())
}

fn make() -> SpringMake {
    SpringMake {
        rate_n_per_mm: Some(60.0),
        free_length_mm: Some(260.0),
        corner_mass_kg: Some(150.0),
        open_mm: Some(240.0),
        closed_mm: Some(150.0),
        ..SpringMake::default()
    }
}

/// At design L = 200 mm and the ratio is 225/450. With θ the angle of the arm, L² = |A|² + |B|² − 2 A·B with A = (225, 200) and
/// B = 225 (cos θ, sin θ) from the hinge: L′ = −225, and ½ (L²)″ = 225² = L′² + L L″, so that L″ = 0; b = 450 sin θ has b″ = 0 too.
#[test]
fn a_hinge_arm_has_the_rate_that_paper_says() {
    let geometry = hinge_arm(make());
    let judged = JudgedCar::of(Rig::new(&geometry).expect("a car that moves"));
    let found = DrivelineFindings::of(judged, &[Side::Left]);
    let spring = found.driveline.wheels[&Side::Left].spring.expect("a spring");
    assert!((spring.motion_ratio - 0.5).abs() < 1e-12 && (spring.length_mm - 200.0).abs() < 1e-9);
    assert!(spring.motion_ratio_slope_per_mm.abs() < 1e-12, "{}", spring.motion_ratio_slope_per_mm);
    let force_n = 150.0 * 9.80665 / 0.5;
    assert!((spring.static_force_n.expect("a mass") - force_n).abs() < 1e-6);
    assert!((spring.wheel_rate_n_per_mm.expect("a rate") - 15.0).abs() < 1e-9);
    assert!((spring.frequency_hz.expect("both") - (15_000.0_f64 / 150.0).sqrt() / std::f64::consts::TAU).abs() < 1e-9);
    assert!((spring.static_spring_mm.expect("all") - (260.0 - force_n / 60.0)).abs() < 1e-9);
    // Squeezed by 49.03 mm at design, of which the damper gives 40 from fully open.
    assert!((spring.preload_mm.expect("all") - (force_n / 60.0 - 40.0)).abs() < 1e-9);
}

/// Leaned over, the chassis eye 100 mm inboard of the arm's middle.
#[test]
fn a_leaning_spring_changes_its_ratio_as_paper_says() {
    let mut geometry = hinge_arm(make());
    for corner in [&mut geometry.left, &mut geometry.right] {
        corner.spring.as_mut().expect("a spring").chassis = Point3::new(0.0, 425.0, 500.0);
    }
    // y of the eyes over the hinge: 125 on the frame, 225 on the arm. L² = |A|² + |B|² − 2 A·B, A = (125, 200), B = 225 (cos θ, sin θ):
    // ½ (L²)′ = 225 (125 sin θ − 200 cos θ), ½ (L²)″ = 225 (125 cos θ + 200 sin θ).
    let length: f64 = (100.0_f64.powi(2) + 200.0_f64.powi(2)).sqrt();
    let first = -225.0 * 200.0 / length;
    let second = (225.0 * 125.0 - first * first) / length;
    // b = 450 sin θ: m = −L′/(450 cos θ), so at θ = 0 dm/db = −L″/450².
    let (ratio, slope) = (-first / 450.0, -second / 450.0_f64.powi(2));
    let judged = JudgedCar::of(Rig::new(&geometry).expect("a car that moves"));
    let found = DrivelineFindings::of(judged, &[Side::Left]);
    let spring = found.driveline.wheels[&Side::Left].spring.expect("a spring");
    assert!((spring.motion_ratio - ratio).abs() < 1e-12);
    assert!((spring.motion_ratio_slope_per_mm - slope).abs() < 1e-12, "{} {slope}", spring.motion_ratio_slope_per_mm);
    let force_n = 150.0 * 9.80665 / ratio;
    let expected = 60.0 * ratio * ratio + force_n * slope;
    assert!((spring.wheel_rate_n_per_mm.expect("a rate") - expected).abs() < 1e-9);
}

#[test]
fn second_derivatives_are_those_of_the_motion() {
    for path in ["geometries/first-cut.toml", "geometries/as-built.toml", "tests/outside/spring-on-link.toml"] {
        let geometry = GeometryFile::read(Path::new(path)).unwrap_or_else(|error| panic!("{error}")).geometry;
        let rig = Rig::new(&geometry).expect("a car that moves");
        for side in Side::BOTH {
            let (wheel, h) = (rig.wheel(side), 1e-3);
            for bump_mm in [-17.0, 0.0, 21.0] {
                let [before, here, after] =
                    [bump_mm - h, bump_mm, bump_mm + h].map(|mm| wheel.path.at(mm).expect("there"));
                let found = Acceleration::of(wheel.corner, &here).expect("a sound corner");
                let difference = |a: Vector3<f64>, b: Vector3<f64>| (b - a) / (2.0 * h);
                let centre = difference(before.motion.velocity, after.motion.velocity);
                let angular = difference(before.motion.angular, after.motion.angular);
                assert!((found.centre - centre).norm() < 1e-9, "{path} {side:?} {bump_mm}");
                assert!((found.angular - angular).norm() < 1e-11, "{path} {side:?} {bump_mm}");
                let ratio = |at| spring(wheel.corner, at).expect("a spring").ratio;
                if bump_mm == 0.0 {
                    let judged = JudgedCar::of(rig.clone());
                    let told = DrivelineFindings::of(judged, &[side]).driveline.wheels[&side].spring.expect("a spring");
                    let slope = (ratio(&after) - ratio(&before)) / (2.0 * h);
                    assert!((told.motion_ratio_slope_per_mm - slope).abs() < 1e-9, "{path} {side:?}");
                }
            }
        }
    }
}
