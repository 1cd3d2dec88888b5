//! Why nothing can be told of a wheel.

use std::borrow::Cow;
use std::error::Error;
use std::fmt;

use super::other_ways::{ByHeights, OtherWay};
use crate::gauge::Instrument;
use crate::geometry::Side;
use crate::mechanism::Bind;

/// Why nothing can be told of a wheel.
#[derive(Debug, Clone, PartialEq)]
pub enum NotCorrected {
    /// The readings have none of it.
    NoReadings {
        /// This wheel.
        side: Side,
    },
    /// One reading makes no curve.
    OneHeight {
        /// This wheel.
        side: Side,
        /// Line of a reading.
        line: usize,
    },
    /// The wheel does not get there.
    BeyondReach {
        /// This wheel.
        side: Side,
        /// Line of the reading.
        line: usize,
        /// Asked for.
        bump_mm: f64,
    },
    /// Two readings at one height that cannot both be right.
    Contradiction {
        /// Their lines.
        lines: [usize; 2],
        /// How far apart they are, in standard deviations of their difference.
        sds: f64,
    },
    /// Toe differs so much between going up and coming down that no reading says where the wheel stands.
    Loose {
        /// This wheel.
        side: Side,
        /// Mean of toe going up less toe coming down at the same height, deg.
        up_less_down_deg: f64,
        /// Lines that would agree with the others as inches.
        in_inches: Vec<usize>,
    },
    /// The readings do not fit the car of the file at all.
    DoesNotFit {
        /// This wheel.
        side: Side,
        /// Lines of those that fit worst, the worst first.
        lines: Vec<usize>,
        /// How far the worst one is off, in standard deviations.
        sds: f64,
    },
    /// A column is probably written wrongly as a whole.
    OtherWay {
        /// This wheel.
        side: Side,
        /// Of its first reading.
        line: usize,
        /// What shows its toe.
        instrument: Instrument,
        /// What the column probably is.
        other_way: OtherWay,
    },
    /// A change of an earlier round names a link or pickup that cannot be changed so.
    ImpossibleRound {
        /// This wheel.
        side: Side,
        /// Counted from 1.
        round: usize,
    },
    /// Its links do not hold the wheel as drawn.
    Singular {
        /// This wheel.
        side: Side,
    },
    /// It binds inside its travel as drawn.
    Binds {
        /// This wheel.
        side: Side,
        /// Where.
        bind: Bind,
    },
    /// The cars that fit the readings do not all move through the travel.
    NotMoving {
        /// This wheel.
        side: Side,
    },
}

impl NotCorrected {
    /// What to do about it.
    pub fn advice(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Self::NoReadings { .. } => "gauge it from full droop to full bump",
            Self::OneHeight { .. } => "read it at several, best every 10 mm from full droop to full bump",
            Self::BeyondReach { .. } => "leave this reading out, or give [travel] the wheel's real travel",
            Self::Contradiction { .. } => "read that height again, and take the wrong one out",
            Self::Loose { in_inches, .. } if !in_inches.is_empty() => "write them in mm, or gauge again",
            Self::Loose { .. } => "take the play out of rod ends and bolts, then gauge again",
            Self::DoesNotFit { .. } => {
                "look at the sign, the instrument and its option, then at the points of the file and `sd` in [weld]"
            }
            Self::OtherWay { instrument, other_way, .. } => {
                let how: Vec<String> = other_way.how.iter().map(|how| how.how_to_write(*instrument)).collect();
                let not_so = match other_way.by_heights {
                    // A car far from its drawing may read like that.
                    None => "; if they are right, give the `sd` in [weld] that the car was really welded to",
                    Some(ByHeights::FromEnd { .. }) => {
                        "; if they are counted so already, give [travel] the wheel's real travel"
                    }
                    Some(_) => "",
                };
                return Cow::Owned(format!(
                    "{}; nothing is prescribed on readings as they stand{not_so}",
                    how.join(", or ")
                ));
            }
            Self::ImpossibleRound { .. } => "correct them in the file of rounds",
            Self::Singular { .. } => "move a pickup",
            Self::Binds { .. } => "reduce the travel, or move one of these links",
            Self::NotMoving { .. } => "reduce the travel",
        })
    }

    /// Lines of the readings that it is about.
    pub fn lines(&self) -> &[usize] {
        match self {
            Self::OneHeight { line, .. } | Self::BeyondReach { line, .. } | Self::OtherWay { line, .. } => {
                std::slice::from_ref(line)
            }
            Self::Contradiction { lines, .. } => lines,
            Self::DoesNotFit { lines, .. } => lines,
            Self::Loose { in_inches, .. } => in_inches.get(..1).unwrap_or_default(),
            Self::NoReadings { .. }
            | Self::ImpossibleRound { .. }
            | Self::Singular { .. }
            | Self::Binds { .. }
            | Self::NotMoving { .. } => &[],
        }
    }
}

impl fmt::Display for NotCorrected {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoReadings { side } => write!(f, "there is no reading of the {} wheel", side.name()),
            Self::OneHeight { side, line } => {
                write!(f, "the {} wheel was read at one height alone (line {line})", side.name())
            }
            Self::BeyondReach { side, line, bump_mm } => {
                write!(f, "line {line}: the {} wheel does not reach {bump_mm} mm", side.name())
            }
            Self::Contradiction { lines: [a, b], sds } => {
                write!(f, "lines {a} and {b} are of one height and {sds:.0} standard deviations apart")
            }
            Self::Loose { side, up_less_down_deg, in_inches } => {
                let (name, deg) = (side.name(), up_less_down_deg.abs());
                write!(f, "toe of the {name} wheel differs by {deg:.2}° between going up and coming down: ")?;
                match in_inches.as_slice() {
                    [] => f.write_str("something is loose"),
                    [first, .., last] => write!(f, "lines {first} to {last} are probably in inches"),
                    [line] => write!(f, "line {line} is probably in inches"),
                }
            }
            Self::DoesNotFit { side, lines, sds, .. } => {
                let lines: Vec<String> = lines.iter().map(ToString::to_string).collect();
                write!(
                    f,
                    "the readings of the {} wheel do not fit the car of the file: line {} is off by {sds:.0} standard \
                     deviations",
                    side.name(),
                    lines.join(", ")
                )
            }
            Self::OtherWay { side, instrument, other_way, .. } => {
                let OtherWay { how, by_heights } = other_way;
                let what: Vec<String> = how.iter().map(|how| how.what(*instrument)).collect();
                let (name, what) = (side.name(), what.join(", or "));
                match by_heights {
                    None => write!(f, "the readings of the {name} wheel do not fit the car as they stand: {what}"),
                    Some(ByHeights::Turned) => {
                        write!(f, "the heights of the {name} wheel fit between its stops the other way round: {what}")
                    }
                    Some(ByHeights::FromEnd { gauged, travel }) => write!(
                        f,
                        "the heights of the {name} wheel go from {:.1} to {:.1} mm, and its travel from {:.1} to {:.1} mm: \
                         {what}",
                        gauged.low, gauged.high, travel.low, travel.high
                    ),
                    Some(ByHeights::NoTravel { span_mm, travel_mm }) => write!(
                        f,
                        "the {name} wheel was gauged over {span_mm:.1} mm of its {travel_mm:.1} mm of travel: {what}"
                    ),
                }
            }
            Self::ImpossibleRound { side, round } => write!(
                f,
                "the {} wheel of round {round} cannot be moved with the changes that were made then",
                side.name()
            ),
            Self::Singular { side } => {
                write!(f, "the {} side is singular as drawn: its links do not hold the wheel", side.name())
            }
            Self::Binds { side, bind } => write!(f, "as drawn the {} wheel {bind}", side.name()),
            Self::NotMoving { side } => {
                write!(f, "cars that fit the readings of the {} wheel do not all move through its travel", side.name())
            }
        }
    }
}

impl Error for NotCorrected {}
