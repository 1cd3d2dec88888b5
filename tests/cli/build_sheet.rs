//! `build-sheet.html`: what stands on its sheets, and that no name is markup. Its first page is in `wall`.

use std::collections::BTreeSet;

use crate::car::Car;
use crate::program::{Folder, Ran};

pub fn fabricate(car: impl std::fmt::Display, options: &str) -> Ran {
    Folder::with(car).run(&format!("fabricate car.toml --quiet {options}"))
}

/// The sheets of paper.
pub fn sections(html: &str) -> Vec<&str> {
    html.split("<section>").skip(1).collect()
}

/// Cells of a row that begins with these words.
pub fn row(html: &str, words: &str) -> Vec<String> {
    let rest = html
        .split(&format!("<th scope=\"row\">{words}</th><td"))
        .nth(1)
        .unwrap_or_else(|| panic!("no row {words} in {html}"));
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

#[test]
fn the_cut_list_and_the_setting_chart_are_in_tables_and_on_sheets() {
    let ran = fabricate(Car::demo(), "");
    let (cut, chart) = (ran.table("cut-list.csv"), ran.table("setting-chart.csv"));
    assert_eq!((cut.rows.len(), chart.rows.len()), (10, 20));
    let html = ran.text("build-sheet.html");
    // Both wheels are alike; the shop saws each tube twice.
    assert_eq!(html.matches("<caption>Cut list").count(), 2);
    assert_eq!(html.matches("half a turn of one rod end out, 0.88 mm").count(), 10, "half of 1.75 mm");
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
        assert!(html.contains(&format!("<th scope=\"row\">{point}")), "{point}");
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
        "", "!doctype", "html", "meta", "title", "style", "section", "h1", "h2", "p", "table", "caption", "thead",
        "tbody", "tr", "th", "td", "ol", "li", "span", "svg", "path", "footer", "div",
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
