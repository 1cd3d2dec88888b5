//! Where the points of a car are at a travel and a roll.

use hubtrace::file::GeometryFile;
use hubtrace::geometry::PerSide;
use hubtrace::studies::{PosedCar, Rig};
use nalgebra::{Point3, Vector3};
use serde_json::{Value, json};

use crate::program::{AS_BUILT, FIRST_CUT, Live};

#[test]
fn wheels_stand_on_the_drawn_road_and_links_keep_their_length() {
    let car = GeometryFile::parse("car", FIRST_CUT).expect("a sound car").geometry;
    let rig = Rig::new(&car).expect("a car that moves");
    for (bump_mm, roll_deg) in [(0.0, 0.0), (30.0, 0.0), (-40.0, 0.0), (10.0, 1.5), (-5.0, -2.0)] {
        let posed = PosedCar::of(&rig, bump_mm, roll_deg).expect("inside the travel");
        let wheels = PerSide::of(|side| posed.wheels[side].clone().expect("on the road"));
        // Two points of the road, thus its line across the car.
        let [left, right] = [1000.0, -1000.0].map(|y| Point3::new(0.0, y, posed.road_height_mm(&rig, y)));
        let up = Vector3::x().cross(&(left - right)).normalize();
        assert!(up.z > 0.9);
        for (side, wheel) in wheels.iter() {
            for (link, [chassis, upright]) in car.corner(side).links.iter().zip(wheel.links) {
                let length = (Point3::from(upright) - Point3::from(chassis)).norm();
                assert!((length - link.length_mm()).abs() < 1e-8);
            }
            // The lowest place of the tyre's circle is on the road.
            let axis = Vector3::from(wheel.spin_axis);
            let down = (axis * up.dot(&axis) - up).normalize();
            let lowest = Point3::from(wheel.centre) + down * car.corner(side).wheel.tyre_radius_mm;
            assert!((lowest - left).dot(&up).abs() < 1e-6, "{side:?} {bump_mm} {roll_deg}");
            assert!(wheel.centre[1] * side.sign() > 0.0 && axis.y * side.sign() > 0.9);
        }
        if roll_deg == 0.0 {
            assert!((wheels.left.bump_mm - bump_mm).abs() < 1e-6 && (wheels.right.bump_mm - bump_mm).abs() < 1e-6);
        } else {
            // Roll to the left lifts the body there: the left wheel droops.
            assert!((wheels.left.bump_mm < wheels.right.bump_mm) == (roll_deg > 0.0));
        }
    }
    assert!(PosedCar::of(&rig, 500.0, 0.0).is_none());
}

/// On one road the right wheel of this car would stand a hair beyond its stop where the left one is at it.
#[test]
fn two_unlike_wheels_stand_at_the_travel_of_the_slider_from_stop_to_stop() {
    let car = GeometryFile::parse("car", AS_BUILT).expect("a sound car").geometry;
    let rig = Rig::new(&car).expect("a car that moves");
    for bump_mm in [-60.0, 0.0, 31.0, 60.0] {
        let posed = PosedCar::of(&rig, bump_mm, 0.0).expect("inside the travel");
        for (side, wheel) in posed.wheels.iter() {
            let wheel = wheel.as_ref().unwrap_or_else(|why| panic!("{side:?} at {bump_mm}: {why}"));
            assert!((wheel.bump_mm - bump_mm).abs() < 1e-9, "{side:?}: {}", wheel.bump_mm);
            // The road is drawn under each of them.
            let lean = 1.0 - wheel.spin_axis[2].powi(2);
            let lowest = wheel.centre[2] - car.corner(side).wheel.tyre_radius_mm * lean.sqrt();
            let road = posed.road_height_mm(&rig, wheel.centre[1]);
            assert!((lowest - road).abs() < 1e-9, "{side:?} at {bump_mm}: {lowest} over {road}");
        }
    }
}

/// At the end of the slider a roll asks one wheel for more than its stop: the other one keeps its name, and the advice is for a slider.
#[test]
fn a_wheel_that_cannot_stand_there_is_told_beside_the_one_that_does() {
    let live = Live::on(FIRST_CUT);
    let view = live.get("/api/state?bump_mm=59&roll_deg=2&posture_only=true").ok();
    assert_eq!(
        view["stands"],
        json!(["Right wheel: the wheel meets its stop before it stands there; move a slider back."])
    );
    let wheels = view["wheels"].as_array().expect("wheels");
    let told = |k: usize, key: &str| wheels[k][key].clone();
    assert_eq!((told(0, "side"), told(0, "held_back"), told(1, "side")), (json!("left"), Value::Null, json!("right")));
    assert!(wheels[0]["name"].as_str().is_some_and(|name| name.starts_with("Left wheel at ")), "{view}");
    // It is shown at that stop all the same.
    assert_eq!((told(1, "held_back"), told(1, "name")), (json!("at its stop"), json!("Right wheel at 60.0 mm bump")));
    let up_mm = |view: &Value, k: usize| view["wheels"][k]["centre"][2].as_f64().expect("a height");
    let stop = live.get("/api/state?bump_mm=60&posture_only=true").ok();
    assert!((up_mm(&view, 1) - up_mm(&stop, 1)).abs() < 1e-9);
}

/// The nearest points are looked for on a grid of places along both middle lines.
#[test]
fn the_line_between_two_tight_parts_runs_from_surface_to_surface() {
    let text = format!("{FIRST_CUT}\n[clearance]\nleast = 20.0\n");
    let car = GeometryFile::parse("car", &text).expect("a sound car").geometry;
    let rig = Rig::new(&car).expect("a car that moves");
    let links: Vec<&str> = car.left.links.iter().map(|link| link.name.as_str()).collect();
    let mut seen = 0;
    for bump_mm in [-50.0, 0.0, 45.0] {
        let posed = PosedCar::of(&rig, bump_mm, 0.0).expect("inside the travel");
        let wheel = posed.wheels.left.as_ref().expect("on the road");
        assert!(wheel.tight.windows(2).all(|pair| pair[0].gap_mm <= pair[1].gap_mm));
        for gap in &wheel.tight {
            let [from, to] = gap.between.map(Point3::from);
            assert!(gap.gap_mm < 60.0 && ((from - to).norm() - gap.gap_mm.abs()).abs() < 1e-6, "{gap:?}");
            let ends: Vec<[[f64; 3]; 2]> = gap
                .pair
                .split(" / ")
                .filter_map(|name| Some(wheel.links[links.iter().position(|link| *link == name)?]))
                .collect();
            let [a, b] = ends[..] else { continue };
            let along = |[from, to]: [[f64; 3]; 2], share: f64| {
                Point3::from(from) + (Point3::from(to) - Point3::from(from)) * share
            };
            let shares = || (0..=400).map(|k| f64::from(k) / 400.0);
            let apart = |point: Point3<f64>, bar| {
                shares().map(|share| (along(bar, share) - point).norm()).fold(f64::INFINITY, f64::min)
            };
            // 25.4 mm tubes: each end of the line is on the skin of its own, and nothing is nearer.
            assert!((apart(from, a) - 12.7).abs() < 0.05 && (apart(to, b) - 12.7).abs() < 0.05, "{gap:?}");
            let least = shares().map(|share| apart(along(a, share), b)).fold(f64::INFINITY, f64::min) - 25.4;
            assert!((least - gap.gap_mm).abs() < 0.05, "{gap:?} against {least}");
            seen += 1;
        }
    }
    assert!(seen >= 3, "{seen}");
}

/// The frame is given for the left side; a boot reaches from its joint towards the other one.
#[test]
fn the_page_has_both_sides_of_the_frame_and_the_boots_of_each_shaft() {
    let tube = "[[tube]]\nname = \"rail\"\nfrom = [-300.0, 340.0, 225.0]\nto = [100.0, 420.0, 225.0]\nod = 30.0\n";
    let live = Live::on(&format!("{FIRST_CUT}\n[clearance]\nboot_radius = 40.0\nboot_length = 90.0\n\n{tube}"));
    let view = live.state();
    let ends = |y: [f64; 2]| json!({ "ends": [[-300.0, y[0], 225.0], [100.0, y[1], 225.0]], "radius_mm": 15.0 });
    assert_eq!(view["tubes"], json!([ends([340.0, 420.0]), ends([-340.0, -420.0])]));
    for wheel in view["wheels"].as_array().expect("wheels") {
        let place = |at: &Value| Point3::from([0, 1, 2].map(|k| at[k].as_f64().expect("a number")));
        let shaft = [0, 1].map(|k| place(&wheel["halfshaft"][k]));
        assert_eq!(wheel["boot_radius_mm"].as_f64(), Some(40.0));
        for k in [0, 1] {
            let [from, to] = [0, 1].map(|end| place(&wheel["boots"][k][end]));
            assert!((from - shaft[k]).norm() < 1e-9 && ((to - from).norm() - 90.0).abs() < 1e-9);
            let (all, rest) = ((shaft[1] - shaft[0]).norm(), (to - shaft[1 - k]).norm());
            assert!((all - 90.0 - rest).abs() < 1e-6, "{all} {rest}");
        }
        assert!(wheel["told"][0].as_str().is_some_and(|told| told.ends_with(" deg, limit 0 to 14 deg")), "{wheel}");
    }
}
