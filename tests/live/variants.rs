//! Two variants of a car: kept, compared, each with its own way back.

use serde_json::{Value, json};

use crate::chromium::Chromium;
use crate::program::{FIRST_CUT, Live, limit, place, revision};

const POINT: &str = "toe link chassis";

fn higher(view: &Value, by_mm: f64) -> [f64; 3] {
    let [x, y, z] = place(view, POINT);
    [x, y, z + by_mm]
}

#[test]
fn each_variant_keeps_its_points_and_its_steps_and_shows_the_other_beside_it() {
    let live = Live::on(FIRST_CUT);
    let start = live.state();
    let kept = live.step("copy", 0).ok();
    assert_eq!((&kept["letter"], &kept["other"], &kept["beside"]), (&json!("A"), &json!("B"), &json!("B")));
    assert_eq!(limit(&kept, "bump steer")["beside"], limit(&kept, "bump steer")["found"]);
    let a = live.nudge(revision(&kept), POINT, higher(&start, 7.0), 0).ok();
    assert_eq!(limit(&a, "bump steer")["beside"], limit(&start, "bump steer")["found"]);
    let b = live.step("switch", revision(&a)).ok();
    assert_eq!((&b["letter"], &b["other"], &b["undo"]), (&json!("B"), &json!("A"), &Value::Null));
    assert_eq!(place(&b, POINT), place(&start, POINT));
    let row = |view: &Value, key: &str| limit(view, "bump steer")[key].clone();
    for (here, there) in [("found", "beside"), ("verdict", "beside_verdict"), ("state", "beside_state")] {
        assert_eq!((row(&b, here), row(&b, there)), (row(&a, there), row(&a, here)));
    }
    let b = live.nudge(revision(&b), POINT, higher(&start, -3.0), 0).ok();
    let a = live.step("undo", revision(&live.step("switch", revision(&b)).ok())).ok();
    assert_eq!((&a["letter"], place(&a, POINT)), (&json!("A"), place(&start, POINT)));
    // A copy over a variant is a step of it.
    let a = live.step("copy", revision(&a)).ok();
    let b = live.step("switch", revision(&a)).ok();
    assert_eq!((place(&b, POINT), &b["undo"]), (place(&start, POINT), &json!("copied from A")));
    let b = live.step("undo", revision(&b)).ok();
    assert_eq!((place(&b, POINT), &b["undo"]), (higher(&start, -3.0), &json!("toe link chassis 3.0 mm down")));
    // A pinned car takes the place of the other variant.
    assert_eq!(live.step("pin", revision(&b)).ok()["beside"], Value::Null);
}

/// 20 mm at the toe link's bracket break the limit that the drawing keeps: each variant has its own verdict beside that of the other.
#[test]
fn the_variant_beside_is_judged_by_its_own_figures() {
    let text = FIRST_CUT.replace("bump_steer = 0.05", "bump_steer = 0.55");
    assert_ne!(text, FIRST_CUT);
    let live = Live::on(&text);
    let kept = live.step("copy", 0).ok();
    let a = live.nudge(revision(&kept), POINT, higher(&kept, 20.0), 0).ok();
    let b = live.step("switch", revision(&a)).ok();
    let states = |view: &Value| ["state", "beside_state"].map(|key| limit(view, "bump steer")[key].clone());
    let places = |view: &Value| ["fails_at", "beside_fails_at"].map(|key| limit(view, "bump steer")[key].clone());
    let place = places(&a)[0].clone();
    assert!(place.as_str().is_some_and(|place| place.ends_with(" bump") || place.ends_with(" droop")), "{place}");
    assert_eq!((places(&a), places(&b)), ([place.clone(), Value::Null], [Value::Null, place]));
    let margins = |view: &Value| ["margin", "beside_margin"].map(|key| limit(view, "bump steer")[key].clone());
    let [of_a, of_b] = margins(&a);
    assert!(of_a.as_str().is_some_and(|margin| margin.starts_with('-')) && of_b != of_a, "{of_a} {of_b}");
    assert_eq!(margins(&b), [of_b, of_a]);
    let verdicts = |view: &Value| ["verdict", "beside_verdict"].map(|key| limit(view, "bump steer")[key].clone());
    assert_eq!((states(&a), states(&b)), ([json!("fail"), json!("pass")], [json!("pass"), json!("fail")]));
    assert_eq!(
        (verdicts(&a), verdicts(&b)),
        ([json!("FAIL"), json!("pass, thin")], [json!("pass, thin"), json!("FAIL")])
    );
}

#[test]
fn variants_are_saved_apart_and_an_unsaved_one_is_told() {
    let live = Live::on(FIRST_CUT);
    let start = live.state();
    let a = live.nudge(revision(&live.step("copy", 0).ok()), POINT, higher(&start, 7.0), 0).ok();
    let a = live.save(revision(&a), Some("a.toml")).ok();
    let b = live.step("switch", revision(&a)).ok();
    assert_eq!((&b["source"], &b["changed"]), (&json!("car.toml"), &json!(false)));
    // Each has a file of its own by now.
    assert_eq!((&a["file_name"], &b["file_name"]), (&json!("a.toml"), &json!("car.toml")));
    let b = live.nudge(revision(&b), POINT, higher(&start, -3.0), 0).ok();
    let b = live.save(revision(&b), None).ok();
    assert!(live.text("a.toml").contains("262.0") && live.text("car.toml").contains("252.0"));
    let a = live.step("switch", revision(&b)).ok();
    assert_eq!((a["source"].as_str(), &a["changed"]), (Some("a.toml"), &json!(false)));
    let a = live.nudge(revision(&a), POINT, higher(&start, 8.0), 0).ok();
    live.step("switch", revision(&a)).ok();
    let (code, said) = live.interrupted();
    let lost = "warning: changes made on the page were not saved\n  variant A, a.toml: toe link chassis 1.0 mm up\n";
    assert_eq!((code, said.as_str()), (Some(0), lost));
    // A copy of a saved car loses nothing.
    let live = Live::on(FIRST_CUT);
    live.step("copy", 0).ok();
    assert_eq!(live.interrupted().1, "");
}

#[test]
fn a_copy_has_a_name_of_its_own_and_the_file_of_the_other_is_not_written_over() {
    let live = Live::on(FIRST_CUT);
    let start = live.state();
    let a = live.nudge(revision(&live.step("copy", 0).ok()), POINT, higher(&start, 7.0), 0).ok();
    let b = live.step("switch", revision(&a)).ok();
    assert_eq!((&a["file_name"], &b["file_name"]), (&json!("car.toml"), &json!("car-b.toml")));
    let b = live.nudge(revision(&b), POINT, higher(&start, -3.0), 0).ok();
    let a = live.step("switch", revision(&b)).ok();
    let a = live.save(revision(&a), None).ok();
    let b = live.step("switch", revision(&a)).ok();
    let refused = live.save(revision(&b), Some("car.toml"));
    let advice = refused.json()["advice"].as_str().map(str::to_owned);
    assert_eq!(refused.status, 409, "{}", refused.body);
    assert!(advice.is_some_and(|words| words.starts_with("That is the file of variant A:")), "{}", refused.body);
    let b = live.save(revision(&b), None).ok();
    assert_eq!(b["saved"], "car-b.toml");
    assert!(live.text("car.toml").contains("262.0") && live.text("car-b.toml").contains("252.0"));
}

#[test]
fn two_columns_and_two_curves_show_both_variants() {
    let live = Live::on(FIRST_CUT);
    let Some(mut page) = Chromium::start() else { return };
    page.size(1600, 1000);
    page.open(&format!("http://{}/", live.address));
    page.click("#copy");
    page.until("!document.querySelector('#switch').hidden");
    page.pick(POINT);
    page.value("document.querySelector('#at-z').focus()");
    page.key("ArrowUp");
    page.until("document.querySelector('#undo').title.startsWith('toe link')");
    let heads = |page: &mut Chromium| {
        page.value("[...document.querySelectorAll('#limits thead th')].map((cell) => cell.textContent)")
    };
    let row = |page: &mut Chromium| {
        page.value("[...document.querySelector('#limits tbody tr').children].map((cell) => cell.textContent)")
    };
    assert_eq!(heads(&mut page), json!(["quantity", "A, shown", "B", "limit"]));
    let before = row(&mut page);
    assert!(
        before[1] != before[2]
            && before[1].as_str().is_some_and(|cell| cell.contains(" deg FAIL at 60.0 mm bump margin -0.")),
        "{before}"
    );
    assert!(before[1].as_str().is_some_and(|cell| cell.ends_with(" deg")) && before[3] == "±0.05 deg", "{before}");
    // As it is read: parts that are boxes of their own keep their blanks.
    let read = page.value("document.querySelector('#limits tbody td').innerText");
    let is_apart = read.as_str().is_some_and(|cell| {
        let words: Vec<&str> = cell.split_whitespace().collect();
        ["at", "margin"].iter().all(|word| words.contains(word))
    });
    assert!(is_apart, "{read}");
    assert!(page.text("#charts svg").contains("left and right, B"));
    // What was said of one variant does not stay beside the other.
    page.value("document.querySelector('#file-name').value = 'mine.toml'");
    page.click("#save");
    page.until("document.querySelector('#message').textContent === 'Saved mine.toml.'");
    page.until("document.querySelector('#odds').textContent.includes('B: Chance')");
    page.click("#switch");
    page.until("document.querySelector('#switch').textContent === 'Show A'");
    assert_eq!(
        (page.text("#message").as_str(), page.value("document.querySelector('#file-name').value")),
        ("", json!("car.toml"))
    );
    // The columns stay where they are; only the mark goes over.
    assert_eq!(heads(&mut page), json!(["quantity", "A", "B, shown", "limit"]));
    assert_eq!(row(&mut page), before);
    assert!(page.text("#charts svg").contains("left and right, A"));
    assert!(page.errors.is_empty(), "{:?}", page.errors);
}
