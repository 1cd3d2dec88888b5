//! Who may ask, how much and how often.

use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use axum::http::{HeaderMap, StatusCode, header};

use super::refusal::Refusal;

/// Longest body of a request, bytes: a nudge takes some hundred.
pub(super) const MAX_BODY_BYTES: usize = 64 * 1024;
/// Requests taken in one second: a drag sends at most as many as a screen has frames.
const MAX_PER_SECOND: u32 = 400;
/// A request that takes longer to come in and to be answered is ended.
pub(super) const MAX_WAIT: Duration = Duration::from_secs(30);
/// Requests that are worked on at the same time; the others wait for their turn.
pub(super) const MAX_AT_WORK: usize = 4;

/// The page may load its own files, draw, and talk to its own server; nothing else.
pub(super) const CONTENT_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; \
     connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// What is asked of every request before it is read.
#[derive(Debug)]
pub(super) struct Guard {
    hosts: Vec<String>,
    second: Mutex<(Instant, u32)>,
}

impl Guard {
    /// For a server of this computer at this port.
    pub(super) fn of_this_computer(port: u16) -> Self {
        let hosts = ["127.0.0.1", "localhost", "[::1]"].map(|name| format!("{name}:{port}")).to_vec();
        Self { hosts, second: Mutex::new((Instant::now(), 0)) }
    }

    /// A foreign `Host` is a name that was pointed at this computer (DNS rebinding), a foreign `Origin` a page of
    /// another place that uses the browser as its messenger.
    pub(super) fn admit(&self, headers: &HeaderMap) -> Result<(), Refusal> {
        let mut hosts = headers.get_all(header::HOST).iter();
        let is_ours = |host: &[u8]| self.hosts.iter().any(|own| own.as_bytes().eq_ignore_ascii_case(host));
        match (hosts.next(), hosts.next()) {
            (Some(host), None) if is_ours(host.as_bytes()) => {}
            _ => return Err(Refusal::foreign("this address does not belong to hubtrace")),
        }
        for origin in headers.get_all(header::ORIGIN) {
            if !origin.as_bytes().strip_prefix(b"http://").is_some_and(is_ours) {
                return Err(Refusal::foreign("another page asked for this"));
            }
        }
        let from_elsewhere = |site: &[u8]| site != b"same-origin" && site != b"none";
        if headers.get_all("sec-fetch-site").iter().any(|site| from_elsewhere(site.as_bytes())) {
            return Err(Refusal::foreign("another page asked for this"));
        }
        self.count()
    }

    fn count(&self) -> Result<(), Refusal> {
        let mut second = self.second.lock().unwrap_or_else(PoisonError::into_inner);
        if second.0.elapsed() >= Duration::from_secs(1) {
            *second = (Instant::now(), 0);
        }
        second.1 += 1;
        if second.1 > MAX_PER_SECOND {
            return Err(Refusal::too_much(
                StatusCode::TOO_MANY_REQUESTS,
                "more requests a second than a hand can make",
            ));
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use axum::http::{HeaderMap, HeaderName, HeaderValue};

    use super::{Guard, MAX_PER_SECOND};

    fn admits(headers: &[(&'static str, &'static str)]) -> bool {
        let mut map = HeaderMap::new();
        for (name, value) in headers {
            map.append(HeaderName::from_static(name), HeaderValue::from_static(value));
        }
        Guard::of_this_computer(4000).admit(&map).is_ok()
    }

    #[test]
    fn only_this_computer_and_its_own_page_are_admitted() {
        let own = ("host", "127.0.0.1:4000");
        assert!(admits(&[own]) && admits(&[("host", "LOCALHOST:4000")]) && admits(&[("host", "[::1]:4000")]));
        assert!(admits(&[own, ("origin", "http://localhost:4000"), ("sec-fetch-site", "same-origin")]));
        let foreign: [&[(&str, &str)]; 9] = [
            &[],
            &[("host", "127.0.0.1")],
            &[("host", "127.0.0.1:4001")],
            &[("host", "shop.example:4000")],
            &[own, own],
            &[own, ("origin", "null")],
            &[own, ("origin", "http://shop.example:4000")],
            &[own, ("origin", "https://127.0.0.1:4000")],
            &[own, ("sec-fetch-site", "cross-site")],
        ];
        for headers in foreign {
            assert!(!admits(headers), "{headers:?}");
        }
    }

    #[test]
    fn more_requests_than_a_hand_makes_are_refused() {
        let mut headers = HeaderMap::new();
        headers.insert("host", HeaderValue::from_static("localhost:4000"));
        let guard = Guard::of_this_computer(4000);
        let taken = (0..2 * MAX_PER_SECOND).filter(|_| guard.admit(&headers).is_ok()).count() as u32;
        assert!((MAX_PER_SECOND..2 * MAX_PER_SECOND).contains(&taken), "{taken}");
    }
}
