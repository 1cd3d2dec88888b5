//! A changed geometry goes back into its own file: read again it is the same, and nothing but numbers has changed.

use std::fs;

use hubtrace::file::{GeometryFile, RewriteError, rewrite, rewrite_as_built};
use hubtrace::geometry::{Corner, Geometry, PerSide, Side};
use hubtrace::present::words::stage;
use hubtrace::studies::tune::tuned_geometry;
use nalgebra::{Point3, Rotation3, Unit, Vector3};

const CORNER: &str = include_str!("good/corner.toml");
const TOE_LINK: &str = "chassis = [-220.0, 360.0, 262.0]\n";
const RIGHT: &str = "\n[[right.link]] # as welded\nname = \"toe link\"\nchassis = [-221.0, -358.5, 263.0]\n\
    upright = [-130.0, -668.0, 270.0]\n";

fn parsed(text: &str) -> GeometryFile {
    GeometryFile::parse("rear.toml", text).unwrap_or_else(|error| panic!("{error}"))
}

fn points(corner: &Corner) -> Vec<Point3<f64>> {
    let links = corner.links.iter().flat_map(|link| [link.chassis, link.upright]);
    let shaft = corner.halfshaft.iter().flat_map(|shaft| [shaft.inner, shaft.outer]);
    let spring = corner.spring.iter().flat_map(|spring| [spring.chassis, spring.mount]);
    links.chain(shaft).chain(spring).chain([corner.wheel.centre]).collect()
}

fn assert_reads_back(file: &GeometryFile, changed: &Geometry, apart_mm: f64) -> String {
    let text = rewrite(file, changed).unwrap_or_else(|error| panic!("{error}"));
    let again = parsed(&text).geometry;
    for side in Side::BOTH {
        for (a, b) in points(again.corner(side)).iter().zip(points(changed.corner(side))) {
            assert!((a - b).norm() < apart_mm, "{a} {b}");
        }
    }
    assert!(again.unplaced().is_empty());
    text
}

/// Both sides with the same changes, as a mirrored car has them.
fn changed(file: &GeometryFile, change: impl Fn(&mut Corner)) -> Geometry {
    let mut geometry = file.geometry.clone();
    change(&mut geometry.left);
    change(&mut geometry.right);
    geometry
}

/// Every point moved by something that no coordinate of a file has; the upright's are also clocked about the spindle.
fn disturb(corner: &mut Corner) {
    let (by, centre) = (Vector3::new(1.23456, -2.34567, 3.45678), corner.wheel.centre);
    let clock = Rotation3::from_axis_angle(&corner.wheel.spin_axis, 1.5_f64.to_radians());
    let clocked = |p: Point3<f64>| centre + clock * (p - centre);
    for link in &mut corner.links {
        (link.chassis, link.upright) = (link.chassis + by, clocked(link.upright));
    }
    if let Some(shaft) = &mut corner.halfshaft {
        (shaft.inner, shaft.outer) = (shaft.inner - by, clocked(shaft.outer));
    }
    if let Some(spring) = &mut corner.spring {
        (spring.chassis, spring.mount) = (spring.chassis - by, clocked(spring.mount));
    }
}

/// The test corner with its upright points counted from the wheel centre.
fn in_hub_axes() -> String {
    let lines = CORNER.lines().map(|line| match line.split_once(" = [") {
        Some((key @ ("upright" | "outer" | "mount"), numbers)) => {
            let numbers: Vec<f64> = numbers.trim_end_matches(']').split(", ").map(|n| n.parse().unwrap()).collect();
            format!("{key} = [{:?}, {:?}, {:?}]", numbers[0], numbers[1] - 745.0, numbers[2] - 308.0)
        }
        _ => line.to_owned(),
    });
    format!("upright_axes = \"hub\"\n{}\n", lines.collect::<Vec<_>>().join("\n"))
}

#[test]
fn a_file_without_a_change_stays_as_it_is() {
    for path in ["first-cut", "as-built", "double-wishbone", "semi-trailing"] {
        let text = fs::read_to_string(format!("geometries/{path}.toml")).unwrap();
        let file = parsed(&text);
        assert_eq!(rewrite(&file, &file.geometry).unwrap(), text, "{path}");
    }
    let inches = CORNER.replace("= 60.0", "= 2.0").replace("tyre_radius = 308.0", "tyre_radius = 12.0");
    for text in [in_hub_axes(), format!("units = \"in\"\n{inches}")] {
        let file = parsed(&text);
        assert_eq!(rewrite(&file, &file.geometry).unwrap(), text);
    }
}

#[test]
fn a_tuned_car_has_a_mark_that_holds_until_a_point_moves() {
    let file = parsed(CORNER);
    let tuned = Geometry { tuned: true, ..changed(&file, |corner| corner.links[4].chassis.z += 3.0) };
    let text = rewrite(&file, &tuned).unwrap();
    let again = parsed(&text);
    assert!(again.geometry.tuned && !file.geometry.tuned);
    assert_eq!(rewrite(&again, &again.geometry).unwrap(), text);
    // Words and limits of the builder's change no point.
    assert!(parsed(&format!("{text}# mine\n[tape]\nsd = 1.0\n")).geometry.tuned);
    let moved = Geometry { tuned: false, ..changed(&again, |corner| corner.links[4].upright.y += 0.001) };
    assert!(!parsed(&rewrite(&again, &moved).unwrap()).geometry.tuned);
}

#[test]
fn one_coordinate_changes_one_number() {
    let text = CORNER.replace(TOE_LINK, "chassis = [ -220 ,360.00,  262.0 ] # bracket 5, \"drilled\"\r\n# and more\n");
    let file = parsed(&text);
    let moved = changed(&file, |corner| corner.links[4].chassis.z = 258.76543);
    let written = assert_reads_back(&file, &moved, 1e-4);
    assert_eq!(written, text.replace("  262.0 ] #", "  258.7654 ] #"));
}

#[test]
fn every_point_reads_back_as_it_was_meant() {
    let file = parsed(CORNER);
    let written = assert_reads_back(&file, &changed(&file, disturb), 1e-4);
    let keys = |text: &str| text.lines().map(|line| line.split(" = [").next().unwrap().to_owned()).collect::<Vec<_>>();
    assert_eq!(keys(&written), keys(CORNER));
}

#[test]
fn points_in_inches_and_hub_axes_read_back_too() {
    let inches = CORNER.replace("= 60.0", "= 2.0").replace("tyre_radius = 308.0", "tyre_radius = 12.0");
    let file = parsed(&format!("units = \"in\"\n{inches}"));
    assert_reads_back(&file, &changed(&file, disturb), 3e-4);
    let face = in_hub_axes().replace("\"hub\"", "\"hub face\"").replace("camber =", "offset = 40.0\ncamber =");
    for hub in [parsed(&in_hub_axes()), parsed(&face)] {
        assert_reads_back(&hub, &changed(&hub, disturb), 1e-4);
    }
}

#[test]
fn a_wheel_that_has_moved_carries_its_hub_points() {
    let file = parsed(&in_hub_axes());
    let turn = Rotation3::from_axis_angle(&Vector3::z_axis(), 0.2_f64.to_radians());
    let moved = changed(&file, |corner| {
        let centre = corner.wheel.centre;
        corner.wheel.spin_axis = turn * corner.wheel.spin_axis;
        corner.links.iter_mut().for_each(|link| link.upright = centre + turn * (link.upright - centre));
    });
    let mut moved = moved;
    for corner in [&mut moved.left, &mut moved.right] {
        let centre = corner.wheel.centre;
        corner.halfshaft.iter_mut().for_each(|shaft| shaft.outer = centre + turn * (shaft.outer - centre));
        corner.spring.iter_mut().for_each(|spring| spring.mount = centre + turn * (spring.mount - centre));
    }
    let written = assert_reads_back(&file, &moved, 1e-4);
    assert_eq!(written.replace("toe = -0.1\n", "toe = 0.10\n"), file.text);
}

#[test]
fn a_right_side_of_its_own_is_written_in_the_axes_of_the_car() {
    let file = parsed(&format!("{CORNER}{RIGHT}"));
    let mut moved = file.geometry.clone();
    moved.right.links[4].chassis += Vector3::new(0.0, 2.5, 0.0);
    let written = assert_reads_back(&file, &moved, 1e-4);
    assert_eq!(written, file.text.replace("-358.5", "-361.0"));
}

#[test]
fn a_move_that_the_file_has_no_number_for_is_not_lost() {
    let file = parsed(&format!("{CORNER}{RIGHT}"));
    let mut moved = file.geometry.clone();
    moved.right.links[0].chassis.z += 1.0;
    let error = rewrite(&file, &moved).unwrap_err();
    let said = "the file has no number of its own for \"upper front chassis\" on the right, which has moved";
    assert_eq!((error.to_string().as_str(), error.advice()), (said, "give this part its own numbers under [right]"));
    let file = parsed(&CORNER.replace("toe = 0.10\n", ""));
    let turned = Unit::new_normalize(Vector3::new(0.01, 1.0, 0.02));
    let moved = changed(&file, |corner| corner.wheel.spin_axis = turned);
    assert!(matches!(rewrite(&file, &moved), Err(RewriteError::NoPlace { side: Side::Left, .. })));
}

#[test]
fn points_that_make_no_corner_are_refused() {
    let file = parsed(CORNER);
    let moved = changed(&file, |corner| corner.links[4].chassis = corner.links[4].upright);
    assert!(matches!(rewrite(&file, &moved), Err(RewriteError::Unsound(_))));
}

#[test]
fn a_first_chassis_point_stands_where_its_box_stood() {
    let found = "chassis = [-221.5, 361.25, 260.0]";
    let place = |corner: &mut Corner| corner.links[4].chassis = Point3::new(-221.5, 361.25, 260.0);
    let upright = "upright = [-130.0, 668.0, 270.0]\n";
    let forms = [
        (
            "within = { x = [-260.0, -180.0], y = [330.0, 390.0], z = [240.0, 290.0] } # the frame\n".to_owned()
                + upright,
            format!("{found} # the frame\n{upright}"),
        ),
        (
            "# room\nwithin.x = [-260, -180] # back\nwithin.y = [330, 390]\nwithin.z = [240, 290]\n".to_owned()
                + upright,
            format!("# room\n # back\n{found}\n{upright}"),
        ),
        (
            format!("{upright}[link.within] # room\nx = [-260, -180]\ny = [330, 390]\nz = [240, 290]\n"),
            format!("{found}\n{upright} # room\n"),
        ),
    ];
    for (box_form, point_form) in forms {
        let text = CORNER.replace(&format!("{TOE_LINK}{upright}"), &box_form);
        let file = parsed(&text);
        let mut placed = changed(&file, place);
        placed.adjustments = PerSide::default();
        let written = assert_reads_back(&file, &placed, 1e-4);
        assert_eq!(written, text.replace(&box_form, &point_form));
    }
}

/// Both sides apart from each other and from the drawing, as a car comes out of the jig: turned wheels too.
fn built(file: &GeometryFile) -> Geometry {
    let mut car = file.geometry.clone();
    car.mirrored = false;
    disturb(&mut car.left);
    for (corner, lean) in [(&mut car.left, 0.002), (&mut car.right, -0.001)] {
        corner.wheel.spin_axis =
            Unit::new_normalize(corner.wheel.spin_axis.into_inner() + Vector3::new(lean, 0.0, lean));
    }
    car.right.links[2].chassis += Vector3::new(0.5, -1.25, 0.75);
    car.right.links[4].upright += Vector3::new(0.1, 0.2, -0.3);
    car.right.carry_spring();
    car
}

fn assert_built(text: &str) -> GeometryFile {
    let file = parsed(text);
    let built = built(&file);
    let written = rewrite_as_built(&file, &built, "as it was\nwelded").unwrap_or_else(|error| panic!("{error}"));
    let again = parsed(&written);
    for side in Side::BOTH {
        for (read, meant) in points(again.geometry.corner(side)).iter().zip(points(built.corner(side))) {
            assert!((read - meant).norm() < 4e-4, "{read} {meant}\n{written}");
        }
        let spin = |car: &Geometry| car.corner(side).wheel.spin_axis.into_inner();
        assert!((spin(&again.geometry) - spin(&built)).norm() < 1e-7);
        // What did not move is what it was.
        let shaft_axis = |car: &Geometry| car.corner(side).halfshaft.as_ref().map(|shaft| shaft.axis);
        assert_eq!(shaft_axis(&again.geometry), shaft_axis(&file.geometry));
        let (now, then) = (again.geometry.corner(side), file.geometry.corner(side));
        for (link, was) in now.links.iter().zip(&then.links) {
            assert_eq!(
                (link.chassis_bolt, link.adjusters, link.sets_toe),
                (was.chassis_bolt, was.adjusters, was.sets_toe)
            );
        }
    }
    again
}

#[test]
fn a_car_whose_sides_differ_has_tables_of_its_own_on_the_right() {
    let keys = "chassis_bolt = [1.0, 1.0, 0.0] # grade 12.9\nsets_toe = true\n\
        adjust = { chassis = { kind = \"slot\", along = [0.0, 1.0, 1.0], range = [-6.0, 6.0] } }\n\
        free = { chassis = { y = [-25.0, 5.0] } }\n";
    let text = CORNER.replace(TOE_LINK, &format!("{TOE_LINK}{keys}"));
    let again = assert_built(&text);
    assert!(again.text.starts_with("# as it was\n# welded\n\n"), "{}", again.text);
    assert!(again.text.contains("# The right side, where it is no mirror image of the left."), "{}", again.text);
    for written in [
        "[[right.link]]\nname = \"toe link\"",
        "chassis_bolt = [1.0, -1.0, 0.0] # grade 12.9",
        "along = [0.0, -1.0, 1.0]",
        "y = [-5.0, 25.0]",
        "[right.wheel]",
    ] {
        assert!(again.text.contains(written), "{written}\n{}", again.text);
    }
    assert_eq!(again.text.matches("[[right.link]]").count(), 5);
}

#[test]
fn tables_that_the_right_side_has_are_filled_and_not_doubled() {
    let again = assert_built(&format!("{CORNER}{RIGHT}"));
    assert_eq!(
        (again.text.matches("name = \"toe link\"").count(), again.text.matches("[[right.link]]").count()),
        (2, 5)
    );
    assert!(again.text.contains("[[right.link]] # as welded"), "{}", again.text);
}

#[test]
fn a_car_as_built_in_hub_axes_or_without_toe_and_camber_is_written_too() {
    assert_built(&in_hub_axes());
    let plain = assert_built(&CORNER.replace("toe = 0.10\n", "").replace("camber = -1.5\n", ""));
    assert_eq!((plain.text.matches("\ntoe = ").count(), plain.text.matches("\ncamber = ").count()), (2, 2));
    let inches = CORNER.replace("= 60.0", "= 2.0").replace("tyre_radius = 308.0", "tyre_radius = 12.0");
    assert_built(&format!("units = \"in\"\n{inches}[road]\nuneven = true\n"));
}

#[test]
fn sides_that_stay_alike_get_no_tables() {
    let file = parsed(CORNER);
    let written = rewrite_as_built(&file, &file.geometry, "as drawn").unwrap_or_else(|error| panic!("{error}"));
    let built = CORNER.replacen("schema = 1\n", "schema = 1\nbuilt = true\n", 1);
    assert_eq!(written, format!("# as drawn\n\n{built}"));
}

/// What is tuned of it is no longer the car that stands; built so and measured it is again.
#[test]
fn a_built_car_that_is_tuned_is_a_plan_until_it_is_built() {
    let file = parsed(&CORNER.replacen("schema = 1", "schema = 1\nbuilt = true", 1));
    assert_eq!(stage(&file.geometry), "as built");
    let tuned = tuned_geometry(&file.geometry, &[]);
    let text = rewrite(&file, &tuned).unwrap_or_else(|error| panic!("{error}"));
    let plan = parsed(&text);
    assert!(plan.geometry.built && plan.geometry.planned, "{text}");
    assert_eq!(stage(&plan.geometry), "as tuned");
    // A hand that moves a point of it makes it no built car.
    let moved = Geometry { tuned: false, ..plan.geometry.clone() };
    assert_eq!(stage(&moved), "as planned");
    let built = rewrite_as_built(&plan, &plan.geometry, "welded").unwrap_or_else(|error| panic!("{error}"));
    assert!(!parsed(&built).geometry.planned, "{built}");
    assert!(!tuned_geometry(&parsed(CORNER).geometry, &[]).planned);
}
