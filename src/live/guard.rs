//! Who may ask, how much and how often.

use std::net::SocketAddr;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::refusal::Refusal;

/// Longest body of a request, bytes: a nudge takes some hundred.
pub(super) const MAX_BODY_BYTES: usize = 64 * 1024;
/// Requests taken in one second: a drag sends at most as many as a screen has frames.
const MAX_PER_SECOND: u32 = 400;
/// A request that takes longer to come in and to be answered is ended.
const MAX_WAIT: Duration = Duration::from_secs(60);
/// Requests that are worked on at the same time; the others wait for their turn.
pub(super) const MAX_AT_WORK: usize = 4;

/// The page may load its own files, draw, and talk to its own server; nothing else.
const CONTENT_POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; \
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
        Self::of_hosts(["127.0.0.1", "localhost", "[::1]"].map(|name| format!("{name}:{port}")).to_vec())
    }

    /// For a server that other devices reach at this address.
    pub(super) fn of_address(address: SocketAddr) -> Self {
        Self::of_hosts(vec![address.to_string()])
    }

    fn of_hosts(hosts: Vec<String>) -> Self {
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

/// Answers what is admitted, within a time, and says to every browser what the page may do.
pub(super) async fn admitted(State(guard): State<Arc<Guard>>, request: Request, next: Next) -> Response {
    let mut response = match guard.admit(request.headers()) {
        Err(refusal) => refusal.into_response(),
        Ok(()) => match tokio::time::timeout(MAX_WAIT, next.run(request)).await {
            Ok(response) => response,
            // Not 408: a browser sends such a request again by itself, and the car may have changed already.
            Err(_) => Refusal::too_much(StatusCode::SERVICE_UNAVAILABLE, "the request took too long").into_response(),
        },
    };
    let headers = response.headers_mut();
    headers.insert(header::CONTENT_SECURITY_POLICY, HeaderValue::from_static(CONTENT_POLICY));
    headers.insert(header::X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    headers.insert(header::REFERRER_POLICY, HeaderValue::from_static("no-referrer"));
    headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    response
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
