//! Link and spring forces: six equations of equilibrium in six tensions.

use std::path::Path;

use hubtrace::file::GeometryFile;
use hubtrace::geometry::Corner;
use hubtrace::mechanism::{Linkage, Strut, Wrench, tensions};
use nalgebra::{Point3, Rotation3, Vector3, Vector6};

use super::file::topics;

/// N; the outside table is written in full precision.
const AGREES_N: f64 = 1e-7;

/// Tension of the five links and the spring at design, N, under a force at a point and a moment in N·mm.
///
/// The world is turned first, which changes no tension: some members hold their body and leave no way up for bump travel.
fn members(corner: &Corner, force_n: Vector3<f64>, at: Point3<f64>, moment_n_mm: Vector3<f64>) -> Vector6<f64> {
    let (centre, world) = (corner.wheel.centre, Rotation3::from_euler_angles(0.4, -0.3, 0.2));
    let turned = |place: Point3<f64>| centre + world * (place - centre);
    let mut corner = corner.clone();
    for link in &mut corner.links {
        (link.chassis, link.upright) = (turned(link.chassis), turned(link.upright));
    }
    let spring = corner.spring.as_ref().expect("a spring");
    let (chassis, mount) = (turned(spring.chassis), turned(spring.mount));
    let linkage = Linkage::new(&corner);
    let posture = linkage.design().expect("a corner that moves");
    let strut = Strut { direction: (mount - chassis).normalize(), at: mount, share: 1.0 };
    let load = Wrench::of_force(world * force_n, &turned(at), &centre) + Wrench::of_moment(world * moment_n_mm);
    let found = tensions(&linkage, &posture, &strut, &load).expect("six members that hold the upright");
    Vector6::from_iterator(found.links_n.into_iter().chain([found.strut_n]))
}

#[test]
fn six_members_carry_a_load_as_the_equations_of_equilibrium_say() {
    let mut loads = 0;
    for topic in topics() {
        for load in &topic.loads {
            let corner = topic.geometry().left;
            let got = members(&corner, load.force_n.into(), load.at.into(), load.moment_n_mm.into());
            let off = (got - Vector6::from(load.tension_n)).abs().max();
            assert!(off <= load.tolerance, "{}: {:?}", load.origin.label, got.as_slice());
            loads += 1;
        }
    }
    assert_eq!(loads, 6);
}

/// `tests/outside/link_forces.py` made the table by virtual work, without a unit vector or a moment.
#[test]
fn link_forces_agree_with_virtual_work_done_outside() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outside");
    let corner = GeometryFile::read(&folder.join("fl-c.toml")).expect("a sound file").geometry.left;
    let mut reader = csv::Reader::from_path(folder.join("fl-c.forces.csv")).expect("a table");
    let mut rows = 0;
    for row in reader.deserialize::<(String, f64, f64, f64, String, String, f64)>() {
        let (case, x, y, z, acts_at, member, expected_n) = row.expect("a whole row");
        let centre = corner.wheel.centre;
        let at = if acts_at == "contact" { centre - Vector3::z() * corner.wheel.tyre_radius_mm } else { centre };
        let index = corner.links.iter().position(|link| link.name == member).unwrap_or(5);
        let got_n = members(&corner, Vector3::new(x, y, z), at, Vector3::zeros())[index];
        assert!((got_n - expected_n).abs() <= AGREES_N, "{case}, {member}: {got_n}, expected {expected_n}");
        rows += 1;
    }
    assert_eq!(rows, 30);
}
