//! Notch wraps rolled up again: their edge lies on the other tube, and a square saddle is that of the textbook.

use std::f64::consts::PI;

use hubtrace::geometry::Tube;
use hubtrace::studies::fabrication::{NoNotch, Notch, TubeEnd, ZeroLine, tube_ends};
use nalgebra::{Point3, Rotation3, Unit, Vector3};

fn tube(name: &str, from: [f64; 3], to: [f64; 3], od_mm: f64) -> Tube {
    Tube { name: name.into(), from: from.into(), to: to.into(), od_mm: Some(od_mm), wall_mm: None, material: None }
}

fn only(tubes: &[Tube]) -> TubeEnd {
    let mut ends = tube_ends(tubes);
    assert_eq!(ends.len(), 1, "{ends:?}");
    ends.remove(0)
}

fn notch_of(brace: Tube, rail: Tube) -> Notch {
    only(&[brace, rail]).notch.unwrap_or_else(|why| panic!("{why:?}"))
}

/// Where a point of the wrap comes to lie, rolled round the tube from the line at 0 with the print outside, the base line square
/// round the tube at its place.
fn rolled(notch: &Notch, brace: &Tube, [round, toward]: [f64; 2]) -> Point3<f64> {
    let (tip, far) = if notch.end == "to" { (brace.to, brace.from) } else { (brace.from, brace.to) };
    let along = Unit::new_normalize(tip - far);
    let facing = match notch.zero {
        ZeroLine::Up => Vector3::z(),
        ZeroLine::Forward => Vector3::x(),
    };
    let out = (facing - along.into_inner() * along.dot(&facing)).normalize() * (0.5 * notch.od_mm);
    let turned = Rotation3::from_axis_angle(&along, round / (0.5 * notch.od_mm)) * out;
    far + along.into_inner() * (notch.base_from_far_mm + toward) + turned
}

fn rails() -> Vec<(Tube, Tube)> {
    let rail = tube("rail", [-500.0, 300.0, 140.0], [500.0, 300.0, 140.0], 40.0);
    let skew = tube("rail", [-400.0, 260.0, 100.0], [500.0, 330.0, 180.0], 38.1);
    vec![
        (tube("brace", [0.0, 300.0, 140.0], [0.0, 300.0, 500.0], 30.0), rail.clone()),
        (tube("brace", [200.0, 300.0, 500.0], [0.0, 306.0, 140.0], 25.0), rail.clone()),
        (tube("brace", [0.0, 300.0, 140.0], [0.0, 700.0, 140.0], 40.0), rail),
        (tube("brace", [-20.0, 291.0, 135.0], [-350.0, 100.0, 420.0], 25.4), skew),
    ]
}

#[test]
fn the_edge_lies_on_the_other_tube() {
    for (brace, rail) in rails() {
        let notch = notch_of(brace.clone(), rail.clone());
        let (mut nearest, body) = (f64::INFINITY, 0.5 * (brace.from - brace.to).norm());
        for point in &notch.edge {
            let place = rolled(&notch, &brace, *point);
            assert!((rail.off_mm(&place) - 0.5 * notch.on_od_mm).abs() < 1e-9, "{}", rail.off_mm(&place));
            assert!((brace.off_mm(&place) - 0.5 * notch.od_mm).abs() < 1e-9);
            // On the side of the brace: half way along it lies no rail between.
            let middle = brace.from + (brace.to - brace.from) * 0.5;
            assert!((place - middle).norm() < body + 60.0);
            let inward = rolled(&notch, &brace, [point[0], point[1] - 1.0]);
            assert!(rail.off_mm(&inward) >= rail.off_mm(&place) - 1e-3, "{notch:?}");
            nearest = nearest.min(point[1]);
        }
        assert!((nearest - 40.0).abs() < 1e-9);
        let round = notch.edge.last().expect("points")[0];
        assert!((round - PI * notch.od_mm).abs() < 1e-9);
    }
}

/// A square saddle in the middle of a larger tube: `R − √(R² − r² sin² φ)` from its deepest point, φ counted from the direction of
/// the larger tube. Source: any text of sheet metal work; from memory.
#[test]
fn a_square_saddle_is_that_of_the_textbook() {
    let (brace, rail) = rails().remove(0);
    let notch = notch_of(brace, rail);
    assert_eq!((notch.end, notch.angle_deg, notch.offset_mm), ("from", 90.0, 0.0));
    // The brace stands, so the line at 0 faces forward, along the rail.
    assert_eq!(notch.zero, ZeroLine::Forward);
    let (r, on) = (15.0_f64, 20.0_f64);
    for [round, toward] in &notch.edge {
        let phi = round / r;
        let expected = 40.0 + on - (on * on - r * r * phi.sin().powi(2)).sqrt();
        // Counted from the base line, which lies on the side of the body: the deepest cut is nearest to it.
        assert!((toward - expected).abs() < 1e-9, "{phi}: {toward} for {expected}");
    }
}

#[test]
fn angle_and_offset_are_those_of_the_centre_lines() {
    let rail = tube("rail", [-500.0, 300.0, 140.0], [500.0, 300.0, 140.0], 40.0);
    let leaning = tube("brace", [0.0, 307.0, 140.0], [300.0, 307.0, 440.0], 20.0);
    let notch = notch_of(leaning, rail);
    assert!((notch.angle_deg - 45.0).abs() < 1e-9 && (notch.offset_mm - 7.0).abs() < 1e-9, "{notch:?}");
}

#[test]
fn what_has_no_saddle_is_told() {
    let rail = tube("rail", [-500.0, 300.0, 140.0], [500.0, 300.0, 140.0], 40.0);
    let beside = tube("brace", [0.0, 315.0, 140.0], [0.0, 315.0, 440.0], 30.0);
    assert_eq!(only(&[beside, rail.clone()]).notch, Err(NoNotch::Overhangs));
    let flat = tube("brace", [0.0, 300.0, 140.0], [400.0, 300.0, 200.0], 30.0);
    assert!(
        matches!(only(&[flat, rail.clone()]).notch, Err(NoNotch::TooFlat { angle_deg }) if (8.0..9.0).contains(&angle_deg))
    );
    let apart = tube("brace", [0.0, 300.0, 170.0], [0.0, 300.0, 440.0], 30.0);
    assert!(tube_ends(&[apart, rail.clone()]).is_empty());
    let without = Tube { od_mm: None, ..tube("brace", [0.0, 300.0, 140.0], [0.0, 300.0, 440.0], 30.0) };
    assert!(tube_ends(&[without, rail]).is_empty());
}
