//! Which SIMD instructions work the lanes, found out when the program runs.

use super::lanes::{self, LaneBlock};
use super::plan::Plan;

/// How many cars one instruction works on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Width {
    /// What every processor of the kind has: two cars on x86-64 and on 64-bit ARM.
    Baseline,
    /// Four cars, by AVX2.
    Four,
    /// Eight cars, by AVX-512.
    Eight,
}

impl Width {
    pub const ALL: [Width; 3] = [Width::Baseline, Width::Four, Width::Eight];

    /// Whether this processor can.
    #[cfg(target_arch = "x86_64")]
    pub fn is_available(self) -> bool {
        match self {
            Width::Baseline => true,
            Width::Four => is_x86_feature_detected!("avx2"),
            Width::Eight => is_x86_feature_detected!("avx512f") && is_x86_feature_detected!("avx512dq"),
        }
    }

    /// Whether this processor can.
    #[cfg(not(target_arch = "x86_64"))]
    pub fn is_available(self) -> bool {
        self == Width::Baseline
    }

    /// The widest that this processor has.
    pub fn widest() -> Self {
        Self::ALL.into_iter().rfind(|width| width.is_available()).unwrap_or(Width::Baseline)
    }

    pub(super) fn solve(self, plan: &Plan, lanes: &mut LaneBlock) {
        if !self.is_available() {
            return lanes::solve(plan, lanes);
        }
        match self {
            Width::Baseline => lanes::solve(plan, lanes),
            #[cfg(target_arch = "x86_64")]
            // SAFETY: the processor has AVX2, as `is_available` has just said.
            Width::Four => unsafe { four(plan, lanes) },
            #[cfg(target_arch = "x86_64")]
            // SAFETY: the processor has AVX-512 F and DQ, as `is_available` has just said.
            Width::Eight => unsafe { eight(plan, lanes) },
            #[cfg(not(target_arch = "x86_64"))]
            Width::Four | Width::Eight => lanes::solve(plan, lanes),
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
