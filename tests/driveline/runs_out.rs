//! What runs out first: each margin is zero where it is told to be, in order of travel, and nothing is missed.

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{LengthUnit, Side};
use hubtrace::measures::{shaft, spring};
use hubtrace::mechanism::{Linkage, WheelPath};
use hubtrace::present::LengthFormat;
use hubtrace::present::runs_out::sentences;
use hubtrace::studies::driveline::{DrivelineFindings, Exhaustion, RunsOut};
use hubtrace::studies::{JudgedCar, Rig};

const CORNER: &str = include_str!("../good/corner.toml");
const HALFSHAFT: &str = "inner_limit = 9.0\nouter_limit = 12.0\nlength_min = 430.0\nlength_max = 455.0\n";
/// Eye to eye 402.1 mm at design: |(20, 130, -380)|.
const DAMPER: &str = "closed = 320.0\nopen = 440.0\nbump_rubber = { length = 40.0, solid = 12.0 }\n";

fn file(halfshaft: &str, spring: &str) -> GeometryFile {
    let text = CORNER
        .replace("outer = [-0.16, 655.0, 305.64]\n", &format!("outer = [-0.16, 655.0, 305.64]\n{halfshaft}"))
        .replace("mount = [-40.0, 610.0, 260.0]\n", &format!("mount = [-40.0, 610.0, 260.0]\n{spring}"));
    let file = GeometryFile::parse("car.toml", &text).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(file.set_aside, []);
    file
}

fn found(file: &GeometryFile) -> Exhaustion {
    let judged = JudgedCar::of(Rig::new(&file.geometry).expect("a car that moves"));
    let mut found = DrivelineFindings::of(judged, &[Side::Left]);
    found.driveline.wheels.remove(&Side::Left).and_then(|wheel| wheel.runs_out).expect("a wheel that moves")
}

#[test]
fn each_thing_runs_out_where_nothing_of_it_is_left() {
    let file = file(HALFSHAFT, DAMPER);
    let found = found(&file);
    let corner = &file.geometry.left;
    let path = WheelPath::follow(&Linkage::new(corner), &[-150.0, 150.0]).expect("a sound corner");
    let mut seen = 0;
    for way in [&found.bump, &found.droop] {
        assert!(way.windows(2).all(|pair| pair[0].at_bump_mm.abs() <= pair[1].at_bump_mm.abs()), "{way:?}");
        for out in way {
            let posture = path.at(out.at_bump_mm).expect("there");
            let (shaft, eyes) =
                (shaft(corner, &posture).expect("one"), spring(corner, &posture).expect("one").length_mm);
            let length = corner.halfshaft.as_ref().expect("one").length_mm() + shaft.plunge_mm;
            let left = match out.what.as_str() {
                "inner joint angle" => shaft.inner_angle_deg - 9.0,
                "outer joint angle" => shaft.outer_angle_deg - 12.0,
                "plunge" => (length - 430.0).min(455.0 - length),
                "damper closed" => eyes - 320.0,
                "damper open" => eyes - 440.0,
                "bump rubber touched" => eyes - 360.0,
                "bump rubber solid" => eyes - 332.0,
                "travel stop" => out.at_bump_mm.abs() - 60.0,
                _ => continue,
            };
            assert!(left.abs() < 1e-8, "{out:?}: {left}");
            seen += 1;
        }
    }
    assert!(seen >= 9, "{found:?}");
    let at = |what: &str| found.bump.iter().find(|out| out.what == what).map(|out| out.at_bump_mm);
    assert_eq!(found.stops.bump_mm, at("bump rubber solid"));
    assert!(at("bump rubber touched") < at("bump rubber solid") && at("bump rubber solid") < at("damper closed"));
}

/// Gaps and rod ends decide no exit code of the driveline: the sweep judges them.
#[test]
fn a_gap_of_which_nothing_is_left_at_design_is_told_as_one_of_the_sweep() {
    let told = |clearance: &str| {
        let file = GeometryFile::parse("car.toml", &format!("{CORNER}\n{clearance}")).unwrap_or_else(|e| panic!("{e}"));
        sentences(LengthFormat(LengthUnit::Millimetre), &found(&file)).join("\n")
    };
    let judged = "Of a gap or a rod end at 0 nothing is left at design height: the sweep judges those.";
    assert!(!told("").contains(judged), "{}", told(""));
    let said = told("[clearance]\nleast = 95.0\n");
    assert!(said.contains("Up, mm: 0.0 gap ") && said.contains(judged), "{said}");
}

/// The strap is as long as its ends are apart where the first joint would run out in droop, on the spring's eyes or on its own.
#[test]
fn the_strap_saves_the_joint_that_runs_out_first() {
    // A damper that is open before a joint runs out saves it by itself.
    let opens = found(&file(HALFSHAFT, DAMPER));
    assert_eq!(opens.strap, None);
    assert!(opens.stops.inside_travel && opens.stops.droop_mm > Some(-60.0), "{:?}", opens.stops);
    let damper = DAMPER.replace("open = 440.0", "open = 600.0");
    let plain = found(&file(HALFSHAFT, &damper));
    let strap = plain.strap.as_ref().expect("joints run out in droop");
    let first = plain
        .droop
        .iter()
        .find(|out| ["inner joint angle", "outer joint angle", "plunge"].contains(&out.what.as_str()));
    assert_eq!(first.map(|out| (&out.what, out.at_bump_mm)), Some((&strap.saves, strap.at_bump_mm)));
    let keys = format!("{damper}strap = {{ chassis = [0.0, 500.0, 600.0], upright = [0.0, 640.0, 250.0] }}\n");
    let with_points = file(HALFSHAFT, &keys);
    let own = found(&with_points).strap.expect("joints run out in droop");
    assert!(!own.on_spring_eyes && strap.on_spring_eyes && own.at_bump_mm == strap.at_bump_mm);
    // A window that was written as the lengths of the shaft runs out at design, and no strap leaves any droop then.
    assert_eq!(found(&file("plunge_window = [430.0, 455.0]\n", &damper)).strap, None);
    // Fitted at that length it is what stops the wheel there.
    let keys = keys.replace("250.0] }", &format!("250.0], length = {} }}", own.length_mm));
    let fitted = found(&file(HALFSHAFT, &keys));
    let taut = fitted.droop.iter().find(|out| out.what == "strap taut").expect("a strap");
    assert!((taut.at_bump_mm - own.at_bump_mm).abs() < 1e-8);
    assert_eq!(fitted.stops.droop_mm, Some(taut.at_bump_mm));
}

/// Within 150 mm either way the links of this corner let it go; one that binds is told with the links that bind.
#[test]
fn links_that_bind_are_in_the_list() {
    let bound = GeometryFile::read("tests/outside/near-fold.toml".as_ref()).unwrap_or_else(|error| panic!("{error}"));
    let found = found(&bound);
    let bind = found.bump.iter().find(|out| out.what.starts_with("links bind (")).expect("it binds");
    assert!((bind.at_bump_mm - 51.7).abs() < 0.2, "{bind:?}");
    assert!(found.bump.iter().any(|out| out.what == "travel stop" && out.at_bump_mm < bind.at_bump_mm));
}

/// A rubber that is touched as drawn is left on the way down.
#[test]
fn a_stop_that_acts_at_design_is_told_on_its_own_way() {
    let stopped =
        found(&file(HALFSHAFT, "closed = 320.0\nopen = 440.0\nbump_rubber = { length = 90.0, solid = 12.0 }\n"));
    let touched = |way: &[RunsOut]| way.iter().filter(|out| out.what == "bump rubber touched").count();
    assert_eq!((touched(&stopped.bump), touched(&stopped.droop)), (1, 0), "{stopped:?}");
    assert_eq!(stopped.stops.bump_by.as_deref(), Some("bump rubber solid"));
}

#[test]
fn what_is_gone_at_design_height_is_told_there() {
    let found = found(&file("inner_limit = 0.1\n", ""));
    let first = &found.bump[0];
    assert_eq!((first.what.as_str(), first.at_bump_mm), ("inner joint angle", 0.0));
    assert_eq!((found.stops.bump_mm, found.stops.inside_travel), (None, false));
}
