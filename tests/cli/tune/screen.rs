//! What a builder sees: one screen of 80 columns, in the shop's words, nothing when quiet.

use crate::car::Car;
use crate::program::{Folder, Ran, part, run};
use crate::screen::{assert_fits_one_screen, assert_fits_the_width, assert_numbers_are_known};

use super::{flattest, tuned, tuned_with};

#[test]
fn every_kind_of_answer_fits_the_screen() {
    let targets = "\n[targets]\ncamber_gain = -0.8\nroll_centre_height = 70.0\nanti_squat = [50.0, 90.0]\n";
    let texts = [
        Car::demo().to_string(),
        Car::demo_with_rooms("[-1.0, 1.0]").to_string(),
        Car::demo().set("limits.roll_centre_height", "[150.0, 160.0]").to_string(),
        Car::demo().to_string() + targets,
        Car::demo_with_nothing_free().set("wheel.clock", "[-3.0, 3.0]").to_string(),
    ];
    for text in texts {
        let (_, ran) = tuned(text);
        assert!(matches!(ran.code, Some(0 | 1)), "{ran}");
        assert_fits_one_screen(&ran.out);
    }
}

/// Two sides of their own, every bracket free, each with a limit that no answer keeps: the verdicts stay, and what there is no room for is
/// named with the file that has it.
#[test]
fn a_car_with_two_sides_fits_one_screen() {
    let links = ["upper front", "upper rear", "lower front", "lower rear", "toe link"];
    let keys = links.iter().flat_map(|link| ["", "right."].map(|side| format!("{side}{link}.free")));
    let free = "{ chassis = { y = [-25.0, 25.0], z = [-25.0, 25.0] }, upright = { z = [-8.0, 8.0] } }";
    let car = keys.fold(Car::read("geometries/as-built.toml"), |car, key| car.set(&key, free));
    let targets = "\n[targets]\ncamber_gain = -0.8\nroll_centre_height = 70.0\nanti_squat = [50.0, 90.0]\n";
    let (_, ran) = tuned_with(format!("{}{targets}", car.set("limits.scrub", "1.0")), " --starts 2 --cars 100");
    assert!(ran.code == Some(1), "{ran}");
    assert_fits_one_screen(&format!("{}{}", ran.err, ran.out));
    ran.assert_shows(&[
        "per wheel (left)",
        "per wheel (right)",
        "FAIL scrub",
        "Not held: scrub",
        "Only in summary.json: ",
    ]);
    ran.assert_shows(&["Once built, left/right", "most forgiving", "Target anti-squat"]);
    let notes = ran.out.lines().filter(|line| line.contains("In tuned.toml:") || line.contains("100 cars (")).count();
    assert!(notes <= 2, "what is of the car is told once: {ran}");
    assert!(ran.summary()["tune"]["sides"][1]["toe_depends_most_on"].is_array(), "{ran}");
}

#[test]
fn long_names_fit_the_screen() {
    let quoted = |letter: &str| format!("\"{}\"", letter.repeat(80));
    let (_, ran) = tuned(Car::demo().set("name", &quoted("N")).set("toe link.name", &quoted("T")));
    assert_fits_the_width(&ran.ends_with(0).out);
}

/// The chart has the chance of the answer that is written, and what became of the limits, as the screen has them.
fn assert_chart_tells_the_same(ran: &Ran) {
    let (screen, chart) = (ran.screen(), ran.chart("toe-before-after.svg"));
    let row = part(&ran.out, "    most forgiving ", "%").split_whitespace().collect::<Vec<_>>();
    let chance = row[row.len() - 2..].join(" ");
    let inside = part(&screen, "both wheels inside ", " limits");
    let totals = part(&screen, "On the tuned car, ", " fail.");
    let verdict = "bump steer, limit ±0.05 deg: before FAIL, after pass.";
    let cars = "10000 cars, brackets and upright holes 0.50 mm one sd, links adjusted, seed 1.";
    for words in [&format!("Chance that yours passes, {inside}: {chance} ("), totals, verdict, cars] {
        assert!(chart.contains(words), "{words:?} is missing in {chart}; {ran}");
    }
    assert!(chart.contains("the car before and after tuning"), "{chart}");
}

#[test]
fn the_screen_says_what_a_builder_acts_on() {
    let (_, ran) = tuned(Car::demo());
    ran.assert_shows(&[
        "most forgiving; see --flattest",
        // As `sweep` has it of the drawn car.
        "Changed, with no limit to hold it: anti-lift (brakes) 5.4 -> -",
    ]);
    assert_chart_tells_the_same(&ran);
    // A target that pulls to the ends of the rooms.
    let (_, ran) = tuned(format!("{}\n[targets]\nanti_squat = 90.0\n", Car::demo()));
    ran.assert_shows(&["one more mm raises the chance for one wheel by about", " percentage points."]);
    let (_, ran) = flattest(Car::demo());
    ran.assert_shows(&[
        "per wheel (left and right alike): 0.518 deg -> 0.000 deg",
        "moves, mm",
        "toe link chassis -150.0 376.0 255.0 -150.0",
        "9 of 10 wheels below",
        "chance yours passes",
        "In tuned.toml: flattest.",
        "toe depends most on \"toe link\" inner bracket up-down (0.134 deg/mm)",
        "flatter than can be measured and welded",
        "a failed link can kill",
    ]);
}

/// Every bracket is given a millimetre and takes it; what stands at an end is told, and what was not looked at.
#[test]
fn all_room_that_is_used_is_told_in_one_line() {
    let (_, ran) = tuned(Car::demo_with_rooms("[-1.0, 1.0]"));
    let ends = ran.summary()["tune"]["sides"][0]["written"]["at_end_of_room"].as_array().expect("a list").clone();
    let told = ran.screen();
    // The summary has what the screen tells.
    let held = ran.summary()["tune"]["sides"][0]["written"]["held_back"].as_array().expect("a list").clone();
    assert!((1..=2).contains(&held.len()), "{held:?}; {ran}");
    for held in held {
        assert!(part(&told, "Held back by its room: ", ": one more").contains(held["what"].as_str().unwrap()), "{ran}");
    }
    // What holds the answer back is told with what more room buys, and not again.
    let ends: Vec<_> = ends
        .into_iter()
        .filter(|end| !part(&told, "Held back by its room: ", ": one more").contains(end["what"].as_str().unwrap()))
        .collect();
    let first =
        format!("{} ({}1.0 mm)", ends[0]["what"].as_str().unwrap(), if ends[0]["by"] == 1.0 { "+" } else { "-" });
    assert!(told.contains("At the end of its room: ") && told.contains(&first), "{ran}");
    assert!(ends.len() > 3 && told.contains(&format!("; and {} more.", ends.len() - 3)), "{ends:?}; {ran}");
    ran.assert_shows(&[
        "Not checked: anti-lift (brakes), track change (no limit in the file); gaps to boots, spring and tyre and rim",
    ]);
}

#[test]
fn a_file_name_is_never_broken_across_lines() {
    let (_, ran) = tuned(Car::demo());
    for name in ["toe-before-after.svg", "sensitivity.csv", "tuned-2.toml"] {
        assert!(ran.out.contains(name), "{name} in\n{}", ran.out);
    }
}

#[test]
fn quiet_prints_nothing_at_all() {
    let ran = run("tune --quiet").ends_with(0);
    assert_eq!((ran.out.as_str(), ran.err.as_str()), ("", ""));
    assert!(!ran.text("tuned.toml").is_empty());
}

/// Nothing is worked out while the screen is printed: what it says is in the summary.
#[test]
fn every_number_of_the_screen_is_in_the_summary() {
    let targets = "\n[targets]\nroll_centre_height = 120.0\nanti_squat = [50.0, 90.0]\n";
    let held = Car::demo_with_rooms("[-3.0, 3.0]").to_string() + targets;
    for car in
        [Car::demo().to_string(), held, Car::demo_with_nothing_free().set("wheel.clock", "[-3.0, 3.0]").to_string()]
    {
        let (_, ran) = tuned(car);
        let summary = ran.summary();
        let limits = summary["limits"].as_array().expect("a list");
        let count = |state: &str| limits.iter().filter(|limit| limit["state"] == state).count() as f64;
        let odds = ["flattest", "most_forgiving"].map(|answer| &summary["tune"]["odds"][answer]);
        let chances = odds.into_iter().flat_map(|odds| [&odds["chance"], &odds["kept"]["chance"]]);
        let percent = chances.filter_map(|chance| Some(100.0 * chance.as_f64()?));
        // What more room gains of the chance, in per cent.
        let held = summary["tune"]["sides"][0]["written"]["held_back"].as_array().expect("a list").iter();
        let gains = held.filter_map(|held| Some(100.0 * held["buys_per_unit"].as_f64()?));
        // `9 of 10 wheels below`; the errors of the file, told beside the chance.
        let others =
            ["pass", "fail", "not checked"].map(count).into_iter().chain(percent).chain(gains).chain([9.0, 10.0, 0.5]);
        assert_numbers_are_known(&ran.out, &summary, &others.collect::<Vec<_>>());
    }
}

/// Tuned flat, and then without a limit: the most forgiving answer steers more on paper.
#[test]
fn an_answer_that_is_less_flat_on_paper_says_why() {
    let folder = Folder::with(Car::demo());
    folder.run("tune car.toml --flattest --starts 2 --cars 20 --quiet --out flat");
    let flat = Car::parse(&folder.text("flat/tuned.toml")).without("limits");
    folder.write("flat.toml", flat);
    let told = "Less flat on paper than the car of the file";
    folder.run("tune flat.toml --starts 2 --cars 20 --out again").assert_shows(&[told]);
    let paper = folder.run("tune flat.toml --flattest --starts 2 --cars 20 --out paper");
    assert!(!paper.out.contains(told), "{paper}");
}

/// A tyre of 300 mm reaches into the spring in droop, and no bracket that is free opens that.
#[test]
fn a_gap_that_no_answer_opens_is_told_and_hides_no_other_limit() {
    let car = Car::demo().set("wheel.tyre_width", "300.0");
    let folder = Folder::with(format!("{car}\n[clearance]\nspring_radius = 15.0\n"));
    let ran = folder.run("tune car.toml --starts 4 --cars 20").ends_with(1);
    ran.assert_shows(&["Not held: ", "spring / tyre and rim"]);
    let broken: Vec<&str> = ran.out.lines().filter(|line| line.trim_start().starts_with("FAIL ")).collect();
    assert!(!broken.is_empty() && broken.iter().all(|line| line.contains("clearance")), "{ran}");
    // A limit that fails does not hold, and is not just kept either.
    let written = &ran.summary()["tune"]["sides"][0]["written"];
    assert_eq!(written["limits_hold"], false, "{ran}");
    assert!(!ran.screen().contains("limits just kept: clearance"), "{ran}");
    assert!(written["at_limits"].as_array().is_some_and(|at| at.iter().all(|at| *at != "clearance")), "{ran}");
}
