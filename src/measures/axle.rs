//! Measures that need both wheels.

/// Thrust angle of the axle, deg: `(toe right − toe left) / 2`; positive when the rear axle steers left.
///
/// Source: wheel-alignment practice; sign from ISO 8855 steer. Tested by the unit test below.
pub fn thrust_angle_deg(toe_left_deg: f64, toe_right_deg: f64) -> f64 {
    (toe_right_deg - toe_left_deg) / 2.0
}

/// Setback, mm: left minus right wheel-centre x; positive when the left wheel is ahead.
pub fn setback_mm(left_wheel_centre_x_mm: f64, right_wheel_centre_x_mm: f64) -> f64 {
    left_wheel_centre_x_mm - right_wheel_centre_x_mm
}

/// Track change, mm: the sum of the scrubs of both sides along the road.
pub fn track_change_mm(half_left_mm: f64, half_right_mm: f64) -> f64 {
    half_left_mm + half_right_mm
}

/// Roll steer of the axle, deg: the mean of the steer angles minus its design value; positive steers left.
pub fn roll_steer_deg(steer_deg: [f64; 2], design_steer_deg: [f64; 2]) -> f64 {
    (steer_deg[0] + steer_deg[1] - design_steer_deg[0] - design_steer_deg[1]) / 2.0
}

#[cfg(test)]
mod tests {
    use super::{roll_steer_deg, thrust_angle_deg};
    use crate::geometry::Side;
    use crate::measures::steer_deg;

    #[test]
    fn an_axle_that_points_left_has_positive_thrust_angle_and_steer() {
        // Right wheel toed in, left wheel toed out by as much: both wheels point left.
        let (left, right) = (-0.2, 0.2);
        assert_eq!(thrust_angle_deg(left, right), 0.2);
        let steer = [steer_deg(Side::Left, left), steer_deg(Side::Right, right)];
        assert_eq!(roll_steer_deg(steer, [0.0, 0.0]), 0.2);
    }
}
