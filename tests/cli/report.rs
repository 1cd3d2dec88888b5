//! `hubtrace report`: the page read as XML, its figures against the summary and the other commands.

use roxmltree::{Document, Node, ParsingOptions};
use serde_json::Value;

use crate::car::Car;
use crate::program::{DEMO_NOTE, Folder, Ran, run};
use crate::screen::assert_fits_the_width;

/// Few cars and rows: the studies are held by tests of their own.
const FEW: &str = "--cars 20 --step 15 --quiet";
/// The page must go by mail.
const MAX_BYTES: usize = 1_500_000;

fn report(car: impl ToString) -> Ran {
    Folder::with(car.to_string()).run(&format!("report car.toml {FEW}"))
}

fn document(page: &str) -> Document<'_> {
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    Document::parse_with_options(page, options).unwrap_or_else(|error| panic!("no sound XML: {error}"))
}

fn tagged<'a>(page: &'a Document, tag: &'static str) -> impl Iterator<Item = Node<'a, 'a>> {
    page.descendants().filter(move |node| node.tag_name().name() == tag)
}

/// Everything that a reader sees of a node.
fn text(node: Node) -> String {
    let shown = |text: &Node| text.is_text() && text.ancestors().all(|node| node.tag_name().name() != "style");
    node.descendants().filter(shown).filter_map(|text| text.text()).collect()
}

/// The cells of the first table, a row of the body at a time.
fn limits(page: &Document) -> Vec<Vec<String>> {
    let body = tagged(page, "tbody").next().expect("a table");
    let rows = body.children().filter(|node| node.has_tag_name("tr"));
    rows.map(|row| row.children().filter(Node::is_element).map(text).collect()).collect()
}

/// What one page must be, whatever the car: sound XML that fetches nothing and runs nothing, whose links lead somewhere.
fn assert_stands_alone(ran: &Ran) {
    let text_of_page = ran.text("report.html");
    assert!(text_of_page.len() < MAX_BYTES, "{} bytes", text_of_page.len());
    let page = document(&text_of_page);
    for tag in ["script", "link", "img", "iframe", "object", "embed", "base", "form", "image", "use"] {
        assert!(tagged(&page, tag).next().is_none(), "<{tag}>");
    }
    let written = ran.written();
    let mut links = 0;
    for node in page.descendants().filter(Node::is_element) {
        assert!(node.attribute("src").is_none() && node.attribute("style").is_none(), "{:?}", node.tag_name());
        assert!(node.attributes().all(|attribute| !attribute.name().starts_with("on")), "{:?}", node.tag_name());
        let Some(href) = node.attribute("href") else { continue };
        links += 1;
        match href.strip_prefix('#') {
            Some(id) => assert!(page.descendants().any(|node| node.attribute("id") == Some(id)), "{href}"),
            None => assert!(written.iter().any(|name| name == href), "{href} is not in {written:?}"),
        }
    }
    assert!(links > 10, "{links} links");
    let style = text_of_page.split("<style>").nth(1).and_then(|rest| rest.split("</style>").next()).expect("a style");
    assert!(!style.contains("url(") && !style.contains("@import") && !style.contains("http"), "{style}");
    for cell in tagged(&page, "th") {
        assert!(cell.attribute("scope").is_some() && !text(cell).is_empty(), "a head cell without scope or words");
    }
    let charts: Vec<Node> = tagged(&page, "svg").collect();
    assert!(charts.len() >= 10, "{} charts", charts.len());
    for chart in charts {
        let title = chart.first_element_child().filter(|node| node.tag_name().name() == "title").map(text);
        assert!(chart.attribute("role") == Some("img") && title.is_some_and(|title| title.len() > 10));
    }
}

#[test]
fn the_page_of_every_car_stands_alone() {
    let demo = run(&format!("report {FEW}")).ends_with(1);
    assert_stands_alone(&demo);
    for name in ["as-built", "double-wishbone", "semi-trailing"] {
        let ran = report(Car::read(&format!("geometries/{name}.toml")));
        assert!(matches!(ran.code, Some(0 | 1)), "{name}");
        assert_stands_alone(&ran);
    }
}

/// Each figure of the first table against its member of the summary, to the last digit that is shown.
#[test]
fn every_number_of_the_verdict_is_that_of_the_summary() {
    let without = Car::read("geometries/as-built.toml").set("travel.ride_heights", "[-10.0]");
    for car in [Car::demo(), Car::read("geometries/double-wishbone.toml"), without] {
        let ran = report(car);
        let (summary, html) = (ran.summary(), ran.text("report.html"));
        let verdicts = summary["limits"].as_array().expect("a list");
        let mut compared = 0;
        for row in limits(&document(&html)).iter().filter(|row| row.len() > 1) {
            let title = row[0].rsplit_once(',').expect("name and unit").0;
            let of_it: Vec<&Value> = verdicts.iter().filter(|of| of["quantity"] == title).collect();
            let shown: Vec<&&Value> = match row.len() {
                5 => of_it.iter().take(1).collect(),
                _ => of_it.iter().collect(),
            };
            let states: Vec<&str> = of_it.iter().map(|of| of["state"].as_str().expect("a state")).collect();
            let worst = ["fail", "not checked", "pass"].into_iter().find(|state| states.contains(state));
            // What has no limit is said to have none, or else what it lacks.
            let has_none = of_it.iter().all(|of| of["limit_low"].is_null() && of["limit_high"].is_null());
            let why = of_it[0]["reason"].as_str().expect("a reason").trim_end_matches(" in the file");
            let worst = if has_none { why } else { worst.expect("a state") };
            assert!(row[1].to_lowercase().starts_with(worst), "{row:?}");
            let cells = row[3..row.len() - 1].iter().filter(|cell| !cell.is_empty());
            let mut number_of_cells = 0;
            for (cell, verdict) in cells.zip(&shown) {
                let ends = ["low", "high"].map(|end| verdict[end].as_f64());
                compared += assert_shown(cell, ends, row);
                number_of_cells += 1;
            }
            assert_eq!(number_of_cells, shown.len(), "{row:?}");
            let limit = ["limit_low", "limit_high"].map(|end| of_it[0][end].as_f64());
            compared += assert_shown(row[row.len() - 1].trim_end_matches(" (taken)"), limit, row);
            let margins = || of_it.iter().filter_map(|of| of["margin"].as_f64());
            let margin = margins().reduce(f64::min);
            let (shown, wheel) = row[2].split_once(", ").unwrap_or((&row[2], ""));
            compared += assert_shown(shown, [margin; 2], row);
            if let Some(side) = wheel.strip_suffix(" wheel") {
                let of_side = of_it.iter().find(|of| of["side"] == side).expect("a verdict");
                assert!(
                    of_side["margin"].as_f64() == margin && margins().any(|other| Some(other) != margin),
                    "{row:?}"
                );
            }
        }
        assert!(compared > 40, "{compared} numbers");
    }
}

/// A cell shows these two ends, one number when both read alike, one either way, or one without the other; how many it shows.
fn assert_shown(cell: &str, ends: [Option<f64>; 2], row: &[String]) -> usize {
    let numbers: Vec<&str> = cell.trim_start_matches(['±', '≥']).split(" to ").filter(|text| *text != "-").collect();
    let expected: Vec<f64> = match (cell.chars().next(), ends) {
        (Some('±'), [Some(low), Some(high)]) => {
            assert_eq!(low, -high, "{row:?}");
            vec![high]
        }
        (Some('≥'), [Some(low), None]) => vec![low],
        (_, [Some(low), Some(high)]) if numbers.len() == 2 => vec![low, high],
        (_, [_, high]) => high.into_iter().collect(),
    };
    assert_eq!(numbers.len(), expected.len(), "{cell} is not {ends:?} in {row:?}");
    for (text, expected) in numbers.iter().zip(&expected) {
        let decimals = text.split_once('.').map_or(0, |(_, decimals)| decimals.len() as i32);
        let shown: f64 = text.parse().unwrap_or_else(|_| panic!("{text:?} in {row:?}"));
        assert!((shown - expected).abs() <= 0.5001 * 10_f64.powi(-decimals), "{shown} is not {expected} in {row:?}");
    }
    numbers.len()
}

/// By hand from value and limit; an angle that is never negative cannot come near the 0 of its limit.
#[test]
fn a_margin_is_what_is_left_to_the_nearer_end_of_the_limit() {
    for car in [Car::demo(), Car::read("geometries/as-built.toml")] {
        let summary = report(car).summary();
        let (mut beyond, mut inside) = (0, 0);
        for verdict in summary["limits"].as_array().expect("a list") {
            let number = |name: &str| verdict[name].as_f64();
            let [low, high, floor, ceiling] = ["low", "high", "limit_low", "limit_high"].map(number);
            let Some(margin) = number("margin") else {
                assert_eq!(verdict["state"], "not checked", "{verdict}");
                continue;
            };
            let is_angle = ["inner joint", "outer joint", "rod-end"]
                .iter()
                .any(|name| verdict["quantity"].as_str().is_some_and(|quantity| quantity.starts_with(name)));
            let below = floor.filter(|_| !is_angle).zip(low).map_or(f64::INFINITY, |(floor, low)| low - floor);
            let above = ceiling.zip(high).map_or(f64::INFINITY, |(ceiling, high)| ceiling - high);
            assert!((margin - below.min(above)).abs() < 1e-12, "{verdict}");
            assert_eq!(margin < 0.0, verdict["state"] == "fail", "{verdict}");
            if margin < 0.0 { beyond += 1 } else { inside += 1 }
        }
        assert!(inside > 5, "{beyond} beyond, {inside} inside");
    }
}

#[test]
fn the_verdict_stands_above_everything_and_the_exit_code_is_its_own() {
    let ran = run("report --cars 20 --step 15").ends_with(1);
    assert_eq!(ran.err, DEMO_NOTE);
    assert_fits_the_width(&ran.out);
    let html = ran.text("report.html");
    let page = document(&html);
    let verdict = page.descendants().find(|node| node.attribute("class") == Some("verdict fail")).expect("a box");
    let said = text(verdict);
    for part in [
        "FAIL",
        "14 limits of the suspension: 13 pass, 1 fail; 2 quantities have no limit. FAIL: bump steer -0.518 deg at 60.0 mm bump, \
         limit ±0.050 deg.",
        "thin: below the 1.5 that is wanted.",
        "Chance that yours passes",
    ] {
        assert!(said.contains(part) && ran.screen().contains(part), "{part}: {said}");
    }
    assert!(html.find("verdict fail") < html.find("<section"), "it comes first");
    // The verdict beside that reserve is the same word.
    assert!(tagged(&page, "td").map(text).any(|cell| cell == "thin"), "{said}");
    assert!(text(page.root()).contains("This is the built-in demo car"));
    let sound = report(Car::demo().set("limits.bump_steer", "0.6")).ends_with(0);
    let html = sound.text("report.html");
    assert!(html.contains("class=\"verdict pass\"") && !html.contains("built-in demo car"), "{}", sound.out);
    let (json, quiet) = (run("report --cars 20 --step 15 --json"), run(&format!("report {FEW}")));
    assert_eq!(json.out, json.text("summary.json"));
    assert_eq!((json.code, quiet.code, quiet.out.as_str()), (Some(1), Some(1), ""));
}

/// The text of a section of the page.
fn section(page: &Document, id: &str) -> String {
    page.descendants().find(|node| node.attribute("id") == Some(id)).map(text).expect("a section")
}

#[test]
fn the_head_says_in_one_breath_what_takes_from_the_verdict() {
    let head = |car: Car| {
        let ran = report(car);
        let html = ran.text("report.html");
        let page = document(&html);
        tagged(&page, "p").find(|node| node.attribute("class") == Some("head")).map(text).expect("a head")
    };
    let thin = Car::demo().set("limits.bump_steer", "0.6").set("limits.camber_change", "1.37");
    let said = head(thin.clone());
    assert!(
        said.starts_with("pass, thin: camber change (0.01 deg to spare), 1 reserve of strength below the 1.5 wanted; "),
        "{said}"
    );
    assert!(said.ends_with("; not checked: 2 quantities without a limit, 1 check for want of data"), "{said}");
    let ran = report(thin);
    assert!(
        limits(&document(&ran.text("report.html")))
            .iter()
            .any(|row| row.get(1).is_some_and(|cell| cell == "pass, thin"))
    );
    assert!(head(Car::demo()).starts_with("FAIL, thin: 1 reserve of strength below the 1.5 wanted; "));
    // Of a car whose sides differ one wheel does not speak for the other.
    let one_sided = |car: Car| Folder::with(car).run("report car.toml --side left").screen();
    assert!(one_sided(Car::read("geometries/as-built.toml")).contains(", not checked: the right wheel, "));
    assert!(!one_sided(Car::demo()).contains("the right wheel, "));
    // What breaks is counted before what is thin, as the rows of the forces study have it.
    let weak = Car::demo().set("rod_end.static_kn", "9.0");
    let margins = Folder::with(weak.clone()).run("forces car.toml").text("margins.csv");
    let reserve = |row: &str| row.split(',').nth(3).and_then(|cell| cell.parse::<f64>().ok()).expect("a number");
    let broken = margins.lines().skip(1).map(reserve).filter(|reserve| *reserve < 1.0).count();
    let said = head(weak);
    assert!(broken > 1 && said.starts_with(&format!("FAIL, {broken} reserves of strength below 1; thin: ")), "{said}");
}

/// Without a wheelbase one limit cannot be checked; each count is one of lines of the table.
#[test]
fn the_head_counts_the_lines_of_the_table_of_limits() {
    let html = report(Car::demo().without("car.wheelbase").without("limits.scrub")).text("report.html");
    let page = document(&html);
    let rows: Vec<Vec<String>> = limits(&page).into_iter().filter(|row| row.len() > 1).collect();
    let with = |verdict: &str| rows.iter().filter(|row| row[1].starts_with(verdict)).count();
    let counts = ["pass", "FAIL", "not checked", "no limit", "needs wheelbase, cg_height, rear_brake_share"].map(with);
    let [pass, fail, open, none, lacking] = counts;
    assert_eq!([open, none, lacking], [1, 2, 1], "{rows:?}");
    let head = format!(
        "{} limits of the suspension: {pass} pass, {fail} fail, {open} not checked; {none} quantities have no limit.",
        pass + fail + open
    );
    let said = tagged(&page, "p").map(text).find(|said| said.contains("limits of the suspension")).expect("a sentence");
    assert!(said.starts_with(&head), "{said}");
    let head = tagged(&page, "p").find(|node| node.attribute("class") == Some("head")).map(text).expect("a head");
    assert!(head.contains("; not checked: 1 limit, 2 quantities without a limit, "), "{head}");
    assert_eq!(pass + fail + open + none + lacking, rows.len());
}

/// Without bolt axes a rod end lacks more than a limit: it counts as want of data.
#[test]
fn the_head_counts_what_the_list_names_without_a_limit() {
    let links = ["upper front", "upper rear", "lower front", "lower rear", "toe link"];
    let car = links.iter().fold(Car::demo().without("limits"), |car, link| {
        let keys = ["chassis_bolt", "upright_bolt", "rod_end_limit"];
        keys.iter().fold(car, |car, key| car.without(&format!("{link}.{key}")))
    });
    let html = report(car).text("report.html");
    let page = document(&html);
    let open = section(&page, "not-checked");
    let named = open.split(" (no limit in the file)").next().and_then(|said| said.split("Not checked: ").nth(1));
    let named = named.expect("a list").split("; ").last().expect("names").split(", ").count();
    let head = tagged(&page, "p").find(|node| node.attribute("class") == Some("head")).map(text).expect("a head");
    assert!(named > 5 && head.contains(&format!(" {named} quantities without a limit")), "{named}: {head} {open}");
    assert!(limits(&page).iter().any(|row| row[0].starts_with("rod-end") && row[1] == "no bolt axes"), "{html}");
}

/// The head and the section count and name what sweep tells: also what both wheels of a mirrored car have at zero by drawing.
#[test]
fn everything_that_was_not_checked_is_named_on_the_page_and_by_the_sweep() {
    let folder = Folder::with(Car::demo().without("limits"));
    let (ran, sweep) = (folder.run(&format!("report car.toml {FEW}")), folder.run("sweep car.toml --out swept"));
    let html = ran.text("report.html");
    let open = section(&document(&html), "not-checked");
    let summary = ran.summary();
    let limits = summary["limits"].as_array().expect("a list").iter();
    let names: Vec<&str> = limits
        .filter(|of| of["state"] == "not checked")
        .filter_map(|of| of["quantity"].as_str()?.split(" (").next())
        .collect();
    assert!(names.contains(&"thrust angle") && names.contains(&"setback"), "{names:?}");
    for name in names {
        assert!(open.contains(name) && sweep.screen().contains(name), "{name}: {open}");
    }
}

#[test]
fn the_box_says_that_strength_was_not_checked() {
    let html = report(Car::read("geometries/semi-trailing.toml")).text("report.html");
    let page = document(&html);
    let head = tagged(&page, "p").find(|node| node.attribute("class") == Some("head")).expect("a head");
    assert!(text(head).ends_with(" for want of data, strength"), "{}", text(head));
    assert!(text(head.parent().expect("a box")).contains("Strength was not checked: the file lacks the data"));
}

/// What is of both wheels stands in neither column, and a margin beside two wheels says of which it is.
#[test]
fn a_number_of_the_axle_is_of_neither_wheel() {
    let html = report(Car::read("geometries/as-built.toml")).text("report.html");
    let page = document(&html);
    let row = |name: &str| {
        let of_it = |row: &Node| row.first_element_child().is_some_and(|cell| text(cell).starts_with(name));
        tagged(&page, "tr").find(of_it).unwrap_or_else(|| panic!("no {name}"))
    };
    for name in ["track change", "roll steer", "thrust angle", "setback"] {
        let across = row(name).children().filter(|cell| cell.attribute("colspan") == Some("2")).map(text);
        let across: Vec<String> = across.collect();
        assert!(
            across.len() == 1 && across[0].parse::<f64>().is_ok() || across[0].contains(" to "),
            "{name}: {across:?}"
        );
    }
    assert!(
        html.contains("td[colspan=\"2\"] { text-align: center; }"),
        "at the right it would stand below the right wheel"
    );
    assert!(text(row("bump steer")).contains(", right wheel"), "{}", text(row("bump steer")));
}

#[test]
fn a_gap_that_the_file_does_not_give_is_marked_as_taken() {
    let taken = report(Car::demo()).text("report.html");
    assert!(taken.contains("≥5 (taken)") && taken.contains("Taken: the file gives no such limit"));
    assert!(taken.contains("those of the file, and those marked taken or typical"));
    let given = report(Car::demo().to_string() + "\n[clearance]\nleast = 5.0\n");
    let given = given.text("report.html");
    assert!(!given.contains("(taken)") && !given.contains("Taken: the file gives no such limit"));
}

#[test]
fn a_note_stands_where_it_is_needed_and_only_there() {
    // With the typical limit of its joint, which runs out within the travel that is looked at.
    let car = Car::demo().without("halfshaft.inner_limit").set("halfshaft.inner_type", "\"cross groove\"");
    let html = report(car).text("report.html");
    let page = document(&html);
    let driveline = section(&page, "driveline");
    let out = driveline.find("What runs out first").expect("a heading");
    let table = driveline.find("Halfshaft, left and right alike, over").expect("a heading");
    assert!(
        driveline[out..table].contains("* typical of such parts") && driveline.contains(" to spare"),
        "{driveline}"
    );
    assert!(section(&page, "not-checked").contains("star in the section on the driveline"));
    assert!(section(&page, "file").contains("These links work in the folder"));
    assert!(section(&page, "cautions").contains("Static forces in a rigid frame"));
    let bare = report(Car::demo().without("car")).text("report.html");
    assert!(!section(&document(&bare), "cautions").contains("Static forces"), "no force was calculated");
}

#[test]
fn words_of_the_trade_that_stand_on_the_page_are_explained_on_it() {
    let html = report(Car::demo()).text("report.html");
    let page = document(&html);
    let told = section(&page, "words");
    for word in ["One sd: ", "19 times of 20: ", "Seed: ", "Rows: ", "Slope: ", "Plunge: "] {
        assert!(told.contains(word), "{word}: {told}");
    }
    assert!(!told.contains("Carry the bind"), "nothing binds");
    let built = report(Car::read("geometries/as-built.toml")).text("report.html");
    assert!(!section(&document(&built), "words").contains("Seed: "), "nothing is foretold of its welds");
}

/// What a picture holds is seen on a phone, and what is wider than it shows so.
#[test]
fn a_narrow_page_shows_whole_pictures_and_says_how_they_grow() {
    let html = report(Car::demo()).text("report.html");
    let (_, narrow) = html.split_once("@media screen and (max-width: 34rem)").expect("a style");
    let narrow = narrow.split("@media").next().unwrap_or_default();
    assert!(narrow.contains("Tap the picture to enlarge it") && narrow.contains("figure.wide:focus svg { min-width"));
    assert_eq!(html.matches("svg { min-width").count(), 1, "none is cut before it is touched");
    assert!(html.contains("no-repeat local"), "the shadow of a table that goes on");
}

/// 700 of 900 points of a wide sheet would be letters of 5 pixels; those of a phone are 9 and more at 340 pixels.
#[test]
fn curves_have_a_second_drawing_for_a_phone_whose_letters_can_be_read() {
    let html = report(Car::demo()).text("report.html");
    let page = document(&html);
    let of = |class: &str| {
        let figures: Vec<Node> = page.descendants().filter(|node| node.attribute("class") == Some(class)).collect();
        figures.iter().map(|node| node.first_element_child().expect("a drawing")).collect::<Vec<Node>>()
    };
    let (print, phone) = (of("wide for-print"), of("for-phone"));
    let title = |svg: &Node| svg.descendants().find(|node| node.has_tag_name("title")).map(text);
    assert_eq!(print.iter().map(title).collect::<Vec<_>>(), phone.iter().map(title).collect::<Vec<_>>());
    assert!(phone.len() >= 6, "{}", phone.len());
    let number = |node: &Node, name: &str| node.attribute(name).and_then(|text| text.parse::<f64>().ok());
    for svg in phone {
        let wide = svg.attribute("viewBox").and_then(|of| of.split(' ').nth(2)?.parse::<f64>().ok()).expect("a width");
        let letters = svg.descendants().filter(|node| node.has_tag_name("text"));
        let sizes: Vec<f64> = letters.filter_map(|node| number(&node, "font-size")).collect();
        let foot = sizes.len() - 2;
        assert!(sizes[..foot].iter().all(|size| size * 340.0 / wide >= 9.0), "{sizes:?} of {wide}");
        let right = svg.descendants().filter(|node| node.has_tag_name("text")).filter_map(|node| number(&node, "x"));
        assert!(right.fold(0.0, f64::max) < wide);
    }
    assert!(html.contains(".for-phone { display: none;") && html.contains("  .for-phone { display: block; }"));
}

/// A printed page is full: points stand beside lengths, before the drawings that have sheets of their own.
#[test]
fn points_and_lengths_stand_beside_each_other() {
    let lengths = "Wheels and links at design height";
    let points = |side: &str| format!("Points of the {side} side at design height, mm");
    for (car, sides) in [(Car::demo(), &["left"][..]), (Car::read("geometries/as-built.toml"), &["left", "right"])] {
        let html = report(car).text("report.html");
        let page = document(&html);
        let beside = page.descendants().find(|node| node.attribute("class") == Some("beside")).expect("tables");
        let captions: Vec<String> =
            beside.descendants().filter(|node| node.has_tag_name("caption")).map(text).collect();
        let wanted: Vec<String> =
            std::iter::once(lengths.to_owned()).chain(sides.iter().map(|side| points(side))).collect();
        assert_eq!(captions, wanted);
        assert!(html.contains("@media print, (min-width: 52rem) {\n  .beside { display: grid;"));
    }
}

#[test]
fn a_thread_that_is_long_enough_stands_in_no_order_of_strength() {
    let html = report(Car::demo()).text("report.html");
    let page = document(&html);
    let threads = tagged(&page, "td").filter(|cell| text(*cell) == "thread in its insert").count();
    assert_eq!(threads, 0);
    let said = section(&page, "forces");
    assert!(said.contains("Threads in their inserts, held over at least 1.5 diameters: all ("), "{said}");
    let short = report(Car::demo().set("rod_end.engagement", "15.0"));
    assert!(
        short.text("report.html").contains("thread in its insert"),
        "one that is too short is told among what breaks"
    );
}

#[test]
fn a_built_car_is_called_so_and_nothing_is_foretold_of_its_welds() {
    let html = report(Car::read("geometries/as-built.toml")).text("report.html");
    let page = document(&html);
    let all = text(page.root());
    assert!(
        all.contains("the car as built")
            && !all.contains("Chance that yours passes")
            && !all.contains("Have the shaft made")
    );
    assert!(section(&page, "welded").contains("The car is built: what its welds did is in its points"));
    assert!(all.contains("Measure the shaft that is fitted"));
}

/// Who has the page has not the program: commands and keys stand in one note, and in the file.
#[test]
fn commands_and_keys_are_named_to_who_runs_the_program_alone() {
    for car in [Car::demo(), Car::read("geometries/double-wishbone.toml")] {
        let html = report(car.set("name", "\"a car\"")).text("report.html");
        let page = document(&html);
        for section in tagged(&page, "section").filter(|of| of.attribute("id") != Some("file")) {
            let all = text(section);
            let told = all.split("For who runs the program").next().expect("a text");
            for mark in ["hubtrace", "`", "[[", "(--", "[travel]"] {
                assert!(!told.contains(mark), "{mark} in {:?}: {told}", section.attribute("id"));
            }
        }
        assert!(section(&page, "not-checked").contains("For who runs the program"));
    }
}

/// A limit that one wheel alone breaks is named, and one of the axle.
#[test]
fn every_limit_that_is_broken_is_named_in_the_verdict() {
    let car = Car::read("geometries/as-built.toml").set("limits.bump_steer", "0.07").set("limits.setback", "1.0");
    let ran = Folder::with(car).run("report car.toml --cars 20 --step 15").ends_with(1);
    let summary = ran.summary();
    let limits = summary["limits"].as_array().expect("a list").iter();
    let broken: Vec<(&str, Option<&str>)> = limits
        .filter(|of| of["state"] == "fail")
        .map(|of| (of["quantity"].as_str().expect("a name"), of["side"].as_str()))
        .collect();
    assert_eq!(broken, [("bump steer (bump and droop)", Some("right")), ("setback (at design)", None)]);
    let right = &summary["heave"]["right"];
    let steer = format!(
        "FAIL: bump steer of the right wheel {:.3} deg at {:.1} mm ",
        right["worst_change_deg"].as_f64().expect("a number"),
        right["worst_at_bump_mm"].as_f64().expect("a number").abs()
    );
    ran.assert_shows(&[" 2 fail", &steer, "limit ±0.070 deg; setback ", "limit ±1.0 mm."]);
}

/// Where the table of the sweep has the value that is furthest from design.
#[test]
fn every_limit_that_is_broken_over_travel_says_where() {
    let car = Car::demo().set("limits.camber_change", "0.5").set("limits.scrub", "2.5").set("limits.roll_steer", "0.1");
    let ran = report(car);
    let html = ran.text("report.html");
    let rows = limits(&document(&html));
    let verdict = |name: &str| rows.iter().find(|row| row[0].starts_with(name)).expect("a line")[1].as_str();
    let heave = ran.table("heave.csv");
    let bump = heave.of_side("left", "bump_mm");
    let mut ways = Vec::new();
    for (name, column) in [("camber change", "camber_deg"), ("scrub", "scrub_mm")] {
        let values = heave.of_side("left", column);
        let design = bump.iter().zip(&values).find(|(bump, _)| **bump == 0.0).expect("a row").1;
        let from_design = |(_, value): &(&f64, &f64)| (*value - design).abs();
        let worst = bump.iter().zip(&values).max_by(|a, b| from_design(a).total_cmp(&from_design(b)));
        let at = *worst.expect("rows").0;
        let way = if at < 0.0 { "droop" } else { "bump" };
        assert_eq!(verdict(name), format!("FAIL at {:.1} mm {way}", at.abs()));
        ways.push(way);
    }
    assert_eq!(ways, ["bump", "droop"]);
    let in_roll = verdict("roll steer");
    assert!(["FAIL at 3.00 deg of body roll", "FAIL at -3.00 deg of body roll"].contains(&in_roll), "{in_roll}");
    assert!(html.contains("scrub -10.8 mm at 60.0 mm droop, limit ±2.5 mm"), "the head");
}

/// The page, the tables and the charts are those of the other commands.
#[test]
fn what_it_shows_is_what_the_other_commands_write() {
    let folder = Folder::with(Car::demo().set("travel.step", "15.0"));
    let ran = folder.run("report car.toml --out all --cars 20 --quiet");
    let html = ran.text("report.html");
    for (command, members) in [
        ("sweep car.toml --quiet --out one", "heave"),
        ("tolerance car.toml --cars 20 --quiet --out one", "tolerance"),
        ("driveline car.toml --quiet --out one", "driveline"),
        ("forces car.toml --quiet --out one", "forces"),
    ] {
        let other = folder.run(command);
        assert_eq!(ran.summary()[members], other.summary()[members], "{command}");
        let mut same = 0;
        for name in other.written().iter().filter(|name| name.ends_with(".svg")) {
            assert!(html.contains(&other.text(name)), "{name}");
            same += 1;
        }
        for name in other.written().iter().filter(|name| name.ends_with(".csv")) {
            assert!(ran.text(name) == other.text(name), "{name}");
            assert!(html.contains(&format!("<a href=\"{name}\">")), "{name}");
            same += 1;
        }
        assert!(same > 1, "{command}");
    }
}

#[test]
fn the_file_stands_in_it_as_it_is_with_its_hash() {
    let car = Car::demo().to_string() + "# 1 < 2 && 3 > 2, \"both\"\t<b>tab</b>\n\n# last, without an end of line";
    let folder = Folder::with(&car);
    let ran = folder.run(&format!("report car.toml {FEW}"));
    let html = ran.text("report.html");
    let page = document(&html);
    let pre = tagged(&page, "pre").next().expect("the file");
    assert_eq!(text(pre), car + "\n");
    let sum = ran.summary()["input_sha256"].as_str().expect("a hash").to_owned();
    assert_eq!(tagged(&page, "code").find(|node| node.attribute("class") == Some("hash")).map(text), Some(sum.clone()));
    assert!(html.matches(&sum[..12]).count() > 10, "at the foot of every chart, too");
}

#[test]
fn names_with_markup_are_text() {
    let name = "<script>alert(1)</script> & \"x\" </style><b>";
    let car = Car::demo().set("name", &format!("{name:?}")).set("toe link.name", "\"</td><img src=x onerror=y>\"");
    let folder = Folder::new();
    folder.write("a<b>&c.toml", car);
    let ran = folder.run(&format!("report \"a<b>&c.toml\" {FEW}"));
    assert_stands_alone(&ran);
    let html = ran.text("report.html");
    let page = document(&html);
    assert_eq!(tagged(&page, "h1").next().map(text).as_deref(), Some(name));
    let head = tagged(&page, "p").find(|node| node.attribute("class") == Some("from")).map(text).expect("a line");
    assert!(head.starts_with("a<b>&c.toml · SHA-256 "), "{head}");
    assert!(text(page.root()).contains("</td><img src=x onerror=y> chassis"));
}

/// A comment may turn the direction of what is read; on the page it is written out.
#[test]
fn what_would_steer_the_reader_is_written_out() {
    let ran = report(Car::demo().to_string() + "# \u{202e}ti\u{200b}p\n");
    let html = ran.text("report.html");
    assert!(html.contains("# \\u{202e}ti\\u{200b}p\n") && !html.contains('\u{202e}'));
}

#[test]
fn a_car_that_binds_has_its_page_and_says_so_first() {
    let ran = Folder::with(Car::demo()).run(&format!("report car.toml --droop 300 {FEW}")).ends_with(3);
    assert_stands_alone(&ran);
    let html = ran.text("report.html");
    let page = document(&html);
    let said =
        page.descendants().find(|node| node.attribute("class").is_some_and(|class| class.starts_with("verdict ")));
    let said = text(said.expect("a box"));
    assert!(said.trim_start().starts_with("FAIL"), "{said}");
    let [bind, limits] =
        ["The left side binds at 248.7 mm of droop;", "limits of the suspension"].map(|of| said.find(of));
    assert!(bind.is_some() && bind < limits, "{said}");
    assert_eq!(ran.summary()["verdict"], "fail");
    let open =
        page.descendants().find(|node| node.attribute("id") == Some("not-checked")).map(text).expect("a section");
    assert!(open.contains("Not checked on built cars: everything;"), "{open}");
    assert!(open.contains("binds before the end of travel"), "{open}");
    assert!(
        said.contains("FAIL: bump steer at least ") && said.contains(" droop, for the wheel binds, limit ±"),
        "{said}"
    );
    assert!(section(&page, "limits").contains("Of a wheel that binds, values are of the rows before the bind."));
    // A drawing to scale that is higher than A4 on its side (210 mm) less these margins would leave an empty sheet.
    assert!(html.contains("size: landscape; margin: 4mm 8mm 7mm;") && html.contains("max-height: 198mm;"), "{said}");
}

#[test]
fn what_the_file_has_no_data_for_is_named_and_not_shown() {
    let car =
        ["halfshaft", "spring", "car", "limits", "propshaft"].iter().fold(Car::demo(), |car, key| car.without(key));
    let ran = report(car);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert_stands_alone(&ran);
    let html = ran.text("report.html");
    let page = document(&html);
    let ids: Vec<&str> = tagged(&page, "section").filter_map(|node| node.attribute("id")).collect();
    assert!(!ids.contains(&"driveline") && !ids.contains(&"forces") && ids.contains(&"welded"), "{ids:?}");
    let open =
        page.descendants().find(|node| node.attribute("id") == Some("not-checked")).map(text).expect("a section");
    for part in ["halfshaft plunge and joint angles (no [halfshaft])", "no limit in the file", "has no spring"] {
        assert!(open.contains(part), "{part}: {open}");
    }
    let tables = ran.written();
    assert!(!tables.iter().any(|name| name.starts_with("halfshaft") || name.starts_with("forces")), "{tables:?}");
}

#[test]
fn doubts_and_mistakes_of_the_driveline_are_told_on_the_page() {
    let car = Car::demo().set("car.wheelbase", "24500.0").without("halfshaft.length_max");
    let html = report(car).text("report.html");
    let page = document(&html);
    let again = tagged(&page, "h3").find(|node| text(*node) == "Look at these again").expect("a heading");
    let said = again.next_siblings().find(|node| node.has_tag_name("ul")).map(text).expect("a list");
    for part in ["wheelbase: 24500.0 mm is no car's", "one of `length_min` and `length_max` is missing"] {
        assert!(said.contains(part), "{part}: {said}");
    }
}

#[test]
fn two_runs_give_the_same_bytes() {
    let folder = Folder::with(Car::read("geometries/double-wishbone.toml"));
    let page = |out: &str| folder.run(&format!("report car.toml --out {out} {FEW}")).text("report.html");
    assert!(page("one") == page("two"));
}

/// What is taken for want of a limit can fail the car, and passes none.
#[test]
fn a_car_without_a_limit_of_its_own_never_passes() {
    let corner = || Car::read("tests/good/corner.toml").without("halfshaft");
    let head = |page: &str| {
        let page = document(page);
        tagged(&page, "p").find(|node| node.attribute("class") == Some("head")).map(text).expect("a head")
    };
    let ran = report(corner()).ends_with(0);
    let html = ran.text("report.html");
    assert!(html.contains("class=\"verdict open\"") && head(&html).starts_with("not checked: "), "{}", head(&html));
    let said = "o limit of the suspension in the file, so there is nothing to pass; least gap between parts, taken: 1 pass, 0 fail";
    assert!(html.contains(said), "{}", ran.out);
    assert_eq!(ran.summary()["verdict"], "not checked");
    assert_eq!(ran.number("/limit_totals/taken"), 1.0);
    let screen = Folder::with(corner()).run("report car.toml").screen();
    assert!(screen.contains("car.toml: not checked: ") && screen.contains(said), "{screen}");
    let swept = Folder::with(corner()).run("sweep car.toml").ends_with(0);
    let said = "No limit in the file, so there is nothing to pass; least gap between parts, taken: 1 pass, 0 fail.";
    swept.assert_shows(&[said]);
    assert!(swept.text("view-front.svg").contains(&said.replacen('N', "n", 1)), "{swept}");
    // A least gap of the file is a limit, and one that is taken is broken by links as thick as a leg.
    let own = report(corner().to_string() + "\n[clearance]\nleast = 5.0\n").ends_with(0);
    assert_eq!(own.summary()["verdict"], "pass");
    let thick = corner().set("upper front.tube", "{ od = 160.0 }");
    let broken = report(thick).ends_with(1);
    assert!(head(&broken.text("report.html")).starts_with("FAIL"), "{}", broken.out);
    assert_eq!(broken.summary()["verdict"], "fail");
}

/// Whatever states a scale is printed as large as it says.
#[test]
fn every_drawing_that_states_a_scale_is_printed_to_it() {
    let ran = report(Car::demo());
    let html = ran.text("report.html");
    let page = document(&html);
    let mut seen = 0;
    for figure in tagged(&page, "figure").filter(|figure| text(*figure).contains("scale 1:")) {
        seen += 1;
        assert_eq!(figure.attribute("class"), Some("wide to-scale"), "{}", text(figure));
    }
    assert_eq!(seen, 5);
}

/// For whoever has the page alone.
#[test]
fn the_page_names_no_folder_and_no_document_of_the_builder() {
    let folder = Folder::with(Car::demo());
    let path = folder.path("car.toml");
    let ran = folder.run(&format!("report {} {FEW}", path.display()));
    let html = ran.text("report.html");
    assert!(!html.contains(&folder.path("").display().to_string()) && html.contains("car.toml"), "a path");
    assert!(!html.contains("docs/"), "a document");
    let open = section(&document(&html), "not-checked");
    assert!(open.matches("for want of data").count() <= 1, "{open}");
}
