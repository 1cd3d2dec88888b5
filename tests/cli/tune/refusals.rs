//! Wrong input is refused before anything is written, with what to write instead.

use std::fmt::Display;

use crate::car::Car;
use crate::program::Folder;

use super::tuned;

fn assert_refused(car: impl Display, parts: &[&str]) {
    let (folder, ran) = tuned(car);
    ran.ends_with(2).assert_tells(parts);
    assert_eq!(folder.names("."), ["car.toml"]);
}

/// Refused with the line that holds this.
fn assert_refused_at(car: &Car, at: &str) {
    let text = car.to_string();
    let line = text.lines().position(|line| line.contains(at)).expect("a line") + 1;
    assert_refused(text, &[&format!("car.toml, line {line}, column ")]);
}

#[test]
fn a_car_with_nothing_free_is_refused_and_the_key_is_named() {
    let car = Car::demo_with_nothing_free();
    assert_refused(&car, &["nothing is free to move", "free = { chassis = {"]);
    assert_refused_at(&car, "[[link]]");
}

#[test]
fn a_freedom_that_changes_nothing_is_refused() {
    let free = "{ mount = { z = [-5.0, 5.0] } }";
    let car = Car::demo().set("spring.free", free);
    assert_refused(&car, &["the spring's moving end, up-down changes nothing", "take it out of `free`"]);
    assert_refused_at(&car, free);
}

#[test]
fn a_target_without_its_data_is_refused_and_the_keys_are_named() {
    let car = Car::demo().without("car.wheelbase").without("limits.anti_squat");
    let text = format!("{car}\n[targets]\nanti_squat = 30.0\n");
    let line = text.lines().position(|line| line == "anti_squat = 30.0").expect("a line") + 1;
    assert_refused(
        text,
        &["the target anti-squat", "`wheelbase`", "[car]", &format!("car.toml, line {line}, column ")],
    );
}

#[test]
fn boxes_that_are_empty_inverted_or_exclude_their_start_are_refused() {
    for room in ["[]", "[25.0, -25.0]", "[5.0, 25.0]", "[0.0, 0.0]"] {
        let free = format!("{{ chassis = {{ z = {room} }} }}");
        assert_refused_at(&Car::demo().set("toe link.free", &free), &free);
    }
    let within = "{ x = [-120.0, -200.0], y = [340.0, 390.0], z = [240.0, 290.0] }";
    let car = Car::demo_with_nothing_free().without("toe link.chassis").set("toe link.within", within);
    assert_refused_at(&car, within);
}

#[test]
fn a_tuned_file_never_takes_the_place_of_its_source() {
    let source = Car::demo().to_string();
    for name in ["tuned.toml", "tuned-2.toml"] {
        let folder = Folder::new();
        folder.write(&format!("work/{name}"), &source);
        for force in ["", "--force"] {
            let ran = folder.run(&format!("tune work/{name} --out work {force}")).ends_with(4);
            ran.assert_tells(&["would overwrite their own source", "--out"]);
        }
        assert_eq!(folder.text(&format!("work/{name}")), source);
        assert_eq!(folder.names("work"), [name]);
    }
}

#[test]
fn a_tuned_file_of_the_users_is_not_overwritten_unasked() {
    let folder = Folder::with(Car::demo());
    folder.write("hubtrace-out/tuned.toml", "mine");
    folder.run("tune car.toml").ends_with(4);
    assert_eq!(folder.text("hubtrace-out/tuned.toml"), "mine");
    folder.run("tune car.toml --force").ends_with(0);
}

#[test]
fn boxes_in_which_the_wheel_cannot_move_end_with_3() {
    let within = "{ x = [-121.0, -119.0], y = [667.0, 669.0], z = [500.0, 520.0] }";
    let car = Car::demo_with_nothing_free().without("toe link.chassis").without("toe link.chassis_bolt");
    let (_, ran) = tuned(car.set("toe link.within", within));
    let ran = ran.doubted(1).ends_with(3);
    assert_eq!(ran.out, "");
    ran.assert_tells(&["lets the left wheel move through its travel", "make the boxes larger or move them"]);
}

#[test]
fn no_starts_at_all_is_a_wrong_option() {
    Folder::with(Car::demo()).run("tune car.toml --starts 0").ends_with(2);
}

/// `[right]` gives two links of five; the rest of what is free is told at once, with lines that mend it as they stand.
#[test]
fn what_the_right_side_lacks_is_told_at_once_with_the_lines_to_write() {
    let demo = Car::demo();
    let own = |link: &str| {
        let mirrored = |end: &str| {
            let [x, y, z] = demo.numbers(&format!("{link}.{end}"))[..] else { panic!("a point") };
            format!("{end} = [{x:.1}, {:.1}, {z:.1}]", 0.5 - y)
        };
        format!("\n[[right.link]]\nname = {link:?}\n{}\n{}\n", mirrored("chassis"), mirrored("upright"))
    };
    let text = format!("{demo}{}{}", own("upper front"), own("lower front"));
    let line = text.lines().position(|line| line == "[[right.link]]").expect("a line") + 1;
    let (folder, ran) = tuned(&text);
    let ran = ran.ends_with(2);
    let names = ["\"upper rear chassis\"", "\"lower rear chassis\"", "\"toe link chassis\"", "\"toe link upright\""];
    ran.assert_tells(&names);
    ran.assert_tells(&[&format!("car.toml, line {line}, column 3"), "chassis = [-70.0, -345.0, 172.0]"]);
    let told = ran.err.lines().filter_map(|line| line.strip_prefix("      | "));
    let lines: Vec<&str> = told.skip_while(|line| !line.starts_with('[')).collect();
    folder.write("mended.toml", format!("{text}{}\n", lines.join("\n")));
    let mended = folder.run("tune mended.toml --starts 2 --cars 100 --out mended");
    assert!(mended.code.is_some_and(|code| code < 2), "{mended}");
    mended.assert_shows(&["per wheel (right)", "per wheel (left)"]);
}
