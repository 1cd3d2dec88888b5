//! The page for a phone: who comes in, and what is written of the readings that are typed there.

use std::fs;

use hubtrace::gauge::{GaugeFile, Instrument, Read, ReadSide};
use hubtrace::geometry::Side;
use serde_json::{Value, json};

use crate::chromium::Chromium;
use crate::program::{Answer, FIRST_CUT, Live, sent};

const JSON: (&str, &str) = ("content-type", "application/json");

/// A phone that is in.
struct Phone {
    address: String,
    cookie: String,
}

impl Phone {
    fn come_in(address: &str, code: &str) -> Self {
        let answer = enter(address, code);
        assert_eq!(answer.status, 204, "{}", answer.body);
        let line = answer.head.lines().find_map(|line| line.strip_prefix("set-cookie: ")).expect("a cookie");
        assert!(line.contains("HttpOnly") && line.contains("SameSite=Strict"), "{line}");
        Self { address: address.to_owned(), cookie: line.split(';').next().expect("a pair").to_owned() }
    }

    fn post(&self, path: &str, body: &Value) -> Answer {
        sent(&self.address, "POST", path, &[("cookie", &self.cookie), JSON], &body.to_string())
    }

    fn add(&self, gauge: &Value, side: &str, bump: &str, values: [&str; 2]) -> Answer {
        let reading = json!({ "side": side, "bump": bump, "values": values, "session": "" });
        self.post("/api/readings", &json!({ "gauge": gauge, "reading": reading }))
    }
}

fn enter(address: &str, code: &str) -> Answer {
    sent(address, "POST", "/api/code", &[JSON], &json!({ "code": code }).to_string())
}

fn angle() -> Value {
    json!("angle")
}

#[test]
fn nothing_is_told_without_the_code_and_five_wrong_ones_close_the_door() {
    let (live, address, code) = Live::with_phone(FIRST_CUT);
    let readings = |headers: &[(&str, &str)]| sent(&address, "GET", "/api/readings", headers, "").status;
    assert_eq!((readings(&[]), readings(&[("cookie", "hubtrace=")])), (401, 401));
    assert_eq!(sent(&address, "POST", "/api/readings/new", &[JSON], "{}").status, 401);
    // The page of the computer is not there, and this one not on the other.
    for path in ["/api/state", "/main.js", "/three.js", "/api/odds"] {
        assert_eq!(sent(&address, "GET", path, &[], "").status, 404, "{path}");
    }
    assert_eq!((live.get("/api/readings").status, live.get("/phone.js").status), (404, 404));
    let host = ("host", "shop.example");
    assert_eq!(sent(&address, "GET", "/", &[host], "").status, 403);
    assert_eq!(sent(&address, "GET", "/", &[("host", &live.address)], "").status, 403);
    assert_eq!(sent(&address, "POST", "/api/code", &[JSON, ("origin", "http://shop.example")], "{}").status, 403);
    let left: Vec<u16> = (0..6).map(|k| enter(&address, &format!("AAAA-AAA{k}")).status).collect();
    assert_eq!(left, [401, 401, 401, 401, 403, 403]);
    assert_eq!(enter(&address, &code).status, 403);
    std::thread::sleep(std::time::Duration::from_millis(200));
    let (_, said) = live.interrupted();
    assert!(said.contains("warning: too many wrong codes; none is taken any more."), "{said}");
}

#[test]
fn without_lan_there_is_no_second_page() {
    let live = Live::on(FIRST_CUT);
    for path in ["/api/code", "/api/readings", "/phone.js"] {
        assert_eq!(live.get(path).status, 404, "{path}");
    }
    // Neither without a file, nor at every address at once.
    for arguments in ["live --lan", "live car.toml --lan=0.0.0.0", "live car.toml --lan=shop"] {
        assert_eq!(live.exit_code(arguments), Some(2), "{arguments}");
    }
}

#[test]
fn typed_readings_are_the_csv_that_correct_reads() {
    let (live, address, code) = Live::with_phone(FIRST_CUT);
    let phone = Phone::come_in(&address, &code);
    let again = enter(&address, &code);
    assert_eq!(
        (again.status, again.json()["what"].as_str()),
        (401, Some("that code was used already: each one lets one phone in"))
    );
    phone.add(&angle(), "left", " -60 ", ["0.31", "-1.2"]).ok();
    phone.add(&angle(), "both", "0", ["0.42", ""]).ok();
    // Beyond the travel of the file it is written only when it is asked for once more.
    let doubted = phone.add(&angle(), "right", "70", ["0.12", ""]);
    let words = json!("Write 70 mm down all the same");
    assert_eq!((doubted.status, &doubted.json()["ask_again"]), (422, &words), "{}", doubted.body);
    assert_eq!(doubted.json()["field"], "bump");
    assert!(!live.text("car-readings.csv").contains("70"));
    let reading = json!({ "side": "right", "bump": "70", "values": ["0.12", ""], "session": "" });
    let asked = json!({ "gauge": angle(), "reading": reading, "anyway": true });
    let view = phone.post("/api/readings", &asked).ok();
    assert_eq!(view["command"], "hubtrace correct car.toml car-readings.csv");
    assert_eq!(view["told"], json!(["Right at 70 mm is beyond the travel of the file and will be left out."]));
    let file = GaugeFile::read(&live.path("car-readings.csv"), Instrument::Angle).expect("readings");
    let found: Vec<(ReadSide, f64, Read)> =
        file.readings.readings.iter().map(|reading| (reading.side, reading.bump_mm, reading.read)).collect();
    let read = |toe_deg: f64, camber_deg: Option<f64>| Read::Angles {
        toe_rad: toe_deg.to_radians(),
        camber_rad: camber_deg.map(f64::to_radians),
    };
    let expected = [
        (ReadSide::One(Side::Left), -60.0, read(0.31, Some(-1.2))),
        (ReadSide::Both, 0.0, read(0.42, None)),
        (ReadSide::One(Side::Right), 70.0, read(0.12, None)),
    ];
    assert_eq!(found, expected);
    let back = phone.post("/api/readings/back", &json!({})).ok();
    assert_eq!(back["readings"].as_array().map(Vec::len), Some(2));
    assert!(!live.text("car-readings.csv").contains("70"));
}

#[test]
fn a_wrong_reading_is_told_as_correct_tells_it_and_not_written() {
    let (live, address, code) = Live::with_phone(FIRST_CUT);
    let phone = Phone::come_in(&address, &code);
    phone.add(&angle(), "left", "-60", ["0.31", ""]).ok();
    let before = live.text("car-readings.csv");
    for (side, bump, values) in [
        ("left", "10", ["0,31", ""]),
        ("left", "10", ["0,3", ""]), // no reading would be 3 deg
        ("left", "", ["0.31", ""]),
        ("left", "10", ["95", ""]),
        ("up", "10", ["0.3", ""]),
        ("both", "10", ["0.3", "-1"]),
        ("left", "10", ["0.3\nright,20,0.4", ""]),
        ("left,20,0.3", "10", ["0.3", ""]),
    ] {
        let refused = phone.add(&angle(), side, bump, values);
        assert_eq!(refused.status, 422, "{side} {bump} {values:?}");
        assert!(!refused.json()["advice"].as_str().unwrap_or("").is_empty(), "{}", refused.body);
        // In the words of the page.
        assert!(["_mm", "_deg", "`side`"].iter().all(|column| !refused.body.contains(column)), "{}", refused.body);
        let field = match (side, bump, values) {
            ("left", "", _) => json!("bump"),
            ("left", "10", ["0,31" | "0,3" | "95", _]) => json!("first"),
            _ => continue,
        };
        assert_eq!(refused.json()["field"], field, "{}", refused.body);
    }
    let other = json!({ "plate": { "width_mm": 400.0, "zeroed": true } });
    assert_eq!(phone.add(&other, "left", "10", ["0.2", "-0.2"]).status, 422);
    assert_eq!(live.text("car-readings.csv"), before);
}

#[test]
fn a_file_is_never_written_over_and_a_new_one_has_the_options_of_its_gauge() {
    let (live, address, code) = Live::with_phone(FIRST_CUT);
    fs::write(live.path("car-readings.csv"), "mine").expect("a writable file");
    let phone = Phone::come_in(&address, &code);
    let view = phone.add(&angle(), "left", "-60", ["0.31", ""]).ok();
    assert_eq!((live.text("car-readings.csv").as_str(), &view["file"]), ("mine", &json!("car-readings-2.csv")));
    fs::write(live.path("car-readings-2.csv"), "changed").expect("a writable file");
    assert_eq!(phone.add(&angle(), "left", "-50", ["0.30", ""]).status, 409);
    assert_eq!(live.text("car-readings-2.csv"), "changed");
    phone.post("/api/readings/new", &json!({})).ok();
    let plate = json!({ "plate": { "width_mm": 402.5, "zeroed": true } });
    let view = phone.add(&plate, "left", "-60", ["0.8", "-0.7"]).ok();
    assert_eq!(view["command"], "hubtrace correct car.toml car-readings-3.csv --plate 402.5 --zero");
    let dials = Instrument::Plate { width_mm: 402.5, zeroed: true };
    let file = GaugeFile::read(&live.path("car-readings-3.csv"), dials).expect("readings");
    assert_eq!(file.readings.readings[0].read, Read::Dials { front_mm: 0.8, rear_mm: -0.7 });
}

#[test]
fn a_phone_comes_in_and_writes_a_reading_down() {
    let (live, address, code) = Live::with_phone(FIRST_CUT);
    let Some(mut page) = Chromium::start() else { return };
    page.size(390, 844);
    page.visit(&format!("http://{address}/"));
    page.until("document.querySelector('#entry')?.hidden === false");
    // An empty code is no try.
    page.click("#entry button");
    page.until("document.body.textContent.includes('Type the code that the terminal shows.')");
    page.value(&format!("document.querySelector('#code').value = {code:?}"));
    page.click("#entry button");
    page.until("!document.querySelector('#inside').hidden");
    page.value("document.querySelector('#bump').value = '40'");
    page.click("[data-sign=bump]");
    // Toe plates read a total, two dial gauges do not.
    let choose = |gauge: &str| {
        format!(
            "(() => {{ const box = document.querySelector('#gauge'); box.value = {gauge:?};
             box.dispatchEvent(new Event('change'));
             return getComputedStyle(document.querySelector('label.angle')).display; }})()"
        )
    };
    assert_eq!(page.value(&choose("plate")), "none");
    assert_ne!(page.value(&choose("angle")), "none");
    page.value("document.querySelector('#first').value = '0,25'");
    if let Some(folder) = std::env::var_os("HUBTRACE_PICTURES") {
        std::fs::write(std::path::Path::new(&folder).join("phone.png"), page.picture()).expect("a folder");
    }
    page.click("#add");
    page.until("document.querySelector('#table tbody tr')");
    assert_eq!(page.text("#table tbody tr"), "left-400.25");
    assert_eq!(page.text("#command"), "hubtrace correct car.toml car-readings.csv");
    assert!(live.text("car-readings.csv").ends_with("left,-40,0.25,,\n"), "{}", live.text("car-readings.csv"));
    let wide = page.value("document.documentElement.scrollWidth").as_f64().expect("a width");
    assert!(wide <= 390.0, "{wide}");
    // A height beyond the travel, a keyboard over half of the screen: what was found stands above the button, which says what it does.
    page.size(390, 500);
    page.value("document.querySelector('#bump').value = '80'; document.querySelector('#first').value = '0.25'");
    page.click("#add");
    page.until("document.querySelector('#add').textContent === 'Write 80 mm down all the same'");
    assert_eq!(page.value("document.querySelector('#message').nextElementSibling.id"), "add");
    let seen = page.value(
        "(() => { const area = document.querySelector('#message').getBoundingClientRect();
          return area.height > 0 && area.top >= 0 && document.querySelector('#add').getBoundingClientRect().bottom <= innerHeight; })()",
    );
    assert_eq!(seen, true);
    assert_eq!(page.value("document.querySelector('#bump').getAttribute('aria-invalid')"), "true");
    // Another height is another question.
    page.value("document.querySelector('#bump').dispatchEvent(new Event('input', { bubbles: true }))");
    assert_eq!((page.text("#add").as_str(), page.text("#message").as_str()), ("Write down", ""));
    page.click("#add");
    page.until("document.querySelector('#add').textContent === 'Write 80 mm down all the same'");
    page.click("#add");
    page.until("document.querySelectorAll('#table tbody tr').length === 2");
    assert_eq!((page.text("#add").as_str(), page.text("#message").as_str()), ("Write down", "Written: left at 80 mm."));
    assert_eq!(page.text("#table thead tr"), "sideheight, mmtoe, degcamber, degsession");
    // A new file is asked for twice.
    page.click("#new");
    assert_eq!(page.text("#new"), "Press again to begin a new file");
    assert_eq!(page.value("document.querySelectorAll('#table tbody tr').length"), 2);
    page.click("#new");
    page.until("document.querySelectorAll('#table tbody tr').length === 0");
    assert_eq!(page.text("#new"), "Begin a new file");
    let nameless = page.value(
        "[...document.querySelectorAll('button, input, select')].filter((part) =>
          !(part.getAttribute('aria-label') || part.textContent.trim() || part.labels?.length)).map((part) => part.outerHTML)",
    );
    assert_eq!(nameless, json!([]));
    // The refusals above are told by the browser too.
    assert!(page.errors.iter().all(|error| error.contains("422")), "{:?}", page.errors);
}

/// The second tap comes before the answer to the first, or after it.
#[test]
fn a_double_tap_writes_one_reading_and_says_which() {
    let (live, address, code) = Live::with_phone(FIRST_CUT);
    let Some(mut page) = Chromium::start() else { return };
    page.size(390, 844);
    page.visit(&format!("http://{address}/"));
    page.until("document.querySelector('#entry')?.hidden === false");
    page.value(&format!("document.querySelector('#code').value = {code:?}"));
    page.click("#entry button");
    page.until("!document.querySelector('#inside').hidden");
    page.value(
        "(() => { const [bump, first, add] = ['bump', 'first', 'add'].map((id) => document.getElementById(id));
          bump.value = '40'; first.value = '0.25'; add.click(); add.click(); })()",
    );
    page.until("document.querySelector('#message').textContent !== ''");
    page.click("#add");
    page.value("new Promise((then) => setTimeout(then, 500))");
    assert_eq!(page.text("#message"), "Written: left at 40 mm.");
    assert_eq!(page.value("document.querySelectorAll('#table tbody tr').length"), 1);
    assert_eq!(live.text("car-readings.csv").lines().filter(|line| line.starts_with("left,40,")).count(), 1);
    assert!(page.errors.is_empty(), "{:?}", page.errors);
}
