//! Definitions with a number: toe, camber, steer, toe in millimetres.

use hubtrace::geometry::Side;
use hubtrace::measures::{camber_deg, steer_deg, toe_deg, toe_mm};
use nalgebra::{Rotation3, Vector3};

use super::file::{SpinAxis, topics};

fn direction(given: &SpinAxis) -> Vector3<f64> {
    let start = given.axis.map_or(Vector3::y(), Vector3::from);
    given.turns.iter().fold(start, |direction, (axis, deg)| {
        let axis = if axis == "x" { Vector3::x_axis() } else { Vector3::z_axis() };
        Rotation3::from_axis_angle(&axis, deg.to_radians()) * direction
    })
}

#[test]
fn toe_and_camber_of_a_spin_axis_are_those_of_the_sources() {
    for topic in topics() {
        for given in &topic.spin_axes {
            let s = direction(given);
            let (toe, camber) = (toe_deg(&s), camber_deg(&s));
            assert!((toe - given.toe_deg).abs() <= given.tolerance, "{}: toe {toe}", given.origin.label);
            assert!((camber - given.camber_deg).abs() <= given.tolerance, "{}: camber {camber}", given.origin.label);
        }
    }
}

#[test]
fn steer_has_the_sign_of_the_sources() {
    for topic in topics() {
        for given in &topic.steer {
            let side = if given.side == "left" { Side::Left } else { Side::Right };
            assert_eq!(steer_deg(side, given.toe_deg), given.steer_deg, "{}", given.origin.label);
        }
    }
}

#[test]
fn toe_in_millimetres_is_that_of_the_sources() {
    for topic in topics() {
        for given in &topic.toe_units {
            let mm = |deg| toe_mm(deg, given.span_mm);
            let (low, high) = (mm(given.toe_deg - given.tolerance), mm(given.toe_deg + given.tolerance));
            assert!((low..=high).contains(&given.difference_mm), "{}: {low} to {high} mm", given.origin.label);
        }
    }
}
