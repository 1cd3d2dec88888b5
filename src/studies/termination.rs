//! Why an iteration ended.

use serde::Serialize;

/// Why a descent or a fit ended. Only after [`Termination::Converged`] is nothing better to be found nearby.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Termination {
    /// The next step would gain less than what matters.
    Converged,
    /// No step gains anything, however short.
    TrustRegionExhausted,
    /// The largest number of steps was taken, and the next would still gain.
    StepLimit,
    /// Stopped by the user.
    Stopped,
    /// Every step, however short, leads to a car that cannot be moved through its travel.
    NoPosture,
    /// The QP subproblem has no solution to working accuracy, however short the step.
    QpFailed,
}

impl Termination {
    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Termination::Converged => "converged",
            Termination::TrustRegionExhausted => "trust region exhausted",
            Termination::StepLimit => "step limit",
            Termination::Stopped => "stopped",
            Termination::NoPosture => "no posture",
            Termination::QpFailed => "QP subproblem failed",
        }
    }
}
