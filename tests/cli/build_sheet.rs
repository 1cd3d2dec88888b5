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
    let text = |cell: &str| cell.split(['<', '>']).nth(1).unwrap_or_default().to_owned();
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

/// Four decimals are a tenth of what a gauge shows; the tape check and the points are read back by other programs.
#[test]
fn tables_for_the_bench_have_four_decimals_at_most() {
    let ran = fabricate(Car::demo(), "");
    for name in ["cut-list.csv", "setting-chart.csv", "clocking.csv", "bracket-places.csv"] {
        let text = ran.text(name);
        let cells = text.lines().skip(1).flat_map(|line| line.split(','));
        let decimals = |cell: &str| cell.split_once('.').map_or(0, |(_, decimals)| decimals.len());
        let numbers: Vec<&str> = cells.filter(|cell| cell.parse::<f64>().is_ok()).collect();
        assert!(numbers.iter().all(|number| decimals(number) <= 4), "{name}: {text}");
        assert!(numbers.iter().any(|number| decimals(number) > 0), "{name}: {text}");
    }
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
    for name in ["floor-plan.svg", "rear-elevation.svg"] {
        assert!(folder.text(&format!("hubtrace-out/{name}")).contains(">STARTER NUMBERS"), "{name}");
    }
    for name in ["floor-plan.pdf", "rear-elevation.pdf", "templates.pdf", "targets.pdf"] {
        let pdf = std::fs::read(folder.path("hubtrace-out").join(name)).expect("a drawing");
        let text = String::from_utf8_lossy(&pdf);
        let (marks, pages) = (text.matches("(STARTER NUMBERS").count(), text.matches("/MediaBox").count());
        assert!(marks >= pages && pages > 0, "{name}: {marks} of {pages}");
    }
}

#[test]
fn each_adjuster_is_told_by_what_it_is() {
    let car = Car::demo()
        .set(
            "toe link.adjust",
            "{ chassis = { kind = \"shim\", along = [0.0, 0.0, 1.0], step = 0.5, range = [-6.0, 4.0] }, \
             length = { kind = \"sleeve\", pitch = 1.5, range = [-4.0, 4.0] } }",
        )
        .set(
            "upper rear.adjust",
            "{ upright = { kind = \"slot\", along = [0.0, 1.0, 0.0], range = [-3.0, 3.0] }, \
             length = { kind = \"end\", pitch = 1.25, range = [-2.0, 2.0] } }",
        );
    let html = fabricate(car, "").text("build-sheet.html");
    let told = "How they are adjusted: &quot;upper rear&quot; by turning one rod end, a turn 1.25 mm; &quot;upper rear&quot; \
                outer eye by a slot, -3.0 to 3.0 mm outboard; &quot;toe link&quot; by a sleeve, a turn 3.00 mm; \
                &quot;toe link&quot; inner bracket by shims of 0.50 mm, -6.0 to 4.0 mm up.";
    assert!(html.contains(told), "{html}");
}

/// Shanks of 300 mm do not go into links of about as much, and 12 mm of M12 are less than one and a half diameters.
#[test]
fn a_link_that_cannot_be_made_is_told_on_screen_and_on_paper() {
    for (key, value, words) in [
        ("rod_end.shank", "300.0", "tube too short: the shanks need"),
        ("rod_end.engagement", "12.0", "engagement below one and a half diameters"),
    ] {
        let ran = Folder::with(Car::demo().set(key, value)).run("fabricate car.toml");
        let html = ran.text("build-sheet.html");
        assert!(html.contains(&format!("class=\"fail\">{words}")) || html.contains(&format!("; {words}")), "{html}");
        ran.assert_shows(&["Cannot be made as drawn: \"upper front\" (left)"]);
        // Once for all links that have it.
        assert_eq!(ran.screen().matches(words).count(), 1, "{ran}");
    }
}

const RAIL: &str =
    "\n[[tube]]\nname = \"rail\"\nfrom = [400.0, 376.0, 230.0]\nto = [-420.0, 376.0, 230.0]\nod = 30.0\n";

/// Masses are those of the scales: 7.85 g/cm³ over the section, and a square tube whose modulus across its corners is that of the
/// round one.
#[test]
fn the_tubes_are_weighed_and_set_beside_square_ones() {
    let car = Car::demo().set("toe link.chassis_tube", "\"rail\"");
    let ran = fabricate(format!("{car}{RAIL}wall = 2.0\nmaterial = \"E235\"\n"), "");
    let html = ran.text("build-sheet.html");
    let kg = |area_mm2: f64| area_mm2 * 820.0 * 7.85e-6;
    let round_kg = kg(std::f64::consts::PI * 2.0 * 28.0);
    let links_kg: f64 = ran.table("cut-list.csv").numbers("tube_mass_kg").iter().sum();
    let (frame_kg, all_kg) = (2.0 * round_kg, links_kg + 2.0 * round_kg);
    let said = format!(
        "The 10 link tubes of these sheets {links_kg:.2} kg, 2 frame tubes of the file {frame_kg:.2} kg, together {all_kg:.2} kg."
    );
    assert!(html.contains(&said), "{said} {html}");
    let across_corners = |side: f64| (side.powi(4) - (side - 4.0).powi(4)) / 12.0 / (side / std::f64::consts::SQRT_2);
    let wanted = std::f64::consts::PI * (30.0_f64.powi(4) - 26.0_f64.powi(4)) / (32.0 * 30.0);
    let side = (0..60_000).map(|k| 10.0 + 0.001 * f64::from(k)).find(|side| across_corners(*side) >= wanted);
    let side = side.expect("a square tube");
    let square_kg = kg(side * side - (side - 4.0) * (side - 4.0));
    let forms: Vec<&str> = html.split("<th scope=\"row\">rail</th>").skip(1).collect();
    assert_eq!(forms.len(), 3, "{html}");
    for (form, expected_kg) in forms.iter().zip([round_kg, 2.0 * round_kg, square_kg]) {
        let told = form.lines().next().unwrap_or_default().rsplit("<td class=\"n\">").next().unwrap_or_default();
        let told: f64 = told.split('<').next().unwrap_or_default().parse().expect("a number");
        assert!((told - expected_kg).abs() < 0.006, "{form} {expected_kg}");
    }
    assert!(forms[2].contains(&format!("square {side:.2} x 2.00 mm")), "{side} {}", forms[2]);
}

#[test]
fn what_lacks_to_weigh_the_tubes_is_told() {
    let without = fabricate(Car::demo(), "").text("build-sheet.html");
    assert!(
        without.contains("the file has no [[tube]]") && without.contains("link tubes of these sheets"),
        "{without}"
    );
    let bare = Car::demo().set("toe link.chassis_tube", "\"rail\"").without("rod_end");
    let html = fabricate(format!("{bare}{RAIL}"), "").text("build-sheet.html");
    assert!(html.contains("Nothing is known of any tube"), "{html}");
    assert!(html.contains("Not checked: frame tube &quot;rail&quot; (needs od, wall and a known material"), "{html}");
}
