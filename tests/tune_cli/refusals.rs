//! Wrong input is refused before anything is written, with what to write instead.

use std::fs;

use super::program::{TOE_LINK, TOE_LINK_FREE, ToleranceStudy, demo, demo_with_toe_link, tuned};

fn assert_refused(text: &str, parts: &[&str]) {
    let (_shop, ran) = tuned(text);
    assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""), "{}", ran.err);
    assert!(ran.err.starts_with("error: ") && !ran.folder.exists(), "{}", ran.err);
    ran.assert_says(parts);
}

/// Refused with the line that holds this.
fn assert_refused_at(text: &str, at: &str) {
    let line = text.lines().position(|line| line.contains(at)).expect("a line") + 1;
    assert_refused(text, &[&format!("car.toml, line {line}, column ")]);
}

#[test]
fn a_car_with_nothing_free_is_refused_and_the_key_is_named() {
    assert_refused(&demo_with_toe_link("", &[]), &["nothing is free to move", "free = { chassis = {"]);
}

#[test]
fn a_freedom_that_changes_nothing_is_refused() {
    let mount = ("on = \"upright\"", "on = \"upright\"\nfree = { mount = { z = [-5.0, 5.0] } }");
    assert_refused(&demo(&[mount]), &["the spring's moving end, up-down changes nothing", "take it out of `free`"]);
}

#[test]
fn a_target_without_its_data_is_refused_and_the_keys_are_named() {
    let text = demo(&[("wheelbase = 2450.0\n", ""), ("anti_squat = [10.0, 40.0]\n", "")]);
    assert_refused(&(text + "\n[targets]\nanti_squat = 30.0\n"), &["the target anti-squat", "`wheelbase`", "[car]"]);
}

#[test]
fn boxes_that_are_empty_inverted_or_exclude_their_start_are_refused() {
    for room in ["[]", "[25.0, -25.0]", "[5.0, 25.0]", "[0.0, 0.0]"] {
        let free = format!("free = {{ chassis = {{ z = {room} }} }}");
        assert_refused_at(&demo(&[(TOE_LINK_FREE, &free)]), &free);
    }
    let within = "within = { x = [-120.0, -200.0], y = [340.0, 390.0], z = [240.0, 290.0] }";
    assert_refused_at(&demo_with_toe_link("", &[(TOE_LINK, within)]), within);
}

#[test]
fn a_tuned_file_never_takes_the_place_of_its_source() {
    let source = demo(&[]);
    for name in ["tuned.toml", "tuned-2.toml"] {
        let shop = ToleranceStudy::with(&source);
        fs::create_dir(shop.path("work")).expect("a folder");
        fs::rename(shop.path("car.toml"), shop.path("work").join(name)).expect("a file that moves");
        for force in ["", " --force"] {
            let ran = shop.run(&format!("tune work/{name} --out work{force}"));
            assert_eq!((ran.code, ran.out.as_str()), (Some(4), ""), "{}", ran.err);
            ran.assert_says(&["would overwrite its own source", "--out"]);
        }
        assert_eq!(fs::read_to_string(shop.path("work").join(name)).expect("still there"), source);
        assert_eq!(fs::read_dir(shop.path("work")).expect("a folder").count(), 1);
    }
}

#[test]
fn a_tuned_file_of_the_users_is_not_overwritten_unasked() {
    let shop = ToleranceStudy::with(&demo(&[]));
    fs::create_dir(shop.path("out")).expect("a folder");
    fs::write(shop.path("out/tuned.toml"), "mine").expect("a writable file");
    let ran = shop.run("tune car.toml");
    assert_eq!((ran.code, ran.out.as_str()), (Some(4), ""));
    assert_eq!(fs::read_to_string(shop.path("out/tuned.toml")).expect("still there"), "mine");
    assert_eq!(shop.run("tune car.toml --force").code, Some(0));
}

#[test]
fn boxes_in_which_the_wheel_cannot_move_end_with_3() {
    let within = "within = { x = [-121.0, -119.0], y = [667.0, 669.0], z = [500.0, 520.0] }";
    let text = demo_with_toe_link("", &[(TOE_LINK, within), ("chassis_bolt = [292.0, -30.0, 0.0]\n", "")]);
    let (_shop, ran) = tuned(&text);
    assert_eq!((ran.code, ran.out.as_str()), (Some(3), ""), "{}", ran.err);
    ran.assert_says(&["lets the left wheel move through its travel", "make the boxes larger or move them"]);
}

#[test]
fn no_starts_at_all_is_a_wrong_option() {
    let ran = ToleranceStudy::with(&demo(&[])).run("tune car.toml --starts 0");
    assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""));
}
