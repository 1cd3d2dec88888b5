//! Cars built in code, for tests that need many or exact ones.

use hubtrace::geometry::{Car, Corner, Geometry, LengthUnit, Limits, Link, PerSide, Side, Targets, Travel, Wheel};
use nalgebra::{Point3, Unit, Vector3};

pub type Pickups = [([f64; 3], [f64; 3]); 5];

/// A left corner with the spin axis along y: pickups (chassis, upright), wheel centre, tyre radius.
pub fn corner(pickups: Pickups, centre: [f64; 3], tyre_radius_mm: f64) -> Corner {
    let mut number = 0;
    let links = pickups.map(|(chassis, upright)| {
        number += 1;
        Link {
            name: format!("link {number}"),
            chassis: Point3::from(chassis),
            upright: Point3::from(upright),
            taped_mm: None,
            chassis_bolt: None,
            upright_bolt: None,
            rod_end_limit_deg: None,
        }
    });
    let wheel = Wheel {
        centre: Point3::from(centre),
        spin_axis: Unit::new_normalize(Vector3::y()),
        tyre_radius_mm,
        toe_span_mm: 2.0 * tyre_radius_mm,
        rim_radius_mm: None,
    };
    Corner { side: Side::Left, wheel, links, halfshaft: None, spring: None }
}

/// A mirrored car with this corner on both sides.
pub fn car(left: Corner, bump_mm: f64, droop_mm: f64) -> Geometry {
    let right = Corner { side: Side::Right, ..left.clone() };
    Geometry {
        name: "test car".into(),
        units: LengthUnit::Millimetre,
        left,
        right,
        mirrored: true,
        car: Car::default(),
        travel: Travel {
            bump_mm,
            droop_mm,
            step_mm: 5.0,
            roll_deg: 2.0,
            step_roll_deg: 0.5,
            ride_heights_mm: Vec::new(),
        },
        limits: Limits::default(),
        starter: None,
        weld: None,
        tape: None,
        tubes: Vec::new(),
        adjustments: PerSide::default(),
        targets: Targets::default(),
    }
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
