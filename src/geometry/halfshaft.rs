//! How a halfshaft is made: the kinds of its joints, and how far it can be pushed in and pulled out.

use super::interval::Interval;

/// What is known of a halfshaft beside its joint centres; everything may be absent.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct HalfshaftMake {
    /// Kind of the inner joint.
    pub inner: Option<HalfshaftJoint>,
    /// Kind of the outer joint.
    pub outer: Option<HalfshaftJoint>,
    /// How long it is between the joint centres.
    pub length: Option<HalfshaftLength>,
    /// How far its joints and splines can plunge from end to end, mm, by its maker.
    pub plunge_mm: Option<f64>,
    /// How the window narrows with the angle of the joint that plunges: angles rise, and the window is straight between two
    /// of them. Empty when it does not.
    pub narrowing: Vec<WindowAtAngle>,
    /// Yoke of the outer universal joint against that of the inner one, deg, right-handed looking outboard on the left; the
    /// right side is the mirror image. Without meaning unless both joints are universal.
    pub phase_deg: f64,
}

/// A plunge window at one angle of the joint that plunges.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WindowAtAngle {
    /// deg.
    pub angle_deg: f64,
    /// Counted like [`super::Halfshaft::plunge_window_mm`].
    pub window_mm: Interval,
}

/// Between the centres of the joints.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum HalfshaftLength {
    /// A shaft that is there: pushed in (`low`) and pulled out (`high`), mm.
    Donor(Interval),
    /// A shaft that is to be made, with its plunging joint half-way, mm.
    Made(f64),
}

/// Joints of halfshafts by their trade names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HalfshaftJoint {
    /// Six balls in curved grooves; it does not plunge.
    FixedBall,
    /// Three rollers in straight tracks.
    PlungingTripod,
    /// Balls in straight grooves.
    PlungingBall,
    /// Balls in grooves that cross.
    CrossGroove,
    /// Balls in straight grooves, the cage offset both ways.
    DoubleOffset,
    /// Cross and two yokes; it passes an uneven speed.
    Universal,
}

impl HalfshaftJoint {
    /// As the file writes them.
    pub const BY_NAME: [(&'static str, HalfshaftJoint); 6] = [
        ("fixed ball", HalfshaftJoint::FixedBall),
        ("plunging tripod", HalfshaftJoint::PlungingTripod),
        ("plunging ball", HalfshaftJoint::PlungingBall),
        ("cross groove", HalfshaftJoint::CrossGroove),
        ("double offset", HalfshaftJoint::DoubleOffset),
        ("universal", HalfshaftJoint::Universal),
    ];

    /// In the shop's words.
    pub fn name(self) -> &'static str {
        match self {
            HalfshaftJoint::FixedBall => "fixed ball joint",
            HalfshaftJoint::PlungingTripod => "plunging tripod joint",
            HalfshaftJoint::PlungingBall => "plunging ball joint",
            HalfshaftJoint::CrossGroove => "cross-groove joint",
            HalfshaftJoint::DoubleOffset => "double-offset joint",
            HalfshaftJoint::Universal => "universal joint",
        }
    }

    /// Largest angle while the file gives no maker's figure, deg: typical of handbooks. The tripod and the fixed ball from an
    /// article on such joints, the others from memory.
    pub fn typical_limit_deg(self) -> f64 {
        match self {
            HalfshaftJoint::FixedBall => 47.0,
            HalfshaftJoint::PlungingTripod => 26.0,
            HalfshaftJoint::PlungingBall => 20.0,
            HalfshaftJoint::CrossGroove => 18.0,
            HalfshaftJoint::DoubleOffset => 22.0,
            HalfshaftJoint::Universal => 25.0,
        }
    }

    /// How far it can plunge from end to end while the file gives no maker's figure, mm: typical, from memory.
    pub fn typical_plunge_mm(self) -> f64 {
        match self {
            HalfshaftJoint::FixedBall | HalfshaftJoint::Universal => 0.0,
            HalfshaftJoint::PlungingTripod | HalfshaftJoint::DoubleOffset => 50.0,
            HalfshaftJoint::PlungingBall | HalfshaftJoint::CrossGroove => 40.0,
        }
    }

    /// True for a joint whose centre distance may change.
    pub fn plunges(self) -> bool {
        self.typical_plunge_mm() > 0.0
    }
}

impl HalfshaftMake {
    /// How far the shaft can plunge from end to end, mm, and whether that is typical of its joints and not from the file;
    /// `None` when neither is known. Both joints may plunge.
    pub fn plunge_travel_mm(&self) -> Option<(f64, bool)> {
        let typical = || {
            let both = [self.inner, self.outer].into_iter().flatten().map(HalfshaftJoint::typical_plunge_mm);
            both.reduce(|a, b| a + b).filter(|mm| *mm > 0.0).map(|mm| (mm, true))
        };
        match (self.plunge_mm, self.length) {
            (Some(mm), _) => Some((mm, false)),
            (None, Some(HalfshaftLength::Donor(between))) => Some((between.width(), false)),
            (None, _) => typical(),
        }
    }

    /// What joint centres so far apart at design may plunge, mm from there, pulled apart positive; with whether that is
    /// typical of the joints. `None` when the shaft's length is not known.
    pub fn window_mm(&self, design_mm: f64) -> Option<(Interval, bool)> {
        match self.length? {
            HalfshaftLength::Donor(between) => {
                Some((Interval { low: between.low - design_mm, high: between.high - design_mm }, false))
            }
            HalfshaftLength::Made(length_mm) => {
                let (travel_mm, typical) = self.plunge_travel_mm()?;
                let middle = length_mm - design_mm;
                Some((Interval { low: middle - 0.5 * travel_mm, high: middle + 0.5 * travel_mm }, typical))
            }
        }
    }

    /// The window at an angle of the joint that plunges, mm; `None` without [`HalfshaftMake::narrowing`]. Beyond its ends it
    /// stays what it is there.
    pub fn window_at(&self, angle_deg: f64) -> Option<Interval> {
        let (first, last) = (self.narrowing.first()?, self.narrowing.last()?);
        if angle_deg <= first.angle_deg {
            return Some(first.window_mm);
        }
        for pair in self.narrowing.windows(2) {
            let [a, b] = [pair[0], pair[1]];
            if angle_deg <= b.angle_deg {
                let share = (angle_deg - a.angle_deg) / (b.angle_deg - a.angle_deg);
                let between = |from: f64, to: f64| from + share * (to - from);
                return Some(Interval {
                    low: between(a.window_mm.low, b.window_mm.low),
                    high: between(a.window_mm.high, b.window_mm.high),
                });
            }
        }
        Some(last.window_mm)
    }
}
