//! `summary.json`: a finding for other programs, with where its input came from.

use serde::Serialize;

/// Version of the layout of the summary.
const SCHEMA: u32 = 1;

#[derive(Serialize)]
struct Summary<'f, F: Serialize> {
    schema: u32,
    version: &'static str,
    input_sha256: &'f str,
    #[serde(flatten)]
    findings: &'f F,
}

/// The finding of a command as text, with a newline at the end; `input_sha256` is the hash of the geometry file's text.
pub fn summary_json(findings: &impl Serialize, input_sha256: &str) -> Result<String, serde_json::Error> {
    let summary = Summary { schema: SCHEMA, version: env!("CARGO_PKG_VERSION"), input_sha256, findings };
    serde_json::to_string_pretty(&summary).map(|text| text + "\n")
}
