//! The coordinates of pickups, and what they are called.

use nalgebra::Vector3;
use serde::Serialize;

/// One of the three axes of a corner: x forward, y outboard, z up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Axis {
    /// Forward.
    X,
    /// Outboard.
    Y,
    /// Up.
    Z,
}

impl Axis {
    /// In their order.
    pub const ALL: [Axis; 3] = [Axis::X, Axis::Y, Axis::Z];

    /// Place of this coordinate among the three of a point.
    pub fn index(self) -> usize {
        self as usize
    }

    /// `x`, `y` or `z`, as files write it.
    pub fn name(self) -> &'static str {
        match self {
            Axis::X => "x",
            Axis::Y => "y",
            Axis::Z => "z",
        }
    }

    /// The one that a direction lies nearest to; the first of those that are as near.
    pub fn nearest(way: [f64; 3]) -> Axis {
        let farther = |a: Axis, b: Axis| if way[b.index()].abs() > way[a.index()].abs() { b } else { a };
        Axis::ALL.into_iter().fold(Axis::X, farther)
    }

    /// The line along which a point moves, in the shop's words.
    pub fn line(self) -> &'static str {
        match self {
            Axis::X => "fore-aft",
            Axis::Y => "in-out",
            Axis::Z => "up-down",
        }
    }

    /// Which way a move by `by_mm` along this axis goes, in the shop's words.
    pub fn way(self, by_mm: f64) -> &'static str {
        match (self, by_mm >= 0.0) {
            (Axis::X, true) => "forward",
            (Axis::X, false) => "rearward",
            (Axis::Y, true) => "outboard",
            (Axis::Y, false) => "inboard",
            (Axis::Z, true) => "up",
            (Axis::Z, false) => "down",
        }
    }

    /// Unit vector along it, in side axes.
    pub fn direction(self) -> Vector3<f64> {
        Vector3::ith(self.index(), 1.0)
    }
}

/// Which end of a link.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum End {
    /// The bracket on the frame.
    Chassis,
    /// The eye on the upright.
    Upright,
}

impl End {
    /// In the order of tables.
    pub const BOTH: [End; 2] = [End::Chassis, End::Upright];

    /// `chassis` or `upright`, as files and tables write it.
    pub fn name(self) -> &'static str {
        match self {
            End::Chassis => "chassis",
            End::Upright => "upright",
        }
    }
}

/// One end of one link, on either side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Pickup {
    /// Index into `Corner::links`.
    pub link: usize,
    /// Its end on the frame or on the upright.
    pub end: End,
}

impl Pickup {
    /// All ten, link by link, chassis before upright.
    pub fn all() -> impl Iterator<Item = Pickup> {
        (0..5).flat_map(|link| End::BOTH.map(|end| Pickup { link, end }))
    }
}

/// One coordinate of one pickup, in side axes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Coordinate {
    /// Index into `Corner::links`.
    pub link: usize,
    /// Its end on the frame or on the upright.
    pub end: End,
    /// The coordinate of that end.
    pub axis: Axis,
}

impl Coordinate {
    /// Three of each end of five links.
    pub const COUNT: usize = 30;

    /// All 30, link by link, chassis before upright, x, y, z.
    pub fn all() -> impl Iterator<Item = Coordinate> {
        (0..Self::COUNT).map(Self::nth)
    }

    /// The one at this place of [`Coordinate::all`], which ends at [`Coordinate::COUNT`].
    pub fn nth(index: usize) -> Self {
        Self { link: index / 6, end: End::BOTH[index / 3 % 2], axis: Axis::ALL[index % 3] }
    }

    /// The end of a link that it is a coordinate of.
    pub fn pickup(self) -> Pickup {
        Pickup { link: self.link, end: self.end }
    }
}

#[cfg(test)]
mod tests {
    use super::{Axis, Coordinate, End, Pickup};

    #[test]
    fn every_coordinate_is_there_once_in_the_order_of_tables() {
        let all: Vec<Coordinate> = Coordinate::all().collect();
        assert_eq!(all.len(), Coordinate::COUNT);
        assert_eq!(all[4], Coordinate { link: 0, end: End::Upright, axis: Axis::Y });
        assert_eq!(all[29], Coordinate { link: 4, end: End::Upright, axis: Axis::Z });
        assert!((0..30).all(|k| !all[..k].contains(&all[k])));
        assert!(Pickup::all().eq((0..10).map(|k| all[3 * k].pickup())));
    }

    #[test]
    fn an_axis_points_the_way_that_its_words_say() {
        assert_eq!(Axis::ALL.map(|axis| axis.way(1.0)), ["forward", "outboard", "up"]);
        assert_eq!(Axis::ALL.map(|axis| axis.way(-1.0)), ["rearward", "inboard", "down"]);
        assert!(Axis::ALL.iter().all(|axis| axis.direction()[axis.index()] == 1.0));
    }
}
