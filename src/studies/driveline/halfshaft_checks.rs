//! The figures of a halfshaft beside what they may be.

use super::check::Check;
use super::envelope::Envelope;
use super::halfshaft::HalfshaftFindings;
use crate::geometry::{Halfshaft, HalfshaftJoint, Interval};
use crate::studies::State;

/// `binds`: the wheel binds before the end of its travel, so that nothing of it can pass.
pub(super) fn checks(halfshaft: &Halfshaft, found: &HalfshaftFindings, binds: bool) -> Vec<Check> {
    let make = &halfshaft.make;
    let mut checks = vec![
        angle("inner joint angle", &found.inner_angle_deg, halfshaft.inner_limit_deg, make.inner),
        angle("outer joint angle", &found.outer_angle_deg, halfshaft.outer_limit_deg, make.outer),
        plunge(found),
    ];
    if binds {
        checks.iter_mut().filter(|check| check.state == State::Pass).for_each(|check| {
            check.state = State::NotChecked;
            check.reason = "the wheel binds before the end of its travel";
        });
    }
    checks
}

fn angle(what: &str, envelope: &Envelope, limit_deg: Option<f64>, joint: Option<HalfshaftJoint>) -> Check {
    let reason = "no limit and no type of the joint in [halfshaft]";
    let open = Check::open(what, Some(Interval { low: envelope.low, high: envelope.high }), "deg", reason);
    let most = limit_deg.or(joint.map(HalfshaftJoint::typical_limit_deg));
    open.against(None, most, limit_deg.is_none() && most.is_some())
}

fn plunge(found: &HalfshaftFindings) -> Check {
    let range = Interval { low: found.plunge_mm.low, high: found.plunge_mm.high };
    let open = Check::open("plunge", Some(range), "mm", "no length and no `plunge_window` in [halfshaft]");
    let Some((window, least)) = found.window_mm.zip(found.least_margin) else { return open };
    let check = open.against(Some(window.low), Some(window.high), found.window_is_typical);
    // A window that narrows may have less left elsewhere than at the ends of the range.
    let state = if least.margin_mm < 0.0 { State::Fail } else { State::Pass };
    Check { state, margin: Some(least.margin_mm), ..check }
}
