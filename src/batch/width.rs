//! The SIMD instructions that solve the lanes, found out when the program runs.

use super::lanes::{self, LaneBlock};
use super::plan::Plan;

/// How many cars one instruction works on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SimdWidth {
    /// What every processor of the kind has: two cars on x86-64 and on 64-bit ARM.
    Baseline,
    /// Four cars, by AVX2.
    Four,
    /// Eight cars, by AVX-512.
    Eight,
}

impl SimdWidth {
    /// Every width, rising.
    pub const ALL: [SimdWidth; 3] = [SimdWidth::Baseline, SimdWidth::Four, SimdWidth::Eight];

    /// True when this processor has the instructions for it.
    #[cfg(target_arch = "x86_64")]
    pub fn is_available(self) -> bool {
        match self {
            SimdWidth::Baseline => true,
            SimdWidth::Four => is_x86_feature_detected!("avx2"),
            SimdWidth::Eight => is_x86_feature_detected!("avx512f") && is_x86_feature_detected!("avx512dq"),
        }
    }

    /// True when this processor has the instructions for it.
    #[cfg(not(target_arch = "x86_64"))]
    pub fn is_available(self) -> bool {
        self == SimdWidth::Baseline
    }

    /// The widest that this processor has.
    pub(super) fn widest() -> Self {
        Self::ALL.into_iter().rfind(|width| width.is_available()).unwrap_or(SimdWidth::Baseline)
    }

    pub(super) fn solve(self, plan: &Plan, lanes: &mut LaneBlock) {
        if !self.is_available() {
            return lanes::solve(plan, lanes);
        }
        match self {
            SimdWidth::Baseline => lanes::solve(plan, lanes),
            #[cfg(target_arch = "x86_64")]
            // SAFETY: `is_available` has found AVX2.
            SimdWidth::Four => unsafe { four(plan, lanes) },
            #[cfg(target_arch = "x86_64")]
            // SAFETY: `is_available` has found AVX-512 F and DQ.
            SimdWidth::Eight => unsafe { eight(plan, lanes) },
            #[cfg(not(target_arch = "x86_64"))]
            SimdWidth::Four | SimdWidth::Eight => lanes::solve(plan, lanes),
        }
    }
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2")]
fn four(plan: &Plan, lanes: &mut LaneBlock) {
    lanes::solve(plan, lanes);
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx512f,avx512dq")]
fn eight(plan: &Plan, lanes: &mut LaneBlock) {
    lanes::solve(plan, lanes);
}
