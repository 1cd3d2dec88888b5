//! One number of a corner that is odd: what it is about, how odd it is and how to say so.

use crate::geometry::{Corner, CornerPoint, Halfshaft, LengthUnit, Spring};

/// One number of a corner beside what such numbers are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Oddity {
    pub(super) about: About,
    pub(super) what: What,
    pub(super) value: f64,
    /// 1 at the end of the range that sound corners keep, less inside it; no unit.
    pub(super) ratio: f64,
}

/// What an oddity is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum About {
    /// How the whole corner moves.
    Corner,
    Point(CornerPoint),
    Link(usize),
    /// Two links, or a link and the halfshaft.
    Pair(usize, Option<usize>),
    Halfshaft,
    Spring,
}

impl About {
    /// The links that take part in it.
    pub(super) fn links(self) -> impl Iterator<Item = usize> {
        let [first, second] = match self {
            About::Point(point) => [point.link(), None],
            About::Link(link) => [Some(link), None],
            About::Pair(link, other) => [Some(link), other],
            About::Corner | About::Halfshaft | About::Spring => [None, None],
        };
        first.into_iter().chain(second)
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum What {
    ToeGain,
    Steer,
    CamberGain,
    RollCentre,
    PathSlope,
    Margin,
    Bind,
    Passes,
    Outboard,
    OutboardOfOthers,
    FromSpindle,
    InHub,
    InRim,
    FromMiddle,
    AboveRoad,
    AheadOfWheel,
    OutboardOfUpright,
    InTyre,
    BesideUpright,
    Long,
    Steep,
    Taped,
    LengthAlone,
    TimesOthers,
    PlaceAcrossAlone,
    PlaceAlongAlone,
    DirectionAlone,
    ShaftSlope,
    OutOfSquare,
    ShaftReach,
    ShaftLength,
    OffSpindle,
    AtSeat,
    SpringRise,
    SpringLean,
    SpringLong,
    Crosses,
    CrossesOthers,
    Beside,
}

/// So many times as far from the middle of what a shaft reaches as its ends: no tape is so far off.
const SHAFT_SLIP: f64 = 2.0;

impl Oddity {
    /// `value` in the range from `low` to `high`: 0 in its middle, 1 at its ends.
    pub(super) fn within(about: About, what: What, value: f64, low: f64, high: f64) -> Self {
        let ratio = (value - f64::midpoint(low, high)).abs() / (0.5 * (high - low));
        Self { about, what, value, ratio: number_or_worse(ratio) }
    }

    /// At least `least`.
    pub(super) fn at_least(about: About, what: What, value: f64, least: f64) -> Self {
        Self { about, what, value, ratio: number_or_worse(least / value.max(1e-9)) }
    }

    /// True when the oddity speaks of a point.
    pub(super) fn touches(&self, point: CornerPoint) -> bool {
        let of_link = |link: usize| matches!(point, CornerPoint::Pickup(pickup) if pickup.link == link);
        match self.about {
            About::Corner => false,
            About::Point(at) => at == point,
            About::Link(link) => of_link(link),
            About::Pair(link, other) => of_link(link) || other.is_some_and(of_link),
            About::Halfshaft => matches!(point, CornerPoint::HalfshaftInner | CornerPoint::HalfshaftOuter),
            About::Spring => matches!(point, CornerPoint::SpringChassis | CornerPoint::SpringMount),
        }
    }

    /// True when the number by itself is none of a car, with or without a slip that explains it.
    pub(super) fn is_beyond_any_car(&self) -> bool {
        match self.what {
            What::FromMiddle | What::AboveRoad | What::FromSpindle | What::InHub | What::Outboard => self.ratio > 1.0,
            What::AtSeat | What::Long | What::InTyre | What::BesideUpright => self.ratio > 1.0,
            What::ToeGain | What::CamberGain | What::RollCentre | What::PathSlope => self.ratio > 1.6,
            What::Steer => self.ratio > 1.2,
            What::Steep | What::ShaftSlope => self.ratio > 1.3,
            // Their ranges are long, and a tenth of them is much.
            What::OutboardOfUpright | What::AheadOfWheel => self.ratio > 1.1,
            What::ShaftReach | What::ShaftLength | What::TimesOthers | What::SpringRise => self.ratio > 1.0,
            What::OffSpindle => false, // told to the millimetre elsewhere
            What::Margin | What::Bind | What::Passes | What::Taped | What::OutOfSquare | What::InRim => false,
            What::OutboardOfOthers | What::LengthAlone | What::Crosses | What::CrossesOthers => false,
            What::SpringLean | What::SpringLong | What::Beside => false,
            What::PlaceAcrossAlone | What::PlaceAlongAlone | What::DirectionAlone => false,
        }
    }

    /// How well it shows a mistake, to be compared: a number that is none of a car before all others, and what the file
    /// says of shafts and bolts after what no car has.
    pub(super) fn strength(&self) -> (bool, bool, f64) {
        (self.is_beyond_any_car(), !matches!(self.what, What::ShaftLength | What::OutOfSquare), self.ratio)
    }

    /// True when a point is where the other side of the car is.
    pub(super) fn is_across(&self) -> bool {
        self.what == What::FromMiddle && self.value < 0.0
    }

    /// True when it is so odd that a slip of the pen is looked for. A bolt or a rim may itself be wrong, and a tape that is a little off is a measure to be taken again,
    /// and some slip always fits it.
    pub(super) fn asks_for_a_slip(&self) -> bool {
        match self.what {
            What::Taped | What::OutOfSquare | What::InRim => false,
            What::ShaftLength => self.ratio > SHAFT_SLIP,
            _ => self.ratio > 1.0,
        }
    }

    /// Why the corner looks wrong, to stand behind "as written".
    pub(super) fn words(&self, corner: &Corner, units: LengthUnit) -> String {
        let mm = |mm: f64| units.show(mm);
        let size = mm(self.value.abs());
        let way = |less: &'static str, more: &'static str| if self.value < 0.0 { less } else { more };
        match self.what {
            What::ToeGain => format!("toe changes by {:.1} deg in 25 mm of bump", self.value),
            What::Steer => format!("toe changes by {:.1} deg over the travel", self.value),
            What::CamberGain => format!("camber changes by {:.1} deg in 25 mm of bump", self.value),
            What::RollCentre => format!("the roll centre is {size} {} the road", way("below", "above")),
            What::PathSlope => format!("bump moves the wheel {:.1} mm fore and aft in 25 mm", 25.0 * self.value.abs()),
            What::Margin => "the links all but bind".to_owned(),
            What::Bind => format!("the wheel binds at {size} of travel"),
            What::Passes => format!("the middles of {} pass each other at {size}", self.pair(corner)),
            What::Outboard => format!("it is {size} {} the wheel's centre plane", way("inboard of", "outboard of")),
            What::OutboardOfOthers => format!("it is {size} {} of the others", way("inboard", "outboard")),
            What::FromSpindle => format!("it is {size} from the spindle's line, and the wheel turns round it"),
            What::InHub => format!("it is {size} from the spindle's line, where the hub and its bearing are"),
            What::InRim => format!("it is {size} from the spindle's line, and its rim leaves no room there"),
            What::FromMiddle if self.value < 0.0 => "it is on the other side of the car".to_owned(),
            What::FromMiddle => format!("it is {size} from the middle of the car"),
            What::AboveRoad => format!("it is {size} {} the road", way("below", "above")),
            What::AheadOfWheel => format!("it is {size} {} the wheel centre", way("behind", "ahead of")),
            What::OutboardOfUpright => format!("its chassis end is {size} outboard of its upright end"),
            What::InTyre => format!("it is in the tyre, {size} inboard of the wheel's centre plane"),
            What::BesideUpright => {
                let long = mm(self.length_mm(corner));
                format!(
                    "its chassis end is {size} {} its upright end, and it is {long} long",
                    way("outboard of", "inboard of")
                )
            }
            What::Long => format!("it is {size} long"),
            What::Steep => format!("it climbs {size} in {}", mm(self.length_mm(corner))),
            What::Taped => format!("it is {size} {} than its tape says", way("shorter", "longer")),
            What::OutOfSquare => format!("a bolt stands {:.1} deg out of square to its link", self.value),
            What::LengthAlone => format!("it is {} long, like no other", mm(self.length_mm(corner))),
            What::TimesOthers if self.value > 0.0 => {
                format!("it is {} long, {:.1} times the others", mm(self.length_mm(corner)), self.value.exp())
            }
            What::TimesOthers => {
                format!("it is {} long, {:.2} of the others", mm(self.length_mm(corner)), self.value.exp())
            }
            What::PlaceAcrossAlone => format!("it is {size} from the nearest bracket across the car"),
            What::PlaceAlongAlone => format!("it is {size} from the nearest bracket along the car"),
            What::DirectionAlone => "its link lies in a direction of its own".to_owned(),
            What::ShaftReach => format!("its outer joint is {size} {} its inner one", way("inboard of", "outboard of")),
            What::ShaftLength => {
                let reach = corner.halfshaft.as_ref().and_then(Halfshaft::reach_mm);
                let reach = reach.map_or(String::new(), |reach| format!("{} to {}", mm(reach.low), mm(reach.high)));
                format!("its joints are drawn {size} apart, and the file's shaft reaches {reach}")
            }
            What::OffSpindle => format!("it is {size} from the spindle's line"),
            What::AtSeat => {
                format!("it is {size} {} the face on which the wheel seats", way("outboard of", "inboard of"))
            }
            What::ShaftSlope => format!("the halfshaft is {size} out of line with its wheel"),
            What::Crosses => "its link crosses the axle line, and no other does".to_owned(),
            What::CrossesOthers => "seen from above its link lies across the others".to_owned(),
            What::Beside => {
                format!("{} share a hole and stand {:.0} deg apart, like one link", self.pair(corner), self.value)
            }
            What::SpringLean => format!("the spring leans {:.0} deg fore and aft", self.value.abs()),
            What::SpringLong => format!("the spring is {size} long, like no other on such a wheel"),
            What::SpringRise => {
                let (rise, length) = corner.spring.as_ref().map_or((0.0, 0.0), spring_rise_and_length_mm);
                let way = if rise < 0.0 { "below" } else { "above" };
                format!("its frame end is {} {way} its other one, in a length of {}", mm(rise.abs()), mm(length))
            }
        }
    }

    fn pair(&self, corner: &Corner) -> String {
        let name = |link: usize| format!("{:?}", corner.links[link].name);
        match self.about {
            About::Pair(link, Some(other)) => format!("{} and {}", name(link), name(other)),
            About::Pair(link, None) => format!("{} and the halfshaft", name(link)),
            _ => String::new(),
        }
    }

    fn length_mm(&self, corner: &Corner) -> f64 {
        match self.about {
            About::Link(link) => corner.links[link].length_mm(),
            _ => 0.0,
        }
    }
}

/// A number that is none is as odd as can be.
pub(super) fn number_or_worse(ratio: f64) -> f64 {
    if ratio.is_nan() { f64::INFINITY } else { ratio }
}

/// How far the frame end of a spring is above the other one, and how far from it, mm.
pub(super) fn spring_rise_and_length_mm(spring: &Spring) -> (f64, f64) {
    (spring.chassis.z - spring.mount.z, (spring.mount - spring.chassis).norm())
}
