//! Numbers that are typed, and what a drag does to the page round it.

use std::fs;

use crate::chromium::Chromium;
use crate::program::{FIRST_CUT, Live, place};

const POINT: &str = "toe link chassis";

fn opened(live: &Live, width: u32, height: u32) -> Option<Chromium> {
    let mut page = Chromium::start()?;
    page.size(width, height);
    page.open(&format!("http://{}/", live.address));
    page.pick(POINT);
    Some(page)
}

/// As the keyboard does it: the box keeps the focus until Enter.
fn type_z(page: &mut Chromium, words: &str) {
    page.value("(() => { const box = document.querySelector('#at-z'); box.focus(); box.select(); })()");
    page.call("Input.insertText", serde_json::json!({ "text": words }));
}

fn is_at(z: f64) -> String {
    format!("Number(document.querySelector('#at-z').value) === {z}")
}

#[test]
fn a_number_that_is_being_typed_outlives_the_wheels_that_play() {
    let live = Live::on(FIRST_CUT);
    let Some(mut page) = opened(&live, 1600, 1000) else { return };
    let [.., z] = place(&live.state(), POINT);
    page.click("#play");
    type_z(&mut page, "260");
    let turn = "(async () => { const shown = () => document.querySelector('#bump-out').textContent, before = shown();
        for (let k = 0; k < 400 && shown() === before; k += 1) await new Promise((then) => setTimeout(then, 20));
        return shown() !== before; })()";
    assert!((0..3).all(|_| page.value(turn) == true));
    assert_eq!(page.value("document.querySelector('#at-z').value"), "260");
    page.key("Enter");
    page.until("!document.querySelector('#undo').disabled");
    page.click("#play");
    page.until(&is_at(260.0));
    assert_eq!(place(&live.state(), POINT)[2], 260.0);
    // Escape takes back what was typed, for good.
    type_z(&mut page, "999");
    page.key("Escape");
    page.key("Tab");
    page.until(&is_at(260.0));
    assert_eq!((place(&live.state(), POINT)[2], z == 260.0), (260.0, false));
    assert!(page.errors.is_empty(), "{:?}", page.errors);
}

/// The toe link's bracket may go 25 mm up from 255 mm.
#[test]
fn saving_a_point_beyond_its_room_says_that_the_file_gives_it_more() {
    let live = Live::on(FIRST_CUT);
    let Some(mut page) = opened(&live, 1600, 1000) else { return };
    type_z(&mut page, "300");
    page.key("Enter");
    page.until(&is_at(300.0));
    page.value("document.querySelector('#file-name').value = 'wider.toml'");
    page.click("#save");
    page.until("document.querySelector('#message').textContent.startsWith('Saved wider.toml.')");
    let said = page.text("#message");
    assert!(
        said.contains("left toe link chassis stood 20.0 mm up out of its room: `free` in the file now reaches"),
        "{said}"
    );
}

#[test]
fn a_number_is_taken_with_its_unit_and_what_is_none_is_told() {
    let live = Live::on(FIRST_CUT);
    let Some(mut page) = opened(&live, 1600, 1000) else { return };
    for (words, mm) in [("257.7 mm", 257.7), ("10 in", 254.0), ("258,5", 258.5), ("+259", 259.0)] {
        type_z(&mut page, words);
        page.key("Enter");
        page.until(&is_at(mm));
    }
    page.until("document.querySelector('#undo').title.endsWith('0.5 mm up')");
    for words in ["0x100", "1 2", "12 kg", "Infinity"] {
        type_z(&mut page, words);
        page.key("Enter");
        page.until(&format!("document.querySelector('#message').textContent.includes('“{words}” was typed')"));
        page.until(&is_at(259.0));
    }
    assert_eq!(place(&live.state(), POINT)[2], 259.0);
    // What no file may have is told at the point in the number that was typed.
    type_z(&mut page, "1e9");
    page.key("Enter");
    page.until("document.querySelector('#at-point').textContent.includes('z = 1000000000.0 mm is outside')");
    assert!(!page.text("#at-point").contains("line") && page.text("#message").is_empty());
}

#[test]
fn a_save_without_a_name_writes_nothing() {
    let live = Live::on(FIRST_CUT);
    let Some(mut page) = opened(&live, 1600, 1000) else { return };
    page.value("document.querySelector('#at-z').focus()");
    page.key("ArrowUp");
    page.until("!document.querySelector('#undo').disabled");
    page.value("(() => { const box = document.querySelector('#file-name'); box.focus(); box.value = ''; })()");
    page.click("#save");
    page.until("document.querySelector('#message').textContent.startsWith('The file has no name')");
    assert_eq!(live.text("car.toml"), FIRST_CUT);
    assert_eq!(fs::read_dir(live.folder.path()).expect("a folder").count(), 1);
}

#[test]
fn the_picture_stays_under_the_hand_while_the_head_has_more_to_say() {
    let live = Live::on(FIRST_CUT);
    let Some(mut page) = opened(&live, 1280, 800) else { return };
    let top = "document.querySelector('#picture').getBoundingClientRect().top";
    page.value("scrollTo(0, 0)");
    let (x, y) = page.take(POINT);
    let before = page.value(top);
    for k in 1..=10 {
        page.mouse("mouseMoved", (x + 4.0 * f64::from(k), y - 14.0 * f64::from(k)), 1);
    }
    page.until("document.querySelector('#totals').textContent.includes('binds at')");
    assert_eq!(page.value(top), before);
    page.mouse("mouseReleased", (x + 40.0, y - 140.0), 0);
    let cut =
        "(() => { const head = document.querySelector('header'); return head.scrollHeight - head.clientHeight; })()";
    assert_eq!(page.value(cut), 0);
    assert!(page.errors.is_empty(), "{:?}", page.errors);
}

/// A pixel of the new picture is another number of millimetres.
#[test]
fn a_drag_ends_when_the_window_gets_another_size() {
    let live = Live::on(FIRST_CUT);
    let Some(mut page) = opened(&live, 1280, 800) else { return };
    let (x, y) = page.take(POINT);
    page.mouse("mouseMoved", (x, y - 8.0), 1);
    page.until("!document.querySelector('#undo').disabled");
    page.size(1000, 700);
    page.until("innerWidth === 1000");
    page.value("new Promise((then) => setTimeout(then, 200))");
    let there = place(&live.state(), POINT);
    page.mouse("mouseMoved", (x + 3.0, y - 12.0), 1);
    page.mouse("mouseReleased", (x + 3.0, y - 12.0), 0);
    page.value("new Promise((then) => setTimeout(then, 300))");
    assert_eq!(place(&live.state(), POINT), there);
    assert!(page.errors.is_empty(), "{:?}", page.errors);
}
