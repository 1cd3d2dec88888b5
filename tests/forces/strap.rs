//! A droop strap in the place of the spring: virtual work, six equations written out by hand, and what is told when it does not hold.

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Corner, Geometry, Load, Side, Strap, WheelLoad};
use hubtrace::measures::{contact_point, spin_axis, strap_mm};
use hubtrace::mechanism::{Linkage, Posture, WheelPath};
use hubtrace::studies::Rig;
use hubtrace::studies::forces::{CaseLoad, ForcesFindings, Part, StrapFails, WheelForces};
use nalgebra::{Matrix6, Point3, Vector3, Vector6};

/// A wheel in the air that is pulled about: its weight and more at the wheel centre, the brake on the upright.
const HANGING: CaseLoad = CaseLoad {
    contact_n: Vector3::new(-150.0, 220.0, -90.0),
    centre_n: Vector3::new(60.0, -40.0, -420.0),
    moment_nm: Vector3::new(9.0, -14.0, 22.0),
    torque_to: None,
};

/// A corner of this repository with a strap from the frame behind the spring to the upright.
fn car(path: &str, length: &str) -> Geometry {
    let strap =
        format!("strap = {{ chassis = [-70.0, 450.0, 560.0], upright = [-60.0, 690.0, 200.0]{length} }}\n[car]");
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    let text = std::fs::read_to_string(path).expect("a file of this repository");
    assert_eq!(text.matches("[car]").count(), 1);
    let file = GeometryFile::parse("car", &text.replace("[car]", &strap));
    file.unwrap_or_else(|error| panic!("{error}")).geometry
}

const CARS: [&str; 2] = ["tests/outside/fl-c.toml", "tests/outside/spring-on-link.toml"];

fn strap_of(corner: &Corner) -> Strap {
    corner.spring.as_ref().unwrap().make.strap.expect("a strap")
}

fn on_strap(corner: &Corner, posture: &Posture, load: &CaseLoad) -> Result<WheelForces, StrapFails> {
    WheelForces::on_strap((corner, corner.spring.as_ref().unwrap(), &strap_of(corner)), posture, load)
}

fn postures(corner: &Corner, bumps_mm: &[f64]) -> WheelPath {
    WheelPath::follow(&Linkage::new(corner), bumps_mm).expect("a corner that moves")
}

/// The work of the load over a millimetre goes into the strap: its tension over the change of its length, taken by differences.
#[test]
fn the_strap_takes_the_work_that_the_load_does() {
    for path in CARS {
        let corner = car(path, "").left;
        for bump_mm in [-45.0, -30.0, 0.0] {
            let path = postures(&corner, &[bump_mm - 1e-3, bump_mm, bump_mm + 1e-3]);
            let at = |mm: f64| path.at(bump_mm + mm).unwrap();
            let posture = at(0.0);
            let s = spin_axis(&corner, &posture);
            let contact = contact_point(&posture.wheel_centre(), &s, corner.wheel.tyre_radius_mm, &Vector3::z());
            let work_n = HANGING.contact_n.dot(&posture.velocity_at(&contact))
                + HANGING.centre_n.dot(&posture.motion.velocity)
                + 1000.0 * HANGING.moment_nm.dot(&posture.motion.angular);
            let strap = strap_of(&corner);
            let differences = (strap_mm(&strap, &at(1e-3)) - strap_mm(&strap, &at(-1e-3))) / 2e-3;
            let along = (posture.point(&strap.upright) - strap.chassis).normalize();
            let longer = along.dot(&posture.velocity_at(&posture.point(&strap.upright)));
            assert!((longer - differences).abs() < 1e-7 && longer < 0.0, "{longer} {differences}");
            let forces = on_strap(&corner, &posture, &HANGING).expect("it pulls");
            let expected_n = work_n / longer;
            let strap_n = forces.strap_n.unwrap();
            assert!((strap_n - expected_n).abs() <= 1e-9 * expected_n && strap_n > 100.0, "{strap_n} {expected_n}");
            assert!(forces.spring_n == 0.0 && forces.links.iter().all(|link| link.bending_nm == 0.0));
        }
    }
}

/// Six wrenches about the datum of the car, written out row by row and solved at once.
#[test]
fn tensions_are_those_of_six_equations_about_the_datum() {
    for path in CARS {
        let corner = car(path, "").left;
        let posture = postures(&corner, &[-40.0]).at(-40.0).unwrap();
        let strap = strap_of(&corner);
        let lines =
            corner.links.iter().map(|link| (link.chassis, link.upright)).chain([(strap.chassis, strap.upright)]);
        let mut equations = Matrix6::zeros();
        for (k, (chassis, upright)) in lines.enumerate() {
            let (a, b) = (chassis, posture.point(&upright));
            let l = ((b.x - a.x).powi(2) + (b.y - a.y).powi(2) + (b.z - a.z).powi(2)).sqrt();
            let u = [(b.x - a.x) / l, (b.y - a.y) / l, (b.z - a.z) / l];
            let moment = [a.y * u[2] - a.z * u[1], a.z * u[0] - a.x * u[2], a.x * u[1] - a.y * u[0]];
            (0..3).for_each(|i| (equations[(i, k)], equations[(i + 3, k)]) = (u[i], moment[i] / 300.0));
        }
        let w = posture.wheel_centre();
        let s = spin_axis(&corner, &posture);
        let c = contact_point(&w, &s, corner.wheel.tyre_radius_mm, &Vector3::z());
        let about = |p: Point3<f64>, f: Vector3<f64>| {
            Vector3::new(p.y * f.z - p.z * f.y, p.z * f.x - p.x * f.z, p.x * f.y - p.y * f.x)
        };
        let force_n = HANGING.contact_n + HANGING.centre_n;
        let moment = about(c, HANGING.contact_n) + about(w, HANGING.centre_n) + 1000.0 * HANGING.moment_nm;
        let right = Vector6::from_iterator(force_n.iter().copied().chain(moment.iter().map(|m| m / 300.0)));
        let expected = equations.full_piv_lu().solve(&right).expect("six lines that hold it");
        let forces = on_strap(&corner, &posture, &HANGING).expect("it pulls");
        for (link, expected_n) in forces.links.iter().zip(expected.iter()) {
            assert!(
                (link.axial_n - expected_n).abs() <= 1e-9 * expected.norm(),
                "{path}: {} {expected_n}",
                link.axial_n
            );
        }
        assert!((forces.strap_n.unwrap() - expected[5]).abs() <= 1e-9 * expected.norm());
        // What the frame feels, about the datum too.
        let felt: Vector3<f64> = forces.brackets.iter().map(|of| of.force_n).sum();
        let turned: Vector3<f64> = forces.brackets.iter().map(|of| about(of.at, of.force_n)).sum();
        assert!((felt - force_n).norm() <= 1e-9 * force_n.norm() && (turned - moment).norm() <= 1e-9 * moment.norm());
        assert_eq!(forces.brackets.last().map(|of| of.part), Some(Part::Strap));
        assert!(forces.equilibrium_error <= 1e-9);
    }
}

fn loaded(mut car: Geometry, cases: &[(&str, f64)]) -> Geometry {
    let load = |&(case, up_n): &(&str, f64)| {
        let on_wheel = WheelLoad { centre_n: Some(Vector3::z() * up_n), ..WheelLoad::default() };
        Load { case: case.to_owned(), side: None, on_wheel }
    };
    car.loads = cases.iter().map(load).collect();
    car
}

fn found<'g>(car: &'g Geometry, also_at_mm: &[f64]) -> ForcesFindings<'g> {
    ForcesFindings::of(&Rig::new(car).unwrap(), &Side::BOTH, also_at_mm).unwrap()
}

/// At full droop alone, and only where it pulls; everywhere else the wheel stands on its spring as without a strap.
#[test]
fn a_strap_holds_at_full_droop_and_never_pushes() {
    for path in CARS {
        let cases = [("in the air", -400.0), ("on the road", 3000.0)];
        let (with, without) = (loaded(car(path, ""), &cases), loaded(super::geometry(path), &cases));
        let (with, without) = (found(&with, &[]), found(&without, &[]));
        for ((case, side, forces), (_, _, plain)) in with.all().zip(without.all()) {
            let is_held = case.name == "in the air" && forces.bump_mm == -with.geometry.travel.droop_mm;
            assert_eq!(plain.strap_n, None);
            match is_held {
                true => assert!(forces.spring_n == 0.0 && forces.strap_n > Some(100.0), "{path}, {side:?}: {forces:?}"),
                false => {
                    assert_eq!(
                        (forces.strap_n, forces.spring_n, forces.links),
                        (Some(0.0), plain.spring_n, plain.links)
                    )
                }
            }
        }
        let told = with.strap_slack.iter().map(|slack| (&*slack.case, slack.side, slack.at_bump_mm, slack.why));
        let droop_mm = -with.geometry.travel.droop_mm;
        let expected = Side::BOTH.map(|side| ("on the road", side, droop_mm, StrapFails::WouldPush));
        assert_eq!(told.collect::<Vec<_>>(), expected);
        assert!(with.strap_off_its_length.is_empty() && without.strap_slack.is_empty());
        let parts: Vec<&str> = with.extremes[0].parts.iter().map(|part| part.part.as_str()).collect();
        assert_eq!((parts.len(), parts[5], parts[6]), (7, "spring", "strap"));
        assert!(with.extremes[0].parts[6].push.is_none() && with.extremes[0].brackets[6].bracket == "strap chassis");
        assert!(with.worst_equilibrium_error() <= 1e-9);
    }
}

/// One that is cut is taut where its ends are as far apart as it is long, wherever the stop of the file is.
#[test]
fn a_cut_strap_is_taut_where_its_length_says() {
    let plain = car(CARS[0], "");
    let strap = strap_of(&plain.left);
    let apart = |bump_mm: f64| strap_mm(&strap, &postures(&plain.left, &[bump_mm]).at(bump_mm).unwrap());
    let with = |length_mm: f64| loaded(car(CARS[0], &format!(", length = {length_mm}")), &[("in the air", -400.0)]);
    let held_mm = |car: &Geometry| -> Vec<f64> {
        let found = found(car, &[-40.0]);
        let on_strap = found.all().filter(|(_, side, forces)| *side == Side::Left && forces.strap_n > Some(0.0));
        on_strap.map(|(_, _, forces)| forces.bump_mm).collect()
    };
    let (short, exact, long) = (with(apart(-40.0)), with(apart(-60.0)), with(apart(-60.0) + 20.0));
    assert_eq!((held_mm(&short), held_mm(&exact), held_mm(&long)), (vec![-60.0, -40.0], vec![-60.0], vec![]));
    assert!(found(&exact, &[]).strap_off_its_length.is_empty());
    for (car, off_mm) in [(&short, apart(-40.0) - apart(-60.0)), (&long, 20.0)] {
        let found = found(car, &[]);
        let told: Vec<(Side, f64)> =
            found.strap_off_its_length.iter().map(|off| (off.side, off.length_mm - off.apart_mm)).collect();
        assert_eq!(told.iter().map(|(side, _)| *side).collect::<Vec<_>>(), Side::BOTH);
        assert!(told.iter().all(|(_, mm)| (mm - off_mm).abs() < 1e-6), "{told:?} {off_mm}");
    }
}

/// A strap square to the way of its end does not change its length: it holds nothing, and the spring does.
#[test]
fn a_strap_square_to_the_travel_does_not_hold() {
    let mut car = loaded(car(CARS[0], ""), &[("in the air", -400.0)]);
    let posture = postures(&car.left, &[-60.0]).at(-60.0).unwrap();
    for corner in [&mut car.left, &mut car.right] {
        let strap = corner.spring.as_mut().unwrap().make.strap.as_mut().unwrap();
        let end = posture.point(&strap.upright);
        strap.chassis = end + posture.velocity_at(&end).cross(&Vector3::x()).normalize() * 300.0;
    }
    let found = found(&car, &[]);
    assert!(found.strap_slack.iter().all(|slack| slack.why == StrapFails::DoesNotHold) && found.strap_slack.len() == 2);
    assert!(found.all().all(|(_, _, forces)| forces.strap_n == Some(0.0) && forces.spring_n != 0.0));
}
