//! Rows of the outside tables, and chains in one plane.

use hubtrace::geometry::ShaftJointKind;
use hubtrace::shafts::Chain;
use nalgebra::{Unit, Vector3};

/// Cells of every row below the head.
pub fn rows(csv: &str) -> Vec<Vec<&str>> {
    csv.lines().skip(1).map(|line| line.split(',').collect()).collect()
}

/// Numbers parted by a character.
pub fn numbers(cell: &str, at: char) -> Vec<f64> {
    cell.split(at).map(|number| number.parse().expect("a number")).collect()
}

/// A chain of universal joints whose shafts all lie in one plane, each bent by so many deg, upwards or downwards.
pub fn in_one_plane(bends_deg: &[f64], phases_deg: &[f64]) -> Chain {
    let mut rise_deg = 0.0;
    let mut directions = vec![Unit::new_normalize(-Vector3::x())];
    for bend_deg in bends_deg {
        rise_deg += bend_deg;
        let (sin, cos) = f64::sin_cos(f64::to_radians(rise_deg));
        directions.push(Unit::new_normalize(Vector3::new(-cos, 0.0, sin)));
    }
    Chain::new(&directions, &vec![ShaftJointKind::Universal; bends_deg.len()], phases_deg)
}
