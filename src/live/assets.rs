//! The files of the page. The program holds them itself, so that it works without a network and serves nothing from disk.

use axum::http::header;
use axum::response::{IntoResponse, Response};

/// A file of the page: path, type and content.
pub(super) struct Asset {
    pub path: &'static str,
    pub kind: &'static str,
    pub body: &'static str,
}

impl IntoResponse for &'static Asset {
    fn into_response(self) -> Response {
        ([(header::CONTENT_TYPE, self.kind)], self.body).into_response()
    }
}

const HTML: &str = "text/html; charset=utf-8";
const SCRIPT: &str = "text/javascript; charset=utf-8";
const STYLE: &str = "text/css; charset=utf-8";

/// Of the page of this computer.
pub(super) const ASSETS: [Asset; 11] = [
    Asset { path: "/", kind: HTML, body: include_str!("page/index.html") },
    Asset { path: "/style.css", kind: STYLE, body: include_str!("page/style.css") },
    Asset { path: "/main.js", kind: SCRIPT, body: include_str!("page/main.js") },
    Asset { path: "/dom.js", kind: SCRIPT, body: include_str!("page/dom.js") },
    Asset { path: "/link.js", kind: SCRIPT, body: include_str!("page/link.js") },
    Asset { path: "/axle.js", kind: SCRIPT, body: include_str!("page/axle.js") },
    Asset { path: "/camera.js", kind: SCRIPT, body: include_str!("page/camera.js") },
    Asset { path: "/points.js", kind: SCRIPT, body: include_str!("page/points.js") },
    Asset { path: "/results.js", kind: SCRIPT, body: include_str!("page/results.js") },
    Asset { path: "/tuner.js", kind: SCRIPT, body: include_str!("page/tuner.js") },
    Asset { path: "/three.js", kind: SCRIPT, body: include_str!("page/vendor/three-r170.module.min.js") },
];

/// Of the page for a phone.
pub(super) const PHONE_ASSETS: [Asset; 3] = [
    Asset { path: "/", kind: HTML, body: include_str!("page/phone/index.html") },
    Asset { path: "/style.css", kind: STYLE, body: include_str!("page/style.css") },
    Asset { path: "/phone.js", kind: SCRIPT, body: include_str!("page/phone/phone.js") },
];
