//! Load cases: those of a file, and the usual ones worked by hand.

use hubtrace::geometry::{Car, Geometry, Load, Side, TorquePath, WheelLoad};
use hubtrace::studies::Rig;
use hubtrace::studies::forces::{CaseLoad, ForcesFindings, LoadCase, load_cases};
use nalgebra::Vector3;

use super::geometry;

const G: f64 = 9.806_65;

/// A 1000 kg car, half of it on the rear axle, 500 mm high, 2500 mm long; its track is that of the demo.
fn car() -> (Geometry, f64) {
    let mut car = geometry("geometries/first-cut.toml");
    car.car = Car {
        wheelbase_mm: Some(2500.0),
        cg_height_mm: Some(500.0),
        rear_drive_share: Some(1.0),
        rear_brake_share: Some(0.4),
        mass_kg: Some(1000.0),
        rear_mass_share: Some(0.5),
        brake_torque_to: Some(TorquePath::Upright),
        drive_torque_to: Some(TorquePath::Halfshaft),
    };
    (car, 1490.0)
}

fn case<'c>(cases: &'c [LoadCase], name: &str) -> &'c LoadCase {
    cases.iter().find(|case| case.name == name).unwrap_or_else(|| panic!("no {name} in {cases:?}"))
}

fn contact(cases: &[LoadCase], name: &str, side: Side) -> Vector3<f64> {
    case(cases, name).wheels[side].expect("a load").contact_n
}

fn assert_near(got: Vector3<f64>, expected: [f64; 3]) {
    assert!((got - Vector3::from(expected)).norm() < 0.5, "{got}, expected {expected:?}");
}

/// By hand, in g of 9.80665: 500 kg stand on the axle.
#[test]
fn the_usual_cases_are_those_worked_by_hand() {
    let (car, track_mm) = car();
    let (cases, lacking) = load_cases(&car);
    assert!(lacking.is_empty() && cases.iter().all(|case| case.common_practice));
    let names: Vec<&str> = cases.iter().map(|case| case.name.as_str()).collect();
    let left = ", left outside";
    let pairs = ["corner and braking", "corner and driving"].map(|name| format!("{name}{left}"));
    assert_eq!(names, ["standing", "bump", "corner, left outside", "braking", "driving", &pairs[0], &pairs[1]]);
    for side in Side::BOTH {
        assert_near(contact(&cases, "standing", side), [0.0, 0.0, 250.0 * G]);
        assert_near(contact(&cases, "bump", side), [0.0, 0.0, 750.0 * G]);
        // 1.2 g take 1.2 · 500/2500 · 1000 kg = 240 kg off the axle; 0.4 · 1.2 · 1000 kg brake it.
        assert_near(contact(&cases, "braking", side), [-240.0 * G, 0.0, 130.0 * G]);
        // 1 g puts 200 kg on it.
        assert_near(contact(&cases, "driving", side), [500.0 * G, 0.0, 350.0 * G]);
    }
    // 1.5 g shift 750 kg · 500 mm / track from the inner to the outer wheel: 251.7 kg, more than there is.
    assert_near(contact(&cases, "corner, left outside", Side::Left), [0.0, -750.0 * G, 500.0 * G]);
    assert_near(contact(&cases, "corner, left outside", Side::Right), [0.0, 0.0, 0.0]);
    // At 0.7 of both: 0.84 g leave 332 kg on the axle, 1.05 g shift 525 · 500 / track = 176.2 kg, which is all of one wheel.
    assert_near(contact(&cases, &pairs[0], Side::Right), [0.0, 0.0, 0.0]);
    // 0.7 g put 140 kg more on it: 640 kg.
    let shift = 525.0 * 500.0 / track_mm;
    let (outer, inner) = (320.0 + shift, 320.0 - shift);
    assert_near(contact(&cases, &pairs[1], Side::Left), [350.0 * G, -525.0 * G * outer / 640.0, outer * G]);
    assert_near(contact(&cases, &pairs[1], Side::Right), [350.0 * G, 525.0 * G * inner / 640.0, inner * G]);
    let paths = |name: &str| case(&cases, name).wheels[Side::Left].unwrap().torque_to;
    assert_eq!(paths("braking"), Some(TorquePath::Upright));
    assert_eq!(paths("driving"), Some(TorquePath::Halfshaft));
    assert_eq!(paths("bump"), None);
}

/// One wheel of a mirrored car stands for both: asked for alone, either has the extremes of the pair, with loads of the trade
/// and with a load of the file on one wheel only.
#[test]
fn one_wheel_of_a_mirrored_car_bears_what_either_does() {
    let (usual, _) = car();
    let contact_n = Some(Vector3::new(-1500.0, -2500.0, 4000.0));
    let on_wheel = WheelLoad { contact_n, ..WheelLoad::default() };
    let kerb = Load { case: "kerb".to_owned(), side: Some(Side::Left), on_wheel };
    for car in [usual.clone(), Geometry { loads: vec![kerb], ..usual }] {
        let rig = Rig::new(&car).expect("a car that moves");
        let largest = |sides: &[Side]| {
            let found = ForcesFindings::of(&rig, sides, &[]).expect("springs");
            let axial = |link: usize| found.all().map(move |(_, _, forces)| forces.links[link].axial_n);
            [0, 1, 2, 3, 4].map(|link| [axial(link).fold(0.0, f64::min), axial(link).fold(0.0, f64::max)])
        };
        let both = largest(&Side::BOTH);
        for side in Side::BOTH {
            for (alone, of_both) in largest(&[side]).into_iter().zip(both).flat_map(|(a, b)| a.into_iter().zip(b)) {
                assert!((alone - of_both).abs() < 1e-6 * of_both.abs().max(1.0), "{side:?}: {alone} and {of_both}");
            }
        }
    }
}

#[test]
fn a_car_with_two_different_sides_turns_both_ways() {
    let mut two_sided = geometry("geometries/as-built.toml");
    two_sided.car = car().0.car;
    let (cases, _) = load_cases(&two_sided);
    assert_eq!(cases.len(), 10);
    let [one, other] =
        ["left", "right"].map(|side| case(&cases, &format!("corner and driving, {side} outside")).wheels);
    assert_eq!((one.left, one.right), (other.right, other.left));
    assert_ne!(one.left, one.right);
}

/// A mirrored car whose final drive sits off the middle has two different halfshafts, which load their wheels differently.
#[test]
fn a_lopsided_final_drive_turns_both_ways_and_tells_each_wheel() {
    let (mut lopsided, _) = car();
    let whole = ForcesFindings::of(&Rig::new(&lopsided).unwrap(), &Side::BOTH, &[]).unwrap();
    assert_eq!((whole.cases.len(), whole.extremes.len(), whole.margins.len(), whole.frame.len()), (7, 1, 1, 1));
    lopsided.right.halfshaft.as_mut().expect("a halfshaft").inner.z -= 40.0;
    assert!(lopsided.mirrored);
    let (cases, _) = load_cases(&lopsided);
    assert_eq!(cases.len(), 10);
    let [one, other] =
        ["left", "right"].map(|side| case(&cases, &format!("corner and driving, {side} outside")).wheels);
    assert_eq!((one.left, one.right), (other.right, other.left));
    let found = ForcesFindings::of(&Rig::new(&lopsided).unwrap(), &Side::BOTH, &[]).unwrap();
    assert_eq!((found.extremes.len(), found.margins.len(), found.frame.len()), (2, 2, 2));
    let couple_nm = |side: Side| {
        let driving = found.cases.iter().find(|case| case.name == "driving").unwrap();
        driving.wheels[&side].positions.iter().find(|at| at.bump_mm == 0.0).unwrap().halfshaft.unwrap().couple_nm
    };
    assert!(
        couple_nm(Side::Right) > 2.0 * couple_nm(Side::Left),
        "{} {}",
        couple_nm(Side::Right),
        couple_nm(Side::Left)
    );
}

#[test]
fn a_usual_case_that_lacks_a_key_says_which() {
    let without = |change: fn(&mut Car)| {
        let (mut car, _) = car();
        change(&mut car.car);
        let (cases, lacking) = load_cases(&car);
        (cases.len(), lacking.into_iter().map(|lacks| format!("{}: {}", lacks.what, lacks.needs)).collect::<Vec<_>>())
    };
    let (none, said) = without(|car| car.mass_kg = None);
    assert_eq!(
        (none, said),
        (0, vec!["the usual load cases: mass and rear_mass_share in [car], or [[load]]".to_owned()])
    );
    let (some, said) = without(|car| car.brake_torque_to = None);
    assert_eq!(some, 5);
    assert_eq!(said, ["braking: brake_torque_to in [car]", "corner and braking: brake_torque_to in [car]"]);
    let (some, said) = without(|car| (car.cg_height_mm, car.rear_drive_share) = (None, None));
    assert_eq!((some, said.len()), (2, 5));
    assert_eq!(said[2], "driving: cg_height, rear_drive_share in [car]");
}

#[test]
fn entries_of_one_name_are_one_case_and_multiples_become_newtons() {
    let (mut car, _) = car();
    let load = |case: &str, side, on_wheel| Load { case: case.to_owned(), side, on_wheel };
    let times = |z: f64| WheelLoad { contact_times_static: Some(Vector3::new(0.0, -1.0, z)), ..WheelLoad::default() };
    let push = WheelLoad { centre_n: Some(Vector3::x()), ..WheelLoad::default() };
    car.loads = vec![
        load("pair", Some(Side::Left), times(2.0)),
        load("push", None, push),
        load("pair", Some(Side::Right), times(0.5)),
        load("one wheel", Some(Side::Right), push),
        load("nothing", None, WheelLoad::default()),
    ];
    let (cases, lacking) = load_cases(&car);
    let names: Vec<&str> = cases.iter().map(|case| case.name.as_str()).collect();
    assert_eq!(names, ["pair", "push", "one wheel"]);
    assert!(cases.iter().all(|case| !case.common_practice));
    assert_near(contact(&cases, "pair", Side::Left), [0.0, -250.0 * G, 500.0 * G]);
    assert_near(contact(&cases, "pair", Side::Right), [0.0, -250.0 * G, 125.0 * G]);
    assert_eq!(cases[1].wheels.left, Some(CaseLoad { centre_n: Vector3::x(), ..CaseLoad::default() }));
    assert_eq!((cases[2].wheels.left, cases[2].wheels.right.is_some()), (None, true));
    assert_eq!(lacking.len(), 1);
    assert!(lacking[0].what == "load \"nothing\"" && lacking[0].needs.contains("`contact`"), "{lacking:?}");

    car.car.rear_mass_share = None;
    let (cases, lacking) = load_cases(&car);
    // A pair that cannot be told is left out with both its wheels.
    assert_eq!(cases.len(), 2);
    assert!(
        lacking.iter().filter(|lacks| lacks.needs == "mass and rear_mass_share in [car]").count() == 1,
        "{lacking:?}"
    );
}
