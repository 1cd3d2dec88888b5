//! `build-sheet.html`: what stands on its sheets, and that no name is markup.

use std::collections::BTreeSet;

use crate::car::Car;
use crate::program::{Folder, Ran};

fn fabricate(car: impl std::fmt::Display, options: &str) -> Ran {
    Folder::with(car).run(&format!("fabricate car.toml --quiet {options}"))
}

/// The sheets of paper.
fn sections(html: &str) -> Vec<&str> {
    html.split("<section>").skip(1).collect()
}

/// Cells of a row that begins with these words.
fn row(html: &str, words: &str) -> Vec<String> {
    let rest = html.split(&format!("<td>{words}</td><td")).nth(1).unwrap_or_else(|| panic!("no row {words} in {html}"));
    let line = rest.lines().next().unwrap_or_default();
    let text = |cell: &str| cell.split_once('>').map_or("", |(_, text)| text.trim_end_matches("</td>")).to_owned();
    line.split("<td").map(text).collect()
}

#[test]
fn every_sheet_says_whose_car_it_is_and_which_sheet() {
    let ran = fabricate(Car::demo(), "");
    let html = ran.text("build-sheet.html");
    let sha = ran.summary()["input_sha256"].as_str().map(|hash| hash[..12].to_owned()).expect("a hash");
    let sheets = sections(&html);
    assert!(sheets.len() >= 6, "{}", sheets.len());
    for (k, sheet) in sheets.iter().enumerate() {
        let foot = sheet.split("<footer>").nth(1).expect("a foot");
        for part in ["car.toml", &sha, "as drawn", &format!("sheet {} of {}", k + 1, sheets.len())] {
            assert!(foot.contains(part), "{part}: {foot}");
        }
    }
    assert!(!html.contains("src=") && !html.contains("href=") && !html.contains("url("), "nothing is fetched");
}

/// The page for the wall holds the figures of the summary.
#[test]
fn the_page_for_the_wall_tells_the_toe_of_the_car() {
    let ran = fabricate(Car::demo(), "");
    let html = ran.text("build-sheet.html");
    let wall = sections(&html)[0].to_owned();
    let told = |words: &str, k: usize| row(&wall, words)[k].parse::<f64>().expect("a number");
    for (words, pointer, times) in [
        ("set at design height", "design_toe_deg", 1.0),
        ("worst bump steer over full travel", "worst_change_deg", 1.0),
        ("slope per 25 mm", "slope_deg_per_mm", 25.0),
        ("bow", "bow_deg", 1.0),
    ] {
        let of_summary = times * ran.number(&format!("/heave/left/{pointer}"));
        assert!((told(words, 0) - of_summary).abs() <= 0.000_501, "{words}");
    }
    assert!((told("bow", 1) - ran.number("/heave/left/over_span/bow_mm")).abs() <= 0.005_01);
    // Both wheels toe in by 0.1 deg, 0.73 mm over the rim.
    assert!(wall.contains("Total toe of both wheels at design height: 0.200 deg, 1.45 mm over 416.0 mm"), "{wall}");
    assert!(wall.contains("class=\"fail\">FAIL"), "{wall}");
}

/// The same figures as the commands that look at them alone.
#[test]
fn the_page_for_the_wall_tells_what_runs_out_and_what_is_weakest() {
    let html = fabricate(Car::demo(), "").text("build-sheet.html");
    let wall = sections(&html)[0].to_owned();
    let driveline = Folder::with(Car::demo()).run("driveline car.toml").table("runs-out.csv");
    let first = driveline.numbers("at_bump_mm").into_iter().filter(|mm| *mm > 0.0).fold(f64::INFINITY, f64::min);
    assert!(wall.contains(&format!("Up, mm: {first:.1} ")), "{first} {wall}");
    let margins = Folder::with(Car::demo()).run("forces car.toml").table("margins.csv");
    // What breaks first stands first.
    let least = margins.numbers("reserve")[0];
    assert!(wall.contains("Weakest part: ") && wall.contains(&format!("reserve {least:.2}")), "{least} {wall}");
}

#[test]
fn the_cut_list_and_the_setting_chart_are_in_tables_and_on_sheets() {
    let ran = fabricate(Car::demo(), "");
    let (cut, chart) = (ran.table("cut-list.csv"), ran.table("setting-chart.csv"));
    assert_eq!((cut.rows.len(), chart.rows.len()), (10, 20));
    let html = ran.text("build-sheet.html");
    // Both wheels are alike; the shop saws each tube twice.
    assert_eq!(html.matches("<h2>Cut list").count(), 2);
    assert_eq!(html.matches("half a turn of one rod end out, 0.88 mm").count(), 5, "half of 1.75 mm");
    let pairs = cut.numbers("tube_mm").into_iter().zip(cut.numbers("eye_to_eye_mm"));
    // 54 mm of shank, 20 and 4 turns of 1.75 mm of it held, 4 mm of insert, at both ends.
    pairs.for_each(|(tube, eyes)| assert!((eyes - tube - 62.0).abs() < 1e-9, "{eyes} {tube}"));
    let bare = fabricate(Car::demo().without("rod_end"), "");
    assert!(bare.text("build-sheet.html").contains("Tube lengths need more of [rod_end]: "));
}

#[test]
fn every_distance_and_bracket_has_its_row_and_a_box_to_fill() {
    let ran = fabricate(Car::demo(), "");
    let html = ran.text("build-sheet.html");
    let distances = ran.table("tape-check.csv").rows.len();
    assert_eq!(html.matches("<td class=\"fill\">").count(), distances);
    for point in ran.table("bracket-places.csv").column("point") {
        assert!(html.contains(&format!("<td>{point}")), "{point}");
    }
    assert!(html.matches("<span class=\"box\">").count() >= 10);
}

#[test]
fn names_are_shown_and_are_no_markup() {
    let car = Car::demo().to_string().replace("\"toe link\"", "\"<b>&\\\" link\"");
    let html = fabricate(car, "").text("build-sheet.html");
    assert!(html.contains("&lt;b&gt;&amp;") && !html.contains("<b>"), "{html}");
    let tags: BTreeSet<&str> =
        html.split('<').skip(1).filter_map(|rest| rest.split([' ', '>', '\n', '/']).next()).collect();
    let known = BTreeSet::from([
        "", "!doctype", "html", "meta", "title", "style", "section", "h1", "h2", "p", "table", "tr", "th", "td", "ol",
        "li", "span", "svg", "path", "footer", "div",
    ]);
    assert!(tags.is_subset(&known), "{tags:?}");
}

#[test]
fn starter_numbers_are_across_every_sheet() {
    let folder = Folder::new();
    folder.run("new car.toml");
    let html = folder.run("fabricate car.toml --quiet").text("build-sheet.html");
    assert_eq!(html.matches("STARTER NUMBERS").count(), sections(&html).len());
}
