//! The catalogue of measures, one line for each column of the tables, and how each quantity of [`crate::geometry`] is computed
//! from them.

use super::axle::{WheelStance, roll_steer_deg, setback_mm, thrust_angle_deg, track_change_mm};
use super::gradient::Partials;
use super::placed::{Placed, acute_angles_deg, angle_deg};
use super::row::{DesignContact, Row};
use crate::geometry::{Car, Corner, Interval, PerSide, Quantity};
use crate::mechanism::Posture;

/// How one measure is read.
#[derive(Clone, Copy)]
struct Reader {
    column: &'static str,
    /// From a row, in car axes; `None` where the geometry lacks the data or the value does not exist.
    row: fn(&Row) -> Option<f64>,
    /// From the place of the upright alone, where that decides it; up to a constant, which drops out of a change from design.
    placed: Option<fn(&Placed) -> Option<f64>>,
}

/// Adds everything that a measure depends on, to first order; `None` without data, or where it has a kink.
type Derivative = fn(&mut Partials) -> Option<()>;

macro_rules! measures {
    ($($(#[$doc:meta])* $id:ident: $column:literal, $row:expr, $placed:expr, $derivative:expr;)*) => {
        /// A number that is read from one wheel at one position: one for each column of the tables, in their order. The unit
        /// is in the name of the column; signs are those of `docs/conventions.md`.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        pub enum Measure { $(#[doc = $column] #[doc = ""] $(#[$doc])* $id,)* }

        impl Measure {
            /// In the order of the columns.
            pub const ALL: &'static [Measure] = &[$(Measure::$id,)*];

            const fn reader(self) -> Reader {
                match self { $(Measure::$id => {
                    const READER: Reader = Reader { column: $column, row: $row, placed: $placed };
                    READER
                })* }
            }

            const fn has_derivative(self) -> bool {
                match self { $(Measure::$id => {
                    const DERIVATIVE: Option<Derivative> = $derivative;
                    DERIVATIVE.is_some()
                })* }
            }

            /// Adds everything that it depends on, to first order; `None` without a derivative. Each arm calls its function
            /// by name, not by a pointer from a table: the compiler can then build it in where the derivatives are written.
            #[inline]
            pub(super) fn differentiate(self, partials: &mut Partials) -> Option<()> {
                match self { $(Measure::$id => {
                    const DERIVATIVE: Option<Derivative> = $derivative;
                    DERIVATIVE?(partials)
                })* }
            }
        }
    };
}

measures! {
    Bump: "bump_mm", |r| Some(r.bump_mm), None, None;
    BodyRoll: "body_roll_deg", |r| Some(r.body_roll_deg), None, None;
    RideHeightChange: "ride_height_change_mm", |r| Some(r.ride_height_change_mm), None, None;
    Toe: "toe_deg", |r| Some(r.wheel.toe_deg), Some(|p| Some(p.toe_deg)), Some(|p| p.toe());
    Steer: "steer_deg", |r| Some(r.wheel.steer_deg), None, None;
    Camber: "camber_deg", |r| Some(r.wheel.camber_deg), Some(|p| Some(p.camber_deg)), Some(|p| p.camber());
    Inclination: "inclination_deg", |r| Some(r.road.inclination_deg), None, None;
    ContactX: "contact_x_mm", |r| Some(r.road.contact.x), None, Some(|p| p.contact_x());
    ContactY: "contact_y_mm", |r| Some(r.side.to_car(r.road.contact).y), None, None;
    ContactZ: "contact_z_mm", |r| Some(r.road.contact.z), None, Some(|p| p.contact_z());
    Scrub: "scrub_mm", |r| Some(r.road.lateral_mm), Some(|p| Some(p.contact().y)), Some(|p| p.contact_lateral());
    Recession: "recession_mm", |r| Some(r.wheel.recession_mm), Some(|p| Some(-p.displacement.x)), Some(|p| p.recession());
    UprightPitch: "upright_pitch_deg", |r| Some(r.wheel.upright_pitch_deg), None, Some(|p| p.upright_pitch());
    WheelCentreX: "wheel_centre_x_mm", |r| Some(r.wheel.wheel_centre.x), None, None;
    WheelCentreY: "wheel_centre_y_mm", |r| Some(r.side.to_car(r.wheel.wheel_centre).y), None, None;
    WheelCentreZ: "wheel_centre_z_mm", |r| Some(r.wheel.wheel_centre.z), None, None;
    InnerJointAngle: "shaft_inner_angle_deg", |r| Some(r.wheel.shaft?.inner_angle_deg), Some(|p| p.at_inner_joint().map(angle_deg)), Some(|p| p.inner_angle());
    OuterJointAngle: "shaft_outer_angle_deg", |r| Some(r.wheel.shaft?.outer_angle_deg), Some(|p| p.at_outer_joint().map(angle_deg)), Some(|p| p.outer_angle());
    Plunge: "shaft_plunge_mm", |r| Some(r.wheel.shaft?.plunge_mm), Some(|p| p.plunge_mm()), Some(|p| p.plunge());
    BumpSteerGradient: "bump_steer_gradient_deg_per_mm", |r| Some(r.wheel.bump_steer_gradient_deg_per_mm), None, Some(|p| p.bump_steer_gradient());
    CamberGradient: "camber_gradient_deg_per_mm", |r| Some(r.wheel.camber_gradient_deg_per_mm), None, Some(|p| p.camber_gradient());
    RollCentreHeight: "roll_centre_height_mm", |r| r.roll_centre_height_mm, None, Some(|p| p.roll_centre_height());
    RollCentreLateral: "roll_centre_lateral_mm", |r| r.roll_centre_lateral_mm, None, None;
    WheelCentrePath: "wheel_centre_path_deg", |r| Some(r.wheel.wheel_centre_path_deg), None, Some(|p| p.wheel_centre_path());
    AntiSquat: "anti_squat_pct", |r| r.wheel.anti_squat_pct, None, Some(|p| p.anti_squat());
    AntiLift: "anti_lift_pct", |r| r.road.anti_lift_pct, None, Some(|p| p.anti_lift());
    SpringLength: "spring_length_mm", |r| Some(r.wheel.spring?.length_mm), None, Some(|p| p.spring_length());
    DamperPerWheel: "damper_per_wheel", |r| Some(r.wheel.spring?.ratio), None, Some(|p| p.damper_per_wheel());
    /// Solver check.
    ClosureError: "residual_mm", |r| Some(r.closure_error_mm), None, None;
    TrackChange: "track_change_mm", |r| Some(track_change_mm(r.axle()?, PerSide::default())), None, None;
}

impl Measure {
    /// Name of its column, with the unit.
    pub fn column(self) -> &'static str {
        self.reader().column
    }

    /// Its value in a row, places in car axes.
    pub fn of(self, row: &Row) -> Option<f64> {
        (self.reader().row)(row)
    }

    /// Its value at a posture with the body level, places in car axes. For several measures of one posture make one [`Row`].
    pub fn at(self, corner: &Corner, car: &Car, posture: &Posture) -> Option<f64> {
        self.of(&Row::level(corner, car, posture, &DesignContact::of(corner)))
    }

    /// Its value at a place without motion, up to a constant, which drops out of a change from design; `None` where it needs
    /// the motion, the road, or data that the file lacks.
    pub fn placed(self, at: &Placed) -> Option<f64> {
        (self.reader().placed?)(at)
    }

    /// From its lowest to its highest value at some places; `None` where [`Self::placed`] has none at one of them.
    pub fn placed_range(self, places: &[Placed]) -> Option<Interval> {
        let acute = match self {
            Self::InnerJointAngle => acute_angles_deg(places, Placed::at_inner_joint),
            Self::OuterJointAngle => acute_angles_deg(places, Placed::at_outer_joint),
            _ => None,
        };
        let read = self.reader().placed?;
        acute.or_else(|| Interval::of_all(places.iter().map(read)))
    }

    /// Whether [`Self::placed`] can read it at all.
    pub fn is_read_from_place(self) -> bool {
        self.reader().placed.is_some()
    }

    /// Those with derivatives by everything that a builder can move.
    pub fn differentiable() -> impl Iterator<Item = Measure> {
        Self::ALL.iter().copied().filter(|measure| measure.has_derivative())
    }
}

/// How a quantity is made of measures.
#[derive(Clone, Copy)]
pub enum Reading {
    /// Change from design over bump and droop, and from the other ride heights of the file.
    ChangeAboutHeights(Measure),
    /// Change from design over bump and droop.
    Change(Measure),
    /// The measure itself over bump and droop.
    Value(Measure),
    /// Highest minus lowest over bump and droop.
    Migration(Measure),
    /// At design, times a factor.
    Design(Measure, f64),
    /// Slope of the least-squares line through the curve, zero at design, per mm of bump.
    Slope(Measure),
    /// What that line leaves of the curve.
    Bow(Measure),
    /// The rod end that comes nearest to its own limit.
    RodEnds,
    /// The two bodies that come nearest to each other.
    LeastGap,
    /// From both wheels, left first, at design.
    AxleAtDesign(fn(PerSide<WheelStance>) -> f64),
    /// From both wheels at one bump travel, and at design.
    AxleOverTravel(fn(PerSide<WheelStance>, PerSide<WheelStance>) -> f64),
    /// From both wheels at one angle of body roll, and at design. Built wheels have no scrub in roll: a figure made of it
    /// cannot be held in a weld study.
    AxleInRoll(fn(PerSide<WheelStance>, PerSide<WheelStance>) -> f64),
}

impl Quantity {
    /// How its values come from a moved car.
    pub fn reading(self) -> Reading {
        use Reading::{AxleAtDesign, AxleInRoll, Bow, Change, ChangeAboutHeights, Design, Migration, Slope, Value};
        match self {
            Quantity::BumpSteer => ChangeAboutHeights(Measure::Toe),
            Quantity::Slope => Slope(Measure::Toe),
            Quantity::Bow => Bow(Measure::Toe),
            Quantity::CamberChange => Change(Measure::Camber),
            Quantity::Scrub => Change(Measure::Scrub),
            Quantity::Recession => Change(Measure::Recession),
            Quantity::Plunge => Value(Measure::Plunge),
            Quantity::InnerJointAngle => Value(Measure::InnerJointAngle),
            Quantity::OuterJointAngle => Value(Measure::OuterJointAngle),
            Quantity::RodEndAngle => Reading::RodEnds,
            Quantity::Clearance => Reading::LeastGap,
            Quantity::CamberGain => Design(Measure::CamberGradient, 25.0),
            Quantity::RollCentreHeight => Design(Measure::RollCentreHeight, 1.0),
            Quantity::RollCentreMigration => Migration(Measure::RollCentreHeight),
            Quantity::AntiSquat => Design(Measure::AntiSquat, 1.0),
            Quantity::AntiLift => Design(Measure::AntiLift, 1.0),
            Quantity::TrackChange => Reading::AxleOverTravel(track_change_mm),
            Quantity::RollSteer => AxleInRoll(roll_steer_deg),
            Quantity::ThrustAngle => AxleAtDesign(thrust_angle_deg),
            Quantity::Setback => AxleAtDesign(setback_mm),
        }
    }
}
