//! The bolts of the final drive: sums on paper, the couple of a bent shaft, and which tubes carry it.

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Geometry, Side};
use hubtrace::studies::Rig;
use hubtrace::studies::forces::{ForcesFindings, MountCase, MountFindings};
use nalgebra::Vector3;

const SHAFT: &str = "[halfshaft]\ninner = [0.0, 205.0, 312.0]\nouter = [-0.16, 655.0, 305.64]\n";
const UP: &str = "\n[[load]]\nname = \"up\"\ncontact = [0.0, 0.0, 3000.0]\n";

/// Four upright bolts at ±100, ±80 mm under a housing that stands on them; 500 N·m into a ratio of 4.
fn text(bias: f64) -> String {
    let corner = include_str!("../good/corner.toml");
    assert!(corner.contains(SHAFT));
    format!(
        "{corner}{UP}
[final_drive]
origin = [0.0, 0.0, 312.0]
left = {{ at = [0.0, 205.0, 0.0], axis = [0.0, 1.0, 0.0] }}
right = {{ at = [0.0, -205.0, 0.0], axis = [0.0, -1.0, 0.0] }}
pinion = {{ at = [160.0, 0.0, 0.0], axis = [1.0, 0.0, 0.0] }}
holes = [[100.0, 80.0, -90.0], [100.0, -80.0, -90.0], [-100.0, 80.0, -90.0], [-100.0, -80.0, -90.0]]
mount = {{ ratio = 4.0, bias = {bias}, thread = \"M12\", class = \"10.9\", along = [[0, 0, 1], [0, 0, 1], [0, 0, 1], [0, 0, 1]] }}

[propshaft]
torque = 500.0
input_axis = [-1.0, 0.0, 0.0]

[[propshaft.joint]]
kind = \"universal\"
at = [1100.0, 0.0, 312.0]

[[propshaft.joint]]
kind = \"universal\"
at = [160.0, 0.0, 312.0]
"
    )
}

fn car(text: &str) -> Geometry {
    GeometryFile::parse("car.toml", text).unwrap_or_else(|error| panic!("{error}")).geometry
}

fn mounts(car: &Geometry) -> MountFindings {
    let found = ForcesFindings::of(&Rig::new(car).unwrap(), &Side::BOTH, &[]).unwrap();
    found.mounts.unwrap_or_else(|| panic!("{:?}", found.lacking))
}

/// Moment of the shafts on the housing, N·m, from what its bolts do to it.
fn moment_nm(case: &MountCase) -> Vector3<f64> {
    -case.bolts.iter().map(|bolt| bolt.at.coords.cross(&bolt.force_n)).sum::<Vector3<f64>>() / 1000.0
}

/// 2000 N·m on the axle lift the nose, 2 000 000 · 100 / (4 · 100²) = 5000 N a bolt; 500 N·m about the pinion roll the housing,
/// 500 000 · 80 / (4 · 80²) = 1562.5 N. Nothing is left across the bolts.
#[test]
fn driving_lifts_the_nose_and_the_pinion_rolls_the_housing() {
    let found = mounts(&car(&text(0.5)));
    let of = |name: &str| -> Vec<&MountCase> { found.cases.iter().filter(|case| case.case == name).collect() };
    let (driving, overrunning) = (of("full torque, driving"), of("full torque, overrunning"));
    assert_eq!((driving.len(), overrunning.len(), found.cases.len()), (4, 4, 8));
    for (cases, sign) in [(driving, 1.0), (overrunning, -1.0)] {
        for case in cases {
            assert!((case.output_nm.left - sign * 1000.0).abs() < 1e-9 && case.pinion_nm.abs() == 500.0, "{case:?}");
            for (bolt, (x, y)) in case.bolts.iter().zip([(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)]) {
                let expected = sign * x * 5000.0 + y * case.pinion_nm.signum() * 1562.5;
                assert!((bolt.pull_out_n - expected).abs() < 1e-6, "{case:?}");
                assert!(bolt.shear_n < 1e-6, "{case:?}");
            }
        }
    }
    // M12, class 10.9: 0.9 · 1000 · 84.27 / 1.25 = 60 670 N over 6562.5 N.
    assert!(found.bolts.iter().all(|bolt| (bolt.reserve - 9.245).abs() < 0.002), "{:?}", found.bolts);
}

/// With all of the torque in one bent shaft, its joint leaves `T tan(β/2)` on the housing across the flange; the other shaft
/// leaves the mirror image.
#[test]
fn a_bent_shaft_leaves_its_couple_on_the_housing() {
    let found = mounts(&car(&text(1.0)));
    let bend_rad = Vector3::<f64>::new(-0.16, 450.0, -6.36).angle(&Vector3::y());
    let couples = found.cases.iter().filter(|case| case.case == "full torque, driving").map(|case| {
        let moment_nm = moment_nm(case);
        assert!((moment_nm.y + 2000.0).abs() < 1e-6, "{moment_nm}");
        (case.output_nm, moment_nm - Vector3::new(case.pinion_nm, -2000.0, 0.0))
    });
    let couples: Vec<_> = couples.collect();
    for (output_nm, couple_nm) in &couples {
        assert_eq!((output_nm.left - output_nm.right).abs(), 2000.0);
        let expected = 2000.0 * (0.5 * bend_rad).tan();
        assert!((couple_nm.norm() - expected).abs() < 1e-6, "{couple_nm}, {expected}");
        // The left shaft falls outboard, so that what it leaves points up.
        assert_eq!(couple_nm.z > 0.0, output_nm.left > output_nm.right, "{couple_nm}");
    }
    let sum: Vector3<f64> = couples.iter().map(|(_, couple)| couple).sum();
    assert!(sum.norm() < 1e-9);
}

#[test]
fn load_cases_turn_the_pinion_and_inboard_brakes_do_not() {
    let loads =
        "\n[[load]]\nname = \"drive\"\nside = \"left\"\ncontact = [1000.0, 0.0, 3000.0]\ntorque_to = \"halfshaft\"\n
[[load]]\nname = \"brake\"\ncontact = [-1000.0, 0.0, 3000.0]\ntorque_to = \"halfshaft\"\n";
    let car = car(&(text(0.5).replace(UP, "") + loads));
    let found = mounts(&car);
    let of = |name: &str| -> Vec<&MountCase> { found.cases.iter().filter(|case| case.case == name).collect() };
    assert_eq!((of("drive").len(), of("brake").len()), (6, 3), "three heights, both senses of the pinion");
    for case in of("drive") {
        assert!(case.output_nm.right == 0.0 && (300.0..310.0).contains(&case.output_nm.left), "{case:?}");
        assert!((case.pinion_nm.abs() - 0.25 * case.output_nm.left).abs() < 1e-9);
    }
    for case in of("brake") {
        assert!(
            case.pinion_nm == 0.0 && (moment_nm(case).y - 2.0 * case.output_nm.left.abs()).abs() < 1e-6,
            "{case:?}"
        );
    }
}

#[test]
fn the_nearest_tubes_carry_it() {
    let rails = "\n[[tube]]\nname = \"rail\"\nfrom = [-300.0, 80.0, 212.0]\nto = [300.0, 80.0, 212.0]\n
[[tube]]\nname = \"roof\"\nfrom = [-300.0, 0.0, 1000.0]\nto = [300.0, 0.0, 1000.0]\n";
    let found = mounts(&car(&(text(0.5) + rails)));
    let mut carried: Vec<(&str, &[usize])> =
        found.tubes.iter().map(|load| (load.tube.as_str(), &load.holes[..])).collect();
    carried.sort_unstable();
    assert_eq!(carried, [("rail, left", &[1, 3][..]), ("rail, right", &[2, 4][..])]);
    for load in &found.tubes {
        assert!((load.force_n - 10_000.0).abs() < 1e-6, "6562.5 and 3437.5 N: {load:?}");
    }
    assert!(found.bolts.iter().all(|bolt| (bolt.tube.as_ref().unwrap().off_mm - 10.0).abs() < 1e-9));
}

#[test]
fn what_is_not_known_of_the_mount_is_said() {
    let lacks = |text: &str, sides: &[Side]| {
        let car = car(text);
        let found = ForcesFindings::of(&Rig::new(&car).unwrap(), sides, &[]).unwrap();
        assert!(found.mounts.is_none());
        let of = found.lacking.into_iter().find(|lacks| lacks.what == "bolts of the final drive");
        of.expect("it is told").needs
    };
    let line = |key: &str| text(0.5).lines().filter(|line| !line.starts_with(key)).collect::<Vec<_>>().join("\n");
    assert_eq!(lacks(&line("mount = {"), &Side::BOTH), "mount in [final_drive]");
    assert_eq!(lacks(&text(0.5), &[Side::Left]), "both wheels: leave out --side");
    assert!(lacks(&line("torque"), &Side::BOTH).starts_with("torque in [propshaft]"));
    let in_line = text(0.5).replace(", 80.0, -90.0]", ", 0.0, -90.0]").replace(", -80.0, -90.0]", ", 0.0, -90.0]");
    assert!(lacks(&in_line, &Side::BOTH).contains("not in one line"));
}
