//! Columns by Euler and Johnson, and bars that are pushed or pulled and bent at once.

use hubtrace::strength::{BarLoad, euler_n, johnson_euler_n, pull_and_bending_reserve, push_and_bending_reserve};

use super::{assert_near, metal, tube};

const INCH: f64 = 25.4;
const PSI: f64 = 0.006_894_757_3;
const LBF: f64 = 4.448_221_6;

/// Gere and Goodno, 11.4-2, with the effective lengths of its end conditions.
#[test]
fn euler_loads_of_a_pipe_column() {
    let (steel, pipe) = (metal(250.0, 210.0), tube(40.0, 36.0));
    for (factor, kn, within) in [(1.0, 62.2, 0.1), (2.0, 15.6, 0.1), (0.6992, 127.0, 0.5), (0.5, 249.0, 0.5)] {
        assert_near(euler_n(&steel, &pipe, 1200.0 * factor) / 1000.0, kn, within, "Euler load, kN");
    }
}

/// Mott, chapter 6: 1.25 in round, 54 in, SAE 1020 cold drawn.
#[test]
fn a_slender_bar_of_a_textbook() {
    let steel = metal(51_000.0 * PSI, 30e6 * PSI / 1000.0);
    let bar = tube(1.25 * INCH, 0.0);
    assert_near(54.0 * INCH / bar.gyration_mm(), 172.8, 0.05, "slenderness");
    assert_near(johnson_euler_n(&steel, &bar, 54.0 * INCH) / LBF, 12_169.0, 1.0, "Euler load, lbf");
}

/// Shigley, chapter 4: 22 kN with a factor of 4.
#[test]
fn diameters_of_a_textbook_carry_their_load() {
    let steel = metal(500.0, 207.0);
    assert_near(johnson_euler_n(&steel, &tube(37.48, 0.0), 1500.0), 88_000.0, 150.0, "Euler, N");
    assert_near(johnson_euler_n(&steel, &tube(19.02, 0.0), 375.0), 88_000.0, 150.0, "Johnson, N");
    assert_near(375.0 / tube(20.0, 0.0).gyration_mm(), 75.0, 1e-9, "slenderness");
}

#[test]
fn hollow_columns_of_textbooks() {
    assert_near(euler_n(&metal(335.0, 205.0), &tube(38.0, 33.0), 2300.0) / 1000.0, 16.88, 0.01, "kN");
    let (steel, hollow) = (metal(300.0, 207.0), tube(20.0, 14.0));
    for (length_mm, n) in [(1500.0, 5419.0), (750.0, 21_677.0), (3000.0, 1355.0)] {
        assert_near(johnson_euler_n(&steel, &hollow, length_mm), n, 1.0, "N");
    }
}

/// A link tube: Johnson, where Euler would promise more than the squash load.
#[test]
fn a_short_link_tube_fails_by_johnson() {
    let (steel, link) = (metal(355.0, 210.0), tube(25.0, 21.0));
    assert_near(johnson_euler_n(&steel, &link, 400.0) / 1000.0, 46.03, 0.01, "Johnson, kN");
    assert_near(euler_n(&steel, &link, 400.0) / 1000.0, 124.7, 0.1, "Euler, kN");
    assert_near(link.area_mm2() * 355.0 / 1000.0, 51.30, 0.01, "squash load, kN");
}

/// At the transition the parabola touches Euler's curve: same value, same slope, half of the squash load.
#[test]
fn johnson_and_euler_meet_smoothly() {
    let (steel, bar) = (metal(355.0, 210.0), tube(25.0, 21.0));
    let meet_mm = bar.gyration_mm() * (2.0 * std::f64::consts::PI.powi(2) * 210_000.0_f64 / 355.0).sqrt();
    let at = |mm: f64| johnson_euler_n(&steel, &bar, mm);
    assert_near(at(meet_mm - 1e-6), at(meet_mm + 1e-6), 1e-3, "N");
    assert_near(at(meet_mm), 0.5 * 355.0 * bar.area_mm2(), 1e-3, "N");
    let slope = |mm: f64| (at(mm + 0.01) - at(mm - 0.01)) / 0.02;
    assert_near(slope(meet_mm - 0.02), slope(meet_mm + 0.02), 1e-2, "N/mm");
}

#[test]
fn a_pulled_bar_yields_at_its_outermost_fibre() {
    let (steel, bar) = (metal(300.0, 210.0), tube(20.0, 0.0));
    // 10 kN on 314.16 mm² are 31.83 MPa; 50 N·m on 785.4 mm³ are 63.66 MPa.
    let load = BarLoad { axial_n: 10_000.0, bending_nm: 50.0 };
    assert_near(pull_and_bending_reserve(&steel, &bar, &load), 300.0 / 95.49, 1e-3, "reserve");
    let pulled = BarLoad { axial_n: 10_000.0, bending_nm: 0.0 };
    assert_near(pull_and_bending_reserve(&steel, &bar, &pulled), 300.0 * 0.031_415_9, 1e-3, "reserve");
    assert_eq!(pull_and_bending_reserve(&steel, &bar, &BarLoad { axial_n: 0.0, bending_nm: 0.0 }), f64::INFINITY);
}

/// The reserve is the factor at which column and amplified bending use up the bar, searched by halving.
#[test]
fn a_pushed_and_bent_bar_fails_at_its_reserve() {
    let (steel, bar, length_mm) = (metal(355.0, 210.0), tube(25.0, 21.0), 380.0);
    let used = |load: &BarLoad, factor: f64| {
        let push = -load.axial_n * factor;
        let amplified = 1.0 / (1.0 - push / euler_n(&steel, &bar, length_mm));
        let bending = 1000.0 * load.bending_nm * factor * amplified / (bar.modulus_mm3() * 355.0);
        push / johnson_euler_n(&steel, &bar, length_mm) + bending
    };
    for (axial_n, bending_nm) in [(-8000.0, 90.0), (-20_000.0, 5.0), (-500.0, 150.0)] {
        let load = BarLoad { axial_n, bending_nm };
        let euler = euler_n(&steel, &bar, length_mm) / -axial_n;
        let (mut low, mut high) = (0.0, euler * (1.0 - 1e-9));
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if used(&load, middle) < 1.0 { low = middle } else { high = middle }
        }
        assert_near(push_and_bending_reserve(&steel, &bar, length_mm, &load), low, 1e-9 * low, "reserve");
    }
    let pushed = BarLoad { axial_n: -9000.0, bending_nm: 0.0 };
    let column = johnson_euler_n(&steel, &bar, length_mm) / 9000.0;
    assert_near(push_and_bending_reserve(&steel, &bar, length_mm, &pushed), column, 1e-12 * column, "reserve");
    // A slender bar, where Euler's load is the column's.
    let slender = BarLoad { axial_n: -100.0, bending_nm: 0.0 };
    let column = euler_n(&steel, &bar, 4000.0) / 100.0;
    assert_near(push_and_bending_reserve(&steel, &bar, 4000.0, &slender), column, 1e-9 * column, "reserve");
}
