//! The setting chart against cars that have the change in them and are moved anew.

use hubtrace::geometry::{BracketAdjuster, Geometry, Interval, LengthAdjuster, LengthKind, Side};
use hubtrace::mechanism::Linkage;
use hubtrace::studies::fabrication::{Setting, SettingStep, setting_chart};
use hubtrace::studies::{CarFindings, JudgedCar, Rig};
use nalgebra::{Point3, Unit, Vector3};

use crate::car;

/// What third powers of a step may come to: a change of 0.6 deg by 0.9 mm in 300 mm leaves 5e-6 deg.
const THIRD_ORDER: f64 = 1e-5;

/// Two unlike wheels, with a sleeve or a rod end to turn and a shim that is askew at both ends of every link.
fn adjustable_car() -> Geometry {
    let mut geometry = car(include_str!("../../geometries/as-built.toml"));
    // Unlike ways, or a change of toe at design would leave the slope alone.
    geometry.travel.droop_mm = 40.0;
    for side in Side::BOTH {
        for (index, link) in geometry.corner_mut(side).links.iter_mut().enumerate() {
            let shim = |x: f64, y: f64, z: f64| BracketAdjuster {
                along: Unit::new_normalize(Vector3::new(x, y, z)),
                step_mm: Some(0.4),
                range_mm: Interval::either_way(3.0),
            };
            let turn = 0.2 * index as f64;
            link.adjusters.chassis = Some(shim(turn, 0.3, 1.0));
            link.adjusters.upright = Some(shim(-0.4, turn, 0.8));
            link.adjusters.length = Some(LengthAdjuster {
                kind: if index % 2 == 0 { LengthKind::Sleeve } else { LengthKind::End },
                pitch_mm: 1.5,
                step_turns: None,
                range_turns: Interval::either_way(4.0),
            });
        }
    }
    geometry
}

/// The car with so much of the step made: its points are where the changed links hold the upright at design height.
fn stepped(geometry: &Geometry, step: &Setting, by_mm: f64) -> Geometry {
    let (mut changed, side) = (geometry.clone(), step.side);
    let corner = changed.corner_mut(side);
    let index = corner.links.iter().position(|link| link.name == step.link).expect("a link");
    let drawn_mm = corner.links[index].length_mm();
    let moved = |along: [f64; 3]| side.to_car(Point3::from(along)).coords * by_mm;
    let length_mm = match step.what {
        SettingStep::Flat | SettingStep::HalfTurn => drawn_mm + by_mm,
        SettingStep::ChassisShim { along } => {
            corner.links[index].chassis += moved(along);
            drawn_mm
        }
        SettingStep::UprightShim { along } => {
            corner.links[index].upright += moved(along);
            drawn_mm
        }
    };
    let stretch_mm = length_mm - corner.links[index].length_mm();
    let posture = Linkage::new(corner).lengthened(index, stretch_mm).design().expect("a posture");
    corner.map_upright(|place| posture.point(place), |way| Unit::new_normalize(posture.direction(way)));
    corner.wheel.centre = posture.wheel_centre();
    corner.wheel.spin_axis = Unit::new_normalize(posture.direction(&corner.wheel.spin_axis));
    assert!((corner.links[index].length_mm() - length_mm).abs() < 1e-9);
    changed
}

/// Toe, camber and recession at design height and the slope of bump steer over 25 mm, of a car that was moved.
fn figures(geometry: &Geometry, side: Side) -> [f64; 4] {
    let rig = Rig::new(geometry).expect("a rig");
    let design = rig.wheel(side).design_row().wheel;
    let back_mm = -geometry.corner(side).wheel.centre.x;
    let car = CarFindings::without_advice(JudgedCar::of(rig), &[side]);
    [design.toe_deg, design.camber_deg, back_mm, car.heave[&side].curve.slope_deg_per_25mm()]
}

/// What a whole step leaves of the chart is of second order: half the step leaves a quarter of it. An error of the chart itself would
/// be of first order.
#[test]
fn every_row_is_what_a_changed_car_differs_by_to_second_order() {
    let geometry = adjustable_car();
    let rig = Rig::new(&geometry).expect("a rig");
    let (mut rows, mut largest) = (0, 0.0_f64);
    for side in Side::BOTH {
        let drawn = figures(&geometry, side);
        let chart = setting_chart(rig.wheel(side));
        for step in &chart {
            let told = [step.toe_deg, step.camber_deg, step.recession_mm, step.slope_deg_per_25mm];
            let left = |share: f64| {
                let changed = figures(&stepped(&geometry, step, share * step.by_mm), side);
                [0, 1, 2, 3].map(|k| changed[k] - drawn[k] - share * told[k])
            };
            let (whole, half) = (left(1.0), left(0.5));
            for k in 0..4 {
                let error = 4.0 * half[k] - whole[k];
                assert!(error.abs() < THIRD_ORDER, "{step:?}, figure {k}: {error} of {}", told[k]);
                assert!(whole[k].abs() < 0.02, "{step:?}, figure {k}: {}", whole[k]);
                largest = largest.max(whole[k].abs());
            }
            rows += 1;
        }
        let of = |is: fn(&SettingStep) -> bool| chart.iter().filter(|step| is(&step.what)).count();
        assert_eq!(of(|step| *step == SettingStep::Flat), 3);
        assert_eq!(of(|step| *step == SettingStep::HalfTurn), 2);
        assert_eq!(of(|step| matches!(step, SettingStep::ChassisShim { .. })), 5);
        assert_eq!(of(|step| matches!(step, SettingStep::UprightShim { .. })), 5);
    }
    assert_eq!(rows, 30);
    // Second order is there to be seen, or halving would show nothing.
    assert!(largest > 100.0 * THIRD_ORDER, "{largest}");
}

/// A sleeve of two threads of 1.5 mm turned by a sixth, one such thread turned by a half, the shims of the file; half a millimetre
/// along a slot and where the file gives nothing.
#[test]
fn a_step_is_a_flat_or_half_a_turn_or_a_shim_of_the_file_or_half_a_millimetre() {
    let mut geometry = adjustable_car();
    let [slotted, bare] = [0, 1].map(|index| geometry.left.links[index].name.clone());
    geometry.left.links[0].adjusters.chassis =
        geometry.left.links[0].adjusters.chassis.map(|shim| BracketAdjuster { step_mm: None, ..shim });
    geometry.left.links[1].adjusters.chassis = None;
    let rig = Rig::new(&geometry).expect("a rig");
    for step in setting_chart(rig.wheel(Side::Left)) {
        let by_mm = match step.what {
            SettingStep::Flat => 0.5,
            SettingStep::HalfTurn => 0.75,
            SettingStep::ChassisShim { .. } if step.link == slotted || step.link == bare => 0.5,
            SettingStep::ChassisShim { .. } | SettingStep::UprightShim { .. } => 0.4,
        };
        assert_eq!(step.by_mm, by_mm, "{step:?}");
    }
}

/// The right wheel of a mirrored car is set as the left one, with shims that point the other way across the car.
#[test]
fn the_chart_of_a_right_wheel_is_that_of_the_left_one_mirrored() {
    let mut geometry = adjustable_car();
    geometry.right = geometry.left.clone();
    geometry.right.side = Side::Right;
    let rig = Rig::new(&geometry).expect("a rig");
    let [left, right] = Side::BOTH.map(|side| setting_chart(rig.wheel(side)));
    let mirrored = |along: [f64; 3]| [along[0], -along[1], along[2]];
    for (left, right) in left.iter().zip(&right) {
        let expected = match left.what {
            SettingStep::ChassisShim { along } => SettingStep::ChassisShim { along: mirrored(along) },
            SettingStep::UprightShim { along } => SettingStep::UprightShim { along: mirrored(along) },
            turn => turn,
        };
        assert_eq!(right.what, expected, "{left:?}");
        let figures = |of: &Setting| [of.toe_deg, of.camber_deg, of.recession_mm, of.slope_deg_per_25mm];
        assert_eq!(figures(left), figures(right), "{left:?}");
    }
    assert_eq!((left.len(), right.len()), (15, 15));
}
