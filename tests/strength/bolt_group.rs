//! A housing on its bolts: a textbook's eccentric group, bolts that are pulled out, and equilibrium.

use hubtrace::strength::{BoltShare, GroupBolt, bolt_group};
use nalgebra::{Point3, Vector3};

use super::assert_near;

fn bolt(at: [f64; 3]) -> GroupBolt {
    GroupBolt { at: Point3::from(at), along: Vector3::z_axis(), axial_over_shear: 1.0 }
}

/// Shigley, example 8-7 (from memory, recomputed): four bolts at ±75, ±60 mm, 16 kN 425 mm from their middle.
#[test]
fn an_eccentric_group_of_a_textbook() {
    let bolts = [[75.0, 60.0, 0.0], [75.0, -60.0, 0.0], [-75.0, 60.0, 0.0], [-75.0, -60.0, 0.0]].map(bolt);
    let force = Vector3::new(0.0, -16_000.0, 0.0);
    let shares = bolt_group(&bolts, &force, &Vector3::x().scale(425.0).cross(&force)).unwrap();
    for (share, kn) in shares.iter().zip([21.0, 21.0, 14.8, 14.8]) {
        assert_near(share.shear_n / 1000.0, kn, 0.05, "kN");
        assert_near(share.pull_out_n, 0.0, 1e-9, "N");
    }
}

/// Three bolts at the corners of a plate: a moment in its plane's own direction pulls by the distance from the middle.
#[test]
fn a_tipping_moment_pulls_bolts_out_by_their_distance() {
    let bolts = [[100.0, 0.0, 0.0], [-50.0, 80.0, 0.0], [-50.0, -80.0, 0.0]].map(bolt);
    // Tipping about y lifts what lies at negative x: T = M x / Σx² = 300 000 · 100 / 15 000.
    let shares = bolt_group(&bolts, &Vector3::zeros(), &Vector3::new(0.0, 300_000.0, 0.0)).unwrap();
    assert_near(shares[0].pull_out_n, -2000.0, 1e-6, "N");
    assert_near(shares[1].pull_out_n, 1000.0, 1e-6, "N");
    assert_near(shares[2].pull_out_n, 1000.0, 1e-6, "N");
    assert!(shares.iter().all(|share| share.shear_n < 1e-9));
    let lifted = bolt_group(&bolts, &Vector3::new(0.0, 0.0, 900.0), &Vector3::zeros()).unwrap();
    assert!(lifted.iter().all(|share| (share.pull_out_n - 300.0).abs() < 1e-9));
}

/// Any bolts in space: what they hold balances the load.
#[test]
fn the_bolts_balance_the_load() {
    let place = |at: [f64; 3], along: [f64; 3], ratio: f64| GroupBolt {
        at: Point3::from(at),
        along: nalgebra::Unit::new_normalize(Vector3::from(along)),
        axial_over_shear: ratio,
    };
    let bolts = [
        place([60.0, 80.0, 90.0], [0.0, 0.0, 1.0], 3.0),
        place([60.0, -80.0, 90.0], [0.0, 0.2, 1.0], 2.0),
        place([-90.0, 5.0, 100.0], [1.0, 0.0, 0.1], 0.5),
        place([-80.0, 5.0, -100.0], [0.0, 1.0, 0.0], 1.0),
    ];
    let (force, moment) = (Vector3::new(900.0, -400.0, 2500.0), Vector3::new(6e5, -9e5, 3e5));
    let shares = bolt_group(&bolts, &force, &moment).unwrap();
    let held: Vector3<f64> = shares.iter().map(|share| share.force_n).sum();
    let turned: Vector3<f64> = bolts.iter().zip(&shares).map(|(b, share)| b.at.coords.cross(&share.force_n)).sum();
    assert!((held + force).norm() < 1e-8 && (turned + moment).norm() < 1e-6, "{held} {turned}");
    let whole = |share: &BoltShare| share.pull_out_n.hypot(share.shear_n) - share.force_n.norm();
    assert!(shares.iter().all(|share| whole(share).abs() < 1e-9));
}

#[test]
fn bolts_that_leave_a_motion_hold_nothing() {
    let row = [[0.0, 0.0, 0.0], [50.0, 0.0, 0.0], [120.0, 0.0, 0.0]].map(bolt);
    assert_eq!(bolt_group(&row, &Vector3::z(), &Vector3::zeros()), None);
    assert_eq!(bolt_group(&[], &Vector3::z(), &Vector3::zeros()), None);
}
