//! A rigid housing on several bolts: which bolt carries what.

use nalgebra::{Matrix3, Matrix6, Point3, Unit, Vector3, Vector6};

/// Length by which rotations are scaled to stand beside displacements, mm.
const SCALE_MM: f64 = 100.0;
/// Bolts whose stiffest motion is this much stiffer than their softest hold nothing in that one (no unit).
const SOFTEST: f64 = 1e-9;

/// One bolt of a group, or the lug that it holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroupBolt {
    /// Where it holds the housing, mm.
    pub at: Point3<f64>,
    /// Along the bolt, from the mount into the housing.
    pub along: Unit<Vector3<f64>>,
    /// Stiffness along itself over that across itself (no unit): 1 when neither is known.
    pub axial_over_shear: f64,
}

/// What one bolt of a group carries.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoltShare {
    /// Force of the mount on the housing, N.
    pub force_n: Vector3<f64>,
    /// Its part along the bolt: the housing pulled off its mount positive, N.
    pub pull_out_n: f64,
    /// Its part across the bolt, N.
    pub shear_n: f64,
}

/// What each bolt carries when a force, N, and a moment about the origin, N·mm, act on a rigid housing; `None` when the bolts leave
/// it a motion, as two or a row of them do.
///
/// Elastic: `F_i = K_i (u + θ × r_i)`, with `u` and `θ` such that the forces balance the load. Without friction and preload.
///
/// Source: elastic bolt group, any text on machine elements. Tested by `tests/strength/bolt_group.rs`.
pub fn bolt_group(bolts: &[GroupBolt], force_n: &Vector3<f64>, moment_n_mm: &Vector3<f64>) -> Option<Vec<BoltShare>> {
    let mut stiffness = Matrix6::zeros();
    for bolt in bolts {
        let moves = bolt.moves();
        stiffness += moves.transpose() * bolt.stiffness() * moves;
    }
    let values = stiffness.singular_values();
    let (softest, stiffest) = (values.min(), values.max());
    // A NaN is no number to go on with.
    if softest.is_nan() || softest <= SOFTEST * stiffest {
        return None;
    }
    let moment = moment_n_mm / SCALE_MM;
    // The mounts push back.
    let load = Vector6::from_iterator(force_n.iter().chain(moment.iter()).map(|n| -n));
    let motion = stiffness.lu().solve(&load)?;
    let share = |bolt: &GroupBolt| {
        let force_n: Vector3<f64> = bolt.stiffness() * (bolt.moves() * motion);
        let along_n = force_n.dot(&bolt.along);
        // The mount pulls the housing back against the way out of it.
        BoltShare { force_n, pull_out_n: -along_n, shear_n: (force_n - bolt.along.scale(along_n)).norm() }
    };
    Some(bolts.iter().map(share).collect())
}

impl GroupBolt {
    fn stiffness(&self) -> Matrix3<f64> {
        let along = self.along.into_inner();
        Matrix3::identity() + along * along.transpose() * (self.axial_over_shear - 1.0)
    }

    /// Displacement of the bolt's place by the six motions of the housing.
    fn moves(&self) -> nalgebra::Matrix3x6<f64> {
        let turned = -self.at.coords.cross_matrix() / SCALE_MM;
        let mut moves = nalgebra::Matrix3x6::zeros();
        moves.fixed_columns_mut::<3>(0).copy_from(&Matrix3::identity());
        moves.fixed_columns_mut::<3>(3).copy_from(&turned);
        moves
    }
}
