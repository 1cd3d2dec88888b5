//! A real browser without a window, driven over its DevTools socket.

use std::fs;
use std::net::TcpStream;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::{Value, json};
use tempfile::{TempDir, tempdir};
use tungstenite::{Message, WebSocket, client};

use crate::program::patient;

const NAMES: [&str; 3] = ["chromium", "chromium-browser", "google-chrome"];

/// One page of a browser of its own.
pub struct Chromium {
    child: Child,
    _profile: TempDir,
    socket: WebSocket<TcpStream>,
    session: String,
    last: u64,
    /// Errors that the page put on its console.
    pub errors: Vec<String>,
}

/// The browser of this computer, when it has one.
fn program() -> Option<PathBuf> {
    let folders = std::env::var_os("PATH")?;
    let places = std::env::split_paths(&folders).flat_map(|folder| NAMES.map(|name| folder.join(name)));
    places.into_iter().find(|path| path.is_file())
}

impl Chromium {
    /// `None`, said on stderr, where there is no browser.
    pub fn start() -> Option<Self> {
        let Some(program) = program() else {
            eprintln!("skipped: no chromium on this computer");
            return None;
        };
        let profile = tempdir().expect("a scratch folder");
        let mut command = Command::new(program);
        command.args(["--headless=new", "--no-sandbox", "--disable-gpu-sandbox", "--remote-debugging-port=0"]);
        command.args(["--no-first-run", "--enable-unsafe-swiftshader", "--disable-background-networking"]);
        command.arg(format!("--user-data-dir={}", profile.path().display())).arg("about:blank");
        let child = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().expect("the browser starts");
        let said = profile.path().join("DevToolsActivePort");
        let (port, path) = patient(|| {
            let text = fs::read_to_string(&said).ok()?;
            let (port, path) = text.trim().split_once('\n')?;
            Some((port.to_owned(), path.to_owned()))
        });
        let stream = TcpStream::connect(format!("127.0.0.1:{port}")).expect("a browser that listens");
        stream.set_read_timeout(Some(Duration::from_secs(60))).expect("a timeout");
        let (socket, _) = client(format!("ws://127.0.0.1:{port}{path}"), stream).expect("a socket");
        let mut browser =
            Self { child, _profile: profile, socket, session: String::new(), last: 0, errors: Vec::new() };
        let target = browser.call("Target.createTarget", json!({ "url": "about:blank" }));
        let attached =
            browser.call("Target.attachToTarget", json!({ "targetId": target["targetId"], "flatten": true }));
        browser.session = attached["sessionId"].as_str().expect("a session").to_owned();
        for domain in ["Page", "Runtime", "Log"] {
            browser.call(&format!("{domain}.enable"), json!({}));
        }
        Some(browser)
    }

    /// A command and its result; what the page says meanwhile is kept.
    pub fn call(&mut self, method: &str, params: Value) -> Value {
        self.last += 1;
        let mut message = json!({ "id": self.last, "method": method, "params": params });
        if !self.session.is_empty() {
            message["sessionId"] = json!(self.session);
        }
        self.socket.send(Message::text(message.to_string())).expect("a browser that listens");
        loop {
            let Message::Text(text) = self.socket.read().expect("a browser that answers") else { continue };
            let answer: Value = serde_json::from_str(&text).expect("JSON");
            if answer["id"] == self.last {
                assert!(answer["error"].is_null(), "{method}: {answer}");
                return answer["result"].clone();
            }
            self.note(&answer);
        }
    }

    fn note(&mut self, said: &Value) {
        let params = &said["params"];
        let is_error = match said["method"].as_str() {
            Some("Runtime.exceptionThrown") => true,
            Some("Runtime.consoleAPICalled") => params["type"] == "error",
            Some("Log.entryAdded") => params["entry"]["level"] == "error",
            _ => false,
        };
        if is_error {
            self.errors.push(params.to_string());
        }
    }

    pub fn size(&mut self, width: u32, height: u32) {
        let metrics = json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 500 });
        self.call("Emulation.setDeviceMetricsOverride", metrics);
    }

    pub fn visit(&mut self, url: &str) {
        self.call("Page.navigate", json!({ "url": url }));
    }

    pub fn open(&mut self, url: &str) {
        self.visit(url);
        self.until("document.querySelector('#limits tbody tr') && document.querySelector('#charts svg')");
    }

    /// The value of an expression of the page.
    pub fn value(&mut self, expression: &str) -> Value {
        let asked = json!({ "expression": expression, "awaitPromise": true, "returnByValue": true });
        let answer = self.call("Runtime.evaluate", asked);
        assert!(answer["exceptionDetails"].is_null(), "{expression}: {answer}");
        answer["result"]["value"].clone()
    }

    pub fn text(&mut self, selector: &str) -> String {
        let found = self.value(&format!("document.querySelector({selector:?})?.textContent ?? ''"));
        found.as_str().unwrap_or_default().to_owned()
    }

    /// Waits until an expression holds.
    pub fn until(&mut self, expression: &str) {
        for _ in 0..6_000 {
            if self.value(&format!("Boolean({expression})")) == true {
                return;
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        panic!("never: {expression}; errors {:?}", self.errors);
    }

    pub fn mouse(&mut self, kind: &str, (x, y): (f64, f64), buttons: u32) {
        let button = if buttons == 0 && kind == "mouseMoved" { "none" } else { "left" };
        let event = json!({ "type": kind, "x": x, "y": y, "button": button, "buttons": buttons, "clickCount": 1 });
        self.call("Input.dispatchMouseEvent", event);
    }

    pub fn click(&mut self, selector: &str) {
        self.value(&format!("document.querySelector({selector:?}).click()"));
    }

    /// A key pressed and let go, as a keyboard sends it.
    pub fn key(&mut self, key: &str) {
        let (code, text) = match key {
            "Enter" => (13, Some("\r")),
            "Tab" => (9, None),
            "Escape" => (27, None),
            "PageUp" => (33, None),
            "PageDown" => (34, None),
            "ArrowLeft" => (37, None),
            "ArrowUp" => (38, None),
            "ArrowRight" => (39, None),
            "ArrowDown" => (40, None),
            " " => (32, Some(" ")),
            _ => panic!("a key without a code: {key}"),
        };
        let mut event = json!({ "type": "keyDown", "key": key, "windowsVirtualKeyCode": code });
        if let Some(text) = text {
            event["text"] = json!(text);
        }
        self.call("Input.dispatchKeyEvent", event.clone());
        event["type"] = json!("keyUp");
        self.call("Input.dispatchKeyEvent", event);
    }

    /// The picture of the whole page, as PNG.
    pub fn picture(&mut self) -> Vec<u8> {
        let taken = self.call("Page.captureScreenshot", json!({ "captureBeyondViewport": true }));
        from_base64(taken["data"].as_str().expect("a picture"))
    }
}

impl Drop for Chromium {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn from_base64(text: &str) -> Vec<u8> {
    let digit = |c: u8| match c {
        b'A'..=b'Z' => c - b'A',
        b'a'..=b'z' => c - b'a' + 26,
        b'0'..=b'9' => c - b'0' + 52,
        b'+' => 62,
        _ => 63,
    };
    let (mut bits, mut held, mut bytes) = (0_u32, 0, Vec::new());
    for c in text.bytes().filter(|c| *c != b'=') {
        (bits, held) = ((bits << 6 | u32::from(digit(c))) & 0xffff, held + 6);
        if held >= 8 {
            held -= 8;
            bytes.push((bits >> held) as u8);
        }
    }
    bytes
}
