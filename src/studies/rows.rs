//! The rows of a study: both wheels at each of its stations.

use crate::geometry::{PerSide, Side};
use crate::measures::Row;

/// Rows in rising order of what is driven; a wheel that does not get to a station has no row there.
#[derive(Debug, Clone, Default)]
pub struct Rows(Vec<PerSide<Option<Row>>>);

impl Rows {
    /// Station by station, the left wheel first: the order of every table.
    pub fn iter(&self) -> impl Iterator<Item = &Row> + Clone {
        self.0.iter().flat_map(|axle| [&axle.left, &axle.right]).flatten()
    }

    /// Those of one wheel.
    pub fn of(&self, side: Side) -> impl Iterator<Item = &Row> + Clone {
        self.0.iter().filter_map(move |axle| axle[side].as_ref())
    }

    /// Both wheels, at the stations where neither is missing.
    pub fn axles(&self) -> impl Iterator<Item = PerSide<&Row>> {
        self.0.iter().filter_map(|axle| axle.as_ref().map(Option::as_ref).both())
    }

    /// How many rows these wheels have.
    pub fn count(&self, sides: &[Side]) -> usize {
        self.iter().filter(|row| sides.contains(&row.side)).count()
    }
}

impl FromIterator<PerSide<Option<Row>>> for Rows {
    fn from_iter<T: IntoIterator<Item = PerSide<Option<Row>>>>(stations: T) -> Self {
        let with_each_other = |mut axle: PerSide<Option<Row>>| {
            if let PerSide { left: Some(left), right: Some(right) } = &mut axle {
                (left.other, right.other) = (Some(right.stance()), Some(left.stance()));
            }
            axle
        };
        Self(stations.into_iter().map(with_each_other).collect())
    }
}

#[cfg(test)]
mod tests {
    use crate::file::GeometryFile;
    use crate::geometry::Side;
    use crate::studies::{JudgedCar, Rig};

    #[test]
    fn a_wheel_has_a_row_at_every_step_of_its_travel() {
        let file = GeometryFile::parse("demo", include_str!("../../geometries/first-cut.toml")).expect("a sound car");
        let car = JudgedCar::of(Rig::new(&file.geometry).expect("the drawing holds its wheels"));
        // From 60 mm of droop to 60 mm of bump in steps of 5 mm.
        assert_eq!(car.heave.rows.count(&[Side::Right]), 25);
        assert_eq!(car.heave.rows.count(&Side::BOTH), 50);
    }
}
