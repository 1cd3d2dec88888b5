//! The catalogue of quantities: what can be limited, aimed at and judged, one line each.
//!
//! A line says what the shop calls a quantity, its unit, what it is taken over, the data without which it has no value, and
//! its keys in `[limits]` and `[targets]`. How its values come from a moved car stands in [`crate::measures`]; every table
//! of limits, on a screen or in a file, is made from the two.

use super::corner::Corner;
use super::interval::Interval;
use super::model::{Car, Geometry};
use super::side::Side;

/// The unit a quantity is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// An angle.
    Degrees,
    /// A slope of an angle over bump travel.
    DegreesPerMillimetre,
    /// Degrees per 25 mm of bump.
    DegreesPer25Millimetres,
    /// A length.
    Millimetres,
    /// A share of a force.
    Percent,
}

impl Unit {
    /// As files and tables write it.
    pub fn symbol(self) -> &'static str {
        match self {
            Unit::Degrees => "deg",
            Unit::DegreesPerMillimetre => "deg/mm",
            Unit::DegreesPer25Millimetres => "deg/25mm",
            Unit::Millimetres => "mm",
            Unit::Percent => "pct",
        }
    }
}

/// What the values of a quantity are taken over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Over {
    /// All wheel travel between the stops, the body level.
    BumpAndDroop,
    /// Body roll both ways, the ride height unchanged.
    Roll,
    /// Design height alone.
    Design,
}

impl Over {
    /// In words, as a table's title has them.
    pub fn words(self) -> &'static str {
        match self {
            Over::BumpAndDroop => "bump and droop",
            Over::Roll => "body roll",
            Over::Design => "at design",
        }
    }
}

/// Whether each wheel has a value or the axle has one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whose {
    /// Each wheel has its own.
    Wheel,
    /// Both wheels together have one.
    Axle,
}

/// Data of the file without which a quantity has no value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Needs {
    /// Always there.
    Nothing,
    /// `[halfshaft]`.
    Halfshaft,
    /// The bolt axis of at least one rod end.
    BoltAxes,
    /// Wheelbase, height of the centre of gravity and driving share.
    DriveShare,
    /// Wheelbase, height of the centre of gravity and braking share.
    BrakeShare,
}

impl Needs {
    /// Why there is no value.
    pub fn lacking(self) -> &'static str {
        match self {
            Needs::Nothing => "no value here",
            Needs::Halfshaft => "no [halfshaft]",
            Needs::BoltAxes => "no bolt axes",
            Needs::DriveShare => "needs wheelbase, cg_height, rear_drive_share",
            Needs::BrakeShare => "needs wheelbase, cg_height, rear_brake_share",
        }
    }

    /// What to add to the file.
    pub fn keys(self) -> &'static str {
        match self {
            Needs::Nothing => "",
            Needs::Halfshaft => "a [halfshaft]",
            Needs::BoltAxes => "`chassis_bolt` and `upright_bolt` on every link",
            Needs::DriveShare => "`wheelbase`, `cg_height` and `rear_drive_share` in [car]",
            Needs::BrakeShare => "`wheelbase`, `cg_height` and `rear_brake_share` in [car]",
        }
    }

    /// Whether a corner and its car have the data.
    pub fn are_there(self, corner: &Corner, car: &Car) -> bool {
        let all = |data: [Option<f64>; 3]| data.iter().all(Option::is_some);
        match self {
            Needs::Nothing => true,
            Needs::Halfshaft => corner.halfshaft.is_some(),
            Needs::BoltAxes => corner.links.iter().any(|l| l.chassis_bolt.is_some() || l.upright_bolt.is_some()),
            Needs::DriveShare => all([car.wheelbase_mm, car.cg_height_mm, car.rear_drive_share]),
            Needs::BrakeShare => all([car.wheelbase_mm, car.cg_height_mm, car.rear_brake_share]),
        }
    }
}

/// Where the limit of a quantity stands in the file, and what a number there means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LimitKey {
    /// In `[limits]`, one number that holds either way.
    EitherWay(&'static str),
    /// In `[limits]`, `[low, high]`.
    Pair(&'static str),
    /// In `[halfshaft]`: the plunge window and the joints' limits.
    PlungeWindow,
    /// In `[halfshaft]`: the inner joint's largest angle.
    InnerLimit,
    /// In `[halfshaft]`: the outer joint's largest angle.
    OuterLimit,
    /// Each rod end has its own, on its link.
    RodEnd,
    /// In `[clearance]`: the least gap, which has a default.
    LeastGap,
    /// It is shown, and has no limit.
    NotLimited,
}

impl LimitKey {
    /// What it limits is never negative, and only its high end can be broken.
    pub fn is_only_high(self) -> bool {
        matches!(self, Self::InnerLimit | Self::OuterLimit | Self::RodEnd)
    }

    /// Where a builder finds it: `` `bump_steer` in [limits]``; `None` for what has no limit.
    pub fn place(self) -> Option<String> {
        self.key_and_table().map(|(key, table)| format!("`{key}` in {table}"))
    }

    /// Its key and the table where that stands: `bump_steer`, `[limits]`.
    pub fn key_and_table(self) -> Option<(&'static str, &'static str)> {
        match self {
            Self::EitherWay(key) | Self::Pair(key) => Some((key, "[limits]")),
            Self::PlungeWindow => Some(("plunge_window", "[halfshaft]")),
            Self::InnerLimit => Some(("inner_limit", "[halfshaft]")),
            Self::OuterLimit => Some(("outer_limit", "[halfshaft]")),
            Self::RodEnd => Some(("rod_end_limit", "[[link]]")),
            Self::LeastGap => Some(("least", "[clearance]")),
            Self::NotLimited => None,
        }
    }
}

/// What a single number in `[targets]` asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TargetForm {
    /// This value.
    Exactly,
    /// At most this, of something that is never negative.
    UpTo,
    /// At most this either way, of something that is 0 at design height.
    EitherWay,
}

impl TargetForm {
    /// What a single number means.
    pub fn interval(self, number: f64) -> Interval {
        match self {
            TargetForm::Exactly => Interval::single(number),
            TargetForm::UpTo => Interval::up_to(number),
            TargetForm::EitherWay => Interval::either_way(number),
        }
    }
}

/// The key of a quantity in `[targets]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TargetKey {
    /// As the file writes it.
    pub key: &'static str,
    /// What a single number there means.
    pub form: TargetForm,
    /// Departure from a target that matters in the shop, in the unit of the quantity: common practice.
    pub matters: f64,
}

/// One line of the catalogue.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Definition {
    /// In the shop's words.
    pub name: &'static str,
    /// Its unit.
    pub unit: Unit,
    /// Decimals on a screen of what is in degrees or per cent; lengths follow the unit of the file.
    pub decimals: usize,
    /// What its values are taken over.
    pub over: Over,
    /// Of each wheel or of the axle.
    pub whose: Whose,
    /// Data of the file without which it has no value.
    pub needs: Needs,
    /// Where its limit stands in the file.
    pub limit: LimitKey,
    /// Its key in `[targets]`, when it can be aimed at.
    pub target: Option<TargetKey>,
    /// Name of the member in `summary.json`, with its unit.
    pub member: &'static str,
    /// The largest limit, either way, that is set on anything that rolls, in its unit: common practice, with room.
    pub credible: f64,
}

/// Of a quantity whose limit holds something back however large it is, or that has none.
const ANY: f64 = f64::INFINITY;

const fn aim(key: &'static str, form: TargetForm, matters: f64) -> Option<TargetKey> {
    Some(TargetKey { key, form, matters })
}

macro_rules! quantities {
    ($($(#[$doc:meta])* $id:ident: $name:literal, $unit:ident, $decimals:literal, $over:ident, $whose:ident, $needs:ident,
        $limit:expr, $target:expr, $member:literal, $credible:expr;)*) => {
        /// A number of a moved car that can be held against a limit or aimed at; definitions and signs are those of `docs/conventions.md`.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Quantity { $(#[doc = $name] #[doc = ""] $(#[$doc])* $id,)* }

        impl Quantity {
            /// In the order in which a builder acts on them: those of a wheel, then those of the axle.
            pub const ALL: &'static [Quantity] = &[$(Quantity::$id,)*];

            /// Its line of the catalogue.
            pub const fn definition(self) -> Definition {
                use LimitKey::{EitherWay, InnerLimit, LeastGap, NotLimited, OuterLimit, Pair, PlungeWindow, RodEnd};
                match self { $(Quantity::$id => Definition {
                    name: $name, unit: Unit::$unit, decimals: $decimals, over: Over::$over, whose: Whose::$whose,
                    needs: Needs::$needs, limit: $limit, target: $target, member: $member, credible: $credible,
                },)* }
            }
        }
    };
}

use TargetForm as Form;
quantities! {
    /// Largest change of toe from design, or from another ride height of the file.
    BumpSteer: "bump steer", Degrees, 3, BumpAndDroop, Wheel, Nothing, EitherWay("bump_steer"), None, "worst_bump_steer_deg", 0.9;
    /// Least-squares line of the toe curve through the design height.
    Slope: "slope", DegreesPerMillimetre, 5, BumpAndDroop, Wheel, Nothing, NotLimited, None, "slope_deg_per_mm", ANY;
    /// What the line leaves of the toe curve, worst.
    Bow: "bow", Degrees, 3, BumpAndDroop, Wheel, Nothing, NotLimited, None, "bow_deg", ANY;
    /// From design.
    CamberChange: "camber change", Degrees, 2, BumpAndDroop, Wheel, Nothing, EitherWay("camber_change"), None, "camber_change_deg", 10.0;
    /// Sideways move of one contact point along the road.
    Scrub: "scrub", Millimetres, 1, BumpAndDroop, Wheel, Nothing, EitherWay("scrub"), aim("scrub", Form::EitherWay, 0.5), "scrub_mm", 60.0;
    /// Fore-and-aft move of the wheel centre.
    Recession: "recession", Millimetres, 1, BumpAndDroop, Wheel, Nothing, EitherWay("recession"), aim("recession", Form::EitherWay, 0.5), "recession_mm", 60.0;
    Plunge: "halfshaft plunge", Millimetres, 1, BumpAndDroop, Wheel, Halfshaft, PlungeWindow, aim("plunge", Form::EitherWay, 0.5), "plunge_mm", 80.0;
    InnerJointAngle: "inner joint angle", Degrees, 2, BumpAndDroop, Wheel, Halfshaft, InnerLimit, aim("inner_joint_angle", Form::UpTo, 0.5), "inner_joint_angle_deg", 50.0;
    OuterJointAngle: "outer joint angle", Degrees, 2, BumpAndDroop, Wheel, Halfshaft, OuterLimit, aim("outer_joint_angle", Form::UpTo, 0.5), "outer_joint_angle_deg", 52.0;
    /// Of the rod end that comes nearest to its own limit.
    RodEndAngle: "rod-end misalignment", Degrees, 2, BumpAndDroop, Wheel, BoltAxes, RodEnd, None, "rod_end_angle_deg", 40.0;
    /// Least gap between the surfaces of two parts, overlap negative.
    Clearance: "clearance", Millimetres, 1, BumpAndDroop, Wheel, Nothing, LeastGap, None, "clearance_mm", ANY;
    /// Change of camber per 25 mm of bump.
    CamberGain: "camber gain", DegreesPer25Millimetres, 3, Design, Wheel, Nothing, NotLimited, aim("camber_gain", Form::Exactly, 0.02), "camber_gain_deg_per_25mm", ANY;
    RollCentreHeight: "roll-centre height", Millimetres, 1, Design, Wheel, Nothing, Pair("roll_centre_height"), aim("roll_centre_height", Form::Exactly, 2.0), "roll_centre_height_mm", 500.0;
    /// Highest minus lowest.
    RollCentreMigration: "roll-centre migration", Millimetres, 1, BumpAndDroop, Wheel, Nothing, NotLimited, aim("roll_centre_migration", Form::UpTo, 2.0), "roll_centre_migration_mm", ANY;
    AntiSquat: "anti-squat", Percent, 1, Design, Wheel, DriveShare, Pair("anti_squat"), aim("anti_squat", Form::Exactly, 2.0), "anti_squat_pct", 200.0;
    AntiLift: "anti-lift (brakes)", Percent, 1, Design, Wheel, BrakeShare, Pair("anti_lift"), None, "anti_lift_pct", 200.0;
    /// Both wheels' scrub together: the change of the distance between the contact points on the road.
    TrackChange: "track change", Millimetres, 1, BumpAndDroop, Axle, Nothing, EitherWay("track_change"), aim("track_change", Form::EitherWay, 1.0), "track_change_mm", 120.0;
    /// Mean change of steer from design.
    RollSteer: "roll steer", Degrees, 2, Roll, Axle, Nothing, EitherWay("roll_steer"), None, "roll_steer_deg", 3.0;
    ThrustAngle: "thrust angle", Degrees, 2, Design, Axle, Nothing, EitherWay("thrust_angle"), None, "thrust_angle_deg", 1.0;
    /// One wheel ahead of the other.
    Setback: "setback", Millimetres, 1, Design, Axle, Nothing, EitherWay("setback"), None, "setback_mm", 50.0;
}

impl Quantity {
    /// In the shop's words.
    pub fn name(self) -> &'static str {
        self.definition().name
    }

    /// With what it is taken over: `scrub (bump and droop)`.
    pub fn title(self) -> String {
        format!("{} ({})", self.name(), self.definition().over.words())
    }

    /// Its unit.
    pub fn unit(self) -> Unit {
        self.definition().unit
    }

    /// Quantities of a wheel, or of the axle, that a file can limit, in the order of the catalogue.
    pub fn limited(whose: Whose) -> impl Iterator<Item = Quantity> {
        let asked = move |q: &Quantity| q.definition().whose == whose && q.definition().limit != LimitKey::NotLimited;
        Self::ALL.iter().copied().filter(asked)
    }

    /// Its key in `[limits]`, when it stands there.
    pub fn limit_key(self) -> Option<&'static str> {
        match self.definition().limit {
            LimitKey::EitherWay(key) | LimitKey::Pair(key) => Some(key),
            _ => None,
        }
    }
}

/// What the builder demands in `[limits]`. A limit that is not given is reported as not checked.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Limits {
    given: Vec<(Quantity, Interval)>,
}

impl Limits {
    /// What the file gives of a quantity, in its unit.
    pub fn get(&self, quantity: Quantity) -> Option<Interval> {
        self.given.iter().find(|(given, _)| *given == quantity).map(|(_, interval)| *interval)
    }

    /// Gives a quantity a limit, or takes it away.
    pub fn set(&mut self, quantity: Quantity, interval: Option<Interval>) {
        self.given.retain(|(given, _)| *given != quantity);
        self.given.extend(interval.map(|interval| (quantity, interval)));
    }

    /// True when the file limits nothing in `[limits]`.
    pub fn is_empty(&self) -> bool {
        self.given.is_empty()
    }
}

impl Geometry {
    /// The interval that a quantity must keep on one side, in its unit; `None` when the file sets none. That of the axle
    /// is the same on both sides; each rod end has its own, see [`super::Link`].
    pub fn limit(&self, quantity: Quantity, side: Side) -> Option<Interval> {
        let shaft = self.corner(side).halfshaft.as_ref();
        match quantity.definition().limit {
            LimitKey::EitherWay(_) | LimitKey::Pair(_) => self.limits.get(quantity),
            LimitKey::PlungeWindow => shaft?.plunge_window_mm,
            LimitKey::InnerLimit => shaft?.inner_limit_deg.map(Interval::up_to),
            LimitKey::OuterLimit => shaft?.outer_limit_deg.map(Interval::up_to),
            LimitKey::LeastGap => Some(Interval { low: self.clearance.least_mm(), high: f64::INFINITY }),
            LimitKey::RodEnd | LimitKey::NotLimited => None,
        }
    }

    /// What has data and could have a limit, and has none: it never passes or fails.
    ///
    /// Tested by `page_report_and_check_count_the_same_quantities_without_a_limit`.
    pub fn without_limit(&self) -> Vec<Quantity> {
        let is_limited = |quantity: Quantity, side: Side| match quantity.definition().limit {
            LimitKey::RodEnd => self.corner(side).links.iter().any(|link| link.rod_end_limit_deg.is_some()),
            _ => self.limit(quantity, side).is_some(),
        };
        let lacks = |quantity: &Quantity| {
            let could = quantity.definition().limit != LimitKey::NotLimited;
            let side_lacks = |&side: &Side| self.has_data_for(*quantity, side) && !is_limited(*quantity, side);
            could && Side::BOTH.iter().any(side_lacks)
        };
        Quantity::ALL.iter().copied().filter(lacks).collect()
    }

    /// Worst change of toe that the file allows either way, deg; `None` when it sets no limit.
    pub fn bump_steer_limit_deg(&self) -> Option<f64> {
        self.limits.get(Quantity::BumpSteer).map(|interval| interval.high)
    }

    /// True when a side and its car have the data of a quantity.
    pub fn has_data_for(&self, quantity: Quantity, side: Side) -> bool {
        quantity.definition().needs.are_there(self.corner(side), &self.car)
    }
}
