//! The files of the page. The program holds them itself, so that it works without a network and serves nothing from disk.

/// A file of the page: path, type and content.
pub(super) struct Asset {
    pub path: &'static str,
    pub kind: &'static str,
    pub body: &'static str,
}

const SCRIPT: &str = "text/javascript; charset=utf-8";

pub(super) const ASSETS: [Asset; 10] = [
    Asset { path: "/", kind: "text/html; charset=utf-8", body: include_str!("page/index.html") },
    Asset { path: "/style.css", kind: "text/css; charset=utf-8", body: include_str!("page/style.css") },
    Asset { path: "/main.js", kind: SCRIPT, body: include_str!("page/main.js") },
    Asset { path: "/link.js", kind: SCRIPT, body: include_str!("page/link.js") },
    Asset { path: "/axle.js", kind: SCRIPT, body: include_str!("page/axle.js") },
    Asset { path: "/camera.js", kind: SCRIPT, body: include_str!("page/camera.js") },
    Asset { path: "/points.js", kind: SCRIPT, body: include_str!("page/points.js") },
    Asset { path: "/results.js", kind: SCRIPT, body: include_str!("page/results.js") },
    Asset { path: "/tuner.js", kind: SCRIPT, body: include_str!("page/tuner.js") },
    Asset { path: "/three.js", kind: SCRIPT, body: include_str!("page/vendor/three-r170.module.min.js") },
];
