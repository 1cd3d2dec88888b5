//! The figures of `hubtrace tolerance` against a sweep of the drawing, against each other and against what their names mean.

use crate::car::Car;
use crate::program::{Folder, Ran, part};
use crate::table::Table;

/// Two different sides, held to all that built cars are held to.
fn as_built() -> Car {
    let limits = [("anti_lift", "[0.0, 90.0]"), ("track_change", "90.0"), ("bump_steer", "0.3")];
    limits
        .iter()
        .fold(Car::read("geometries/as-built.toml"), |car, (key, value)| car.set(&format!("limits.{key}"), value))
}

fn folder() -> Folder {
    Folder::with(as_built())
}

/// Cells of a row as numbers; an empty one is NaN.
fn cells(table: &Table, row: usize, names: [&str; 4]) -> [f64; 4] {
    names.map(|name| table.column(name)[row].parse().unwrap_or(f64::NAN))
}

/// What the weld study starts from is the drawing as a sweep judges it.
#[test]
fn a_nominal_figure_is_that_of_the_swept_drawing() {
    let folder = folder();
    let swept = folder.run("sweep car.toml --out swept");
    let table = folder.run("tolerance car.toml --cars 100").table("tolerance.csv");
    let limits = swept.summary()["limits"].as_array().expect("a list").clone();
    let mut compared = 0;
    for row in 0..table.rows.len() {
        let [name, side] = ["quantity", "side"].map(|column| table.column(column)[row]);
        let told = |member: &str| swept.number(&format!("/heave/{side}/{member}"));
        let expected = match name {
            "slope" => told("slope_deg_per_mm").abs(),
            "bow" => told("bow_deg"),
            _ => {
                let side = (side != "axle").then_some(side);
                let is_it = |title: &str| title.starts_with(&format!("{name} ("));
                let mut found = limits
                    .iter()
                    .filter(|limit| limit["quantity"].as_str().is_some_and(is_it) && limit["side"].as_str() == side);
                let Some(verdict) = found.next() else { continue };
                let [low, high] = ["low", "high"].map(|end| verdict[end].as_f64().expect("a value"));
                low.abs().max(high.abs())
            }
        };
        let nominal = table.number_at("nominal", row).abs();
        assert!((nominal - expected).abs() < 1e-7, "{name} of {side}: {nominal} for {expected}");
        compared += 1;
    }
    // Eleven quantities of each wheel, four of the axle.
    assert!(compared >= 26, "{compared} of {:?}", table.column("quantity"));
}

/// Both studies have the same cars.
#[test]
fn the_odds_with_and_without_a_last_bracket_are_those_of_the_two_studies() {
    let folder = folder();
    let last = folder.run("tolerance car.toml --cars 400 --last=\"toe link\" --out last");
    let adjusted = folder.run("tolerance car.toml --cars 400 --out adjusted");
    for (which, study) in [("with", &last), ("without", &adjusted)] {
        let odds = |member: &str| last.number(&format!("/tolerance/last_bracket/{which}/{member}"));
        for side in ["left", "right"] {
            let worst = |member: &str| study.number(&format!("/tolerance/{side}/worst_bump_steer_deg/{member}"));
            assert_eq!(odds(&format!("{side}_wheel")), worst("chance"), "{which} {side}");
            let (got, expected) = (odds(&format!("{side}_p50_deg")), worst("p50"));
            assert!((got - expected).abs() < 1e-9, "{which} {side}: {got} for {expected}");
        }
        let both = odds("both_wheels");
        assert_eq!(both, study.number("/tolerance/share_inside_bump_steer"));
        // The wheels err by themselves: the share of cars is the product of those of wheels, within four standard errors.
        let product = odds("left_wheel") * odds("right_wheel");
        assert!((both - product).abs() <= 4.0 * (product * (1.0 - product) / 400.0).sqrt(), "{both} for {product}");
    }
    // The right wheel steers more, so that a figure of the wrong side is another number.
    let of = |side: &str, member: &str| adjusted.number(&format!("/tolerance/{side}/worst_bump_steer_deg/{member}"));
    assert!(of("left", "chance") > 1.1 * of("right", "chance") && of("left", "p50") < 0.9 * of("right", "p50"));
    for side in ["left", "right"] {
        let moved = |end: &str| last.number(&format!("/tolerance/last_bracket/{side}/{end}"));
        assert!(moved("p50") < moved("p95"));
    }
}

/// The ends of Wilson's interval are the shares of which the counted one is 1.96 standard deviations away.
#[track_caller]
fn assert_score_interval([chance, low, high]: [f64; 3], cars: f64) {
    assert!(low <= chance && chance <= high, "{low} {chance} {high}");
    for end in [low, high].into_iter().filter(|end| *end > 0.0 && *end < 1.0) {
        let deviations = (chance - end).abs() / (end * (1.0 - end) / cars).sqrt();
        assert!((deviations - 1.959_964).abs() < 1e-4, "{deviations} at {end}");
    }
}

#[test]
fn limits_percentiles_and_chances_stand_with_their_low_end_first() {
    let ran = folder().run("tolerance car.toml --cars 300");
    let table = ran.table("tolerance.csv");
    let (mut intervals, mut wide) = (0, 0);
    for row in 0..table.rows.len() {
        let [chance, low, high, cars] = cells(&table, row, ["chance", "chance_low", "chance_high", "cars"]);
        let [limit_low, limit_high, ..] = cells(&table, row, ["limit_low", "limit_high", "p50", "p90"]);
        assert!(limit_low.is_nan() || limit_high.is_nan() || limit_low < limit_high, "{:?}", table.rows[row]);
        let [p50, p90, p99, _] = cells(&table, row, ["p50", "p90", "p99", "cars"]);
        // Of a gap most cars keep more.
        let rises = if table.column("quantity")[row] == "clearance" { -1.0 } else { 1.0 };
        let [p50, p90, p99] = [p50, p90, p99].map(|value| rises * value);
        assert!(p50.is_nan() || p50 <= p90 && p90 <= p99, "{:?}", table.rows[row]);
        wide += usize::from(p50 < p90);
        if !chance.is_nan() {
            assert_score_interval([chance, low, high], cars);
            intervals += usize::from(chance > 0.0 && chance < 1.0);
        }
    }
    assert!(intervals > 0, "every chance is 0 or 1");
    assert!(wide > 20, "{wide} rows have a p90 above their p50");
    assert_of_summary(&ran);
}

fn assert_of_summary(ran: &Ran) {
    let at = |member: &str| ran.number(&format!("/tolerance/{member}"));
    let cars = at("cars");
    assert_score_interval(["", "_low", "_high"].map(|end| at(&format!("share_inside{end}"))), cars);
    assert_score_interval(["", "_low", "_high"].map(|end| at(&format!("share_inside_bump_steer{end}"))), cars);
    assert_score_interval(["", "_low", "_high"].map(|end| at(&format!("left/worst_bump_steer_deg/chance{end}"))), cars);
    assert_eq!([at("left/anti_squat_pct/limit_low"), at("left/anti_squat_pct/limit_high")], [10.0, 40.0]);
}

/// The worst bump steer of a built wheel is that about the worst of the ride heights, as that of the swept drawing.
#[test]
fn built_cars_are_held_to_bump_steer_about_every_ride_height() {
    let worst = |heights: Option<&str>| {
        let car = heights
            .into_iter()
            .fold(Car::read("geometries/first-cut.toml"), |car, heights| car.set("travel.ride_heights", heights));
        let ran = Folder::with(car).run("tolerance car.toml --cars 50");
        assert!(ran.summary()["tolerance"]["not_checked"].as_array().expect("a list").is_empty());
        ["nominal", "p50"].map(|of| ran.number(&format!("/tolerance/left/worst_bump_steer_deg/{of}")))
    };
    let (about_drawn, about_both) = (worst(None), worst(Some("[40.0]")));
    assert!(
        about_both[0] > 1.2 * about_drawn[0] && about_both[1] > 1.2 * about_drawn[1],
        "{about_drawn:?} {about_both:?}"
    );
}

/// A car of which some pass: its camber is near its limit, and its anti-lift is not below.
fn some_pass() -> Car {
    as_built().set("limits.anti_lift", "[-20.0, 90.0]").set("limits.camber_change", "1.42")
}

/// The last number before the first `%` of some words of a screen, `31 %`, as a share.
#[track_caller]
fn assert_percent(words: &str, share: f64) {
    let told = words.split(" %").next().and_then(|before| before.rsplit([' ', '(']).next()).expect("a number");
    let decimals = told.split_once('.').map_or(0, |(_, decimals)| decimals.len() as i32);
    let percent: f64 = told.parse().unwrap_or_else(|_| panic!("{told:?} in {words:?}"));
    assert!((percent - 100.0 * share).abs() <= 0.5001 * 10_f64.powi(-decimals), "{words:?} is not {share}");
}

/// The chance on the screen is the share of cars in the last row of the table, and not that of a wheel above it.
#[test]
fn the_chance_that_the_screen_tells_is_that_of_cars() {
    let ran = Folder::with(some_pass()).run("tolerance car.toml --cars 400");
    let (screen, table) = (ran.screen(), ran.table("tolerance.csv"));
    let shares = |name: &str| -> Vec<f64> {
        (0..table.rows.len())
            .filter(|&row| table.column("quantity")[row] == name)
            .map(|row| table.number_at("chance", row))
            .collect()
    };
    let of_cars = table.number_at("chance", table.rows.len() - 1);
    let of_wheels = shares("bump steer");
    assert!(of_cars > 0.05 && of_wheels.iter().all(|of_wheel| *of_wheel > of_cars + 0.05), "{of_cars} {of_wheels:?}");
    let said = part(&screen, "Chance that yours passes, both wheels inside ", "19 times of 20)");
    let (_, chance) = said.split_once(": ").expect("a chance");
    assert_percent(chance, of_cars);
    assert_percent(
        part(&screen, "bump steer passes with both wheels, ", " without"),
        ran.number("/tolerance/share_inside_bump_steer"),
    );
}

/// What a last bracket gains is told of wheels, of cars and of every limit, and the room that it needs is that of the side where it
/// moves further; every limit is that of a study of cars built so.
#[test]
fn the_gain_of_a_last_bracket_is_told_of_wheels_of_cars_and_of_every_limit() {
    let folder = Folder::with(some_pass());
    let ran = folder.run("tolerance car.toml --cars 400");
    let gain = |member: &str| ran.number(&format!("/tolerance/last_bracket/{member}"));
    let screen = ran.screen();
    let told = part(&screen, "chance that yours keeps the bump-steer limit ", "either way");
    let (bump_steer, rest) = told.split_once(" for both; ").expect("cars");
    let (one, both) = bump_steer.split_once(" for one wheel, ").expect("wheels");
    for (words, member) in [(one, "left_wheel"), (both, "both_wheels")] {
        let (before, after) = words.split_once(" → ").expect("before and after");
        assert_percent(before, gain(&format!("without/{member}")));
        assert_percent(after, gain(&format!("with/{member}")));
    }
    assert!(gain("without/both_wheels") < gain("without/left_wheel") - 0.05);
    assert_percent(rest, gain("within_all_limits"));
    let link = ran.summary()["tolerance"]["last_bracket"]["link"].as_str().expect("a name").to_owned();
    let last = folder.run(&format!("tolerance car.toml --cars 400 --last=\"{link}\" --out last"));
    assert_eq!(gain("within_all_limits"), last.number("/tolerance/share_inside"));
    assert!(gain("within_all_limits") < gain("with/both_wheels") - 0.05);
    ran.assert_shows(&["either way, in-out and up-down (95 cars of 100, at the worse wheel)"]);
    let room = part(told, "be able to move ", " mm");
    let room_mm: f64 = room.split_whitespace().rev().nth(1).expect("a number").parse().expect("a number");
    let [left_mm, right_mm] = ["left", "right"].map(|side| gain(&format!("{side}/p95")));
    assert!(right_mm > left_mm + 0.5 && (room_mm - right_mm).abs() <= 0.0501, "{room_mm} for {left_mm} and {right_mm}");
}

/// Asked for or not, on the screen or on a sheet, the bracket that is welded last has one room and one gain.
#[test]
fn the_room_of_a_last_bracket_is_one_figure_on_every_screen_and_sheet() {
    let folder = Folder::with(Car::read("geometries/double-wishbone.toml"));
    let said = |line: &str, from: &str, to: &str| part(&folder.run(line).screen(), from, to).to_owned();
    let [beside, last] = ["tolerance car.toml --out beside", "tolerance car.toml --last --out last"];
    let gain = |line: &str| said(line, "chance that yours keeps the bump-steer limit ", " for both");
    let room = |line: &str| said(line, "be able to move ", " either way");
    assert_eq!((gain(beside), room(beside)), (gain(last), room(last)));
    folder.run("fabricate car.toml --out sheets").ends_with(0);
    let sheet = folder.text("sheets/build-sheet.html");
    let told = |words: &str| sheet.matches(words).count();
    let room = room(beside);
    assert_eq!((told("be able to move "), told(&room)), (2, 2), "{room}");
    assert!(sheet.contains(&gain(beside)), "{}", gain(beside));
}

/// With a gauge that reads exactly the lower rear bracket leaves the flattest curves, and takes camber furthest: where camber has
/// little room another one is chosen, and with it more cars pass than with the first.
#[test]
fn the_last_bracket_that_is_chosen_is_the_one_with_which_most_cars_pass() {
    let chosen = |camber: &str| {
        let car = as_built().set("limits.bump_steer", "0.4").set("limits.camber_change", camber);
        let folder = Folder::with(car.without("limits.anti_lift"));
        let built =
            |last: &str| folder.run(&format!("tolerance car.toml --cars 400 --sd 0.3 --placing 1 --gauge 0 {last}"));
        let share = |ran: &Ran| ran.number("/tolerance/share_inside");
        let best = built("--last");
        let link = best.summary()["tolerance"]["last_bracket"]["link"].as_str().expect("a name").to_owned();
        let best = share(&best);
        let shares = ["toe link", "lower rear"].map(|of| share(&built(&format!("--last=\"{of}\""))));
        assert_eq!(best, f64::max(shares[0], shares[1]), "{link}: {shares:?}");
        link
    };
    assert_eq!([chosen("3.0"), chosen("1.42")], ["lower rear", "toe link"]);
}

/// Of 400 cars a share that is counted is so many four-hundredths; what the search foresaw is of a thousand sampled cars.
#[test]
fn the_chance_of_a_set_of_jigs_is_counted_and_not_foreseen() {
    // Near its limit, so that neither share is all.
    let car = some_pass().set("limits.bump_steer", "0.25");
    let ran = Folder::with(car).run("tolerance car.toml --cars 400");
    let sets = ran.summary()["tolerance"]["jigs"]["sets"].as_array().expect("a list").clone();
    let share = |set: &serde_json::Value, member: &str| set[member].as_f64().expect("a share");
    let is_of = |share: f64, cars: f64| (share * cars - (share * cars).round()).abs() < 1e-9;
    assert!(sets.iter().all(|set| is_of(share(set, "chance"), 400.0) && is_of(share(set, "foreseen"), 1000.0)));
    assert!(sets.iter().any(|set| !is_of(share(set, "foreseen"), 400.0)), "{sets:?}");
    for set in &sets {
        let (counted, foreseen) = (share(set, "chance"), share(set, "foreseen"));
        assert!(
            foreseen < 0.97 && (counted - foreseen).abs() < 4.0 * (2.0 * foreseen * (1.0 - foreseen) / 400.0).sqrt(),
            "{set}"
        );
    }
    let screen = ran.screen();
    let mut lines = part(&screen, " without: ", " For 95 %");
    for set in &sets {
        let at = lines.find(" %: ").expect("a set");
        assert_percent(&lines[..at + 2], share(set, "chance"));
        lines = &lines[at + 4..];
    }
}

/// Bump steer is the only limit, and so wide that a car breaks it by nothing but a wheel that does not get through its travel.
#[test]
fn a_car_that_does_not_get_through_its_travel_passes_nothing() {
    const CARS: f64 = 200.0;
    let text = Car::read("tests/outside/near-fold.toml").to_string() + "\n[limits]\nbump_steer = 40.0\n";
    let ran = Folder::with(text).run("tolerance car.toml --cars 200");
    let lost = |side: &str| ran.number(&format!("/tolerance/{side}/binds/binds"));
    let (left, right) = (lost("left"), lost("right"));
    let passing = CARS * ran.number("/tolerance/share_inside");
    assert!(left > 10.0 && right > 10.0, "{left} {right}");
    assert!(CARS - left - right <= passing && passing <= CARS - left.max(right), "{passing} beside {left} {right}");
    assert_eq!(ran.number("/tolerance/share_inside"), ran.number("/tolerance/share_inside_bump_steer"));
}

/// Wheels that do not get through their travel stand beside the figures of their own side, those of both beside the axle and the car.
#[test]
fn lost_wheels_are_counted_beside_their_own_side() {
    let ran = Folder::with(Car::read("tests/outside/near-fold.toml")).run("tolerance car.toml --cars 200");
    let lost = |side: &str| {
        ["does_not_assemble", "binds", "singular"]
            .map(|why| ran.number(&format!("/tolerance/{side}/binds/{why}")))
            .iter()
            .sum::<f64>()
    };
    let (left, right) = (lost("left"), lost("right"));
    assert!(left > 0.0 && right > 0.0 && left != right, "{left} {right}");
    let table = ran.table("tolerance.csv");
    for row in 0..table.rows.len() {
        let expected = match table.column("side")[row] {
            "left" => left,
            "right" => right,
            _ => left + right,
        };
        assert_eq!(table.number_at("binds", row), expected, "{:?}", table.rows[row]);
    }
}
