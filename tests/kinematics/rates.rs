//! Exact first-order motion against differences of solved postures, against its own screw, and against forces.

use crate::cars::cars;
use hubtrace::geometry::{Corner, Geometry, Side, SpringMount};
use hubtrace::measures::{Row, WheelMeasures, instant_axis, spring as spring_measures, spring_mount_point};
use hubtrace::mechanism::{Linkage, Posture, ROTATION_SCALE_MM};
use hubtrace::studies::{Rig, RigWheel, stations};
use nalgebra::{Matrix6, Point3, Rotation3, Vector3, Vector6};

/// Proportion of the largest value over the travel.
const AGREES: f64 = 1e-6;
/// Half the distance of the two postures of a difference, mm: what is left of the third derivative is some 1e-9.
const HALF_MM: f64 = 0.02;

/// A wheel's exact rates and the same from two postures, at one bump travel.
struct Rates<'a> {
    geometry: &'a Geometry,
    wheel: &'a RigWheel<'a>,
    here: Posture,
    below: Posture,
    above: Posture,
}

impl Rates<'_> {
    fn difference(&self, of: impl Fn(&Posture) -> f64) -> f64 {
        (of(&self.above) - of(&self.below)) / (2.0 * HALF_MM)
    }

    /// Velocity of the point of the upright that is here now, from where it is in the two postures.
    fn velocity(&self, now: &Point3<f64>) -> Vector3<f64> {
        let arm = self.here.rotation.transpose() * (now - self.here.wheel_centre());
        let design = self.wheel.corner.wheel.centre + arm;
        (self.above.point(&design) - self.below.point(&design)) / (2.0 * HALF_MM)
    }

    /// Column, what it says, what the differences say.
    fn columns(&self) -> Vec<(&'static str, f64, f64)> {
        let measures = |posture: &Posture| self.wheel.measures(posture);
        let corner = self.wheel.corner;
        let row = Row::level(corner, &self.geometry.car, &self.here, &self.wheel.design_contact);
        let (exact, on_road) = (row.wheel, row.road);
        let (centre, contact) = (self.velocity(&self.here.wheel_centre()), self.velocity(&on_road.contact));
        let car = &self.geometry.car;
        let pct = |v: Vector3<f64>, share: Option<f64>| {
            Some(-100.0 * v.x / v.z * car.wheelbase_mm? / car.cg_height_mm? * share?)
        };
        let roll_centre_mm = on_road.contact.y * contact.y / contact.z;
        let of =
            |value: fn(&WheelMeasures) -> f64| (value(&exact), self.difference(|posture| value(&measures(posture))));
        let mut columns = vec![
            ("bump_steer_gradient", exact.bump_steer_gradient_deg_per_mm, of(|m| m.toe_deg).1),
            ("camber_gradient", exact.camber_gradient_deg_per_mm, of(|m| m.camber_deg).1),
            ("wheel_centre_path", exact.wheel_centre_path_deg, (-centre.x / centre.z).atan().to_degrees()),
        ];
        let own = on_road.roll_centre_line.own_side_height_mm();
        columns.extend(own.map(|mm| ("roll_centre_height", mm, roll_centre_mm)));
        let squat = exact.anti_squat_pct.zip(pct(centre, car.rear_drive_share));
        columns.extend(squat.map(|(exact, difference)| ("anti_squat", exact, difference)));
        let lift = on_road.anti_lift_pct.zip(pct(contact, car.rear_brake_share));
        columns.extend(lift.map(|(exact, difference)| ("anti_lift", exact, difference)));
        let length = |posture: &Posture| measures(posture).spring.map_or(0.0, |spring| spring.length_mm);
        columns.extend(exact.spring.map(|spring| ("damper_per_wheel", spring.ratio, -self.difference(length))));
        columns
    }
}

/// Does something every 10 mm along the travel of every wheel of every car.
fn at_every_travel(mut see: impl FnMut(&str, Side, &Rates)) {
    for geometry in cars() {
        let rig = Rig::new(&geometry).expect("a sound design");
        for side in Side::BOTH {
            let wheel = rig.wheel(side);
            let travel = &geometry.travel;
            for bump_mm in stations(1.0 - travel.droop_mm, travel.bump_mm - 1.0, 10.0) {
                let at = |bump_mm| wheel.path.at(bump_mm).expect("inside the travel");
                let (here, below, above) = (at(bump_mm), at(bump_mm - HALF_MM), at(bump_mm + HALF_MM));
                see(&geometry.name, side, &Rates { geometry: &geometry, wheel, here, below, above });
            }
        }
    }
}

#[test]
fn every_derivative_column_equals_central_differences_of_solved_postures() {
    let mut largest = std::collections::BTreeMap::new();
    let mut seen = Vec::new();
    at_every_travel(|car, side, rates| {
        for (column, exact, difference) in rates.columns() {
            let key = (car.to_owned(), side, column);
            let so_far = largest.entry(key.clone()).or_insert(0.0_f64);
            *so_far = so_far.max(exact.abs());
            seen.push((key, exact, difference));
        }
    });
    assert!(seen.len() > 500, "{} values", seen.len());
    for (key, exact, difference) in seen {
        // Nothing is known to better than rounding over the distance of the postures.
        let allowed = AGREES * largest[&key] + 1e-10;
        assert!((exact - difference).abs() <= allowed, "{key:?} is {exact}, differences say {difference}");
    }
}

#[test]
fn the_velocities_of_all_points_are_those_of_one_screw() {
    at_every_travel(|car, _, rates| {
        let Some(axis) = instant_axis(&rates.here) else { return };
        let turn = rates.here.motion.angular.norm();
        assert!((axis.point - rates.here.wheel_centre()).dot(&axis.direction).abs() < 1e-6 * axis.point.coords.norm());
        for offset in [[0.0, 0.0, 0.0], [100.0, -50.0, 80.0], [-70.0, 20.0, -150.0], [10.0, -90.0, 60.0]] {
            let point = rates.here.wheel_centre() + Vector3::from(offset);
            let screw =
                axis.direction * turn * axis.pitch_mm_per_rad + (axis.direction * turn).cross(&(point - axis.point));
            let off = (rates.velocity(&point) - screw).norm();
            assert!(off <= AGREES, "{car}: {off}");
        }
    });
}

/// A force, the point of the upright at which it acts, and a moment: nothing special about any of them.
fn load(posture: &Posture) -> (Vector3<f64>, Point3<f64>, Vector3<f64>) {
    let at = posture.wheel_centre() + Vector3::new(37.0, -81.0, -190.0);
    (Vector3::new(-1700.0, 940.0, 3100.0), at, Vector3::new(21_000.0, -86_000.0, 14_000.0))
}

/// Tensions that hold the load in five links and one more member, given by its row.
fn tensions(members: &Matrix6<f64>, posture: &Posture) -> Vector6<f64> {
    let (force, at, moment) = load(posture);
    let about_centre = (moment + (at - posture.wheel_centre()).cross(&force)) / ROTATION_SCALE_MM;
    let wrench = Vector6::from_iterator(force.iter().chain(about_centre.iter()).copied());
    members.transpose().lu().solve(&wrench).expect("six independent members")
}

/// Work of the load per mm of bump travel, N: from the places of its point and from the turn between two postures.
fn work(rates: &Rates) -> f64 {
    let (force, at, moment) = load(&rates.here);
    let turn = Rotation3::from_matrix_unchecked(rates.above.rotation * rates.below.rotation.transpose());
    force.dot(&rates.velocity(&at)) + moment.dot(&(turn.scaled_axis() / (2.0 * HALF_MM)))
}

#[test]
fn links_do_no_work_so_the_driver_does_all_that_the_load_does() {
    at_every_travel(|car, _, rates| {
        let jacobian = Linkage::new(rates.wheel.corner).jacobian(&rates.here.displacement, &rates.here.rotation);
        let (driver, load) = (tensions(&jacobian, &rates.here)[5], work(rates));
        assert!((driver - load).abs() <= AGREES * load.abs().max(1000.0), "{car}: {driver} N against {load} N");
    });
}

#[test]
fn a_spring_does_the_work_that_the_load_does() {
    at_every_travel(|car, _, rates| {
        let (corner, posture) = (rates.wheel.corner, &rates.here);
        let Some(spring) = corner.spring.as_ref().filter(|spring| spring.on == SpringMount::Upright) else {
            return;
        };
        let mount = spring_mount_point(corner, spring, posture);
        let unit = (mount - spring.chassis).normalize();
        let moment = (mount - posture.wheel_centre()).cross(&unit) / ROTATION_SCALE_MM;
        let mut members = Linkage::new(corner).jacobian(&posture.displacement, &posture.rotation);
        members.set_row(5, &Vector6::from_iterator(unit.iter().chain(moment.iter()).copied()).transpose());
        let ratio = spring_measures(corner, posture).expect("a spring").ratio;
        let (spring_work, load) = (-tensions(&members, posture)[5] * ratio, work(rates));
        assert!(
            (spring_work - load).abs() <= AGREES * load.abs().max(1000.0),
            "{car}: {spring_work} N against {load} N"
        );
    });
}

/// A virtual displacement that the links do not allow: they stretch, and the tensions do the work over the stretch.
#[test]
fn link_forces_do_the_work_of_the_load_over_any_virtual_displacement() {
    at_every_travel(|car, _, rates| {
        let (corner, posture) = (rates.wheel.corner, &rates.here);
        let jacobian = Linkage::new(corner).jacobian(&posture.displacement, &posture.rotation);
        let tension = tensions(&jacobian, posture);
        let (shift, turn) = (Vector3::new(0.3, -0.5, 0.2) * 1e-3, Vector3::new(-2.0, 1.0, 3.0) * 1e-6);
        let stretches = stretch_mm(corner, posture, shift, turn);
        let links: f64 = stretches.iter().zip(tension.iter()).map(|(stretch, tension)| stretch * tension).sum();
        let (force, at, moment) = load(posture);
        let load = force.dot(&(shift + turn.cross(&(at - posture.wheel_centre())))) + moment.dot(&turn);
        let inside = links + tension[5] * shift.z;
        assert!((inside - load).abs() <= AGREES * tension.abs().max() * 1e-3, "{car}: {inside} against {load} N·mm");
    });
}

/// How much longer each link gets when the upright is shifted and turned about its wheel centre: half of what two
/// opposite displacements make.
fn stretch_mm(corner: &Corner, posture: &Posture, shift: Vector3<f64>, turn: Vector3<f64>) -> [f64; 5] {
    let centre = posture.wheel_centre();
    corner.links.each_ref().map(|link| {
        let length_mm = |sign: f64| {
            let arm = posture.point(&link.upright) - centre;
            let outer = centre + shift * sign + Rotation3::from_scaled_axis(turn * sign) * arm;
            (outer - link.chassis).norm()
        };
        (length_mm(1.0) - length_mm(-1.0)) / 2.0
    })
}
