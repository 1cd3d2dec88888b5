//! More windows than one, and a program that was started anew while a page is open.

use serde_json::json;

use crate::chromium::Chromium;
use crate::program::{FIRST_CUT, Live, patient, place, revision};

const POINT: &str = "toe link chassis";

fn opened(live: &Live) -> Option<Chromium> {
    let mut page = Chromium::start()?;
    page.size(1600, 1000);
    page.open(&format!("http://{}/", live.address));
    Some(page)
}

/// The first cut with so many freedoms, half of them in steps, that its tuning takes a minute on a fast computer: it runs as long as a test
/// needs it to, and ends when it is stopped.
fn slow_to_tune() -> String {
    let room = |step: &str| ["x", "y", "z"].map(|axis| format!("{axis} = [-30.0, 30.0{step}]")).join(", ");
    let free = format!("free = {{ chassis = {{ {} }}, upright = {{ {} }} }}", room(""), room(", 1.0"));
    let lines = FIRST_CUT.lines().map(|line| if line.starts_with("free = ") { &free } else { line });
    lines.collect::<Vec<_>>().join("\n")
}

fn tuned(live: &Live) -> serde_json::Value {
    patient(|| {
        let tuning = live.get("/api/tune").ok();
        (tuning["running"] == false).then_some(tuning)
    })
}

/// A change would be lost with the tuned car, or the tuned car with it.
#[test]
fn a_car_that_is_being_tuned_is_not_changed() {
    let live = Live::on(&slow_to_tune());
    let start = live.state();
    live.post("/api/tune", &json!({ "revision": 0 })).ok();
    let [x, y, z] = place(&start, POINT);
    let refused = live.nudge(0, POINT, [x, y, z + 1.0], 0);
    assert_eq!((refused.status, refused.json()["what"].as_str()), (409, Some("the car is being tuned")));
    for step in ["undo", "redo", "pin", "copy", "switch", "reread"] {
        assert_eq!(live.step(step, 0).json()["what"], "the car is being tuned", "{step}");
    }
    assert_eq!(live.save(0, None).status, 409);
    assert_eq!(live.post("/api/tune", &json!({ "revision": 0 })).json()["what"], "a tuning runs already");
    live.post("/api/tune/stop", &json!({})).ok();
    let end = tuned(&live);
    assert_eq!(end["good"], true, "{end}");
    assert_eq!(end["revision"], live.state()["revision"]);
    live.nudge(revision(&live.state()), POINT, [x, y, z + 1.0], 0).ok();
}

#[test]
fn a_tuning_is_seen_and_stopped_in_any_window() {
    let live = Live::on(&slow_to_tune());
    let Some(mut page) = opened(&live) else { return };
    page.click("#tune");
    page.until("!document.querySelector('#tuning').hidden");
    // Loaded again.
    page.open(&format!("http://{}/", live.address));
    page.until("document.querySelector('#tuning').textContent.includes('searches done')");
    assert_eq!(page.text("#tune"), "Stop tuning");
    // What is told of a change stays to be read.
    page.pick(POINT);
    let z = page.coordinate("z");
    page.value("document.querySelector('#at-z').focus()");
    page.key("ArrowUp");
    page.until("document.querySelector('#message').textContent.startsWith('the car is being tuned')");
    page.until(&format!("Number(document.querySelector('#at-z').value) === {z}"));
    page.click("#tune");
    page.until("document.querySelector('#message').textContent.startsWith('Stopped')");
    page.until("document.querySelector('#tuning').hidden && document.querySelector('#tune').textContent === 'Tune'");
    let undo = live.state()["undo"].as_str().unwrap_or_default().to_owned();
    page.until(&format!("document.querySelector('#undo').title === {undo:?}"));
}

/// The places of this car cannot be bettered by a hundredth of a millimetre.
#[test]
fn a_tuning_that_finds_nothing_better_is_no_step() {
    let text: Vec<String> = FIRST_CUT
        .lines()
        .filter(|line| !line.starts_with("free = "))
        .map(|line| match line {
            "name = \"toe link\"" => format!("{line}\nfree = {{ chassis = {{ z = [-0.01, 0.01] }} }}"),
            _ => line.to_owned(),
        })
        .collect();
    let live = Live::on(&text.join("\n"));
    live.post("/api/tune", &json!({ "revision": 0 })).ok();
    let end = tuned(&live);
    assert_eq!(end["told"], "Tuned: the search found no better place for any point, so nothing was changed.");
    let after = live.state();
    assert_eq!((&after["undo"], revision(&after), &end["good"]), (&serde_json::Value::Null, 0, &json!(true)));
}

#[test]
fn a_window_that_is_come_back_to_shows_what_another_one_changed() {
    let live = Live::on(FIRST_CUT);
    let Some(mut page) = opened(&live) else { return };
    page.pick(POINT);
    let [x, y, z] = place(&live.state(), POINT);
    live.nudge(0, POINT, [x, y, z + 3.0], 0).ok();
    page.value("dispatchEvent(new Event('focus'))");
    page.until(&format!("Number(document.querySelector('#at-z').value) === {}", z + 3.0));
    page.until("document.querySelector('#message').textContent.startsWith('The car was changed in another window')");
    assert!(page.errors.is_empty(), "{:?}", page.errors);
}

/// The point that was moved is asked back from the page, which alone still has it.
#[test]
fn a_program_that_was_started_anew_is_told_and_the_moved_point_can_be_put_back() {
    let live = Live::on(FIRST_CUT);
    let Some(mut page) = opened(&live) else { return };
    page.pick(POINT);
    let z = page.coordinate("z");
    let up = |page: &mut Chromium| {
        page.value("document.querySelector('#at-z').focus()");
        page.key("ArrowUp");
    };
    let is_at = |mm: f64| format!("Number(document.querySelector('#at-z').value) === {mm}");
    for step in [1.0, 2.0] {
        up(&mut page);
        page.until(&is_at(z + step));
    }
    page.until("document.querySelector('#car-state').textContent.includes('not saved')");
    let live = live.started_anew();
    page.value("dispatchEvent(new Event('focus'))");
    page.until("document.querySelector('#message').textContent.startsWith('hubtrace was started anew')");
    page.until(&is_at(z));
    page.until("document.querySelector('#message button')?.textContent === 'Put the moved point back'");
    page.click("#message button");
    page.until(&is_at(z + 2.0));
    assert_eq!(live.state()["undo"], format!("{POINT} 2.0 mm up"));
    up(&mut page);
    page.until(&is_at(z + 3.0));
}
