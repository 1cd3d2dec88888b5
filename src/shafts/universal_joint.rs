//! The single universal joint.

/// A universal joint whose two shafts make a fixed angle.
///
/// The turn is that of the input fork, rad, counted right-handed along the shaft from where the fork lies **in the plane of
/// the two shafts**. The output fork then stands square to that plane, and its turn counts from there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UniversalJoint {
    cos: f64,
    sin: f64,
}

impl UniversalJoint {
    /// A joint bent by so much, rad; below a quarter turn.
    pub fn new(bend_rad: f64) -> Self {
        Self { cos: bend_rad.cos(), sin: bend_rad.sin() }
    }

    /// Turn of the output fork, rad: `tan ψ = tan θ / cos β`, on the branch of θ within half a turn.
    ///
    /// Source: definition of the joint (the arms of the cross are square); Elbe, calculation data 2.1. Tested by
    /// `tests/shafts/universal_joint.rs`.
    pub fn output_turn_rad(&self, turn_rad: f64) -> f64 {
        turn_rad.sin().atan2(turn_rad.cos() * self.cos)
    }

    /// Speed of the output over that of the input (no unit): `cos β / (1 − sin²β cos²θ)`.
    ///
    /// Source and test as above.
    pub fn speed_ratio(&self, turn_rad: f64) -> f64 {
        self.cos / self.uneven(turn_rad)
    }

    /// Change of the speed ratio with the turn of the input, 1/rad: `−cos β sin²β sin 2θ / (1 − sin²β cos²θ)²`.
    ///
    /// Source: derivative of the above. Tested by `tests/shafts/universal_joint.rs`.
    pub fn speed_ratio_slope(&self, turn_rad: f64) -> f64 {
        -self.cos * self.sin * self.sin * (2.0 * turn_rad).sin() / self.uneven(turn_rad).powi(2)
    }

    fn uneven(&self, turn_rad: f64) -> f64 {
        1.0 - (self.sin * turn_rad.cos()).powi(2)
    }
}

/// Highest less lowest speed of the output over the even speed of the input (no unit): `1/cos β − cos β = tan β sin β`.
///
/// Source: Elbe, calculation data 3. Tested by `tests/shafts/universal_joint.rs`.
pub fn peak_to_peak(bend_rad: f64) -> f64 {
    bend_rad.tan() * bend_rad.sin()
}

/// The most by which the output runs ahead of the input or behind it, rad: `asin(tan²(β/2))`.
///
/// Source: extreme of `ψ − θ`. Tested by `tests/shafts/universal_joint.rs`.
pub fn largest_lead_rad(bend_rad: f64) -> f64 {
    (0.5 * bend_rad).tan().powi(2).asin()
}
