//! What a tuning reaches and what it leaves in its folder.

use crate::car::Car;
use crate::program::{DEMO_NOTE, Folder, Ran, number};

use super::{flattest, tuned};

/// Sweeps a tuned file again: the worst value of the file must be the one that was told.
fn assert_sweeps_to_the_same(folder: &Folder, ran: &Ran, side: &str) {
    let again = folder.run("sweep hubtrace-out/tuned.toml --out again");
    assert_eq!(again.worst_deg(side), ran.worst_deg(side), "{again}");
}

#[test]
fn the_demo_car_becomes_flat_inside_its_limits() {
    let folder = Folder::new();
    let ran = folder.run("tune --flattest").ends_with(0);
    assert_eq!(ran.err, DEMO_NOTE);
    assert!(ran.worst_deg("left") <= 0.01 && ran.worst_deg("right") <= 0.01);
    for name in
        ["moves.csv", "sensitivity.csv", "toe-before-after.svg", "tuned-heave.csv", "summary.json", "tuned.toml"]
    {
        assert!(ran.out.contains(name) && !ran.text(name).is_empty(), "{name}");
    }
    assert!(ran.text("hubtrace-tune.sha256").contains("tuned.toml"));
    assert_sweeps_to_the_same(&folder, &ran, "left");
}

#[test]
fn the_tuned_file_is_the_source_with_other_numbers() {
    let source = Car::demo().to_string();
    let (_, ran) = tuned(&source);
    let written = ran.text("tuned.toml");
    // And the mark of a tuned car.
    let (mark, written): (Vec<&str>, Vec<&str>) = written.lines().partition(|line| line.starts_with("tuned = "));
    let differ: Vec<(&str, &str)> = source.lines().zip(written.iter().copied()).filter(|(a, b)| a != b).collect();
    assert_eq!((source.lines().count(), mark.len()), (written.len(), 1));
    // Of four points that move: the point and its room, counted from where it stands now.
    assert!(!differ.is_empty() && differ.len() <= 10, "{differ:?}");
    for (before, after) in differ {
        let frame = |line: &str| line.replace(|c: char| c.is_ascii_digit() || ".-".contains(c), "");
        assert_eq!(frame(before), frame(after));
    }
}

#[test]
fn the_moves_are_those_of_the_tuned_file_and_stay_in_their_rooms() {
    let (_, ran) = tuned(Car::demo());
    let tuned = Car::parse(&ran.text("tuned.toml"));
    let moves = ran.table("moves.csv");
    let columns = "side,point,from_x_mm,from_y_mm,from_z_mm,to_x_mm,to_y_mm,to_z_mm,distance_mm";
    assert_eq!(moves.columns.join(","), columns);
    assert!(!moves.rows.is_empty());
    let by_mm = ["x", "y", "z"].map(|axis| {
        let (from, to) = (moves.numbers(&format!("from_{axis}_mm")), moves.numbers(&format!("to_{axis}_mm")));
        from.iter().zip(&to).map(|(from, to)| to - from).collect::<Vec<_>>()
    });
    for (row, distance_mm) in moves.numbers("distance_mm").into_iter().enumerate() {
        let by_mm = by_mm.each_ref().map(|moves| moves[row]);
        // The right wheel of the demo is the mirror image of the left one.
        let (link, end) = moves.column("point")[row].rsplit_once(' ').expect("a pickup");
        let sign = if moves.column("side")[row] == "left" { 1.0 } else { -1.0 };
        for (which, car) in [("from", &Car::demo()), ("to", &tuned)] {
            let [x, y, z] = ["x", "y", "z"].map(|axis| moves.number_at(&format!("{which}_{axis}_mm"), row));
            let point = car.numbers(&format!("{link}.{end}"));
            // The file has four decimals.
            let off = [x, sign * y, z].into_iter().zip(&point).map(|(told, of_file)| (told - of_file).abs());
            assert!(off.fold(0.0, f64::max) < 5.1e-5, "{which} of {:?}: {point:?}", moves.rows[row]);
        }
        assert_eq!(by_mm[0], 0.0, "x of {:?} is not free", moves.rows[row]);
        assert!(by_mm.iter().all(|mm| mm.abs() <= 25.0), "{by_mm:?}");
        assert!((by_mm.iter().map(|mm| mm * mm).sum::<f64>().sqrt() - distance_mm).abs() < 1e-9, "{by_mm:?}");
    }
}

#[test]
fn the_sensitivity_table_has_every_coordinate_of_the_drawn_car() {
    let (folder, ran) = tuned(Car::demo());
    let table = ran.text("sensitivity.csv");
    assert_eq!(table.lines().count(), 31);
    let toe_link = table.lines().find(|row| row.starts_with("left,toe link,chassis,z,")).expect("a row");
    let told: f64 = toe_link.split(',').nth(6).expect("a cell").parse().expect("a number");
    let worst_deg = |z: &str| {
        folder.write("moved.toml", Car::demo().set("toe link.chassis", &format!("[-150.0, 376.0, {z}]")));
        folder.run("sweep moved.toml").worst_deg("left")
    };
    let difference = (worst_deg("255.01") - worst_deg("254.99")) / 0.02;
    assert!((told - difference).abs() < 1e-6 * difference.abs(), "{told} {difference}");
}

#[test]
fn json_has_the_pinned_members_and_the_tuning() {
    let ran = Folder::with(Car::demo()).run("tune car.toml --json --quiet --seed 7 --starts 3").ends_with(0);
    assert_eq!(ran.out, ran.text("summary.json"));
    for side in ["left", "right"] {
        for member in ["worst_bump_steer_deg", "worst_at_bump_mm", "gradient_deg_per_mm", "slope_deg_per_mm", "bow_deg"]
        {
            ran.number(&format!("/heave/{side}/{member}"));
        }
    }
    let tune = &ran.summary()["tune"];
    assert_eq!((&tune["seed"], &tune["starts"], &tune["stopped_early"]), (&7.into(), &3.into(), &false.into()));
    assert!((number(tune, "/sides/0/before_worst_bump_steer_deg") - 0.5175).abs() < 1e-4);
    assert!(number(tune, "/sides/0/answers/0/worst_bump_steer_deg") <= 0.01);
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    let folder = Folder::with(Car::demo());
    let all = ["tuned.toml", "moves.csv", "sensitivity.csv", "toe-before-after.svg", "tuned-heave.csv", "summary.json"];
    let [one, other] =
        ["one", "other"].map(|out| folder.run(&format!("tune car.toml --seed 5 --out {out}")).ends_with(0));
    for name in all {
        assert_eq!(one.text(name), other.text(name), "{name}");
    }
}

#[test]
fn the_most_forgiving_car_is_written_and_the_flattest_beside_it() {
    let folder = Folder::with(Car::demo());
    let flat = folder.run("tune car.toml --flattest --out flat").ends_with(0);
    flat.assert_shows(&["In tuned.toml: flattest."]);
    let ran = folder.run("tune car.toml").ends_with(0);
    ran.assert_shows(&["In tuned.toml: most forgiving", "Other good answers: tuned-2.toml 0.000 deg (moves "]);
    assert_eq!(ran.text("tuned-2.toml"), flat.text("tuned.toml"));
    assert!(ran.worst_deg("left") > 0.001, "forgiveness costs some flatness");
    assert_sweeps_to_the_same(&folder, &ran, "left");
    let [built, of_flattest] = [&ran, &flat].map(|ran| ran.number("/tune/chance"));
    assert!(built > 1.2 * of_flattest, "{built} against {of_flattest} of cars");
}

#[test]
fn a_limit_broken_at_the_start_is_led_back() {
    let (_, ran) = flattest(Car::demo().set("limits.roll_centre_height", "[80.0, 110.0]"));
    let ran = ran.ends_with(0);
    let limits = ran.summary()["limits"].clone();
    for limit in limits.as_array().expect("a list") {
        assert_ne!(limit["state"], "fail", "{limit}");
    }
    assert!(ran.worst_deg("left") <= 0.01);
}

/// An answer that stands at a limit must not break it by the rounding of the solver or of the file.
#[test]
fn an_answer_at_its_limit_passes() {
    let (_, ran) = flattest(format!("{}\n[targets]\nanti_squat = 90.0\n", Car::demo()));
    ran.ends_with(0).assert_shows(&[
        "Target anti-squat: 40.0 %, MISSED (wanted 90.0 %)",
        "Held back by limits just kept: anti-squat",
    ]);
}

/// Too narrow for the margin that tuning keeps inside a limit.
#[test]
fn a_limit_narrower_than_the_margin_is_held_without_it() {
    for (key, limit) in [("bump_steer", "0.00002"), ("recession", "1e-6"), ("roll_centre_height", "[65.0, 65.00001]")] {
        let folder = Folder::with(Car::demo().set(&format!("limits.{key}"), limit));
        let swept = folder.run("sweep car.toml --out swept");
        let is_doubted = key != "roll_centre_height"; // less than any gauge reads
        let swept = if is_doubted { swept.doubted(1) } else { swept }.ends_with(1);
        assert!(swept.summary()["heave"]["left"].is_object());
        let ran = folder.run("tune car.toml --starts 2");
        assert!(matches!(ran.code, Some(0 | 1)), "{key}: {ran}");
        assert_sweeps_to_the_same(&folder, &ran, "left");
    }
}

#[test]
fn a_limit_that_nobody_can_keep_is_told_with_what_stands_in_the_way() {
    let (_, ran) = tuned(Car::demo_with_rooms("[-1.0, 1.0]"));
    let ran = ran.ends_with(1);
    ran.assert_shows(&[
        "FAIL bump steer (bump and droop)",
        "Held back by its room: ",
        " (-1.0 mm)",
        " mm): one more mm improves bump steer by about ",
    ]);
    assert!(ran.worst_deg("left") < 0.2 && ran.text("tuned.toml").contains("schema = 1"));
    // Half a millimetre more everywhere must buy half of what was told at least, for these are only two of the clearances.
    let line = ran.screen();
    let gains = line.split("improves bump steer by about ").nth(1).expect("a gain");
    let told: Vec<f64> = gains.split(" deg").take(2).map(last_number).collect();
    let (_, wider) = tuned(Car::demo_with_rooms("[-1.5, 1.5]"));
    let gained = ran.worst_deg("left") - wider.worst_deg("left");
    assert_eq!(told.len(), 2, "{line}");
    assert!(gained > 0.5 * told.iter().sum::<f64>(), "{gained} {told:?}");
}

fn last_number(text: &str) -> f64 {
    text.split(' ').next_back().expect("a word").parse().expect("a number")
}

#[test]
fn targets_that_can_be_reached_are_told_as_reached() {
    let target = "\n[targets]\nroll_centre_height = { band = [60.0, 75.0], weight = 2.0 }\n";
    let (_, ran) = tuned(Car::demo().to_string() + target);
    ran.ends_with(0).assert_shows(&["mm, reached (wanted 60.00 mm to 75.00 mm)"]);
}

/// Every link free: there is room to keep the wheel centre from going forward and back.
#[test]
fn a_target_on_recession_lessens_the_move_of_the_wheel_centre() {
    let worst_mm = |targets: &str| {
        let (_, ran) = tuned(Car::demo_with_rooms("[-15.0, 15.0]").to_string() + targets);
        assert!(ran.worst_deg("left") < 0.05, "{ran}");
        ran.table("tuned-heave.csv")
            .of_side("left", "recession_mm")
            .into_iter()
            .fold(0.0, |worst: f64, mm| worst.max(mm.abs()))
    };
    let (without, with) = (worst_mm(""), worst_mm("\n[targets]\nrecession = 0.5\n"));
    assert!(with < 0.5 * without, "{with} against {without}");
}

#[test]
fn an_asymmetric_car_is_tuned_on_the_side_that_has_room() {
    let free = "{ chassis = { y = [-20.0, 20.0], z = [-20.0, 20.0] } }";
    let car = Car::read("geometries/as-built.toml");
    assert_eq!(car.numbers("right.toe link.chassis"), [-149.0, -369.5, 260.0]);
    let (folder, ran) = tuned(car.set("right.toe link.free", free));
    let ran = ran.ends_with(1); // the left side still fails
    assert!(ran.worst_deg("right") < 0.05 && ran.worst_deg("left") > 0.05, "{ran}");
    ran.assert_shows(&[
        "per wheel (right)",
        "Not tuned: the left wheel. It has points of its own, and no `free` says what of it may move.",
        "FAIL bump steer (left, bump and droop)",
    ]);
    assert_eq!(ran.summary()["tune"]["sides_without_free"], serde_json::json!(["left"]));
    let moves = ran.text("moves.csv");
    assert!(moves.lines().skip(1).all(|row| row.starts_with("right,toe link chassis,-149,-369.5,260,-149,-")));
    assert_sweeps_to_the_same(&folder, &ran, "right");
    let right = folder.run("tune car.toml --side right --out r").ends_with(0);
    assert!(!right.out.contains("Not tuned"), "{right}");
}

#[test]
fn the_toe_curve_is_tuned_about_every_ride_height() {
    let (_, ran) = flattest(Car::demo().set("travel.ride_heights", "[-15.0, 0.0, 10.0]"));
    let about = ran.ends_with(0).summary()["heave"]["left"]["ride_heights"].clone();
    let about = about.as_array().expect("a list");
    assert_eq!(about.len(), 3);
    assert!(about.iter().all(|height| number(height, "/worst_bump_steer_deg") <= 0.01), "{about:?}");
}

#[test]
fn a_drawn_car_that_binds_is_told_as_such() {
    let ran = Folder::with(Car::demo()).run("tune car.toml --droop 255 --starts 2 --step 15");
    ran.assert_shows(&["per wheel (left and right alike): as drawn it binds at 248.7 mm of droop ->"]);
    let side = &ran.summary()["tune"]["sides"][0];
    assert_eq!((&side["before"], &side["before_binds"]["towards"]), (&"binds".into(), &"droop".into()));
    assert!(side["before_worst_bump_steer_deg"].is_null() && !ran.screen().contains("no pickups"), "{ran}");
}

/// The left side is tuned; the right one, of points of its own, stays and binds.
#[test]
fn a_wheel_that_is_not_tuned_and_binds_ends_with_3_after_everything_is_written() {
    let free = "{ chassis = { y = [-20.0, 20.0], z = [-20.0, 20.0] } }";
    let car = Car::read("geometries/as-built.toml").set("toe link.free", free);
    let folder = Folder::with(car.set("right.toe link.chassis", "[-149.0, -560.0, 260.0]"));
    let ran = folder.run("tune car.toml --side both --starts 2").doubted(1).ends_with(3);
    ran.assert_tells(&["the right side binds at 49.6 mm of droop", "tuned-heave.csv holds every row before it"]);
    assert!(ran.written().contains(&"tuned.toml".to_owned()));
    // The tuned wheel is not spoilt to make good the roll steer of the one that binds: it was 0.065 deg as drawn.
    assert!(ran.worst_deg("left") < 0.02, "{ran}");
    ran.assert_shows(&[
        "Not held: roll steer, thrust angle, setback, of the axle, for the right side binds at 49.6 mm of droop;",
        "No car was built, for the right side binds at 49.6 mm of droop;",
    ]);
    assert_eq!(ran.summary()["tune"]["sides"][0]["other_side_binds"]["towards"], "droop");
    let swept = folder.run("sweep hubtrace-out/tuned.toml --out again").doubted(1).ends_with(3);
    swept.assert_tells(&["the right side binds at 49.6 mm of droop"]);
    folder.run("tune car.toml --side left --starts 2 --out left").doubted(1).ends_with(1);
}

/// The distance between the points in the tuned file, for every link that is named and for no other.
#[test]
fn the_new_lengths_are_those_of_the_tuned_file() {
    let (_, ran) = tuned(Car::demo());
    let written = &ran.summary()["tune"]["sides"][0]["written"]["lengths"];
    let [before, after] = [Car::demo(), Car::parse(&ran.text("tuned.toml"))];
    let length_mm = |car: &Car, link: &str| {
        let [a, b] = ["chassis", "upright"].map(|end| car.numbers(&format!("{link}.{end}")));
        a.iter().zip(&b).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt()
    };
    let mut named = Vec::new();
    for of in written.as_array().expect("a list") {
        let link = of["link"].as_str().expect("a name");
        assert!((number(of, "/drawn_mm") - length_mm(&before, link)).abs() < 1e-9, "{of}");
        assert!((number(of, "/new_mm") - length_mm(&after, link)).abs() < 2e-4, "{of}");
        named.push(link.to_owned());
    }
    assert_eq!(named, ["upper front", "upper rear", "lower rear", "toe link"]);
    let shown = format!("\"toe link\" {:.1} (was 293.5)", length_mm(&after, "toe link"));
    ran.assert_shows(&["New link lengths, mm:", &shown]);
}

/// Bump steer, not the miss of the curve that was asked for.
#[test]
fn with_a_toe_curve_asked_for_the_worst_bump_steer_is_that_of_the_sweep() {
    let curve = "\n[targets]\ntoe = { curve = [[-60.0, -0.04], [0.0, 0.0], [60.0, 0.04]] }\n";
    let (_, ran) = flattest(Car::demo().to_string() + curve);
    let told = ran.number("/tune/sides/0/written/worst_bump_steer_deg");
    assert!((told - ran.worst_deg("left").abs()).abs() < 1e-4 && told > 0.03, "{told} {ran}");
    let missed = ran.number("/tune/sides/0/written/toe_curve_missed_by_deg");
    assert!(missed < 0.005, "{missed}");
    ran.assert_shows(&["Toe curve wanted: missed by"]);
}

#[test]
fn a_side_that_is_not_tuned_and_has_no_pickups_yet_is_refused() {
    let within = "{ x = [-200.0, -120.0], y = [340.0, 390.0], z = [240.0, 290.0] }";
    let right = "{ x = [-200.0, -120.0], y = [-390.0, -340.0], z = [240.0, 290.0] }";
    let car = Car::read("geometries/as-built.toml").without("toe link.chassis").set("toe link.within", within);
    let car = car.without("right.toe link.chassis").set("right.toe link.within", right);
    let folder = Folder::with(car);
    let ran = folder.run("tune car.toml --side left --starts 2").ends_with(2);
    ran.assert_tells(&["the right side has no pickups yet, and is not tuned", "leave --side out"]);
}
