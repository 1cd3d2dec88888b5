//! Critical speeds: worked examples of uniform shafts, and shafts in pieces and on springs against `driveline/shafts.csv`.

use std::f64::consts::PI;

use hubtrace::geometry::TubeSection;
use hubtrace::shafts::{BeamEnd, BeamPiece, Section, first_critical_rad_per_s};

use crate::support::{numbers, rows};

const PINNED: [BeamEnd; 2] = [BeamEnd::Pinned, BeamEnd::Pinned];

fn steel(od_mm: f64, wall_mm: f64, length_mm: f64, e_mpa: f64, kg_per_mm3: f64) -> BeamPiece {
    let section = Section::of(&TubeSection { od_mm, wall_mm });
    BeamPiece {
        stiffness_n_mm2: e_mpa * section.second_moment_mm4,
        mass_kg_per_mm: kg_per_mm3 * section.area_mm2,
        length_mm,
    }
}

fn rpm(pieces: &[BeamPiece], ends: [BeamEnd; 2]) -> f64 {
    first_critical_rad_per_s(pieces, ends).expect("a frequency") * 30.0 / PI
}

/// 70 x 2 mm, 1350 mm, 207 GPa: 6387 rpm.
#[test]
fn a_uniform_shaft_whirls_at_the_speed_of_the_handbook() {
    assert!((rpm(&[steel(70.0, 2.0, 1350.0, 207e3, 7850e-9)], PINNED) - 6387.0).abs() < 1.0);
}

/// Calcady's example in inches: 3.5 x 0.083 in, 45 in, 30e6 psi, 0.283 lb/in³: 11 383 rpm.
#[test]
fn the_worked_example_in_inches_agrees() {
    let mpa_per_psi = 0.006_894_757;
    let kg_per_mm3 = 0.283 * 0.453_592_37 / 25.4_f64.powi(3);
    let piece = steel(3.5 * 25.4, 0.083 * 25.4, 45.0 * 25.4, 30e6 * mpa_per_psi, kg_per_mm3);
    assert!((rpm(&[piece], PINNED) - 11_383.0).abs() < 10.0, "{}", rpm(&[piece], PINNED));
}

#[test]
fn shafts_in_pieces_and_on_springs_whirl_as_outside() {
    let table = rows(include_str!("../outside/driveline/shafts.csv"));
    assert_eq!(table.len(), 8);
    for row in table {
        let piece = |cell: &str| {
            let [stiffness_n_mm2, mass_kg_per_mm, length_mm] = numbers(cell, ' ')[..] else { panic!("{cell}") };
            BeamPiece { stiffness_n_mm2, mass_kg_per_mm, length_mm }
        };
        let pieces: Vec<BeamPiece> = row[0].split(';').map(piece).collect();
        let end = |cell: &str| cell.parse().map_or(BeamEnd::Pinned, BeamEnd::Spring);
        let ends: Vec<BeamEnd> = row[1].split(';').map(end).collect();
        let found = first_critical_rad_per_s(&pieces, [ends[0], ends[1]]).expect("a frequency");
        let expected: f64 = row[2].parse().expect("a number");
        assert!((found / expected - 1.0).abs() < 1e-11, "{row:?}: {found}");
    }
}

#[test]
fn a_shaft_cut_in_two_is_the_same_shaft() {
    let whole = steel(70.0, 2.0, 1350.0, 205e3, 7850e-9);
    let parts = [400.0, 950.0].map(|length_mm| BeamPiece { length_mm, ..whole });
    assert!((rpm(&[whole], PINNED) - rpm(&parts, PINNED)).abs() < 1e-8);
}

/// A stiff shaft on a soft spring swings about its pin: ω² = 3 k / m. On two soft springs it goes up and down: ω² = 2 k / m.
#[test]
fn a_shaft_on_soft_springs_swings_as_a_rigid_bar() {
    let shaft = steel(80.0, 4.0, 600.0, 205e3, 7850e-9);
    let (mass_t, k) = (1e-3 * shaft.mass_kg_per_mm * 600.0, 2.0);
    let swing = |ends| first_critical_rad_per_s(&[shaft], ends).expect("a frequency");
    let pinned = swing([BeamEnd::Pinned, BeamEnd::Spring(k)]);
    assert!((pinned / (3.0 * k / mass_t).sqrt() - 1.0).abs() < 1e-4, "{pinned}");
    let both = swing([BeamEnd::Spring(k); 2]);
    assert!((both / (2.0 * k / mass_t).sqrt() - 1.0).abs() < 1e-4, "{both}");
}

/// The rule of thumb 1/ω² ≈ 1/ω_bend² + m/(3 k) is Dunkerley's, who is never above the truth, and here not far below it.
#[test]
fn a_coupling_lowers_the_critical_speed_as_the_rule_of_thumb_says() {
    let shaft = steel(70.0, 2.0, 1200.0, 205e3, 7850e-9);
    let bend = first_critical_rad_per_s(&[shaft], PINNED).expect("a frequency");
    for k in [200.0, 800.0, 5000.0] {
        let mass_t = 1e-3 * shaft.mass_kg_per_mm * shaft.length_mm;
        let rule = (1.0 / (bend * bend) + mass_t / (3.0 * k)).powf(-0.5);
        let found = first_critical_rad_per_s(&[shaft], [BeamEnd::Pinned, BeamEnd::Spring(k)]).expect("a frequency");
        assert!((1.0..1.08).contains(&(found / rule)), "{k}: {found} {rule}");
    }
}

#[test]
fn nothing_whirls_where_there_is_no_shaft() {
    assert_eq!(first_critical_rad_per_s(&[], PINNED), None);
}
