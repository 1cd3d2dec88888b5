//! Positions, rates and centres of one left wheel.

use hubtrace::geometry::{Car, Corner, Geometry, Side};
use hubtrace::measures::{
    Road, RoadMeasures, WheelMeasures, anti_lift_pct, anti_squat_pct, camber_deg, contact_point, instant_axis, toe_deg,
};
use hubtrace::mechanism::{Linkage, Posture};
use hubtrace::studies::{Rig, RigWheel};
use nalgebra::{Matrix3, Rotation3, UnitQuaternion, Vector3, Vector6};

use super::file::{At, Lengthened, Set, topics};

/// Farther than any posture of the tables.
const REACH_MM: f64 = 100.0;

#[test]
fn positions_rates_and_centres_are_those_of_the_sources() {
    let mut compared = 0;
    for topic in topics() {
        for set in &topic.sets {
            compared += compare(&format!("{}, {}", topic.topic, set.origin.label), &topic.geometry(), set);
        }
    }
    assert!(compared > 500, "only {compared} numbers");
}

/// Compares one set with the left wheel of a geometry; how many numbers it held.
fn compare(name: &str, geometry: &Geometry, set: &Set) -> usize {
    let mut geometry = geometry.clone();
    (geometry.travel.bump_mm, geometry.travel.droop_mm) = (REACH_MM, REACH_MM);
    for moved in &set.moved {
        let link = geometry.left.links.iter_mut().find(|link| link.name == moved.link).expect("a link of that name");
        link.chassis += Vector3::from(moved.chassis_by);
    }
    let rig = Rig::new(&geometry).expect("a sound design");
    for row in &set.rows {
        let wheel = AtRest::new(&rig.left, &geometry.car, row.at);
        for (quantity, &expected) in &row.expect {
            let got = wheel.measure(quantity);
            let off = (got - expected).abs();
            assert!(off <= set.tolerance, "{name}: {quantity} at {:?} is {got}, expected {expected}", row.at);
        }
    }
    set.rows.iter().map(|row| row.expect.len()).sum()
}

/// One wheel standing somewhere, with everything that can be read off it.
struct AtRest<'a> {
    corner: &'a Corner,
    design_contact_y_mm: f64,
    car: &'a Car,
    posture: Posture,
    road: Road,
}

impl<'a> AtRest<'a> {
    fn new(wheel: &'a RigWheel, car: &'a Car, at: At) -> Self {
        let (posture, road) = match at {
            At::BumpMm(bump_mm) => {
                let posture = wheel.path.at(bump_mm).expect("inside the reach");
                (posture, wheel.design_contact.level_road(wheel.corner, &posture))
            }
            At::RollDeg(roll_deg) => {
                let road = wheel.road(roll_deg, 0.0);
                (wheel.place_on(&road, 0.0).expect("a wheel on the road").posture, road)
            }
        };
        Self { corner: wheel.corner, design_contact_y_mm: wheel.design_contact.point.y, car, posture, road }
    }

    fn measure(&self, quantity: &str) -> f64 {
        let posture = &self.posture;
        let wheel = WheelMeasures::of(self.corner, self.car, posture);
        let road = RoadMeasures::of(self.corner, self.car, posture, &self.road, self.design_contact_y_mm);
        let at_contact = posture.velocity_at(&road.contact);
        let axis = || instant_axis(posture).expect("a turning upright").point;
        let turn = UnitQuaternion::from_matrix(&posture.rotation);
        // With wheelbase and centre of gravity alike and every share whole, a percentage is a slope.
        let one = Some(1.0);
        let plain = Car {
            wheelbase_mm: one,
            cg_height_mm: one,
            rear_drive_share: one,
            rear_brake_share: one,
            ..Car::default()
        };
        match quantity {
            "bump_mm" => posture.bump_mm,
            "toe_deg" => wheel.toe_deg,
            "camber_deg" => wheel.camber_deg,
            "camber_to_road_deg" => road.inclination_deg,
            "upright_pitch_deg" => wheel.upright_pitch_deg,
            "wheel_centre_dx_mm" => posture.displacement.x,
            "wheel_centre_dy_mm" => posture.displacement.y,
            "contact_x_mm" => road.contact.x,
            "contact_y_mm" => road.contact.y,
            "contact_z_mm" => road.contact.z,
            "contact_dy_mm" => road.contact.y - self.design_contact_y_mm,
            "bump_steer_gradient_deg_per_mm" => wheel.bump_steer_gradient_deg_per_mm,
            "camber_gradient_deg_per_mm" => wheel.camber_gradient_deg_per_mm,
            "pitch_rate_deg_per_mm" => posture.motion.angular.y.to_degrees(),
            "wheel_centre_vx" => posture.motion.velocity.x,
            "wheel_centre_vy" => posture.motion.velocity.y,
            "contact_vx" => at_contact.x,
            "contact_vy" => at_contact.y,
            "contact_vz" => at_contact.z,
            "drive_slope" => anti_squat_pct(posture, &plain).expect("whole data") / 100.0,
            "brake_slope" => anti_lift_pct(posture, &road.contact, &plain).expect("whole data") / 100.0,
            "anti_squat_pct" => wheel.anti_squat_pct.expect("whole data"),
            "anti_lift_pct" => road.anti_lift_pct.expect("whole data"),
            "roll_centre_height_mm" => road.roll_centre_line.own_side_height_mm().expect("a roll centre"),
            "instant_axis_x_mm" => axis().x,
            "instant_axis_y_mm" => axis().y,
            "instant_axis_z_mm" => axis().z,
            "turn_deg" => turn.angle().to_degrees(),
            "turn_w" => turn.w,
            "turn_x" => turn.i,
            "turn_y" => turn.j,
            "turn_z" => turn.k,
            "link_1_mm" => self.corner.links[0].length_mm(),
            "link_2_mm" => self.corner.links[1].length_mm(),
            "link_3_mm" => self.corner.links[2].length_mm(),
            "link_4_mm" => self.corner.links[3].length_mm(),
            "link_5_mm" => self.corner.links[4].length_mm(),
            unknown => panic!("no quantity {unknown}"),
        }
    }
}

#[test]
fn a_longer_link_turns_and_shifts_the_upright_as_the_sources_say() {
    for topic in topics() {
        let geometry = topic.lengthened.first().map(|_| topic.geometry());
        for (case, geometry) in topic.lengthened.iter().zip(geometry.iter().cycle()) {
            let (displacement, rotation) = with_a_longer_link(&geometry.left, case);
            let spin = rotation * geometry.left.wheel.spin_axis.into_inner();
            for (got, expected) in [
                (toe_deg(&spin), case.toe_deg),
                (displacement.x, case.wheel_centre_dx_mm),
                (displacement.y, case.wheel_centre_dy_mm),
            ] {
                assert!((got - expected).abs() <= case.tolerance, "{}: {got}, expected {expected}", case.origin.label);
            }
        }
    }
}

/// Newton with the public Jacobian: one link `by_mm` longer, the wheel centre kept at its height.
fn with_a_longer_link(corner: &Corner, case: &Lengthened) -> (Vector3<f64>, Matrix3<f64>) {
    let linkage = Linkage::new(corner);
    let (mut displacement, mut rotation) = (Vector3::zeros(), Rotation3::identity());
    for _ in 0..8 {
        let mut missing = Vector6::zeros();
        for (i, link) in corner.links.iter().enumerate() {
            let centre = corner.wheel.centre;
            let outer = centre + displacement + rotation * (link.upright - centre);
            let longer_mm = if link.name == case.link { case.by_mm } else { 0.0 };
            missing[i] = link.length_mm() + longer_mm - (outer - link.chassis).norm();
        }
        missing[5] = -displacement.z;
        let jacobian = linkage.jacobian(&displacement, rotation.matrix());
        let step = jacobian.lu().solve(&missing).expect("a sound design");
        displacement += step.fixed_rows::<3>(0);
        rotation =
            Rotation3::from_scaled_axis(step.fixed_rows::<3>(3) / hubtrace::mechanism::ROTATION_SCALE_MM) * rotation;
    }
    (displacement, rotation.into_inner())
}

#[test]
fn the_contact_point_of_an_upright_wheel_is_straight_below_its_centre() {
    for topic in topics().iter().filter(|topic| !topic.sets.is_empty()) {
        let wheel = topic.geometry().left.wheel;
        let contact = contact_point(&wheel.centre, &wheel.spin_axis, wheel.tyre_radius_mm, &Vector3::z());
        let below = wheel.centre - Vector3::z() * wheel.tyre_radius_mm;
        assert!((contact - below).norm() < 1e-12 && camber_deg(&wheel.spin_axis) == 0.0, "{}", topic.topic);
        assert_eq!(topic.geometry().left.side, Side::Left);
    }
}
