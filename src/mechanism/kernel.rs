//! The formulas of the closure equations on plain numbers, shared by the solver of one corner and by the batch.
//!
//! Everything here is straight-line arithmetic without a branch on a value, so that a loop over cars around it becomes
//! SIMD of whatever width the function around it is compiled for. Products and sums are rounded one by one, never fused:
//! the same numbers to the last bit on every processor and at every width.

/// A vector as plain numbers.
pub(crate) type Triple = [f64; 3];

#[inline(always)]
pub(crate) fn dot(a: Triple, b: Triple) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

#[inline(always)]
pub(crate) fn cross(a: Triple, b: Triple) -> Triple {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// Rows of the rotation matrix of Rodrigues parameters `p` (modified: axis times the tangent of a quarter of the angle):
/// `I + 2 w [q]× + 2 ([q]×)²` with the quaternion `w = (1 − p²) / (1 + p²)`, `q = 2 p / (1 + p²)`.
#[inline(always)]
pub(crate) fn rotation(p: Triple) -> [Triple; 3] {
    let k = 2.0 / (1.0 + dot(p, p));
    let q = [k * p[0], k * p[1], k * p[2]];
    let [x, y, z] = [2.0 * q[0], 2.0 * q[1], 2.0 * q[2]];
    let w = k - 1.0;
    let (xx, yy, zz) = (x * q[0], y * q[1], z * q[2]);
    let (xy, xz, yz) = (x * q[1], x * q[2], y * q[2]);
    let (wx, wy, wz) = (w * x, w * y, w * z);
    [[1.0 - (yy + zz), xy - wz, xz + wy], [xy + wz, 1.0 - (xx + zz), yz - wx], [xz - wy, yz + wx, 1.0 - (xx + yy)]]
}

/// `R v`.
#[inline(always)]
pub(crate) fn turned(rotation: &[Triple; 3], v: Triple) -> Triple {
    [dot(rotation[0], v), dot(rotation[1], v), dot(rotation[2], v)]
}

/// Rate of Rodrigues parameters under the angular velocity `omega` (chassis frame): `½ (½ (1 − p²) ω + ω × p + (ω·p) p)`.
#[inline(always)]
pub(crate) fn rodrigues_rate(p: Triple, omega: Triple) -> Triple {
    let straight = 0.5 - 0.5 * dot(p, p);
    let along = dot(omega, p);
    let across = cross(omega, p);
    std::array::from_fn(|i| 0.5 * (straight * omega[i] + across[i] + along * p[i]))
}

/// One link at a posture, not yet divided by its length.
#[derive(Clone, Copy)]
pub(crate) struct LinkResidual {
    /// `½ (e·e − L²)`, mm².
    pub(crate) half_square: f64,
    /// `e`, from the chassis end to the upright end, mm: derivative of `half_square` by the displacement of the upright.
    pub(crate) along: Triple,
    /// `R a × e`, mm²: derivative of `half_square` by its rotation.
    pub(crate) moment: Triple,
}

/// The residual of a link with this base (wheel centre at design minus chassis pickup, mm), arm (upright pickup minus
/// wheel centre at design, mm) and squared length (mm²), where the upright is displaced and turned by this much.
#[inline(always)]
pub(crate) fn link_residual(
    base: Triple,
    arm: Triple,
    length_squared: f64,
    displacement: Triple,
    rotation: &[Triple; 3],
) -> LinkResidual {
    let arm = turned(rotation, arm);
    let along = std::array::from_fn(|i| base[i] + displacement[i] + arm[i]);
    LinkResidual { half_square: 0.5 * (dot(along, along) - length_squared), along, moment: cross(arm, along) }
}

/// LU factors of five equations in five unknowns, eliminated in the order they stand in, with `C − 5` right-hand sides in
/// the columns behind the matrix.
pub(crate) struct Lu5<const C: usize> {
    /// Upper triangle and right-hand sides.
    rows: [[f64; C]; 5],
    inverse_pivots: [f64; 5],
    pivots: [f64; 5],
}

impl<const C: usize> Lu5<C> {
    /// Eliminates without a search for pivots. Its loops run over whole arrays with a plain `if` inside, so that they unroll to
    /// straight lines; filtered iterators do not, and cost the batch its SIMD.
    #[inline(always)]
    pub(crate) fn of(mut rows: [[f64; C]; 5]) -> Self {
        let mut pivots = [0.0; 5];
        let mut inverse_pivots = [0.0; 5];
        for k in 0..5 {
            pivots[k] = rows[k][k];
            inverse_pivots[k] = 1.0 / pivots[k];
            let above = rows[k];
            for (i, row) in rows.iter_mut().enumerate() {
                if i > k {
                    let factor = row[k] * inverse_pivots[k];
                    for (j, entry) in row.iter_mut().enumerate() {
                        if j > k {
                            *entry -= factor * above[j];
                        }
                    }
                }
            }
        }
        Self { rows, inverse_pivots, pivots }
    }

    /// In the order of elimination; their product is the determinant, up to the sign of the order.
    #[inline(always)]
    pub(crate) fn pivots(&self) -> &[f64; 5] {
        &self.pivots
    }

    /// Back substitution for the right-hand side in column `column` (5 or more); not finite when a pivot is zero.
    #[inline(always)]
    pub(crate) fn solution(&self, column: usize) -> [f64; 5] {
        let mut solution = [0.0; 5];
        for back in 0..5 {
            let i = 4 - back;
            let mut known = self.rows[i][column];
            for (j, (entry, value)) in self.rows[i].iter().zip(solution).enumerate() {
                if j > i {
                    known -= entry * value;
                }
            }
            solution[i] = known * self.inverse_pivots[i];
        }
        solution
    }
}

/// The order of rows that elimination with partial pivoting ends with.
pub(crate) fn pivoted_order<const C: usize>(mut rows: [[f64; C]; 5]) -> [usize; 5] {
    let mut order = [0, 1, 2, 3, 4];
    for k in 0..5 {
        let best = (k..5).max_by(|&a, &b| rows[a][k].abs().total_cmp(&rows[b][k].abs())).unwrap_or(k);
        rows.swap(k, best);
        order.swap(k, best);
        let above = rows[k];
        for row in &mut rows[k + 1..] {
            let factor = row[k] / above[k];
            for (entry, above) in row.iter_mut().zip(&above) {
                *entry -= factor * above;
            }
        }
    }
    order
}
