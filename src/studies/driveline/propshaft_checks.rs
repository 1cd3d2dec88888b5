//! The figures of the propeller shaft beside what they may be.

use super::check::Check;
use super::propshaft::{PropshaftCaseFindings, PropshaftMotion};
use super::propshaft_tubes::{SpanFindings, SpanHold};
use crate::geometry::{Interval, Propshaft, ShaftJoint, ShaftJointKind};

/// A universal joint must move a little, or its needles mark their races, deg: makers of such shafts.
const LEAST_UNIVERSAL_DEG: f64 = 0.5;
/// What may be left at the output, rad/s²: common limit of makers and of the SAE's manual on universal joints.
const MOST_RESIDUAL_RAD_PER_S2: f64 = 400.0;
/// What the shaft itself may suffer, rad/s²: what makers' tables of joint angle against speed amount to.
const MOST_INERTIA_RAD_PER_S2: f64 = 1000.0;
/// Critical speed over the highest speed: common practice, no unit.
pub(super) const LEAST_OVER_SPEED: f64 = 1.4;

/// Of the shaft as drawn.
pub(super) fn checks(shaft: &Propshaft, motion: &PropshaftMotion, spans: &[SpanFindings]) -> Vec<Check> {
    let mut checks = of_motion(shaft, motion, "");
    checks.extend(spans.iter().map(of_span));
    if spans.is_empty() {
        checks.push(Check::open("critical speed", None, "times", "no [[propshaft.tube]]"));
    }
    checks
}

/// Of another position of engine and final drive; the tubes stay what they are.
pub(super) fn case_checks(shaft: &Propshaft, case: &PropshaftCaseFindings) -> Vec<Check> {
    of_motion(shaft, &case.motion, &format!(", {}", case.name))
}

fn of_motion(shaft: &Propshaft, motion: &PropshaftMotion, case: &str) -> Vec<Check> {
    let angles = shaft.joints.iter().zip(&motion.joint_angles_deg).enumerate();
    let of_joint = |(k, (joint, angle_deg)): (usize, (&ShaftJoint, &f64))| {
        let most = joint.limit_deg.or(joint.kind.typical_limit_deg())?;
        let least = (joint.kind == ShaftJointKind::Universal).then_some(LEAST_UNIVERSAL_DEG);
        let what = format!("angle of joint {}{case}", k + 1);
        let open = Check::open(what, Some(Interval::single(*angle_deg)), "deg", "");
        Some(open.against(least, Some(most), joint.limit_deg.is_none()))
    };
    let mut checks: Vec<Check> = angles.filter_map(of_joint).collect();
    let worst = |a: Option<f64>, b: Option<f64>| a.zip(b).map(|(a, b)| a.max(b));
    let suffered = worst(motion.inertia_acceleration_rad_per_s2, motion.inertia_acceleration_overrun_rad_per_s2);
    for (what, value, most) in [
        ("acceleration left at output", motion.residual_acceleration_rad_per_s2, MOST_RESIDUAL_RAD_PER_S2),
        ("acceleration of the shaft", suffered, MOST_INERTIA_RAD_PER_S2),
    ] {
        let open =
            Check::open(format!("{what}{case}"), value.map(Interval::single), "rad/s2", "no `rpm` in [propshaft]");
        checks.push(open.against(None, Some(most), true));
    }
    checks
}

fn of_span(span: &SpanFindings) -> Check {
    let [first, last] = span.joints;
    let what = format!("critical speed, joints {first}-{last}");
    let reason = match span.held {
        SpanHold::Unknown => "needs `radial_stiffness` of the coupling",
        SpanHold::Centred | SpanHold::OnCoupling => "no `rpm` in [propshaft]",
    };
    let open = Check::open(what, span.over_highest_speed.map(Interval::single), "times", reason);
    open.against(Some(LEAST_OVER_SPEED), None, true)
}
