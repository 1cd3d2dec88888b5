//! Tubes in torsion, their mass, welds and balance, against worked examples.

use hubtrace::geometry::{ShaftTube, TubePiece, TubeSection};
use hubtrace::shafts::{Section, mass_kg, permissible_unbalance_g_mm, splice_weld_mpa, twist_deg};

fn section(od_mm: f64, id_mm: f64) -> TubeSection {
    TubeSection { od_mm, wall_mm: 0.5 * (od_mm - id_mm) }
}

fn tube(pieces: &[(TubeSection, f64)], g_gpa: f64) -> ShaftTube {
    let pieces = pieces.iter().map(|&(section, length_mm)| TubePiece { section, length_mm }).collect();
    let (e_gpa, density_kg_per_m3) = (2.6 * g_gpa, 7850.0);
    ShaftTube { pieces, e_gpa, g_gpa, density_kg_per_m3, throat_mm: None, beside: None }
}

/// Mechanics teaching: 114 x 102 mm under 5000 N·m.
#[test]
fn a_hollow_shaft_is_stressed_as_in_the_textbook() {
    let found = Section::of(&section(114.0, 102.0));
    assert!((found.polar_mm4 - 5_954_575.0).abs() < 1.0, "{}", found.polar_mm4);
    assert!((found.torsion_mpa(5000.0) - 47.86).abs() < 0.005);
}

/// 400 x 300 mm, 300 kN·m, G = 80 GPa, 2 m: 34.92 MPa, 0.2501 deg.
#[test]
fn a_large_shaft_twists_as_in_the_exercise() {
    let wide = section(400.0, 300.0);
    assert!((Section::of(&wide).torsion_mpa(300_000.0) - 34.92).abs() < 0.01);
    assert!((twist_deg(&tube(&[(wide, 2000.0)], 80.0), 300_000.0) - 0.2501).abs() < 2e-4);
}

#[test]
fn twists_and_masses_of_joined_pieces_add_up() {
    let (thin, thick) = ((section(70.0, 66.0), 700.0), (section(50.0, 42.0), 300.0));
    let [one, other, both] = [vec![thin], vec![thick], vec![thin, thick]].map(|pieces| tube(&pieces, 79.0));
    let twist = |tube: &ShaftTube| twist_deg(tube, 500.0);
    assert!((twist(&one) + twist(&other) - twist(&both)).abs() < 1e-12 && twist(&one) > 0.1);
    assert!((mass_kg(&one) + mass_kg(&other) - mass_kg(&both)).abs() < 1e-12);
    // π/4 (7.0² − 6.6²) cm² over 70 cm, 7.85 g/cm³.
    assert!((mass_kg(&one) - 4.2726 * 70.0 * 7.85e-3).abs() < 1e-4, "{}", mass_kg(&one));
}

/// Common practice: 2 mm more outside with a wall of 2.0 mm is about as strong as 2.2 mm without.
#[test]
fn two_millimetres_of_diameter_are_worth_two_tenths_of_wall() {
    for od in [60.0, 65.0, 70.0, 73.0] {
        let mpa = |od_mm: f64, wall_mm: f64| Section::of(&TubeSection { od_mm, wall_mm }).torsion_mpa(500.0);
        let ratio = mpa(od + 2.0, 2.0) / mpa(od, 2.2);
        assert!((0.97..1.06).contains(&ratio), "{od}: {ratio}");
    }
}

/// 60 mm round, throat 2 mm: the ring has 2π · 30 mm · 2 mm at 30 mm; 339.29 N·m load it with 30 MPa.
#[test]
fn a_splice_weld_carries_the_torque_as_a_thin_ring() {
    assert!((splice_weld_mpa(60.0, 2.0, 339.292) - 30.0).abs() < 1e-4);
}

/// Widia, page on balancing: 2 kg at 10,000 rpm in G 6.3 may keep 12.0 g·mm.
#[test]
fn the_unbalance_is_that_of_the_worked_example() {
    assert!((permissible_unbalance_g_mm(6.3, 2.0, 10_000.0) - 12.0).abs() < 0.05);
}
