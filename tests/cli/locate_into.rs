//! `hubtrace locate --into`: measured points in a geometry file, its comments and everything else as it was.

use std::fs;

use hubtrace::file::{GeometryFile, with_measured};
use hubtrace::geometry::{Geometry, MeasuredPoint, Side};
use hubtrace::outputs::{WriteError, replace_file};
use nalgebra::{Point3, Vector3};
use tempfile::tempdir;

use crate::car::{Car, DEMO};
use crate::program::{Folder, number};

const SURVEY: &str = include_str!("../../surveys/first-cut.toml");
const CORNER: &str = include_str!("../good/corner.toml");

/// The demo car as `car.toml` with the demo survey beside it.
fn folder(car: impl std::fmt::Display) -> Folder {
    let folder = Folder::with(car);
    folder.write("survey.toml", SURVEY);
    folder
}

fn parsed(text: &str) -> GeometryFile {
    GeometryFile::parse("car.toml", text).unwrap_or_else(|error| panic!("{error}"))
}

fn measured(name: &str, at: [f64; 3]) -> MeasuredPoint {
    MeasuredPoint { name: name.into(), at: at.into(), sd_mm: [0.51, 0.62, 0.73] }
}

/// The text with the points of its upright counted from the wheel centre, but for toe and camber: a car of its own.
fn in_hub_axes(text: &str, centre: [f64; 3]) -> String {
    let lines = text.lines().map(|line| match line.split_once(" = [") {
        Some((key @ ("upright" | "outer" | "mount"), numbers)) => {
            let numbers = numbers.trim_end_matches(']').split(", ").map(|number| number.parse::<f64>().unwrap());
            let counted: Vec<String> = numbers.zip(centre).map(|(at, from)| format!("{:.2}", at - from)).collect();
            format!("{key} = [{}]", counted.join(", "))
        }
        _ => line.to_owned(),
    });
    format!("upright_axes = \"hub\"\n{}\n", lines.collect::<Vec<_>>().join("\n"))
}

/// Of a side, by name, in the axes of the car.
fn place(geometry: &Geometry, side: Side, name: &str) -> Point3<f64> {
    let corner = geometry.corner(side);
    let points = corner.points().into_iter().find(|(point, _)| corner.name_of(*point) == name);
    side.to_car(points.unwrap_or_else(|| panic!("{name}")).1)
}

#[test]
fn points_go_into_the_car_and_nothing_else_of_it_changes() {
    let before = fs::read_to_string(DEMO).unwrap();
    let folder = folder(&before);
    let ran = folder.run("locate survey.toml --into car.toml").ends_with(0);
    ran.assert_shows(&["14 points written into car.toml, those of links with `measured_sd`."]);
    let (after, summary) = (folder.text("car.toml"), ran.summary());
    let added: Vec<&str> = after.lines().filter(|line| line.starts_with("measured_sd = { chassis = [")).collect();
    assert_eq!(added.len(), 5, "{after}");
    let kept: Vec<&str> = after.lines().filter(|line| !added.contains(line)).collect();
    assert_eq!(kept.len(), before.lines().count());
    let moved = ["chassis", "upright", "centre", "inner", "outer", "mount"];
    for (old, new) in before.lines().zip(kept) {
        let key = old.split(" = ").next().unwrap();
        assert!(old == new || moved.contains(&key), "{old} became {new}");
        assert_eq!(old.split_once('#').map(|(_, words)| words), new.split_once('#').map(|(_, words)| words));
    }
    let car = parsed(&after).geometry;
    for point in summary["locate"]["points"].as_array().unwrap().iter().filter(|point| !point["at_mm"].is_null()) {
        let at = place(&car, Side::Left, point["point"].as_str().unwrap());
        assert!((0..3).all(|axis| (at[axis] - number(point, &format!("/at_mm/{axis}"))).abs() < 6e-5), "{point} {at}");
    }
    let sd = car.left.links[4].measured_sd.chassis_mm.unwrap();
    let told = summary["locate"]["points"][4].clone();
    assert!((0..3).all(|axis| (sd[axis] - number(&told, &format!("/sd_mm/{axis}"))).abs() < 6e-3), "{sd:?} {told}");
    assert_eq!(summary["into"]["points"].as_array().map(Vec::len), Some(14));
    folder.run("check car.toml").ends_with(0);

    folder.run("locate survey.toml --into car.toml --quiet").ends_with(0);
    assert_eq!(folder.text("car.toml"), after, "a second time changes nothing");
}

/// What `--into` wrote is drawn: with the points known to millimetres fewer cars pass than with the welds alone.
#[test]
fn what_was_written_counts_in_the_weld_study_and_in_the_band_of_the_tape() {
    let folder = folder(Car::demo().set("limits.bump_steer", "0.6"));
    folder.run("locate survey.toml --into car.toml").ends_with(0);
    let located = folder.text("car.toml");
    let lines: Vec<&str> = located.lines().filter(|line| !line.starts_with("measured_sd")).collect();
    folder.write("welds-alone.toml", lines.join("\n"));
    let chance =
        |car: &str| folder.run(&format!("tolerance {car} --cars 400")).number("/tolerance/share_inside_bump_steer");
    let welds_alone = chance("welds-alone.toml");
    let ran = folder.run("tolerance car.toml --cars 400");
    ran.assert_shows(&["brackets and upright holes 0.50 mm one sd, 10 points by their own sd"]);
    assert_eq!(ran.number("/tolerance/errors/measured_points"), 10.0);
    let with_points = chance("car.toml");
    assert!(with_points < welds_alone - 0.05, "{with_points} for {welds_alone}");
    let sweep = folder.run("sweep car.toml");
    sweep.assert_shows(&["with your tape error (10 points by their own sd): "]);
    assert!(sweep.summary()["heave"]["left"]["tape_band"]["tape_sd_mm"].is_null());
}

#[test]
fn a_file_that_changed_meanwhile_is_left_as_it_is() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("car.toml");
    fs::write(&path, "as edited").unwrap();
    let refused = replace_file(&path, "as read", "with points");
    assert!(matches!(&refused, Err(WriteError::Changed { path: of }) if *of == path), "{refused:?}");
    assert_eq!(fs::read_to_string(&path).unwrap(), "as edited");
    replace_file(&path, "as edited", "with points").unwrap();
    assert_eq!(fs::read_to_string(&path).unwrap(), "with points");
    fs::remove_file(&path).unwrap();
    assert!(matches!(replace_file(&path, "with points", "again"), Err(WriteError::Changed { .. })));
    assert!(!path.exists());
}

#[test]
fn a_survey_that_names_no_point_of_the_car_is_refused_and_nothing_is_written() {
    let folder = Folder::with(Car::demo());
    let before = folder.text("car.toml");
    let survey = "schema = 1\npoint = [{ name = \"jig\" }]\nheight = [{ of = \"jig\", read = 1.0 }]\n\
                  offset = [{ of = \"jig\", read = 2.0 }]\nfore_aft = [{ of = \"jig\", read = 3.0 }]\n";
    folder.write("survey.toml", survey);
    let ran = folder.run("locate survey.toml --into car.toml").ends_with(2);
    ran.assert_tells(&["car.toml has none of the points that were found", "\"toe link chassis\""]);
    assert_eq!(folder.text("car.toml"), before);
    let both = survey.replace("jig", "halfshaft inner").replace("point = [", "point = [{ name = \"jig\" }, ");
    let both = both.replace("offset = [", "offset = [{ of = \"jig\", read = 9.0 }, ");
    let both = both.replace("fore_aft = [", "fore_aft = [{ of = \"jig\", read = 9.0 }, ");
    folder.write("survey.toml", both.replace("height = [", "height = [{ of = \"jig\", read = 9.0 }, "));
    folder.run("locate survey.toml --into car.toml").ends_with(0).assert_shows(&[
        "1 point written into car.toml, those of links with `measured_sd`. It has no place for \"jig\".",
    ]);
    assert_eq!(Car::parse(&folder.text("car.toml")).numbers("halfshaft.inner"), [3.0, 2.0, 1.0]);
}

/// The lines with `measured_sd` that would have come above it are not in the file.
#[test]
fn what_the_points_make_wrong_is_told_at_a_line_of_the_file_that_is_there() {
    let folder = Folder::with(fs::read_to_string("geometries/as-built.toml").unwrap());
    let before = folder.text("car.toml");
    let survey = "schema = 1\npoint = [{ name = \"wheel centre\" }, { name = \"toe link chassis\" }]\n\
                  height = [{ of = \"wheel centre\", read = 300.0 }, { of = \"toe link chassis\", read = 268.0 }]\n\
                  offset = [{ of = \"wheel centre\", read = 739.0 }, { of = \"toe link chassis\", read = 351.0 }]\n\
                  fore_aft = [{ of = \"wheel centre\", read = 2.0 }, { of = \"toe link chassis\", read = -150.0 }]\n";
    folder.write("survey.toml", survey);
    let ran = folder.run("locate survey.toml --into car.toml").ends_with(2);
    let right = before.lines().position(|line| line == "[right.wheel]").expect("a right wheel");
    let centre = before.lines().skip(right).position(|line| line.starts_with("centre = ")).expect("its centre");
    // The left wheel is the one that does not stand on z = 0; the lines of the right one are those of the file, below what was added.
    let of_right = right + centre + 1;
    let told = format!("; lines 17, {of_right} and {} take part", of_right + 1);
    ran.assert_tells(&["car.toml, line 16, column 10: the left and right tyres", &told]);
    assert_eq!(folder.text("car.toml"), before);
}

/// Results never take the place of the geometry that points go into.
#[test]
fn the_geometry_is_an_input_too() {
    let folder = Folder::new();
    folder.write("points.toml", Car::demo());
    folder.write("survey.toml", SURVEY);
    let before = folder.text("points.toml");
    folder.run("locate survey.toml --into points.toml --out . --force").ends_with(4);
    assert_eq!(folder.text("points.toml"), before);
}

#[test]
fn points_of_the_right_side_are_mirrored_where_the_file_mirrors() {
    let written = with_measured(&parsed(CORNER), &[measured("toe link chassis", [-219.0, -361.0, 263.0])]).unwrap();
    assert_eq!((written.side, written.mirrored), (Side::Right, true));
    let car = parsed(&written.text).geometry;
    assert_eq!(place(&car, Side::Right, "toe link chassis"), Point3::new(-219.0, -361.0, 263.0));
    assert_eq!(place(&car, Side::Left, "toe link chassis"), Point3::new(-219.0, 361.0, 263.0));
    assert_eq!(car.right.links[4].measured_sd.chassis_mm, Some([0.51, 0.62, 0.73]));
}

#[test]
fn points_of_the_right_side_go_under_right_where_the_file_has_it() {
    let own =
        "\n[[right.link]]\nname = \"toe link\"\nchassis = [-218.0, -359.0, 261.0]\nupright = [-105.0, -668.0, 270.0]\n";
    let file = parsed(&format!("{CORNER}{own}"));
    let written = with_measured(&file, &[measured("toe link chassis", [-219.0, -361.0, 263.0])]).unwrap();
    assert_eq!((written.side, written.mirrored), (Side::Right, false));
    let car = parsed(&written.text).geometry;
    assert_eq!(place(&car, Side::Right, "toe link chassis"), Point3::new(-219.0, -361.0, 263.0));
    assert_eq!(car.left, file.geometry.left);
    let refused = with_measured(&file, &[measured("upper front chassis", [151.0, -400.0, 400.0])]).unwrap_err();
    assert_eq!(refused.advice(), "give this part its own numbers under [right]");
    let in_place = with_measured(&file, &[measured("upper front chassis", [150.0, -400.0, 400.0])]).unwrap_err();
    assert_eq!(in_place.advice(), refused.advice(), "how well it is known must not be lost either");
}

#[test]
fn a_wheel_centre_takes_the_points_in_hub_axes_along() {
    let hub = in_hub_axes(CORNER, [0.0, 745.0, 308.0]);
    let file = parsed(&hub);
    let by = Vector3::new(3.0, 4.0, 5.0);
    let centre = file.geometry.left.wheel.centre + by;
    let written = with_measured(&file, &[measured("wheel centre", centre.into())]).unwrap();
    let changed: Vec<(&str, &str)> = hub.lines().zip(written.text.lines()).filter(|(old, new)| old != new).collect();
    assert!(matches!(changed[..], [(old, _)] if old.starts_with("centre = ")), "{changed:?}");
    let car = parsed(&written.text).geometry;
    let moved = place(&car, Side::Left, "toe link upright") - place(&file.geometry, Side::Left, "toe link upright");
    assert!((moved - by).norm() < 1e-9);
}

#[test]
fn a_link_that_had_no_chassis_point_has_it_now() {
    let box_of = CORNER.replace(
        "chassis = [-220.0, 360.0, 262.0]",
        "within = { x = [-240.0, -200.0], y = [340.0, 380.0], z = [240.0, 280.0] }   # to be found",
    );
    let written = with_measured(&parsed(&box_of), &[measured("toe link chassis", [-219.0, 361.0, 263.0])]).unwrap();
    assert!(written.text.contains("chassis = [-219.0, 361.0, 263.0]   # to be found\n"), "{}", written.text);
    assert!(parsed(&written.text).geometry.unplaced().is_empty());
}

/// The tape finds the line of a link to some tenths of a millimetre, and the file wants a point on it.
#[test]
fn a_spring_mount_on_a_link_is_written_on_its_line_and_told() {
    let text = include_str!("../../geometries/double-wishbone.toml");
    let file = parsed(text);
    let corner = &file.geometry.left;
    let (leg, spring) = (&corner.links[2], corner.spring.as_ref().unwrap());
    let off = Vector3::z().cross(&(leg.upright - leg.chassis)).normalize();
    let with = |off_mm: f64| with_measured(&file, &[measured("spring mount", (spring.mount + off * off_mm).into())]);
    let written = with(1.4).unwrap();
    let at = place(&parsed(&written.text).geometry, Side::Left, "spring mount");
    assert!(
        (at - spring.mount).norm() < 2e-4 && (written.mount_off_line_mm.unwrap() - 1.4).abs() < 2e-4,
        "{written:?}"
    );
    let refused = with(4.0).unwrap_err();
    assert!(refused.to_string().starts_with("the spring mount was measured 4.0 mm off the line of link"), "{refused}");
    assert!(refused.advice().contains("leave it out of the survey"), "{refused}");
}

/// The bench has where the flange of the housing stands, so the file has no number for the joint.
#[test]
fn the_inner_joint_of_a_final_drive_is_left_out_and_told() {
    let file = parsed(include_str!("../../geometries/semi-trailing.toml"));
    let of = |name: &str| place(&file.geometry, Side::Left, name);
    let points = ["halfshaft inner", "halfshaft outer"];
    let measured = points.map(|name| measured(name, (of(name) + Vector3::new(0.4, 0.3, -0.4)).into()));
    let written = with_measured(&file, &measured).unwrap();
    assert_eq!(
        (&written.points[..], &written.worked_out[..]),
        (&points.map(String::from)[1..], &points.map(String::from)[..1])
    );
}

/// One end at a time, on one line with others, with a comment behind.
#[test]
fn measured_sd_is_written_once_wherever_the_link_stands() {
    let ends = [("chassis", [-219.0, 361.0, 263.0]), ("upright", [-105.0, 668.0, 270.0])];
    let mut text = CORNER.to_owned();
    for (end, at) in ends {
        text = with_measured(&parsed(&text), &[measured(&format!("toe link {end}"), at)]).unwrap().text;
    }
    let both = "measured_sd = { chassis = [0.51, 0.62, 0.73], upright = [0.51, 0.62, 0.73] }\n";
    assert_eq!(text.matches("measured_sd").count(), 1, "{text}");
    assert!(text.contains(both), "{text}");
}
