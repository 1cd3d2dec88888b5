//! Measures that need both wheels.

use super::wheel::steer_deg;
use crate::geometry::{PerSide, Side};

/// What the measures of an axle need of one wheel.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct WheelStance {
    /// Per wheel, deg, toe-in positive.
    pub toe_deg: f64,
    /// Wheel centre, forward positive, mm.
    pub wheel_centre_x_mm: f64,
    /// Contact point moved outboard along the road from design, mm.
    pub lateral_mm: f64,
}

/// Thrust angle of the axle, deg: `(toe right − toe left) / 2`; positive when the rear axle steers left.
///
/// Source: wheel-alignment practice; sign from ISO 8855 steer. Tested by the unit test below.
pub fn thrust_angle_deg(PerSide { left, right }: PerSide<WheelStance>) -> f64 {
    (right.toe_deg - left.toe_deg) / 2.0
}

/// Setback, mm: left minus right wheel-centre x; positive when the left wheel is ahead.
pub fn setback_mm(PerSide { left, right }: PerSide<WheelStance>) -> f64 {
    left.wheel_centre_x_mm - right.wheel_centre_x_mm
}

/// Track change of the axle, mm: the sum of both wheels' scrub, less that at design: how much further apart the contact points
/// stand on the road.
///
/// Source: definition in `docs/conventions.md`. Tested by `tests/kinematics/properties.rs` (distance of the contact points).
pub fn track_change_mm(now: PerSide<WheelStance>, design: PerSide<WheelStance>) -> f64 {
    now.left.lateral_mm + now.right.lateral_mm - design.left.lateral_mm - design.right.lateral_mm
}

/// Roll steer of the axle, deg: the mean of the steer angles minus its design value; positive steers left.
pub fn roll_steer_deg(now: PerSide<WheelStance>, design: PerSide<WheelStance>) -> f64 {
    let steer = |stances: PerSide<WheelStance>| PerSide {
        left: steer_deg(Side::Left, stances.left.toe_deg),
        right: steer_deg(Side::Right, stances.right.toe_deg),
    };
    let (now, design) = (steer(now), steer(design));
    (now.left + now.right - design.left - design.right) / 2.0
}

#[cfg(test)]
mod tests {
    use super::{PerSide, WheelStance, roll_steer_deg, setback_mm, thrust_angle_deg, track_change_mm};

    #[test]
    fn an_axle_that_points_left_has_positive_thrust_angle_and_steer() {
        // Right wheel toed in, left wheel toed out by as much: both wheels point left.
        let axle = PerSide { left: -0.2, right: 0.2 }.map(|toe_deg| WheelStance { toe_deg, ..WheelStance::default() });
        assert_eq!(thrust_angle_deg(axle), 0.2);
        assert_eq!(roll_steer_deg(axle, PerSide::default()), 0.2);
    }

    /// Both contact points in car axes, the left one at y = 700 + 4 + 1 and the right one at y = −(690 + 5 + 2): 1402 mm apart,
    /// where 1399 mm were at design. The left wheel has turned its front by 0.3° to the left and the right one by 0.5°.
    #[test]
    fn what_changes_is_counted_from_design_on_both_wheels() {
        let stance = |toe_deg, wheel_centre_x_mm, lateral_mm| WheelStance { toe_deg, wheel_centre_x_mm, lateral_mm };
        let design = PerSide { left: stance(0.1, 2.0, 4.0), right: stance(0.2, -1.0, 5.0) };
        let now = PerSide { left: stance(0.1 - 0.3, 2.0, 4.0 + 1.0), right: stance(0.2 + 0.5, -1.0, 5.0 + 2.0) };
        assert!((track_change_mm(now, design) - 3.0).abs() < 1e-12);
        assert!((roll_steer_deg(now, design) - 0.4).abs() < 1e-12);
        assert!((thrust_angle_deg(design) - 0.05).abs() < 1e-12);
        assert_eq!(setback_mm(design), 3.0);
    }
}
