//! The parts that pull between the frame and the upright.

use crate::geometry::{Corner, End};

/// A link, the spring, or the droop strap.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// By its place in the file, 0 to 4.
    Link(usize),
    /// With everything that acts along its line: damper, bump rubber.
    Spring,
    /// On a line of its own.
    Strap,
}

impl Part {
    /// The links in file order, the spring, and the strap of a corner that has one.
    pub fn all(corner: &Corner) -> impl Iterator<Item = Self> + use<> {
        let has_strap = corner.spring.as_ref().is_some_and(|spring| spring.make.strap.is_some());
        (0..corner.links.len()).map(Self::Link).chain([Self::Spring]).chain(has_strap.then_some(Self::Strap))
    }

    /// Name of the link, `spring`, `strap`.
    pub fn name(self, corner: &Corner) -> &str {
        match self {
            Self::Link(index) => &corner.links[index].name,
            Self::Spring => "spring",
            Self::Strap => "strap",
        }
    }

    /// Its end on the frame: `toe link chassis`.
    pub fn bracket(self, corner: &Corner) -> String {
        format!("{} {}", self.name(corner), End::Chassis.name())
    }
}
