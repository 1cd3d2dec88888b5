//! `hubtrace live` in a folder of its own, asked over plain sockets.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::{Value, json};
use tempfile::{TempDir, tempdir};

pub const FIRST_CUT: &str = include_str!("../../geometries/first-cut.toml");
/// Two sides that are no mirror images.
pub const AS_BUILT: &str = include_str!("../../geometries/as-built.toml");

/// A running server.
pub struct Live {
    child: Child,
    pub folder: TempDir,
    pub address: String,
}

/// What came back.
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: String,
}

impl Answer {
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.body).unwrap_or_else(|error| panic!("{error}: {} {}", self.status, self.body))
    }

    pub fn ok(self) -> Value {
        assert_eq!(self.status, 200, "{}", self.body);
        self.json()
    }
}

impl Live {
    /// On this text as `car.toml`.
    pub fn on(text: &str) -> Self {
        let folder = tempdir().expect("a scratch folder");
        fs::write(folder.path().join("car.toml"), text).expect("a writable folder");
        Self::start(folder, &["car.toml"])
    }

    /// The program killed and started again on its file at the same port.
    pub fn started_anew(mut self) -> Self {
        let _ = self.child.kill();
        let _ = self.child.wait();
        let folder = std::mem::replace(&mut self.folder, tempdir().expect("a scratch folder"));
        let port = self.address.rsplit(':').next().expect("a port").to_owned();
        Self::start(folder, &["car.toml", "--port", &port])
    }

    pub fn demo() -> Self {
        Self::start(tempdir().expect("a scratch folder"), &[])
    }

    /// On a file named `car.toml`, with the page for a phone; its address and its code.
    pub fn with_phone(text: &str) -> (Self, String, String) {
        let folder = tempdir().expect("a scratch folder");
        fs::write(folder.path().join("car.toml"), text).expect("a writable folder");
        let mut lines = Vec::new();
        let live = Self::start_and_read(folder, &["car.toml", "--lan=127.0.0.1"], &mut lines, 2);
        let (url, code) =
            lines[1].split_once("  for a phone in the same network, code ").expect("an address and a code");
        let address = url.strip_prefix("http://").and_then(|url| url.strip_suffix('/')).expect("an address");
        (live, address.to_owned(), code.to_owned())
    }

    fn start(folder: TempDir, file: &[&str]) -> Self {
        Self::start_and_read(folder, file, &mut Vec::new(), 1)
    }

    fn start_and_read(folder: TempDir, file: &[&str], lines: &mut Vec<String>, count: usize) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_hubtrace"));
        command.arg("live").args(file).args(["--no-open", "--quiet"]).current_dir(folder.path());
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("the program starts");
        let out = BufReader::new(child.stdout.take().expect("a pipe"));
        lines.extend(out.lines().take(count).map(|line| line.expect("a line")));
        let first = lines.first().expect("an address");
        let address = first.strip_prefix("http://").and_then(|url| url.strip_suffix('/'));
        let address = address.unwrap_or_else(|| panic!("no address: {first:?}")).to_owned();
        Self { child, folder, address }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn text(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    /// Sends bytes as they are and reads what comes back until the server closes or is silent.
    pub fn raw(&self, bytes: &[u8]) -> Vec<u8> {
        let mut stream = TcpStream::connect(&self.address).expect("a connection");
        stream.set_read_timeout(Some(Duration::from_secs(20))).expect("a timeout");
        let mut back = Vec::new();
        // A server may close before it has read everything.
        if stream.write_all(bytes).is_ok() {
            let _ = stream.shutdown(std::net::Shutdown::Write);
            let _ = stream.read_to_end(&mut back);
        }
        back
    }

    pub fn send(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Answer {
        sent(&self.address, method, path, headers, body)
    }

    pub fn get(&self, path: &str) -> Answer {
        self.send("GET", path, &[], "")
    }

    pub fn post(&self, path: &str, body: &Value) -> Answer {
        self.send("POST", path, &[("content-type", "application/json")], &body.to_string())
    }

    /// The lines of an answer, as they come.
    pub fn lines(&self, path: &str, body: &Value) -> impl Iterator<Item = String> + use<> {
        let stream = asked(&self.address, "POST", path, &[("content-type", "application/json")], &body.to_string());
        let lines = BufReader::new(stream).lines().map(|line| line.expect("a line"));
        lines.skip_while(|line| !line.is_empty()).skip(1)
    }

    pub fn state(&self) -> Value {
        self.get("/api/state").ok()
    }

    /// Moves a point of the left side, and says what the page would show.
    pub fn nudge(&self, revision: u64, point: &str, to_mm: [f64; 3], gesture: u64) -> Answer {
        let show = json!({ "charts": ["toe.svg"] });
        let asked = json!({
            "revision": revision, "right": false, "point": point, "to_mm": to_mm, "gesture": gesture, "show": show,
        });
        self.post("/api/nudge", &asked)
    }

    /// `undo`, `redo` or `pin`.
    pub fn step(&self, what: &str, revision: u64) -> Answer {
        self.post(&format!("/api/{what}"), &json!({ "revision": revision, "show": {} }))
    }

    pub fn save(&self, revision: u64, name: Option<&str>) -> Answer {
        self.post("/api/save", &json!({ "revision": revision, "name": name, "show": {} }))
    }

    /// Ends it as Ctrl-C does; exit code and what it said.
    pub fn interrupted(mut self) -> (Option<i32>, String) {
        let killed = Command::new("kill").args(["-TERM", &self.child.id().to_string()]).status();
        assert!(killed.is_ok_and(|status| status.success()));
        let code = self.child.wait().expect("an end").code();
        let mut said = String::new();
        self.child.stderr.take().expect("a pipe").read_to_string(&mut said).expect("text");
        (code, said)
    }

    /// Of another command of the program.
    pub fn exit_code(&self, line: &str) -> Option<i32> {
        let mut command = Command::new(env!("CARGO_BIN_EXE_hubtrace"));
        command.args(line.split(' ')).current_dir(self.folder.path()).output().expect("the program runs").status.code()
    }

    /// What another command of the program says of a file of this folder.
    pub fn hubtrace(&self, line: &str) -> String {
        let mut command = Command::new(env!("CARGO_BIN_EXE_hubtrace"));
        let ran = command.args(line.split(' ')).current_dir(self.folder.path()).output().expect("the program runs");
        String::from_utf8(ran.stdout).expect("text")
    }
}

/// Sends a request and reads its answer.
pub fn sent(address: &str, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> Answer {
    let mut back = String::new();
    asked(address, method, path, headers, body).read_to_string(&mut back).expect("an answer");
    let (head, body) = back.split_once("\r\n\r\n").unwrap_or_else(|| panic!("no answer: {back:?}"));
    let status = head.split(' ').nth(1).and_then(|status| status.parse().ok()).expect("a status");
    Answer { status, head: head.to_owned(), body: body.to_owned() }
}

/// Sends a request: an answer of HTTP 1.0 ends with its connection and is not cut into chunks.
fn asked(address: &str, method: &str, path: &str, headers: &[(&str, &str)], body: &str) -> TcpStream {
    let mut text = format!("{method} {path} HTTP/1.0\r\nconnection: close\r\ncontent-length: {}\r\n", body.len());
    if !headers.iter().any(|(name, _)| *name == "host") {
        text += &format!("host: {address}\r\n");
    }
    headers.iter().for_each(|(name, value)| text += &format!("{name}: {value}\r\n"));
    let mut stream = TcpStream::connect(address).expect("a connection");
    stream.write_all(format!("{text}\r\n{body}").as_bytes()).expect("a server that reads");
    stream
}

impl Drop for Live {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Where a point of a view is, mm.
pub fn place(view: &Value, name: &str) -> [f64; 3] {
    let point = point(view, name);
    [0, 1, 2].map(|k| point["at_mm"][k].as_f64().expect("a number"))
}

pub fn point<'v>(view: &'v Value, name: &str) -> &'v Value {
    let points = view["points"].as_array().expect("points");
    points.iter().find(|point| point["name"] == name).unwrap_or_else(|| panic!("no point {name}"))
}

/// The row of a limit.
pub fn limit<'v>(view: &'v Value, name: &str) -> &'v Value {
    let limits = view["limits"].as_array().expect("limits");
    limits.iter().find(|row| row["name"] == name).unwrap_or_else(|| panic!("no limit {name}"))
}

pub fn revision(view: &Value) -> u64 {
    view["revision"].as_u64().expect("a revision")
}

/// Asks again until there is an answer: a build without optimisation on a busy machine takes minutes to tune.
pub fn patient<T>(ask: impl Fn() -> Option<T>) -> T {
    for _ in 0..6_000 {
        if let Some(answer) = ask() {
            return answer;
        }
        std::thread::sleep(Duration::from_millis(100));
    }
    panic!("nothing came in ten minutes");
}
