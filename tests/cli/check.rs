//! `hubtrace check`: one page that says what was understood, and the reason for what cannot be moved.

use nalgebra::{Rotation3, Vector3};
use serde_json::Value;

use crate::car::{Car, all_meet_one_line, five_parallel_links, replaced};
use crate::program::{DEMO_NOTE, Folder, Ran, run};

fn check(car: impl std::fmt::Display) -> Ran {
    Folder::with(car).run("check car.toml")
}

#[test]
fn check_of_the_demo_car_says_so_and_fits_the_screen() {
    let ran = run("check").ends_with(0);
    assert_eq!(ran.err, DEMO_NOTE);
    let page = ran.out;
    for part in ["track 1490.0 mm", "toe 0.10 deg", "camber -1.50 deg", "300.9", "well clear of binding"] {
        assert!(page.contains(part), "{part}: {page}");
    }
    assert!(page.lines().count() <= 24 && page.lines().all(|line| line.chars().count() <= 80), "{page}");
    let quiet = run("check --quiet").ends_with(0);
    assert_eq!((quiet.out, quiet.err), (page, String::new()));
}

#[test]
fn check_tells_other_programs_what_it_tells_a_builder() {
    let ran = run("check --json").ends_with(0);
    let summary: serde_json::Value = serde_json::from_str(&ran.out).expect("JSON");
    let number = |at: &str| summary.pointer(at).and_then(serde_json::Value::as_f64).expect("a number");
    assert_eq!(summary["schema"], 1);
    assert!((number("/track_mm") - 1490.0).abs() < 0.05);
    assert_eq!(summary["wheels"]["left"]["links"][0]["name"], "upper front");
    assert!((number("/wheels/left/links/0/eye_to_eye_mm") - 300.9).abs() < 0.05);
    assert_eq!(summary["warnings"], serde_json::json!([]));
}

#[test]
fn check_shows_both_sides_when_they_differ() {
    let folder = Folder::with(Car::read("geometries/as-built.toml"));
    let page = folder.run("check car.toml").ends_with(0).out;
    assert!(page.contains("Left wheel") && page.contains("Right wheel") && page.contains("-745.8"), "{page}");
    assert!(page.contains("contact points differ in height by 0.2 mm"), "{page}");
    let right = folder.run("check car.toml --side right").ends_with(0).out;
    assert!(right.contains("Right wheel") && !right.contains("Left wheel"), "{right}");
}

#[test]
fn check_names_the_suspects_of_a_taped_length_that_does_not_fit() {
    check(Car::demo().set("upper front.taped", "310.0")).ends_with(0).assert_shows(&[
        "warning: car.toml, line",
        "Link \"upper front\" on the left is 300.9 mm",
        "measure its chassis and upright points again",
    ]);
}

/// Two things are wrong: a sign, and a limit.
#[test]
fn what_looks_wrong_is_told_by_check_and_counted_by_the_others() {
    let car = Car::demo().set("upper front.chassis", "[-150.0, 380.0, 400.0]").set("limits.bump_steer", "5.0");
    let folder = Folder::with(car);
    // With its bracket there the link runs through another one.
    let page = folder.run("check car.toml").ends_with(1).out;
    let text = folder.text("car.toml");
    let line = |of: &str| 1 + text.lines().position(|line| line.starts_with(of)).expect(of);
    let (chassis, limit) = (line("chassis = [-150.0, 380.0, 400.0]"), line("bump_steer = 5.0"));
    let said = page.replace("\n  ", " ");
    let told =
        format!("warning: car.toml, line {chassis}: upper front chassis, left: x = -150.0 is probably 150.0: the sign");
    assert!(said.contains(&told), "{page}");
    assert!(
        said.contains(&format!("warning: car.toml, line {limit}: `bump_steer` in [limits]: a limit of 5 deg")),
        "{page}"
    );
    assert_eq!(page.matches("warning: ").count(), 2, "{page}");
    for command in [
        "sweep car.toml",
        "tolerance car.toml --cars 2",
        "tune car.toml --starts 1 --json",
        "driveline car.toml",
        "forces car.toml",
        "fabricate car.toml",
        "report car.toml --cars 2",
    ] {
        let ran = folder.run(command);
        assert_eq!(ran.err, "warning: 2 things look wrong: see `hubtrace check car.toml`\n", "{command}");
        assert_eq!(ran.summary()["warnings"].as_array().map(Vec::len), Some(2), "{command}");
    }
    assert_eq!(folder.run("sweep car.toml --quiet").err, "");
}

#[test]
fn check_tells_what_the_file_leaves_open() {
    let page = check(Car::demo().without("car.cg_height")).ends_with(0).out;
    assert!(page.contains("not checked: anti-squat (no cg_height in [car])"), "{page}");
    assert!(page.contains("not checked: anti-lift (no cg_height in [car])"), "{page}");
    // Of what no value can be told no limit is missing.
    assert!(page.contains("1 quantity has no limit, so no verdict: track_change in [limits]"), "{page}");
    let page = check(Car::demo().without("halfshaft.plunge_window")).ends_with(0).out.replace("\n  ", " ");
    let told =
        "3 quantities have no limit, so no verdict: plunge_window in [halfshaft]; anti_lift, track_change in [limits]";
    assert!(page.contains(told), "{page}");
}

#[test]
fn a_thickness_that_is_taken_is_told_with_the_links_that_lack_one() {
    let without = |names: &[&str]| names.iter().fold(Car::demo(), |car, name| car.without(&format!("{name}.tube")));
    let all = ["upper front", "upper rear", "lower front", "lower rear", "toe link"];
    for (names, only, told) in [
        (&all[..], &[][..], "links 25.4 mm, halfshaft 28.0 mm"),
        (&all[4..], &all[4..], "link \"toe link\" 25.4 mm, halfshaft 28.0 mm"),
        (&all[2..], &all[2..], "links \"lower front\", \"lower rear\" and \"toe link\" 25.4 mm, halfshaft 28.0 mm"),
    ] {
        let folder = Folder::with(without(names));
        let page = folder.run("check car.toml").out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(page.contains(&format!("Taken, for the file gives none: {told}")), "{page}");
        let summary = folder.run("sweep car.toml").summary();
        let expected = serde_json::json!({"part": "links", "only": only, "diameter_mm": 25.4});
        assert_eq!(summary["heave"]["left"]["clearance"]["assumed"][0], expected);
    }
}

#[test]
fn check_says_which_metal_nobody_knows() {
    let car = Car::demo().to_string().replace("material = \"4130\"", "material = \"steel\"");
    let page = check(car).ends_with(0).out.replace("\n  ", " ");
    let told = "not checked: strength of tubes of \"steel\", which is no metal that this program knows (no [[material]] of that name)";
    assert_eq!(page.matches(told).count(), 1, "{page}");
    assert!(!check(Car::demo()).out.contains("strength of tubes"));
    let page =
        check(Car::demo().to_string().replace("material = \"4130\"", "material = \"4310\"")).out.replace("\n  ", " ");
    assert!(page.contains("(no [[material]] of that name; \"4130\" is known)"), "{page}");
}

#[test]
fn a_datum_and_a_rod_end_are_told_at_their_lines() {
    let text = Car::demo().to_string().replace("lock_nut = 7.0", "lock_nut = 0.7")
        + "\n[[datum]]\nname = \"foot\"\nat = [7120.0, 431.0, 96.0]\n\
           [[material]]\nname = \"own\"\nyield_mpa = 520.0\ne_gpa = 205.0\ndensity = 7.85\n\
           [[load]]\nname = \"push\"\ncontact = [0.0, 0.0, 1.3]\n";
    let line = |of: &str| 1 + text.lines().position(|line| line.starts_with(of)).expect(of);
    let page = check(&text).ends_with(0).out.replace("\n  ", " ");
    for (of, about) in [
        ("at = [7120.0", "datum \"foot\": x = 7120.0"),
        ("lock_nut = 0.7", "`lock_nut`: 0.7 mm"),
        ("density = 7.85", "`density`: 7.85 kg/m3"),
        ("contact = [0.0, 0.0, 1.3]", "load \"push\": `contact`"),
    ] {
        assert!(page.contains(&format!("line {}: {about}", line(of))), "{page}");
    }
}

#[test]
fn check_says_when_the_starter_key_does_not_read() {
    let page = check(Car::demo().set("starter", "\"my wheel\"")).ends_with(0).out;
    assert!(page.replace("\n  ", " ").contains(": `starter`: \"my wheel\" does not say"), "{page}");
}

/// What is wrong stands on the page, not on stderr.
#[test]
fn check_finds_nothing_wrong_with_any_car() {
    for name in ["as-built", "double-wishbone", "first-cut", "semi-trailing"] {
        let page = check(Car::read(&format!("geometries/{name}.toml"))).ends_with(0).out;
        assert!(page.contains("well clear of binding") && !page.contains("all but binding"), "{name}: {page}");
        let warnings: Vec<&str> = page.lines().filter(|line| line.starts_with("warning: ")).collect();
        assert_eq!(warnings, Vec::<&str>::new(), "{name}");
    }
}

/// Bodies that are too near fail, and the code says so.
#[test]
fn parts_that_are_too_near_as_drawn_end_with_the_code_of_a_broken_limit() {
    let car = format!("{}\n[clearance]\nspring_radius = 60.0\n", Car::demo());
    check(car).ends_with(1).assert_shows(&["spring", "(FAIL)"]);
}

#[test]
fn a_corner_that_binds_when_driven_on_says_where() {
    check(Car::demo().set("toe link.chassis", "[-150.0, 560.0, 255.0]")).ends_with(0).assert_shows(&[
        "driven on in bump it binds at 65.0 mm, beyond its stop at 60.0 mm; \"upper front\"",
        "warning: in droop it binds at 53.0 mm, before its stop at 60.0 mm;",
        "\"toe link\" carry the bind",
    ]);
}

#[test]
fn five_parallel_links_are_refused_with_the_reason() {
    check(five_parallel_links()).ends_with(2).assert_tells(&[
        "the five links of the left side are parallel",
        "line 5, column 1",
        "point them in different directions",
    ]);
}

/// All five lines and the vertical through the wheel centre meet the lengthwise line y = 745, z = 100.
#[test]
fn links_that_cannot_lift_the_wheel_are_refused_with_the_reason() {
    check(all_meet_one_line(0.0)).ends_with(2).assert_tells(&["bump cannot move the left wheel", "all meet one line"]);
}

#[test]
fn links_without_chassis_points_are_refused_with_the_command_that_finds_them() {
    let text = Car::read("tests/good/every_key.toml").to_string();
    let (line, within) =
        text.lines().enumerate().find(|(_, line)| line.starts_with("within = ")).expect("a link without a point");
    let folder = Folder::with(&text);
    for command in ["sweep", "tolerance"] {
        let said = folder.run(&format!("{command} car.toml")).ends_with(2).err;
        let start =
            format!("error: car.toml, line {}, column 10: link \"lower front\" has no chassis point yet\n", line + 1);
        assert!(said.starts_with(&start) && said.contains(&within[..40]), "{command}: {said}");
        assert!(said.ends_with("\n      | run `hubtrace tune` to find one\n"), "{command}: {said}");
    }
}

/// The upright is measured first: its holes are told while the frame has no bracket for a link.
#[test]
fn check_shows_the_upright_before_the_frame_has_its_brackets() {
    let box_mm = "{ x = [-200.0, -100.0], y = [340.0, 390.0], z = [240.0, 290.0] }";
    let car = Car::demo().without("toe link.chassis").without("toe link.chassis_bolt").without("toe link.free");
    let folder = Folder::with(car.set("toe link.within", box_mm));
    let page = folder.run("check car.toml").ends_with(0).out;
    let rows: Vec<&str> = page.lines().map(str::trim_end).collect();
    assert!(
        rows.iter().any(|row| row.contains("upper rear") && row.ends_with("287.7           256.0   245.0   164.9"))
    );
    assert!(rows.iter().any(|row| row.contains("5 toe link") && row.ends_with('-')), "{page}");
    assert!(page.contains("\"toe link\" has no chassis point yet, so nothing can be moved"), "{page}");
    assert!(!page.contains("binding") && !page.contains("warning"), "{page}");
    let summary: serde_json::Value = serde_json::from_str(&folder.run("check car.toml --json").out).expect("JSON");
    let left = &summary["wheels"]["left"];
    assert!(left["links"][4]["eye_to_eye_mm"].is_null() && left["links"][0]["eye_to_eye_mm"].is_number(), "{left}");
    assert!(left.get("margin").is_none(), "{left}");
}

/// A bare upright on the bench: nothing of the frame is in the file, and the commands that need it say what to give.
#[test]
fn check_shows_an_upright_of_which_the_frame_is_not_begun() {
    let of_frame = ["chassis", "free"];
    let text = Car::demo().without("spring").to_string();
    let is_of_upright = |line: &&str| of_frame.iter().all(|key| !line.starts_with(key));
    let car = text.lines().filter(is_of_upright).map(|line| format!("{line}\n")).collect::<String>();
    let folder = Folder::with(car);
    let page = folder.run("check car.toml").ends_with(0);
    page.assert_shows(&[
        "upper rear - 256.0 245.0 164.9",
        "have no chassis point yet",
        "as `within`, and `hubtrace tune` finds one",
    ]);
    assert!(!page.out.contains("warning") && !page.out.contains("looks wrong"), "{}", page.out);
    let summary: serde_json::Value = serde_json::from_str(&folder.run("check car.toml --json").out).expect("JSON");
    assert_eq!(summary["wheels"]["left"]["links"][2]["lacks_room"], true, "{summary}");
    for command in ["sweep", "tune", "tolerance", "report"] {
        let said = folder.run(&format!("{command} car.toml")).ends_with(2);
        said.assert_tells(&["link \"lower front\" has no chassis point yet", "add `chassis`", "within = {"]);
    }
}

/// What is in the file is judged before its brackets are: a spring of 60 mm straight through a shaft of 28 mm, their lines 1.3 mm apart
/// where they cross at y = 500 mm, by hand.
#[test]
fn parts_that_overlap_are_told_before_the_frame_has_its_brackets() {
    let box_mm = "{ x = [-200.0, -100.0], y = [340.0, 390.0], z = [240.0, 290.0] }";
    let car = Car::demo().without("toe link.chassis").without("toe link.chassis_bolt").without("toe link.free");
    let car = car.set("toe link.within", box_mm).set("spring.chassis", "[0.0, 500.0, 600.0]");
    let car = format!("{}\n[clearance]\nspring_radius = 30.0\n", car.set("spring.mount", "[0.0, 500.0, 200.0]"));
    let folder = Folder::with(car);
    let ran = folder.run("check car.toml").ends_with(1);
    ran.assert_shows(&["nearest bodies at design, mm (at least 5.0): halfshaft / spring -42.7 (FAIL)"]);
    let summary: Value = serde_json::from_str(&folder.run("check car.toml --json").out).expect("JSON");
    let pairs = summary["wheels"]["left"]["clearance"].as_array().expect("a list");
    let names: Vec<&str> = pairs.iter().filter_map(|pair| pair["pair"].as_str()).collect();
    assert!(
        names.contains(&"lower rear / halfshaft") && !names.iter().any(|name| name.contains("toe link")),
        "{names:?}"
    );
}

/// By hand: (4, 205, 279) to (-0.1, 659, 279.1).
#[test]
fn check_tells_the_length_of_the_halfshaft() {
    let page = run("check --quiet").ends_with(0).out;
    assert!(page.contains("contact point (0.0, 745.0, 0.0) mm; halfshaft 454.0 mm joint to joint"), "{page}");
    // As far as the plunge of the rows of `sweep` makes of that.
    let plunge_mm = run("sweep --quiet").table("heave.csv").of_side("left", "shaft_plunge_mm");
    let design_mm = [4.1_f64, 454.0, 0.1].iter().map(|mm| mm * mm).sum::<f64>().sqrt();
    let over = |pick: fn(f64, f64) -> f64| design_mm + plunge_mm.iter().copied().reduce(pick).expect("rows");
    let over = format!("halfshaft {:.1} to {:.1} mm joint to joint over travel", over(f64::min), over(f64::max));
    assert!(page.contains(&over), "{over} {page}");
}

#[test]
fn a_wrong_file_is_named() {
    let folder = Folder::with(replaced(Car::demo(), "tyre_radius", "tire_radius"));
    folder.run("check none.toml").ends_with(2).assert_tells(&["none.toml cannot be read"]);
    folder.run("check ./").ends_with(2).assert_tells(&["is a folder"]);
    folder.run("check car.toml").ends_with(2).assert_tells(&["car.toml, line ", "tire_radius"]);
}

#[test]
fn the_best_bolt_of_every_rod_end_is_told_when_it_is_asked_for() {
    let folder = Folder::with(Car::read("geometries/first-cut.toml"));
    let ran = folder.run("check car.toml --bolts").ends_with(0);
    ran.assert_shows(&["Left wheel, best bolt of every rod end", "toe link upright"]);
    assert!(!folder.run("check car.toml").out.contains("best bolt"));
    let json: serde_json::Value = serde_json::from_str(&folder.run("check car.toml --bolts --json").out).unwrap();
    let bolts = json.pointer("/best_bolts/left");
    let bolts = bolts.and_then(|bolts| bolts.as_array()).expect("a list");
    assert_eq!(bolts.len(), 10);
    for bolt in bolts {
        assert!(bolt["leaves_deg"].as_f64() < Some(2.0), "{bolt}");
    }
}

/// Pasted into a file whose upright was measured from the hub, what is told leaves what was told.
#[test]
fn a_best_bolt_can_be_pasted_into_a_file_in_hub_axes() {
    let links = ["upper front", "upper rear", "lower front", "lower rear", "toe link"];
    let point = |car: &Car, key: &str| Vector3::from_column_slice(&car.numbers(key));
    let demo = Car::demo();
    let lean = ["wheel.toe", "wheel.camber"].map(|key| demo.numbers(key)[0].to_radians());
    // docs/geometry-file.md: the upright at zero camber and toe, from the wheel centre.
    let to_hub = Rotation3::from_axis_angle(&Vector3::x_axis(), lean[1])
        * Rotation3::from_axis_angle(&Vector3::z_axis(), lean[0]);
    let centre = point(&demo, "wheel.centre");
    let in_hub_axes = |car: Car, key: &str| {
        let hub = to_hub * (point(&car, key) - centre);
        car.set(key, &format!("{:?}", hub.as_slice()))
    };
    let uprights = links.map(|link| format!("{link}.upright"));
    let keys = uprights.iter().map(String::as_str).chain(["halfshaft.outer", "spring.mount"]);
    let hub = keys.fold(demo, in_hub_axes);
    let hub = format!("upright_axes = \"hub\"\n{hub}");
    let told = |car: &str| -> Vec<Value> {
        let json: Value =
            serde_json::from_str(&Folder::with(car).run("check car.toml --bolts --json").out).expect("JSON");
        json["best_bolts"]["left"].as_array().expect("a list").clone()
    };
    let mut pasted = Car::parse(&hub);
    let best = told(&hub);
    for bolt in &best {
        let key = format!("{}.{}_bolt", bolt["link"].as_str().expect("a link"), bolt["end"].as_str().expect("an end"));
        pasted = pasted.set(&key, &bolt["as_written"].to_string());
    }
    let apart = best.iter().filter(|bolt| bolt["direction"] != bolt["as_written"]).count();
    assert_eq!(apart, 5, "the bolts in the upright");
    for (now, before) in told(&pasted.to_string()).iter().zip(&best) {
        let [now, before] = [&now["as_drawn_deg"], &before["leaves_deg"]].map(|deg| deg.as_f64().expect("an angle"));
        assert!((now - before).abs() < 1e-6, "{now} for {before}");
    }
}
