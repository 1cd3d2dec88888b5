//! Cars built in code, for tests that need many or exact ones.

use hubtrace::geometry::{Corner, Geometry, Link, Side, Travel, Wheel};
use nalgebra::Point3;

pub type Pickups = [([f64; 3], [f64; 3]); 5];

/// A left corner with the spin axis along y: pickups (chassis, upright), wheel centre, tyre radius.
pub fn corner(pickups: Pickups, centre: [f64; 3], tyre_radius_mm: f64) -> Corner {
    let mut number = 0;
    let links = pickups.map(|(chassis, upright)| {
        number += 1;
        Link::new(format!("link {number}"), Point3::from(chassis), Point3::from(upright))
    });
    let wheel = Wheel::new(Point3::from(centre), 0.0, 0.0, tyre_radius_mm);
    Corner { side: Side::Left, wheel, links, halfshaft: None, spring: None }
}

/// A mirrored car with this corner on both sides.
pub fn car(left: Corner, bump_mm: f64, droop_mm: f64) -> Geometry {
    Geometry::mirrored("test car", left, Travel { bump_mm, droop_mm, roll_deg: 2.0, ..Travel::default() })
}

/// Planar double wishbone with a toe link, spin axis along y: the links project onto two arms in the front view.
pub const PLANAR: Pickups = [
    ([150.0, 300.0, 180.0], [60.0, 690.0, 170.0]),
    ([-150.0, 300.0, 180.0], [-60.0, 690.0, 170.0]),
    ([120.0, 380.0, 430.0], [30.0, 650.0, 450.0]),
    ([-120.0, 380.0, 430.0], [-30.0, 650.0, 450.0]),
    ([-260.0, 300.0, 180.0], [-140.0, 690.0, 170.0]),
];

/// Five links on one skew hinge line: a semi-trailing arm.
pub const HINGED: Pickups = [
    ([450.0, 620.0, 300.0], [60.0, 700.0, 160.0]),
    ([435.0, 560.0, 300.0], [20.0, 690.0, 430.0]),
    ([420.0, 500.0, 300.0], [-70.0, 700.0, 300.0]),
    ([390.0, 380.0, 300.0], [40.0, 680.0, 380.0]),
    ([360.0, 260.0, 300.0], [90.0, 705.0, 230.0]),
];

/// A true five-link corner with bad bump steer.
pub const SPATIAL: Pickups = [
    ([120.0, 330.0, 165.0], [20.0, 700.0, 150.0]),
    ([-95.0, 320.0, 160.0], [-35.0, 695.0, 155.0]),
    ([95.0, 400.0, 420.0], [25.0, 665.0, 450.0]),
    ([-80.0, 410.0, 415.0], [-25.0, 660.0, 455.0]),
    ([-165.0, 335.0, 250.0], [-130.0, 690.0, 230.0]),
];
