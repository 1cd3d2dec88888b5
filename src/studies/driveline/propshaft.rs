//! The propeller shaft: how its joints bend, how unevenly it turns, and how its yokes would best be set.

use std::f64::consts::PI;

use serde::Serialize;

use super::check::Check;
use super::propshaft_checks::{LEAST_OVER_SPEED, case_checks, checks};
use super::propshaft_tubes::{SpanFindings, TubeFindings};
use crate::geometry::{Propshaft, ShaftJointKind};
use crate::shafts::{Chain, permissible_unbalance_g_mm};

/// Of the turn, between two rows of its table.
const STEP_DEG: u32 = 2;
/// Balance grade of drive shafts in ISO 21940-11, mm/s.
const BALANCE_GRADE_MM_PER_S: f64 = 16.0;
/// Phases that differ by less are set alike, deg.
const SAME_PHASE_DEG: f64 = 0.05;

/// How a propeller shaft turns, in one position of engine and final drive, the gearbox turning evenly.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PropshaftMotion {
    /// By how much each joint is bent, from the gearbox to the final drive.
    pub joint_angles_deg: Vec<f64>,
    /// Of the one universal joint that would leave the same ripple, to first order.
    pub equivalent_angle_deg: f64,
    /// Speed of the final drive's input over its mean, highest less lowest of one turn; no unit.
    pub ripple_peak_to_peak: f64,
    /// Largest acceleration that is left at the output at the highest speed; `None` without that speed.
    pub residual_acceleration_rad_per_s2: Option<f64>,
    /// Largest acceleration that the shaft itself suffers at the highest speed; `None` without that speed.
    pub inertia_acceleration_rad_per_s2: Option<f64>,
    /// The same with the final drive turning evenly, as on the overrun.
    pub inertia_acceleration_overrun_rad_per_s2: Option<f64>,
}

/// Everything about one propeller shaft.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PropshaftFindings {
    /// Highest speed of the shaft.
    pub rpm: Option<f64>,
    /// Largest torque in it.
    pub torque_nm: Option<f64>,
    /// What each joint is, from the gearbox to the final drive.
    pub joints: Vec<&'static str>,
    /// As drawn.
    #[serde(flatten)]
    pub motion: PropshaftMotion,
    /// How its yokes stand and how they would best; `None` with fewer than two universal joints, which have no phase.
    pub phasing: Option<Phasing>,
    /// It has one universal joint, whose ripple nothing cancels.
    pub cannot_cancel: bool,
    /// Parts between joints that articulate, from the gearbox; none without tubes.
    pub spans: Vec<SpanFindings>,
    /// That the critical speed should be above; `None` without a highest speed.
    pub wanted_critical_rpm: Option<f64>,
    /// One between each pair of joints; none when the file gives none.
    pub tubes: Vec<TubeFindings>,
    /// Of all tubes, kg.
    pub mass_kg: Option<f64>,
    /// Unbalance that the tubes may keep in balance grade G 16 at the highest speed, g·mm.
    pub permissible_unbalance_g_mm: Option<f64>,
    /// The same shaft with engine or final drive elsewhere.
    pub cases: Vec<PropshaftCaseFindings>,
    /// Every figure beside what it may be.
    pub checks: Vec<Check>,
    /// One turn in steps, as drawn and in every case.
    #[serde(skip)]
    pub turns: Vec<ShaftTurn>,
}

/// How the yokes of the universal joints stand.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Phasing {
    /// Of each universal joint but the last, as the file has it.
    pub present_deg: Vec<f64>,
    /// That would leave the least.
    pub best_deg: Vec<f64>,
    /// Equivalent angle with the best phases.
    pub best_equivalent_angle_deg: f64,
    /// Ripple at the output with the best phases; no unit.
    pub best_ripple_peak_to_peak: f64,
    /// The present phases are the best.
    pub is_best: bool,
}

/// The shaft in another position of engine and final drive.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PropshaftCaseFindings {
    /// What the builder calls it.
    pub name: String,
    /// How it turns there.
    #[serde(flatten)]
    pub motion: PropshaftMotion,
}

/// One shaft of the chain at one turn of the gearbox output.
#[derive(Debug, Clone, PartialEq)]
pub struct ShaftTurn {
    /// Name of the position; `None` as drawn.
    pub case: Option<String>,
    /// Which joint the shaft leaves, counted from 1; 0 for the gearbox output.
    pub after_joint: usize,
    /// Of the gearbox output, from where the input fork of the first universal joint lies in the plane of its shafts.
    pub turn_deg: f64,
    /// Its speed over the mean; no unit.
    pub speed_over_mean: f64,
    /// `None` without a highest speed.
    pub acceleration_rad_per_s2: Option<f64>,
}

impl PropshaftMotion {
    fn of(chain: &Chain, rpm: Option<f64>) -> Self {
        let at_speed = |per_square: f64| rpm.map(|rpm| per_square * (rpm * PI / 30.0).powi(2));
        Self {
            joint_angles_deg: chain.angles_rad().iter().map(|rad| rad.to_degrees()).collect(),
            equivalent_angle_deg: chain.equivalent_angle_rad().to_degrees(),
            ripple_peak_to_peak: chain.output_ripple(),
            residual_acceleration_rad_per_s2: at_speed(chain.output_acceleration()),
            inertia_acceleration_rad_per_s2: at_speed(chain.inner_acceleration()),
            inertia_acceleration_overrun_rad_per_s2: at_speed(chain.inner_coast_acceleration()),
        }
    }
}

impl PropshaftFindings {
    /// `None` when two of its joints coincide, which a file is refused for.
    pub fn of(shaft: &Propshaft) -> Option<Self> {
        let chain = Chain::of(shaft)?;
        let motion = PropshaftMotion::of(&chain, shaft.rpm);
        let tubes = TubeFindings::all(shaft);
        let spans = SpanFindings::all(shaft);
        let mass_kg = (!tubes.is_empty()).then(|| tubes.iter().map(|tube| tube.mass_kg).sum());
        let mut turns = turns(&chain, None, shaft.rpm);
        let mut cases = Vec::new();
        for case in &shaft.cases {
            let chain = Chain::of(&shaft.moved(case))?;
            turns.extend(self::turns(&chain, Some(&case.name), shaft.rpm));
            cases.push(PropshaftCaseFindings {
                name: case.name.clone(),
                motion: PropshaftMotion::of(&chain, shaft.rpm),
            });
        }
        let universal = shaft.joints.iter().filter(|joint| joint.kind == ShaftJointKind::Universal).count();
        let of_cases = cases.iter().flat_map(|case| case_checks(shaft, case));
        let mut checks = checks(shaft, &motion, &spans);
        checks.extend(of_cases);
        Some(Self {
            rpm: shaft.rpm,
            torque_nm: shaft.torque_nm,
            joints: shaft.joints.iter().map(|joint| joint.kind.name()).collect(),
            motion,
            phasing: Phasing::of(shaft, &chain),
            cannot_cancel: universal == 1,
            wanted_critical_rpm: shaft.rpm.map(|rpm| LEAST_OVER_SPEED * rpm),
            spans,
            tubes,
            mass_kg,
            permissible_unbalance_g_mm: mass_kg
                .zip(shaft.rpm)
                .map(|(mass_kg, rpm)| permissible_unbalance_g_mm(BALANCE_GRADE_MM_PER_S, mass_kg, rpm)),
            cases,
            checks,
            turns,
        })
    }
}

impl Phasing {
    fn of(shaft: &Propshaft, chain: &Chain) -> Option<Self> {
        let is_universal = |kind: ShaftJointKind| kind == ShaftJointKind::Universal;
        let universal: Vec<usize> = (0..shaft.joints.len()).filter(|&k| is_universal(shaft.joints[k].kind)).collect();
        let with_phase = &universal[..universal.len().saturating_sub(1)];
        if with_phase.is_empty() {
            return None;
        }
        let mut phases_deg: Vec<f64> = shaft.joints.iter().map(|joint| joint.phase_deg).collect();
        let present_deg: Vec<f64> = with_phase.iter().map(|&k| phases_deg[k]).collect();
        for (&k, by_rad) in with_phase.iter().zip(chain.best_phase_changes_rad()) {
            phases_deg[k] = half_turn(phases_deg[k] + by_rad.to_degrees());
        }
        let best = Chain::with_phases(shaft, &phases_deg)?;
        let best_deg: Vec<f64> = with_phase.iter().map(|&k| phases_deg[k]).collect();
        let off = |(present, best): (&f64, &f64)| half_turn(present - best).abs();
        let is_best = present_deg.iter().zip(&best_deg).all(|pair| off(pair) < SAME_PHASE_DEG);
        Some(Self {
            best_equivalent_angle_deg: best.equivalent_angle_rad().to_degrees(),
            best_ripple_peak_to_peak: best.output_ripple(),
            present_deg,
            best_deg,
            is_best,
        })
    }
}

/// A phase within a quarter turn: yokes turned by half a turn stand as before, deg.
fn half_turn(phase_deg: f64) -> f64 {
    phase_deg - 180.0 * (phase_deg / 180.0).round()
}

/// One turn in steps: every shaft of the chain, one after another.
fn turns(chain: &Chain, case: Option<&str>, rpm: Option<f64>) -> Vec<ShaftTurn> {
    let row = |turn_deg: f64, after_joint: usize| {
        let motion = chain.at(turn_deg.to_radians())[after_joint];
        ShaftTurn {
            case: case.map(str::to_owned),
            after_joint,
            turn_deg,
            speed_over_mean: motion.speed,
            acceleration_rad_per_s2: rpm.map(|rpm| motion.slope * (rpm * PI / 30.0).powi(2)),
        }
    };
    let shafts = 0..=chain.angles_rad().len();
    shafts.flat_map(|shaft| (0..=360 / STEP_DEG).map(move |k| row(f64::from(k * STEP_DEG), shaft))).collect()
}
