//! What loads do to toe and camber: against postures solved again with stretched links, springs in a row, and reciprocity.

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Corner, Geometry, LinkTube, Side, TorquePath};
use hubtrace::measures::{camber_deg, contact_point, spin_axis, toe_deg};
use hubtrace::mechanism::{Flexibility, Linkage, Posture, WheelPath, Wrench};
use hubtrace::studies::Rig;
use hubtrace::studies::forces::{Deflection, ForcesFindings, Held, UnitLoad, UnitResponse, link_stiffness_n_per_mm};
use nalgebra::{Point3, Vector3};

use super::geometry;

/// With tubes on every link and a rate on the spring.
fn car(path: &str) -> Geometry {
    let mut car = geometry(path);
    for corner in [&mut car.left, &mut car.right] {
        for link in &mut corner.links {
            link.tube = Some(LinkTube { od_mm: 25.0, wall_mm: Some(2.0), material: Some("E355".to_owned()) });
        }
        corner.spring.as_mut().expect("a spring").make.rate_n_per_mm = Some(50.0);
    }
    car.car.brake_torque_to = Some(TorquePath::Upright);
    car.car.drive_torque_to = Some(TorquePath::Halfshaft);
    car
}

fn responses(car: &Geometry, bump_mm: f64) -> Vec<UnitResponse> {
    let found = ForcesFindings::of(&Rig::new(car).unwrap(), &Side::BOTH, &[]).unwrap();
    let wheel = found.compliance.iter().find(|wheel| wheel.side == Side::Left && wheel.bump_mm == bump_mm);
    wheel.expect("a wheel with stiff links").responses.clone()
}

fn of(responses: &[UnitResponse], load: UnitLoad, held: Held) -> Deflection {
    let found = responses.iter().find(|response| response.load == load && response.held == held);
    found.unwrap_or_else(|| panic!("no {load:?} {held:?}")).deflection
}

/// Toe, camber and place of the contact point, which the program reads from a posture.
fn seen(corner: &Corner, posture: &Posture) -> [f64; 3] {
    let s = spin_axis(corner, posture);
    let contact = contact_point(&posture.wheel_centre(), &s, corner.wheel.tyre_radius_mm, &Vector3::z());
    [toe_deg(&s), camber_deg(&s), contact.y]
}

/// The links stretched by what the forces make of them, the posture solved again at the same height: what is left of the
/// difference falls with the square of the load.
#[test]
fn compliance_is_the_posture_with_stretched_links_to_second_order() {
    for path in ["tests/outside/fl-c.toml", "tests/outside/spring-on-link.toml", "geometries/first-cut.toml"] {
        let car = car(path);
        let corner = &car.left;
        let linkage = Linkage::new(corner);
        let posture = linkage.design().unwrap();
        let stiffness = corner.links.each_ref().map(|link| link_stiffness_n_per_mm(&car, link).unwrap());
        let flexibility = Flexibility::with_travel_held(&linkage, &posture, &stiffness).unwrap();
        let contact = Point3::new(0.0, 0.0, -corner.wheel.tyre_radius_mm) + posture.wheel_centre().coords;
        // Contact straight below the centre is near enough for a load; what it does is solved for.
        let left_over = |times: f64| -> [f64; 3] {
            let force_n = Vector3::new(-800.0, 1000.0, 300.0) * times;
            let load = Wrench::of_force(force_n, &contact, &posture.wheel_centre());
            let stretched =
                (0..5).zip(flexibility.stretch_mm(&load)).fold(linkage.clone(), |l, (i, mm)| l.lengthened(i, mm));
            let moved = stretched.design().unwrap();
            let (shift, turn) = flexibility.displacement(&load);
            let first_order = {
                let s = spin_axis(corner, &posture);
                let turned = turn.cross(&s);
                let toe = (s.y * turned.x - s.x * turned.y) / (s.x * s.x + s.y * s.y);
                [toe.to_degrees(), (-turned.z / s.x.hypot(s.y)).to_degrees(), shift.y]
            };
            let (after, before) = (seen(corner, &moved), seen(corner, &posture));
            let centre = moved.wheel_centre().y - posture.wheel_centre().y;
            [after[0] - before[0] - first_order[0], after[1] - before[1] - first_order[1], centre - first_order[2]]
        };
        let (whole, half, small) = (left_over(20.0), left_over(10.0), left_over(1.0));
        for ((whole, half), small) in whole.into_iter().zip(half).zip(small) {
            let order = (whole / half).abs().log2();
            assert!((order - 2.0).abs() < 0.15, "{path}: order {order}, {whole} {half}");
            assert!(small.abs() < 1.5 * whole.abs() / 400.0 + 1e-9, "{path}: {small} {whole}");
        }
    }
}

/// The findings of one unit of load are the same posture, toe, camber and tyre.
#[test]
fn unit_responses_are_what_a_stretched_wheel_shows() {
    let car = car("tests/outside/fl-c.toml");
    let corner = &car.left;
    let linkage = Linkage::new(corner);
    let path = WheelPath::follow(&linkage, &[-60.0, 60.0]).unwrap();
    let bump_mm = car.travel.bump_mm;
    let posture = path.at(bump_mm).unwrap();
    let stiffness = corner.links.each_ref().map(|link| link_stiffness_n_per_mm(&car, link).unwrap());
    let flexibility = Flexibility::with_travel_held(&linkage, &posture, &stiffness).unwrap();
    let contact = contact_point(
        &posture.wheel_centre(),
        &spin_axis(corner, &posture),
        corner.wheel.tyre_radius_mm,
        &Vector3::z(),
    );
    let load = Wrench::of_force(Vector3::y() * 1000.0, &contact, &posture.wheel_centre());
    let stretch = flexibility.stretch_mm(&load);
    let longer = |sign: f64| {
        let linkage = (0..5).zip(stretch).fold(linkage.clone(), |l, (i, mm)| l.lengthened(i, sign * mm));
        seen(corner, &WheelPath::follow(&linkage, &[bump_mm]).unwrap().at(bump_mm).unwrap())
    };
    let (plus, minus) = (longer(1.0), longer(-1.0));
    let found = of(&responses(&car, bump_mm), UnitLoad::LateralOutboard, Held::WheelTravel);
    for (got, k) in [(found.toe_deg, 0), (found.camber_deg, 1), (found.lateral_mm, 2)] {
        let central = 0.5 * (plus[k] - minus[k]);
        assert!((got - central).abs() < 1e-6 * central.abs().max(0.01), "{k}: {got} {central}");
    }
    assert!(found.lateral_mm > 0.0, "it gives way towards the push");
}

/// With the height free and a spring as stiff as the frame the spring's length is held: then nothing but the links gives, and
/// with a soft one bump steer comes in and can turn the sign.
#[test]
fn what_is_held_decides() {
    let mut car = car("tests/outside/fl-c.toml");
    let toe = |car: &Geometry, held: Held| of(&responses(car, 0.0), UnitLoad::LateralOutboard, held).toe_deg;
    let (held, soft) = (toe(&car, Held::WheelTravel), toe(&car, Held::Nothing));
    for corner in [&mut car.left, &mut car.right] {
        corner.spring.as_mut().unwrap().make.rate_n_per_mm = Some(1e9);
    }
    let hard = toe(&car, Held::Nothing);
    assert_eq!(held, toe(&car, Held::WheelTravel));
    assert!(held != hard && hard != soft, "{held} {hard} {soft}");
    // The spring's share: its force changes by −(push along the motion)/ratio, and the wheel goes with it.
    let corner = &car.left;
    let posture = Linkage::new(corner).design().unwrap();
    let contact = posture.wheel_centre() - Vector3::z() * corner.wheel.tyre_radius_mm;
    let ratio = hubtrace::measures::spring(corner, &posture).unwrap().ratio;
    let along = 1000.0 * posture.velocity_at(&contact).y;
    let bump_mm = along / (ratio * ratio * 50.0);
    let gradient = hubtrace::measures::toe_gradient_deg_per_mm(&spin_axis(corner, &posture), &posture.motion);
    assert!((soft - hard - bump_mm * gradient).abs() < 1e-7, "{} {}", soft - hard, bump_mm * gradient);
}

/// `L/(E A) + 2/k + 1/k`: 400 mm of 25 x 2 steel, 144.5 mm², give 75.9 kN/mm.
#[test]
fn springs_in_a_row_make_the_stiffness_of_a_link() {
    let text = include_str!("../good/corner.toml").replace(
        "chassis = [-220.0, 360.0, 262.0]\nupright = [-130.0, 668.0, 270.0]",
        "chassis = [-130.0, 268.0, 270.0]\nupright = [-130.0, 668.0, 270.0]\n\
         tube = { od = 25.0, wall = 2.0, material = \"E355\" }\nrod_end = { stiffness_kn_per_mm = 100.0 }\nbracket_kn_per_mm = 20.0",
    );
    let car = GeometryFile::parse("car", &text).unwrap_or_else(|error| panic!("{error}")).geometry;
    let stiffness = link_stiffness_n_per_mm(&car, &car.left.links[4]).unwrap();
    let by_hand = 1.0 / (400.0 / (210_000.0 * 144.513) + 2.0 / 100_000.0 + 1.0 / 20_000.0);
    assert!((stiffness - by_hand).abs() < 1e-3 * by_hand, "{stiffness} {by_hand}");
    assert_eq!(link_stiffness_n_per_mm(&car, &car.left.links[0]), None);
}

/// Betti and Maxwell: what a first load does along a second is what the second does along the first.
#[test]
fn loads_and_what_they_do_are_reciprocal() {
    for path in ["tests/outside/fl-c.toml", "tests/outside/spring-on-link.toml"] {
        let car = car(path);
        let linkage = Linkage::new(&car.left);
        let posture = linkage.design().unwrap();
        let stiffness = car.left.links.each_ref().map(|link| link_stiffness_n_per_mm(&car, link).unwrap());
        let flexibility = Flexibility::with_travel_held(&linkage, &posture, &stiffness).unwrap();
        let work = |first: &Wrench, second: &Wrench| {
            let (shift, turn) = flexibility.displacement(first);
            shift.dot(&second.force_n) + turn.dot(&second.moment_n_mm)
        };
        let one = Wrench { force_n: Vector3::new(100.0, 900.0, -30.0), moment_n_mm: Vector3::new(2e4, -3e4, 1e4) };
        let other = Wrench { force_n: Vector3::new(-700.0, 50.0, 200.0), moment_n_mm: Vector3::new(-5e3, 1e3, 8e4) };
        let (there, back) = (work(&one, &other), work(&other, &one));
        assert!((there - back).abs() < 1e-9 * there.abs() && work(&one, &one) > 0.0, "{there} {back}");
    }
}

#[test]
fn compliance_without_tubes_or_rate_is_not_told() {
    let bare = geometry("tests/outside/fl-c.toml");
    let with = |car: &Geometry| {
        let found = ForcesFindings::of(&Rig::new(car).unwrap(), &Side::BOTH, &[]).unwrap();
        let names: Vec<String> = found.lacking.iter().map(|lacks| lacks.what.clone()).collect();
        (found.compliance.len(), names)
    };
    let (wheels, lacking) = with(&bare);
    assert!(wheels == 0 && lacking.contains(&"toe and camber under load".to_owned()), "{lacking:?}");
    let mut car = car("tests/outside/fl-c.toml");
    car.left.spring.as_mut().unwrap().make.rate_n_per_mm = None;
    let (wheels, lacking) = with(&car);
    assert!(
        wheels == 6 && lacking.contains(&"toe and camber under load with the height free".to_owned()),
        "{lacking:?}"
    );
    assert!(responses(&car, 0.0).iter().all(|response| response.held == Held::WheelTravel));
}
