//! `hubtrace forces`: tables against outside equations of equilibrium, the screen, and what it says when data lack.

use std::fs;

use serde_json::Value;

use crate::car::{Car, five_links};
use crate::program::{DEMO_NOTE, Folder, Ran, run};
use crate::screen::{assert_fits_the_width, assert_numbers_are_known};
use crate::table::Table;

fn forces(car: Car, options: &str) -> Ran {
    Folder::with(car).run(&format!("forces car.toml {options}"))
}

/// `tests/outside/forces_reference.py` works upright and carrying link as bodies of their own, in the axes of the car.
#[test]
fn forces_and_brackets_agree_with_equations_of_equilibrium_solved_outside() {
    for name in ["asymmetric", "spring-on-link"] {
        let ran = forces(Car::read(&format!("tests/outside/{name}.toml")), "--quiet");
        for (table, outside) in
            [("forces.csv", format!("{name}.csv")), ("brackets.csv", format!("{name}.brackets.csv"))]
        {
            let ours = ran.table(table);
            let theirs = Table::of(&fs::read_to_string(format!("tests/outside/forces/{outside}")).unwrap());
            assert_eq!(ours.rows.len(), theirs.rows.len(), "{outside}");
            assert!(theirs.rows.len() > 50);
            for (ours, theirs) in ours.rows.iter().zip(&theirs.rows) {
                assert_eq!((&ours[..2], &ours[3]), (&theirs[..2], &theirs[3]));
                for (k, theirs) in theirs.iter().enumerate().filter(|(k, _)| *k == 2 || *k > 3) {
                    let [ours, theirs]: [f64; 2] = [&ours[k], theirs].map(|cell| cell.parse().unwrap());
                    assert!((ours - theirs).abs() < 1e-7, "{outside}, column {k}: {ours}, outside {theirs}");
                }
            }
        }
    }
}

#[test]
fn the_columns_are_those_of_the_contract() {
    let ran = run("forces --quiet").ends_with(0);
    let first = |name: &str| ran.text(name).lines().next().unwrap().to_owned();
    let columns = "case,side,bump_mm,part,axial_n,axial_chassis_n,axial_upright_n,shear_n,bending_nm,caution";
    assert_eq!(first("forces.csv"), columns);
    let columns = "case,side,bump_mm,bracket,x_mm,y_mm,z_mm,force_x_n,force_y_n,force_z_n,force_n,caution";
    assert_eq!(first("brackets.csv"), columns);
    let rows = ran.table("forces.csv").rows;
    // Seven cases, both wheels, three positions, five links and the spring.
    assert_eq!(rows.len(), 7 * 2 * 3 * 6);
    assert!(rows.iter().all(|row| row[9].contains("not approval")));
    let bumps: Vec<&str> = rows.iter().step_by(6).map(|row| row[2].as_str()).take(6).collect();
    assert_eq!(bumps, ["-60", "0", "60", "-60", "0", "60"]);
}

#[test]
fn the_demo_says_so_and_tells_the_largest_forces_with_the_caution() {
    let ran = run("forces").ends_with(0);
    assert_eq!(ran.err, DEMO_NOTE);
    assert_fits_the_width(&ran.out);
    ran.assert_shows(&[
        "7 load cases at 60.0 mm droop, design height and 60.0 mm bump",
        "these are common practice, not measured on any car",
        "Cases: 1 standing; 2 bump; 3 corner, left outside;",
        "Largest force along each part (left and right alike)",
        "Largest force on the frame: ",
        "What breaks first (left and right alike)",
        "rod end, static rating",
        "a washer wider than the housing",
        "guidance, not approval. Welds, fatigue, brackets and shock are not covered",
    ]);
    let written = [
        "brackets.csv",
        "compliance.csv",
        "compliance.svg",
        "forces.csv",
        "forces.svg",
        "hubtrace-forces.sha256",
        "margins.csv",
        "margins.svg",
        "summary.json",
    ];
    assert_eq!(ran.written(), written);
    let (quiet, json) = (run("forces --quiet").ends_with(0), run("forces --json").ends_with(0));
    assert_eq!((quiet.out.as_str(), quiet.err.as_str()), ("", ""));
    assert_eq!(json.out, json.text("summary.json"));
}

/// The reserve of a rod end worked out by hand from its rating, its force and what the screen says of both.
#[test]
fn a_reserve_of_a_rating_says_by_what_the_rating_is_divided() {
    let given = Car::demo().set("rod_end.application_factor", "2.0");
    for (car, divisor, said) in [
        (
            Car::demo(),
            3.0,
            "rating divided by 3 (taken, for the file gives none), and that divided by the force along its link",
        ),
        (given, 2.0, "rating divided by 2 (given by the file), and that divided by the force along its link"),
    ] {
        let folder = Folder::with(car.set("rod_end.static_kn", "32.0"));
        let ran = folder.run("forces car.toml");
        ran.assert_shows(&[said, "Every case is put on the wheel at design height and at both ends of its travel"]);
        let table = ran.table("margins.csv");
        let checks = table.column("check").into_iter().enumerate().filter(|(_, check)| *check == "rod_end");
        let rated: Vec<usize> = checks.map(|(row, _)| row).collect();
        assert!(!rated.is_empty());
        for row in rated {
            let by_hand = 32_000.0 / divisor / table.number_at("load_n", row);
            assert!((table.number_at("reserve", row) - by_hand).abs() < 1e-6 * by_hand, "row {row}");
        }
        let report = folder.run("report car.toml --cars 20 --step 15 --out all --quiet");
        assert!(report.text("report.html").contains(said));
    }
}

/// Numbers of the cases and their count are of the list, not of a member.
#[test]
fn every_number_of_the_screen_is_in_the_summary() {
    for ran in [run("forces"), run("forces --lightest"), forces(Car::read("geometries/as-built.toml"), "")] {
        let summary = ran.summary();
        let cases = summary["forces"]["cases"].as_array().unwrap().len();
        // 4130 is the name of a steel.
        let numbers: Vec<f64> = (1..=cases).map(|number| number as f64).chain([4130.0]).collect();
        assert_numbers_are_known(&ran.out, &summary, &numbers);
    }
}

/// The largest of the screen is the largest of the table, searched anew.
#[test]
fn the_extremes_are_the_largest_of_the_table() {
    let ran = run("forces --quiet");
    let rows = ran.table("forces.csv").rows;
    let number = |cell: &str| cell.parse::<f64>().unwrap();
    let summary = ran.summary();
    let parts = summary["forces"]["extremes"][0]["parts"].as_array().unwrap();
    assert_eq!(parts.len(), 6);
    for part in parts {
        let mine: Vec<&Vec<String>> = rows.iter().filter(|row| row[3] == part["part"].as_str().unwrap()).collect();
        let (low, high) = mine
            .iter()
            .map(|row| number(&row[4]))
            .fold((0.0, 0.0), |(low, high): (f64, f64), n| (low.min(n), high.max(n)));
        for (member, extreme) in [("pull", high), ("push", low)] {
            if extreme == 0.0 {
                assert!(part[member].is_null(), "{part}");
                continue;
            }
            let told = &part[member];
            assert_eq!(told["force_n"].as_f64(), Some(extreme), "{part}");
            let at = |row: &&&Vec<String>| {
                row[0] == told["case"].as_str().unwrap()
                    && row[1] == told["side"].as_str().unwrap()
                    && number(&row[2]) == told["at_bump_mm"].as_f64().unwrap()
            };
            assert_eq!(number(&mine.iter().find(at).unwrap()[4]), extreme);
        }
    }
    let brackets = ran.table("brackets.csv").rows;
    for bracket in summary["forces"]["extremes"][0]["brackets"].as_array().unwrap() {
        let mine = brackets.iter().filter(|row| row[3] == bracket["bracket"].as_str().unwrap());
        let largest = mine.map(|row| number(&row[10])).fold(0.0, f64::max);
        assert_eq!(bracket["force_n"].as_f64(), Some(largest));
        let size: f64 = (0..3).map(|k| bracket["force_xyz_n"][k].as_f64().unwrap().powi(2)).sum::<f64>().sqrt();
        assert!((size - largest).abs() < 1e-9 * largest);
    }
}

#[test]
fn one_side_alone_and_other_travels_can_be_asked_for() {
    let ran = run("forces --quiet --side right --at 30 --at -12.5 --bump 40").ends_with(0);
    let rows = ran.table("forces.csv").rows;
    assert!(rows.iter().all(|row| row[1] == "right"));
    let bumps: Vec<&str> = rows.iter().step_by(6).map(|row| row[2].as_str()).take(5).collect();
    assert_eq!(bumps, ["-60", "-12.5", "0", "30", "40"]);
    run("forces --at 60.5").ends_with(2).assert_tells(&["--at 60.5 is beyond the stop", "60.0 mm bump", "more --bump"]);
    run("forces --at -501").ends_with(2).assert_tells(&["write millimetres from -500 to 500"]);
}

#[test]
fn a_car_without_masses_and_loads_is_told_what_to_add() {
    let car = Car::demo().without("car.mass");
    forces(car.clone(), "").ends_with(2).assert_tells(&[
        "no load case",
        "mass and rear_mass_share in [car]",
        "[[load]]",
    ]);
    let with_load = format!("{car}\n[[load]]\nname = \"push\"\ncentre = [0.0, -1000.0, 0.0]\n");
    let ran = Folder::with(with_load).run("forces car.toml").ends_with(0);
    ran.assert_shows(&["1 load case at 60.0 mm droop, design height"]);
    assert!(!ran.out.contains("common practice") && !ran.out.contains("static load"), "{ran}");
    forces(Car::demo().without("spring"), "")
        .ends_with(2)
        .assert_tells(&["the left wheel has no spring", "add [spring]"]);
}

#[test]
fn what_cannot_be_told_is_named_and_the_rest_goes_on() {
    let ran = forces(Car::demo().without("car.brake_torque_to"), "").ends_with(0);
    ran.assert_shows(&["5 load cases", "Not checked: braking (needs brake_torque_to in [car]); corner and braking"]);
    let loads = "\n[[load]]\nname = \"empty\"\n\n[[load]]\nname = \"bump\"\ncontact = [0.0, 0.0, 5000.0]\n";
    let ran = Folder::with(format!("{}{loads}", Car::demo())).run("forces car.toml").ends_with(0);
    ran.assert_shows(&["1 load case ", "Not checked: load \"empty\" (needs `contact`"]);
    assert_fits_the_width(&ran.out);
}

#[test]
fn a_wheel_that_binds_keeps_the_rows_before_it() {
    let car = Car::read("tests/outside/near-fold.toml").to_string()
        + "\n[[load]]\nname = \"bump\"\ncontact = [0.0, 0.0, 5000.0]\n";
    let ran = Folder::with(car).run("forces car.toml --bump 60").doubted(3).ends_with(3);
    ran.assert_tells(&["binds at 51.7 mm of bump", "forces.csv"]);
    let rows = ran.table("forces.csv").rows;
    assert_eq!(rows.len(), 2 * 2 * 6);
    let binds = ran.summary()["forces"]["binds"]["left"].clone();
    assert!(matches!(binds, Value::Array(ref binds) if binds.len() == 1), "{binds}");
}

#[test]
fn the_table_of_reserves_tells_what_breaks_first_above() {
    let ran = run("forces --quiet").ends_with(0);
    let table = ran.table("margins.csv");
    assert_eq!(table.columns, ["wheels", "part", "check", "reserve", "load_n", "case", "side", "bump_mm", "caution"]);
    let reserves = table.numbers("reserve");
    let forces = table.column("check").iter().position(|check| *check == "engagement").expect("threads last");
    assert!(reserves[..forces].is_sorted() && forces > 20 && reserves[0] >= 1.0, "{reserves:?}");
    assert!(table.column("wheels").iter().all(|wheels| *wheels == "left and right"));
    // The force of each check is one of the tables of forces, at the place that is named.
    let forces = ran.table("forces.csv").rows;
    for row in table.rows.iter().filter(|row| row[2].starts_with("tube")) {
        let at =
            |force: &&Vec<String>| (&force[0], &force[1], &force[2], &force[3]) == (&row[5], &row[6], &row[7], &row[1]);
        assert_eq!(forces.iter().find(at).unwrap()[4], row[4], "{row:?}");
    }
}

/// Each load case is the sum of its unit loads: what links do is proportional to what acts.
#[test]
fn the_table_of_compliance_adds_up() {
    let text = Car::demo().to_string()
        + "\n[[load]]\nname = \"sum\"\ncontact = [0.0, -2500.0, 0.0]\nmoment = [0.0, 0.0, 40.0]\n";
    let ran = Folder::with(text).run("forces car.toml --quiet");
    let table = ran.table("compliance.csv");
    let columns = ["side", "bump_mm", "load", "held", "toe_deg", "camber_deg", "lateral_mm", "caution"];
    assert_eq!(table.columns, columns);
    // Both wheels at three heights: four loads with the height held and free, and the case.
    assert_eq!(table.rows.len(), 2 * 3 * (4 * 2 + 1));
    let find = |like: &Vec<String>, load: &str| {
        let row = table.rows.iter().find(|row| row[..2] == like[..2] && row[2] == load && row[3] == "wheel_travel");
        row.unwrap_or_else(|| panic!("no {load}")).clone()
    };
    for row in table.rows.iter().filter(|row| row[2] == "sum") {
        let (outboard, aligning) = (find(row, "1 kN outboard"), find(row, "100 N·m aligning"));
        for k in 4..7 {
            let number = |row: &Vec<String>| row[k].parse::<f64>().unwrap();
            let sum = -2.5 * number(&outboard) + 0.4 * number(&aligning);
            assert!((number(row) - sum).abs() < 1e-12, "{row:?}");
        }
    }
}

/// The demo with a bracket on a rail of 600 mm.
fn car_on_a_rail() -> String {
    let rail = "\n[[tube]]\nname = \"rail\"\nfrom = [-300.0, 345.0, 150.0]\nto = [300.0, 345.0, 150.0]\nod = 30.0\nwall = 2.0\n\
                material = \"E235\"\n";
    Car::demo().set("lower rear.chassis_tube", "\"rail\"").to_string() + rail
}

#[test]
fn a_bracket_on_a_frame_tube_is_told_with_its_brace() {
    let ran = Folder::with(car_on_a_rail()).run("forces car.toml").ends_with(1);
    ran.assert_shows(&[
        "(FAIL)",
        "\"lower rear\" inner bracket on \"rail\", 230.0 of 600.0 mm from a node:",
        "brace it across the car",
        "FAIL lower rear frame tube, bent",
        "The link tubes of both wheels weigh",
        "2 frame tubes of the file",
    ]);
    assert_fits_the_width(&ran.out);
    // Of the cases, and 4130 of the steel.
    let numbers: Vec<f64> = (1..=7).map(f64::from).chain([4130.0]).collect();
    assert_numbers_are_known(&ran.out, &in_the_units_of_the_screen(&ran.summary()), &numbers);
}

/// By hand: 30 x 2 round has 175.93 mm² of steel, 0.829 kg on 600 mm; a square of 27.62 x 2 bears as much across its corners,
/// has 204.98 mm², 0.965 kg, and 1.302 times the second moment.
#[test]
fn a_tube_is_set_beside_two_of_it_and_a_square_one_on_screen_and_in_the_report() {
    let folder = Folder::with(car_on_a_rail());
    let ran = folder.run("forces car.toml").ends_with(1);
    let lines = [
        "rail round 30.00 x 2.00 mm, as it is 1.00 1.00 0.83",
        "two of it side by side 2.00 2.00 1.66",
        "square 27.62 x 2.00 mm, as strong 1.30 1.00 0.97",
    ];
    ran.assert_shows(&lines);
    let report = folder.run("report car.toml --cars 20 --step 15 --out all");
    report.assert_shows(&[
        "Weakest part: frame tube \"rail\" under the \"lower rear\" inner bracket in case",
        "it breaks on paper",
    ]);
    for cell in ["two of it side by side", "square 27.62 x 2.00 mm, as strong", "1.66", "0.97"] {
        assert!(report.text("report.html").contains(&format!(">{cell}<")), "{cell}");
    }
    let bare = run("forces").ends_with(0);
    assert!(!bare.out.contains("side by side"), "no bracket of the demo names a tube: {bare}");
}

/// The screen tells stiffness in kN/mm.
fn in_the_units_of_the_screen(summary: &Value) -> Value {
    let mut summary = summary.clone();
    for end in ["low", "high"] {
        let stiffness = &mut summary["forces"]["frame"][0]["brackets"][0]["stiffness_n_per_mm"][end];
        *stiffness = Value::from(stiffness.as_f64().unwrap() / 1000.0);
    }
    summary
}

#[test]
fn a_part_that_breaks_ends_with_one_and_is_told_as_fail() {
    let thin = Car::demo().set("lower rear.tube", "{ od = 12.0, wall = 0.7, material = \"E235\" }");
    let ran = forces(thin, "").ends_with(1);
    ran.assert_shows(&["FAIL lower rear tube, buckling"]);
    let single = Car::demo().set("bolt.shear", "\"single\"");
    let ran = forces(single, "");
    ran.assert_shows(&["Single shear at lower front chassis, lower front upright,", "bolt at the frame"]);
    assert_fits_the_width(&ran.out);
}

#[test]
fn parts_that_are_not_known_are_named_and_the_rest_goes_on() {
    let car = Car::demo().set("toe link.tube", "{ od = 20.0, wall = 2.0, material = \"drawn steel\" }");
    let ran = forces(car.without("bolt"), "");
    ran.assert_shows(&[
        "tube of toe link (\"drawn steel\" is no metal that this program knows)",
        "or a [[material]] of that name",
        "bolts of every link (needs thread and class in [bolt])",
        "What breaks first",
    ]);
    assert!(ran.table("margins.csv").rows.iter().any(|row| row[1] == "toe link" && row[2] == "rod_end"));
    assert!(!ran.table("margins.csv").rows.iter().any(|row| row[1] == "toe link" && row[2].starts_with("tube")));
}

/// Three on the screen and in the chart: what the rating of a rod end was divided by.
#[test]
fn the_chart_of_what_breaks_first_says_by_what_ratings_are_divided() {
    let ran = forces(Car::demo(), "");
    let chart = ran.text("margins.svg");
    assert!(chart.contains("Reserve of a rod end"), "{chart}");
}

/// Two arms and a toe link level with the lower one swing about lines along the car, so no point of the upright moves lengthwise at design: a
/// spring along the car holds nothing there. The six lines lie in one linear complex.
#[test]
fn a_singular_position_is_told_and_the_rest_is_still_produced() {
    let links = five_links([
        ([120.0, 340.0, 180.0], [0.0, 700.0, 180.0]),
        ([-120.0, 340.0, 180.0], [0.0, 700.0, 180.0]),
        ([120.0, 390.0, 420.0], [0.0, 680.0, 420.0]),
        ([-120.0, 390.0, 420.0], [0.0, 680.0, 420.0]),
        ([-200.0, 340.0, 180.0], [-200.0, 700.0, 180.0]),
    ]);
    let rest = "[spring]\nchassis = [280.0, 660.0, 260.0]\nmount = [0.0, 660.0, 260.0]\n[travel]\nbump = 40.0\ndroop = 40.0\n[limits]\nbump_steer = 5.0\n\
                [[load]]\nname = \"bump\"\ncontact = [0.0, 0.0, 5000.0]\n";
    let folder = Folder::with(links + rest);
    let ran = folder.run("forces car.toml --quiet");
    ran.assert_tells(&[
        "the spring does not hold the left wheel at design height: bump travel hardly changes its length there",
        "the spring does not hold the right wheel",
        "move an end of the spring so that it shortens in bump",
    ]);
    assert_eq!(ran.code, Some(3), "{ran}");
    let bumps: Vec<String> = ran.table("forces.csv").rows.iter().step_by(6).map(|row| row[2].clone()).collect();
    assert_eq!(bumps, ["-40", "40", "-40", "40"]);
    let fails = ran.summary()["forces"]["spring_fails"].clone();
    assert_eq!(fails.as_array().map(Vec::len), Some(2), "{fails}");
    let report = folder.run("report car.toml --cars 20 --step 20 --quiet --out all").ends_with(3);
    report.assert_tells(&["the spring does not hold the left wheel at design height"]);
    let page = report.text("report.html");
    for part in
        ["The spring does not hold the left wheel at design height", "Largest force along each part", "verdict open"]
    {
        assert!(page.contains(part), "{part}");
    }
}

/// The droop strap has rows of its own, and the screen says where it is slack.
#[test]
fn a_droop_strap_takes_the_place_of_the_spring_at_full_droop() {
    let strap = "{ chassis = [-70.0, 450.0, 560.0], upright = [-60.0, 690.0, 200.0] }";
    let car = Car::read("tests/outside/fl-c.toml").set("spring.strap", strap).to_string();
    let loads = "\n[[load]]\nname = \"in the air\"\ncentre = [0.0, 0.0, -400.0]\n";
    let up = "\n[[load]]\nname = \"road\"\ncontact = [0.0, 0.0, 3000.0]\n";
    let ran = Folder::with(format!("{car}{loads}{up}")).run("forces car.toml").ends_with(0);
    assert_fits_the_width(&ran.out);
    ran.assert_shows(&[
        "The droop strap would have to push, which a strap cannot, in case 2 at 60.0 mm droop: there what acts along the spring",
        "Where the droop strap is taut it holds the wheel",
    ]);
    let rows = ran.table("forces.csv").rows;
    // Two cases, both wheels, three positions, five links, spring and strap.
    assert_eq!(rows.len(), 2 * 2 * 3 * 7);
    let of = |part: &str, case: &str| -> Vec<f64> {
        let mine = rows.iter().filter(|row| row[3] == part && row[0] == case && row[1] == "left");
        mine.map(|row| row[4].parse().unwrap()).collect()
    };
    let (strap, spring) = (of("strap", "in the air"), of("spring", "in the air"));
    assert!(
        strap[0] > 100.0 && strap[1..] == [0.0, 0.0] && spring[0] == 0.0 && spring[1] != 0.0,
        "{strap:?} {spring:?}"
    );
    assert_eq!(of("strap", "road"), [0.0; 3]);
    let shown = ran.out.lines().find(|line| line.starts_with("strap ")).expect("a line of the strap");
    assert!(shown.contains(&format!("{:.0}", strap[0])), "{shown}");
    assert!(ran.table("brackets.csv").rows.iter().any(|row| row[3] == "strap chassis"));
    let only = Folder::with(format!("{car}{up}")).run("forces car.toml").ends_with(0);
    only.assert_shows(&["No case pulls on the droop strap. A wheel in the air does"]);
    assert_numbers_are_known(&ran.out, &ran.summary(), &[1.0, 2.0]);
}

/// At full droop its ends are 479.4 mm apart: one that is longer is slack there.
#[test]
fn a_strap_that_is_not_as_long_as_its_ends_are_apart_says_what_holds_the_wheel() {
    for (length, holds) in [
        ("430.0", "it holds the wheel before that."),
        ("500.0", "it hangs slack there, and what acts along the spring holds the wheel."),
    ] {
        let strap =
            format!("{{ chassis = [-70.0, 450.0, 560.0], upright = [-60.0, 690.0, 200.0], length = {length} }}");
        let car = Car::read("tests/outside/fl-c.toml").set("spring.strap", &strap).to_string();
        let ran = Folder::with(car + "\n[[load]]\nname = \"in the air\"\ncentre = [0.0, 0.0, -400.0]\n")
            .run("forces car.toml");
        let told = |side: &str| {
            format!(
                "The {side} droop strap is {length} mm long, and its ends are 479.4 mm apart at 60.0 mm droop: {holds}"
            )
        };
        ran.assert_shows(&[&told("left"), &told("right")]);
    }
}

/// 6 mm of thread in the insert of an M12 rod end are half a diameter.
#[test]
fn a_thread_that_is_held_too_short_is_told_in_diameters() {
    let folder = Folder::with(Car::demo().set("rod_end.engagement", "6.0"));
    let report = folder.run("report car.toml --cars 20 --step 20 --out all");
    report.assert_shows(&["thread in its insert, held over 0.50 of its diameters, 1.5 are wanted."]);
}

#[test]
fn every_car_fits_the_screen() {
    for file in ["as-built", "double-wishbone", "semi-trailing"] {
        assert_fits_the_width(&forces(Car::read(&format!("geometries/{file}.toml")), "").ends_with(0).out);
    }
    // Two legs of a wishbone that begin alike are told apart.
    let legs = forces(Car::read("geometries/double-wishbone.toml"), "");
    for leg in ["upper wishbone, front leg", "upper wishbone, rear leg"] {
        assert!(legs.out.lines().any(|line| line == leg), "{leg}: {legs}");
    }
    assert_fits_the_width(&forces(Car::read("tests/outside/asymmetric.toml"), "").doubted(2).ends_with(0).out);
    let quoted = format!("\"{}\"", "T".repeat(80));
    let ran = forces(Car::demo().set("toe link.name", &quoted).set("name", &quoted), "").ends_with(0);
    assert_fits_the_width(&ran.out);
}

/// What the screen says of the bolts of the final drive is what `mounts.csv` has.
#[test]
fn the_bolts_of_the_final_drive_are_told() {
    let housing = "\n[final_drive]\norigin = [0.0, 0.0, 312.0]\nleft = { at = [0.0, 205.0, 0.0], axis = [0.0, 1.0, 0.0] }\n\
        right = { at = [0.0, -205.0, 0.0], axis = [0.0, -1.0, 0.0] }\npinion = { at = [160.0, 0.0, 0.0], axis = [1.0, 0.0, 0.0] }\n\
        holes = [[100.0, 80.0, -90.0], [100.0, -80.0, -90.0], [-100.0, 0.0, -90.0]]\n\
        mount = { ratio = 4.0, thread = \"M5\", class = \"8.8\", along = [[0, 0, 1], [0, 0, 1], [0, 0, 1]] }\n";
    let load = "\n[[load]]\nname = \"launch\"\ncontact = [6000.0, 0.0, 4000.0]\ntorque_to = \"halfshaft\"\n";
    let car = format!("{}{housing}{load}", Car::read("tests/good/corner.toml"));
    let ran = Folder::with(car).run("forces car.toml").ends_with(1);
    assert_fits_the_width(&ran.out);
    ran.assert_shows(&["Bolts of the final drive", "(FAIL)", "launch"]);
    let rows = ran.table("mounts.csv").rows;
    // Three positions, both senses of the pinion, three holes.
    assert_eq!(rows.len(), 3 * 2 * 3);
    let least = rows.iter().map(|row| row[14].parse().unwrap_or(f64::INFINITY)).fold(f64::INFINITY, f64::min);
    let summary: Value = serde_json::from_str(&ran.text("summary.json")).unwrap();
    assert_eq!(summary["forces"]["mounts"]["bolts"][0]["reserve"].as_f64(), Some(least));
    assert!(rows.iter().all(|row| row[15].contains("not approval")));
}
