//! Who may ask, and what is not served.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::Duration;

use crate::program::{FIRST_CUT, Live, revision};

#[test]
fn only_its_own_page_on_this_computer_is_answered() {
    let live = Live::on(FIRST_CUT);
    let port = live.address.split(':').next_back().expect("a port").to_owned();
    let state = |headers: &[(&str, &str)]| live.send("GET", "/api/state", headers, "").status;
    assert_eq!(state(&[]), 200);
    assert_eq!(state(&[("host", &format!("localhost:{port}"))]), 200);
    assert_eq!(state(&[("host", &format!("shop.example:{port}"))]), 403);
    assert_eq!(state(&[("host", "shop.example")]), 403);
    assert_eq!(state(&[("origin", "http://shop.example")]), 403);
    assert_eq!(state(&[("origin", "null")]), 403);
    assert_eq!(state(&[("sec-fetch-site", "cross-site")]), 403);
    // A form of another page cannot send JSON.
    let body = r#"{"revision":0,"show":{}}"#;
    assert_eq!(live.send("POST", "/api/undo", &[("content-type", "text/plain")], body).status, 415);
    assert_eq!(live.send("POST", "/api/undo", &[("content-type", "application/json")], body).status, 200);
    assert!(live.address.starts_with("127.0.0.1:"));
}

#[test]
fn nothing_but_the_page_is_served() {
    let live = Live::on(FIRST_CUT);
    for path in
        ["/car.toml", "/../car.toml", "/%2e%2e/car.toml", "//etc/passwd", "/page/main.js", "/api/", "/api/state/"]
    {
        assert_eq!(live.get(path).status, 404, "{path}");
    }
    let page = live.get("/");
    assert_eq!(page.status, 200);
    let head = page.head.to_lowercase();
    for line in ["content-security-policy: default-src 'none'; script-src 'self'", "x-content-type-options: nosniff"] {
        assert!(head.contains(line), "{head}");
    }
    for asset in [
        "/style.css",
        "/main.js",
        "/link.js",
        "/axle.js",
        "/camera.js",
        "/dom.js",
        "/points.js",
        "/results.js",
        "/tuner.js",
        "/three.js",
    ] {
        assert_eq!(live.get(asset).status, 200, "{asset}");
    }
    // The page loads nothing from elsewhere.
    assert!(!page.body.contains("http:") && !page.body.contains("https:"), "{}", page.body);
}

#[test]
fn a_body_that_is_too_long_is_refused() {
    let live = Live::on(FIRST_CUT);
    let long = format!(r#"{{"revision":0,"show":{{"charts":["{}"]}}}}"#, "x".repeat(100_000));
    let answer = live.send("POST", "/api/undo", &[("content-type", "application/json")], &long);
    assert_eq!(answer.status, 413);
    assert_eq!(live.state()["revision"], 0);
}

/// More connections than there are places: one that asks waits until others are gone.
#[test]
fn connections_are_bounded_and_those_that_wait_get_their_turn() {
    let live = Live::on(FIRST_CUT);
    let silent: Vec<TcpStream> = (0..40).map(|_| TcpStream::connect(&live.address).expect("a connection")).collect();
    let mut asking = TcpStream::connect(&live.address).expect("a place in the queue");
    let request = format!("GET /style.css HTTP/1.1\r\nhost: {}\r\nconnection: close\r\n\r\n", live.address);
    asking.write_all(request.as_bytes()).expect("a server that reads later");
    let mut answer = Vec::new();
    asking.set_read_timeout(Some(Duration::from_millis(700))).expect("a timeout");
    assert!(asking.read_to_end(&mut answer).is_err() && answer.is_empty(), "{answer:?}");
    drop(silent);
    asking.set_read_timeout(Some(Duration::from_secs(60))).expect("a timeout");
    asking.read_to_end(&mut answer).expect("an answer");
    assert!(answer.starts_with(b"HTTP/1.1 200"), "{answer:?}");
}

#[test]
fn names_with_markup_stay_text() {
    let name = "<img src=x onerror=alert(1)>";
    let text = FIRST_CUT.replace("Teasel hillclimb special, rear, first cut", name);
    assert_ne!(text, FIRST_CUT);
    let live = Live::on(&text);
    let view = live.get("/api/state?charts=toe.svg").ok();
    assert_eq!(view["name"], name);
    let svg = view["charts"][0]["svg"].as_str().expect("a chart");
    assert!(!svg.contains("<img") && svg.contains("&lt;img"), "{svg}");
}

/// Ten thousand requests made of pieces of good ones, cut, doubled and mixed with noise.
#[test]
fn malformed_requests_neither_end_nor_hang_it() {
    let live = Live::on(FIRST_CUT);
    let host = &live.address;
    let body = r#"{"revision":0,"right":false,"point":"toe link chassis","to_mm":[1,2,3],"gesture":0,"show":{"posture_only":true}}"#;
    let good = [
        format!("GET / HTTP/1.1\r\nhost: {host}\r\n\r\n"),
        format!("GET /api/state?bump_mm=1e999&posture_only=true HTTP/1.1\r\nhost: {host}\r\n\r\n"),
        format!(
            "POST /api/nudge HTTP/1.1\r\nhost: {host}\r\ncontent-type: application/json\r\ncontent-length: {}\r\n\r\n{body}",
            body.len()
        ),
        format!("POST /api/save HTTP/1.1\r\nhost: {host}\r\ntransfer-encoding: chunked\r\n\r\nffff\r\n{{\r\n0\r\n\r\n"),
    ];
    let mut noise = Noise(1);
    for _ in 0..10_000 {
        let mut bytes = good[noise.below(good.len())].clone().into_bytes();
        for _ in 0..1 + noise.below(4) {
            let at = noise.below(bytes.len());
            match noise.below(5) {
                0 => bytes.truncate(at + 1),
                1 => bytes[at] = noise.below(256) as u8,
                2 => bytes.insert(at, b"\0\r\n{[\"\xff%:"[noise.below(9)]),
                3 => drop(bytes.remove(at)),
                _ => bytes.extend_from_slice(&bytes.clone()[at..]),
            }
            bytes.push(b'\n');
        }
        live.raw(&bytes);
    }
    let view = crate::program::patient(|| (live.get("/api/state").status == 200).then(|| live.state()));
    // What could be read as a nudge was one.
    assert!(revision(&view) < 10_000);
    let (code, said) = live.interrupted();
    assert_eq!(code, Some(0));
    assert!(!said.contains("panicked") && !said.contains("fault"), "{said}");
}

/// A linear congruential generator.
struct Noise(u64);

impl Noise {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        (self.0 >> 33) as usize % end
    }
}
