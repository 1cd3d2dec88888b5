//! Left and right: which side a wheel stands on, and one value for each.

use std::ops::{Index, IndexMut};

use nalgebra::Point3;
use serde::Serialize;

/// Which side of the car a wheel stands on. The left one is the side that a file describes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// y positive in car axes.
    Left,
    /// y negative in car axes.
    Right,
}

impl Side {
    /// Left before right, as in every table.
    pub const BOTH: [Side; 2] = [Side::Left, Side::Right];

    /// `left` or `right`, as files and tables write it.
    pub fn name(self) -> &'static str {
        match self {
            Side::Left => "left",
            Side::Right => "right",
        }
    }

    /// The other one.
    pub fn other(self) -> Side {
        match self {
            Side::Left => Side::Right,
            Side::Right => Side::Left,
        }
    }

    /// +1 on the left, −1 on the right: the sign of the car's y axis seen in side axes.
    pub fn sign(self) -> f64 {
        match self {
            Side::Left => 1.0,
            Side::Right => -1.0,
        }
    }

    /// A place in side axes (y outboard) as a place in car axes (y left), or the reverse.
    pub fn to_car(self, p: Point3<f64>) -> Point3<f64> {
        Point3::new(p.x, self.sign() * p.y, p.z)
    }
}

/// One value for the left and one for the right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct PerSide<T> {
    /// That of the left side.
    pub left: T,
    /// That of the right side.
    pub right: T,
}

impl<T> PerSide<T> {
    /// The value of each side, the left one first.
    pub fn of(mut value: impl FnMut(Side) -> T) -> Self {
        Self { left: value(Side::Left), right: value(Side::Right) }
    }

    /// The value of each side, or the first error, the left side first.
    pub fn try_of<E>(mut value: impl FnMut(Side) -> Result<T, E>) -> Result<Self, E> {
        Ok(Self { left: value(Side::Left)?, right: value(Side::Right)? })
    }

    /// Each value turned into another.
    pub fn map<U>(self, mut value: impl FnMut(T) -> U) -> PerSide<U> {
        PerSide { left: value(self.left), right: value(self.right) }
    }

    /// References to both values.
    pub fn as_ref(&self) -> PerSide<&T> {
        PerSide { left: &self.left, right: &self.right }
    }

    /// References to both values, to change them.
    pub fn as_mut(&mut self) -> PerSide<&mut T> {
        PerSide { left: &mut self.left, right: &mut self.right }
    }

    /// Each value beside another one of its side.
    pub fn zip<U>(self, other: PerSide<U>) -> PerSide<(T, U)> {
        PerSide { left: (self.left, other.left), right: (self.right, other.right) }
    }

    /// Each side with its value, the left one first.
    pub fn iter(&self) -> impl Iterator<Item = (Side, &T)> {
        self.as_ref().into_iter()
    }
}

impl<T> PerSide<Option<T>> {
    /// Both values, when both are there.
    pub fn both(self) -> Option<PerSide<T>> {
        Some(PerSide { left: self.left?, right: self.right? })
    }
}

impl<T> IntoIterator for PerSide<T> {
    type Item = (Side, T);
    type IntoIter = std::array::IntoIter<(Side, T), 2>;

    fn into_iter(self) -> Self::IntoIter {
        [(Side::Left, self.left), (Side::Right, self.right)].into_iter()
    }
}

impl<T> Index<Side> for PerSide<T> {
    type Output = T;

    fn index(&self, side: Side) -> &T {
        match side {
            Side::Left => &self.left,
            Side::Right => &self.right,
        }
    }
}

impl<T> IndexMut<Side> for PerSide<T> {
    fn index_mut(&mut self, side: Side) -> &mut T {
        match side {
            Side::Left => &mut self.left,
            Side::Right => &mut self.right,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{PerSide, Side};

    #[test]
    fn each_side_keeps_its_own_value() {
        let mut sign = PerSide::of(Side::sign);
        assert_eq!((sign[Side::Left], sign[Side::Right]), (1.0, -1.0));
        sign[Side::Right] = -2.0;
        assert_eq!(sign, PerSide { left: 1.0, right: -2.0 });
        assert_eq!(sign.iter().collect::<Vec<_>>(), [(Side::Left, &1.0), (Side::Right, &-2.0)]);
        assert_eq!(sign.map(|sign| 10.0 * sign).zip(sign).right, (-20.0, -2.0));
    }

    #[test]
    fn the_error_of_the_left_side_comes_first() {
        assert_eq!(PerSide::<()>::try_of(Err), Err(Side::Left));
        assert_eq!(PerSide::try_of(|side| if side == Side::Left { Ok(1) } else { Err(side) }), Err(Side::Right));
        assert_eq!(PerSide { left: Some(1), right: None }.both(), None);
        assert_eq!(PerSide { left: Some(1), right: Some(2) }.both(), Some(PerSide { left: 1, right: 2 }));
    }

    #[test]
    fn it_is_written_by_the_names_of_the_sides() {
        let written = serde_json::to_string(&PerSide { left: Side::Left, right: Side::Right });
        assert_eq!(written.ok().as_deref(), Some(r#"{"left":"left","right":"right"}"#));
    }
}
