//! What a sound geometry file means once it is read.

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{
    AdjustmentRange, Corner, Geometry, Interval, LengthUnit, Quantity, Side, SpringMount, TorquePath, UprightAxes,
    Wheel, WheelLoad,
};
use hubtrace::studies::plausibility::doubts;
use nalgebra::{Point3, Vector3};

const CORNER: &str = include_str!("good/corner.toml");
const GUIDE: &str = include_str!("../docs/geometry-file.md");

fn read(text: &str) -> Geometry {
    GeometryFile::parse("rear.toml", text).map_or_else(|error| panic!("{error}"), |file| file.geometry)
}

fn warnings(car: &Geometry) -> Vec<String> {
    doubts(car).into_iter().map(String::from).collect()
}

fn assert_same_points(a: &Corner, b: &Corner) {
    for ((point, a_mm), (_, b_mm)) in a.points().into_iter().zip(b.points()) {
        assert!((a_mm - b_mm).norm() < 1e-9, "{}: {a_mm} {b_mm}", a.name_of(point));
    }
}

/// The file says toe 0.10 and camber −1.5 deg.
#[test]
fn a_wheel_set_in_code_is_that_of_the_file() {
    let wheel = read(CORNER).left.wheel;
    assert_eq!(Wheel::new(Point3::new(0.0, 745.0, 308.0), 0.10, -1.5, 308.0), wheel);
    let (toe, camber) = (0.10_f64.to_radians(), (-1.5_f64).to_radians());
    let by_definition = Vector3::new(camber.cos() * toe.sin(), camber.cos() * toe.cos(), -camber.sin());
    assert!((wheel.spin_axis.into_inner() - by_definition).norm() < 1e-15);
    assert_eq!((wheel.toe_span_mm, wheel.rim_radius_mm), (616.0, None));
}

/// Each name beside the numbers that stand under it in the file.
#[test]
fn every_point_has_one_name() {
    let corner = read(CORNER).left;
    let named: Vec<_> =
        corner.points().into_iter().map(|(point, p)| (corner.name_of(point), [p.x, p.y, p.z])).collect();
    let expected = [
        ("wheel centre", [0.0, 745.0, 308.0]),
        ("upper front chassis", [150.0, 400.0, 400.0]),
        ("upper front upright", [40.0, 655.0, 430.0]),
        ("upper rear chassis", [-140.0, 390.0, 395.0]),
        ("upper rear upright", [-45.0, 650.0, 428.0]),
        ("lower front chassis", [190.0, 330.0, 190.0]),
        ("lower front upright", [30.0, 680.0, 180.0]),
        ("lower rear chassis", [-150.0, 320.0, 195.0]),
        ("lower rear upright", [-60.0, 676.0, 182.0]),
        ("toe link chassis", [-220.0, 360.0, 262.0]),
        ("toe link upright", [-130.0, 668.0, 270.0]),
        ("halfshaft inner", [0.0, 205.0, 312.0]),
        ("halfshaft outer", [-0.16, 655.0, 305.64]),
        ("spring chassis", [-60.0, 480.0, 640.0]),
        ("spring mount", [-40.0, 610.0, 260.0]),
    ];
    assert_eq!(named, expected.map(|(name, place)| (name.to_owned(), place)));
}

#[test]
fn points_to_read_are_those_to_move() {
    let mut corner = read(CORNER).left;
    let read = corner.points();
    let moved: Vec<_> = corner.points_mut().into_iter().map(|(point, place)| (point, *place)).collect();
    assert_eq!(read, moved);
}

/// What is bolted to the upright goes up by 7 mm, and a spring on a link by its share of that.
#[test]
fn the_upright_takes_along_what_is_bolted_to_it() {
    for on_link in [false, true] {
        let drawn = read(CORNER).left;
        let mut moved = drawn.clone();
        if let Some(spring) = moved.spring.as_mut().filter(|_| on_link) {
            spring.on = SpringMount::Link { index: 1, share: 0.25 };
            spring.mount = nalgebra::center(
                &drawn.links[1].chassis,
                &nalgebra::center(&drawn.links[1].chassis, &drawn.links[1].upright),
            );
        }
        let before = moved.points();
        moved.map_upright(|p| p + Vector3::z() * 7.0, |bolt| *bolt);
        for ((point, from), (_, to)) in before.into_iter().zip(moved.points()) {
            let name = moved.name_of(point);
            let up_mm: f64 = match name.as_str() {
                "spring mount" if on_link => 1.75,
                "halfshaft outer" | "spring mount" => 7.0,
                _ if name.ends_with(" upright") => 7.0,
                _ => 0.0,
            };
            assert!((to - from - Vector3::z() * up_mm).norm() < 1e-12, "{name}");
        }
    }
}

/// Every number on lines of these keys, rewritten.
fn rewrite(text: &str, keys: &[&str], change: impl Fn(Vec<f64>) -> Vec<f64>) -> String {
    let line = |line: &str| match line.split_once(" = ") {
        Some((key, value)) if keys.contains(&key) => {
            let numbers = value.trim_matches(['[', ']']).split(", ").map(|n| n.parse().unwrap()).collect();
            let changed = change(numbers);
            if value.starts_with('[') { format!("{key} = {changed:?}\n") } else { format!("{key} = {}\n", changed[0]) }
        }
        _ => format!("{line}\n"),
    };
    text.lines().map(line).collect()
}

#[test]
fn inches_mean_the_same_car_as_millimetres() {
    let lengths = ["centre", "tyre_radius", "chassis", "upright", "inner", "outer", "mount", "bump", "droop", "taped"];
    let mm = CORNER.replacen("upright =", "taped = 300.0\nupright =", 1);
    let inches = rewrite(&mm, &lengths, |numbers| numbers.iter().map(|mm| mm / 25.4).collect());
    let (mm, inches) = (read(&mm), read(&format!("units = \"in\"\n{inches}")));
    assert_same_points(&mm.left, &inches.left);
    assert!((mm.left.wheel.tyre_radius_mm - inches.left.wheel.tyre_radius_mm).abs() < 1e-9);
    assert!((inches.travel.bump_mm - 60.0).abs() < 1e-9);
    assert!((inches.left.links[0].taped_mm.unwrap() - 300.0).abs() < 1e-9);
    assert_eq!(mm.left.wheel.spin_axis, inches.left.wheel.spin_axis);
    assert_eq!((inches.units, inches.travel.step_mm), (LengthUnit::Inch, 5.0));
}

#[test]
fn boxes_welds_limits_and_windows_are_lengths_of_the_file() {
    let free = "upright =";
    let text = CORNER.replacen(free, "free = { chassis = { y = [-1.0, 2.0] } }\nupright =", 1);
    let text = rewrite(&text, &["bump", "droop", "tyre_radius"], |n| vec![n[0] / 25.4])
        .replace("[halfshaft]", "[halfshaft]\nplunge_window = [-1, 1]");
    let extra = "[weld]\nwithin = 0.1\n[limits]\nbump_steer = 0.05\nsetback = 0.1\nroll_centre_height = [1, 4]\n";
    let car = read(&format!("units = \"in\"\n{text}{extra}"));
    assert_eq!(
        car.adjustments.left.links[0].chassis,
        [None, Some(AdjustmentRange { low: -25.4, high: 50.8, step: None }), None]
    );
    assert!((car.weld.unwrap().sd_mm - 2.54 / 1.96).abs() < 1e-12);
    assert_eq!(car.limits.get(Quantity::BumpSteer), Some(Interval::either_way(0.05)));
    assert!((car.limits.get(Quantity::Setback).unwrap().high - 2.54).abs() < 1e-12);
    assert_eq!(car.limits.get(Quantity::RollCentreHeight), Some(Interval { low: 25.4, high: 101.6 }));
    assert_eq!(car.left.halfshaft.unwrap().plunge_window_mm, Some(Interval { low: -25.4, high: 25.4 }));
}

/// A point or direction of the left side in hub axes, worked out by hand from Rz(−toe)·Rx(−camber).
fn to_hub(p: Vector3<f64>) -> Vector3<f64> {
    let (toe, camber) = (0.10_f64.to_radians(), (-1.5_f64).to_radians());
    let yawed = Vector3::new(p.x * toe.cos() - p.y * toe.sin(), p.x * toe.sin() + p.y * toe.cos(), p.z);
    let y = yawed.y * camber.cos() - yawed.z * camber.sin();
    Vector3::new(yawed.x, y, yawed.y * camber.sin() + yawed.z * camber.cos())
}

#[test]
fn hub_axes_mean_the_same_car_as_car_axes() {
    let centre = Vector3::new(0.0, 745.0, 308.0);
    let hub = rewrite(CORNER, &["upright", "outer", "mount"], |n| {
        to_hub(Vector3::new(n[0], n[1], n[2]) - centre).iter().copied().collect()
    });
    let file = GeometryFile::parse("rear.toml", &format!("upright_axes = \"hub\"\n{hub}")).unwrap();
    assert_eq!(file.geometry.upright_axes, UprightAxes::Hub);
    let car = read(CORNER);
    assert_same_points(&car.left, &file.geometry.left);
    assert_same_points(&car.right, &file.geometry.right);
}

/// The face lies 40 mm outboard of the wheel centre along the spindle, which leans and toes in.
#[test]
fn hub_face_axes_count_from_the_face_on_which_the_wheel_seats() {
    let centre = Vector3::new(0.0, 745.0, 308.0);
    let face = rewrite(CORNER, &["upright", "outer", "mount"], |n| {
        let hub = to_hub(Vector3::new(n[0], n[1], n[2]) - centre);
        vec![hub.x, hub.y - 40.0, hub.z]
    });
    let face = face.replace("toe = 0.10\n", "toe = 0.10\noffset = 40.0\n");
    let car = read(&format!("upright_axes = \"hub face\"\n{face}"));
    assert_same_points(&read(CORNER).left, &car.left);
    assert_same_points(&read(CORNER).right, &car.right);
    assert_eq!(car.left.wheel.offset_mm, Some(40.0));
    let offset_of_right =
        "[right.wheel]\ncentre = [0, -745, 308]\ntyre_radius = 308\ntoe = 0.1\ncamber = -1.5\noffset = 35\n";
    let right = read(&format!("upright_axes = \"hub face\"\n{face}{offset_of_right}")).right;
    let inboard = right.links[0].upright - car.right.links[0].upright;
    assert!((inboard + right.wheel.spin_axis.into_inner() * 5.0).norm() < 1e-9, "{inboard}");
}

/// The upright's points of the test corner counted from its wheel centre.
fn from_wheel_centre(text: &str) -> String {
    rewrite(text, &["upright", "outer", "mount"], |n| vec![n[0], n[1] - 745.0, n[2] - 308.0])
}

#[test]
fn the_spindle_is_the_y_axis_of_the_hub() {
    let text = from_wheel_centre(CORNER).replace("upright = [", "upright_bolt = [0, 1, 0]\nupright = [");
    let text = text.lines().map(|line| if line.starts_with("outer =") { "outer = [0, -80, 0]" } else { line });
    let car = read(&format!("upright_axes = \"hub\"\n{}", text.collect::<Vec<_>>().join("\n")));
    let spin = car.left.wheel.spin_axis;
    assert!((car.left.links[0].upright_bolt.unwrap().into_inner() - spin.into_inner()).norm() < 1e-15);
    let outer = car.left.halfshaft.unwrap().outer;
    assert!((outer - (car.left.wheel.centre - spin.into_inner() * 80.0)).norm() < 1e-12);
    let (toe, camber) = (spin.x.atan2(spin.y).to_degrees(), (-spin.z).asin().to_degrees());
    assert!((toe - 0.10).abs() < 1e-12 && (camber + 1.5).abs() < 1e-12);
}

#[test]
fn a_right_hub_point_counts_y_outboard_from_its_own_wheel() {
    let hub = "[right.wheel]\ncentre = [0, -750, 308]\ntyre_radius = 308\ncamber = -1.5\ntoe = 0.1\n";
    let text = from_wheel_centre(CORNER);
    let car = read(&format!("upright_axes = \"hub\"\n{text}{hub}"));
    let outboard = Vector3::new(0.0, 5.0, 0.0);
    assert!((car.right.links[0].upright - car.left.links[0].upright - outboard).norm() < 1e-12);
    assert_eq!(car.right.links[0].chassis, car.left.links[0].chassis);
}

#[test]
fn without_a_right_table_the_right_side_is_the_mirror_image() {
    let car = read(CORNER);
    assert!(car.mirrored);
    assert_eq!(car.right, Corner { side: Side::Right, ..car.left });
}

#[test]
fn what_right_gives_replaces_the_mirror_image() {
    let right = "[[right.link]]\nname = \"toe link\"\nchassis = [-221.0, -361.0, 263.0]\nupright = [-130.0, -668.0, 270.0]\n\
        chassis_bolt = [0, -2, 0]\nfree = { chassis = { y = [-3.0, 8.0] } }\n\
        [right.halfshaft]\ninner = [1, -206, 312]\nouter = [0, -655, 310]\naxis = [0, -1, 0]\n\
        [right.spring]\nchassis = [-60, -480, 641]\nmount = [-40, -610, 260]\n";
    let car = read(&format!("{CORNER}{right}"));
    assert!(!car.mirrored);
    let toe_link = &car.right.links[4];
    assert_eq!(toe_link.chassis, Point3::new(-221.0, 361.0, 263.0));
    assert_eq!(toe_link.chassis_bolt, Some(Vector3::y_axis()));
    assert_eq!(car.adjustments.right.links[4].chassis[1], Some(AdjustmentRange { low: -8.0, high: 3.0, step: None }));
    assert_eq!(car.right.links[..4], car.left.links[..4]);
    let shaft = car.right.halfshaft.unwrap();
    assert_eq!((shaft.inner, shaft.axis), (Point3::new(1.0, 206.0, 312.0), Vector3::y_axis()));
    assert_eq!(car.right.spring.unwrap().chassis, Point3::new(-60.0, 480.0, 641.0));
}

#[test]
fn a_spring_on_a_link_knows_its_share_of_the_length() {
    let mount = "mount = [-82.5, 587.0, 185.25]\non = \"lower rear\"";
    let car = read(&CORNER.replace("mount = [-40.0, 610.0, 260.0]", mount));
    let SpringMount::Link { index, share } = car.left.spring.unwrap().on else { panic!("not on a link") };
    assert_eq!(index, 3);
    assert!((share - 0.75).abs() < 1e-12);
}

#[test]
fn what_is_absent_has_the_documented_default() {
    let end = CORNER.find("[halfshaft]").unwrap();
    let bare = CORNER[..end]
        .replace("toe = 0.10\n", "")
        .replace("camber = -1.5\n", "")
        .replace("name = \"test corner\"\n", "");
    let car = read(&bare);
    assert_eq!((car.name.as_str(), car.units, car.starter), ("unnamed", LengthUnit::Millimetre, None));
    assert_eq!(car.left.wheel.spin_axis, Vector3::y_axis());
    assert_eq!(car.left.wheel.toe_span_mm, 616.0);
    let travel = &car.travel;
    assert_eq!([travel.bump_mm, travel.droop_mm, travel.step_mm], [60.0, 60.0, 5.0]);
    assert_eq!([travel.roll_deg, travel.step_roll_deg], [3.0, 0.5]);
    assert!(car.left.halfshaft.is_none() && car.left.spring.is_none() && car.weld.is_none());
    assert!(car.limits.is_empty() && car.car.wheelbase_mm.is_none());
}

#[test]
fn links_may_be_written_on_one_line_each_and_with_a_windows_editor() {
    let inline = |table: &str| format!("{{{}}}", table.trim().lines().collect::<Vec<_>>().join(", "));
    let (head, rest) = CORNER.split_once("[wheel]").unwrap();
    let (wheel, rest) = rest.split_once("[[link]]").unwrap();
    let (links, _) = rest.split_once("[halfshaft]").unwrap();
    let links: Vec<_> = links.split("[[link]]").map(inline).collect();
    let text = format!("\u{feff}{head}link = [{}]\n[wheel]{wheel}", links.join(", ")).replace('\n', "\r\n");
    assert_eq!(read(&text).left.links, read(CORNER).left.links);
}

#[test]
fn a_file_without_a_name_is_called_after_itself() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("fell special.toml");
    std::fs::write(&path, CORNER.replace("name = \"test corner\"\n", "")).unwrap();
    assert_eq!(GeometryFile::read(&path).unwrap().geometry.name, "fell special");
}

#[test]
fn a_sound_file_has_no_warnings() {
    assert_eq!(warnings(&read(CORNER)), Vec::<String>::new());
}

#[test]
fn a_tape_that_disagrees_with_the_points_is_a_warning() {
    let length = read(CORNER).left.links[0].length_mm();
    let taped = |mm: f64| CORNER.replacen("upright =", &format!("taped = {mm}\nupright ="), 1);
    assert!(warnings(&read(&taped(length + 1.9))).is_empty());
    let found = warnings(&read(&taped(length + 3.0)));
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].starts_with("Link \"upper front\" on the left is 279.") && found[0].contains("3.0 mm apart"));
}

#[test]
fn a_pickup_that_meets_the_rim_is_a_warning() {
    let found = warnings(&read(&CORNER.replace("toe = 0.10", "toe = 0.10\nrim_radius = 139.0")));
    assert!(!found.is_empty() && found[0].contains("the rim is 139.0 mm inside"), "{found:?}");
    assert!(warnings(&read(&CORNER.replace("toe = 0.10", "toe = 0.10\nrim_radius = 200.0"))).is_empty());
}

#[test]
fn the_examples_of_the_guide_can_be_read() {
    let blocks: Vec<_> = GUIDE.split("```toml\n").skip(1).map(|rest| rest.split("```").next().unwrap()).collect();
    let car = read(blocks[0]);
    assert_eq!(warnings(&car), Vec::<String>::new());
    for more in &blocks[1..] {
        read(&format!("{}\n{more}", blocks[0]));
    }
}

/// Forces count outboard and moments as on a left wheel, on either side.
#[test]
fn a_load_is_read_in_the_axes_of_its_wheel() {
    let keys = "[[load]]\nname = \"corner\"\nside = \"right\"\ncontact = [100, -3000.0, 4000.0]\ntorque_to = \"halfshaft\"\n\
                [[load]]\nname = \"push\"\ncontact_times_static = [0, 1.5, 2]\ncentre = [1, 2, 3]\nmoment = [4, 5, 6]\n\
                [car]\nmass = 600\nrear_mass_share = 0.6\nbrake_torque_to = \"upright\"\n";
    let car = GeometryFile::parse("car", &format!("{CORNER}{keys}")).expect("a sound file").geometry;
    let [corner, push] = &car.loads[..] else { panic!("{:?}", car.loads) };
    assert_eq!((corner.case.as_str(), corner.side), ("corner", Some(Side::Right)));
    let on_wheel = WheelLoad {
        contact_n: Some(Vector3::new(100.0, -3000.0, 4000.0)),
        torque_to: Some(TorquePath::Halfshaft),
        ..WheelLoad::default()
    };
    assert_eq!(corner.on_wheel, on_wheel);
    let on_wheel = WheelLoad {
        contact_times_static: Some(Vector3::new(0.0, 1.5, 2.0)),
        centre_n: Some(Vector3::new(1.0, 2.0, 3.0)),
        moment_nm: Some(Vector3::new(4.0, 5.0, 6.0)),
        ..WheelLoad::default()
    };
    assert_eq!((push.side, push.on_wheel), (None, on_wheel));
    assert_eq!((car.car.brake_torque_to, car.car.drive_torque_to), (Some(TorquePath::Upright), None));
    // 600 kg, 0.6 of them on the axle, half of that on a wheel.
    assert!((car.car.static_wheel_load_n().unwrap() - 180.0 * 9.80665).abs() < 1e-9);
}
