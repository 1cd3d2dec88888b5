//! What the report was made from, so that a printed one can be matched to its file, and the tables beside it.

use super::{Page, ReportTable, Section};
use crate::outputs::file_list::file_name;
use crate::outputs::markup::escaped;

pub(super) fn section(page: &Page, tables: &[ReportTable]) -> Section {
    let source = page.source;
    let links: String = tables
        .iter()
        .map(|table| format!("<li><a href=\"{0}\">{0}</a>: {1}</li>\n", table.name, escaped(table.holds)))
        .collect();
    let body = format!(
        "<p>The figures above belong to the text below and to no other: {}, SHA-256 <code class=\"hash\">{}</code>. \
         <code>sha256sum</code> of the file tells whether it was changed since.</p>\n\
         <h3>Tables beside this page</h3>\n<p>{TABLES}</p>\n<ul>\n{links}</ul>\n<h3>The file</h3>\n<pre><code>{}</code></pre>\n",
        escaped(&file_name(source.file)),
        source.input_sha256,
        text(source.text)
    );
    Section { id: "file", title: "What it was made from", body }
}

const TABLES: &str = "These links work in the folder into which the report was written. Handed on alone, this page lacks the tables \
    and nothing else.";

/// Line by line as it stands, tabs too.
fn text(text: &str) -> String {
    let line = |line: &str| line.split('\t').map(escaped).collect::<Vec<_>>().join("\t");
    text.lines().map(|of| line(of) + "\n").collect()
}
