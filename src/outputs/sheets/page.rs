//! Pages of HTML that print on A4 and on Letter: one sheet of paper each, with the source and the number at its foot.

use std::fmt::{self, Write};

use super::source::SheetSource;
use crate::outputs::markup::escaped;

/// A sheet holds what fits on either paper: 190 mm wide, 245 mm high.
const STYLE: &str = "\
@page { margin: 10mm; }
body { font: 9.5pt/1.3 Helvetica, Arial, sans-serif; margin: 0 auto; width: 190mm; color: #000; }
section { position: relative; box-sizing: border-box; min-height: 254mm; padding-bottom: 8mm; break-after: page; }
section:last-of-type { break-after: auto; }
h1 { font-size: 16pt; margin: 0; } h2, caption { font-size: 12pt; font-weight: bold; text-align: left; margin: 4mm 0 1mm; } caption { padding: 1.5mm 0 0.5mm; }
p { margin: 1mm 0; } .two { display: flex; gap: 6mm; } .two > * { flex: 1; min-width: 0; }
table { border-collapse: collapse; width: 100%; font-size: 9pt; line-height: 1.25; }
th, td { border-bottom: 0.2mm solid #888; padding: 0.35mm 1.2mm; text-align: left; vertical-align: top; } tbody th { font-weight: normal; }
td.n { white-space: nowrap; } td.n, th.n { text-align: right; } td.fill { border: 0.2mm solid #444; width: 24mm; }
ol.steps { list-style: none; padding: 0; margin: 0; counter-reset: step; }
ol.steps li { counter-increment: step; margin: 2.2mm 0; padding-left: 13mm; text-indent: -13mm; }
ol.steps li::before { content: counter(step) '. '; }
.box { display: inline-block; width: 3.6mm; height: 3.6mm; border: 0.3mm solid #000; margin: 0 2mm -0.5mm 1mm; }
.fail { font-weight: bold; } footer { position: absolute; left: 0; right: 0; bottom: 0; font-size: 8pt; border-top: 0.2mm solid #888; padding-top: 1mm; }
.mark { position: absolute; top: 110mm; left: 0; right: 0; text-align: center; font-size: 26pt; color: #c4c4c4; transform: rotate(-24deg); z-index: -1; }
@media screen { section { border: 0.3mm solid #bbb; padding: 8mm; width: 206mm; margin: 4mm auto; } body { width: 214mm; } }
";

/// A document of such sheets.
pub(super) fn document(title: &str, sheets: &[String], source: &SheetSource) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail.
    let _ = write_document(&mut text, title, sheets, source);
    text
}

fn write_document(out: &mut String, title: &str, sheets: &[String], source: &SheetSource) -> fmt::Result {
    let title = escaped(title);
    writeln!(
        out,
        "<!doctype html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">\n<title>{title}</title>\n<style>\n{STYLE}</style>"
    )?;
    for (k, sheet) in sheets.iter().enumerate() {
        writeln!(out, "<section>")?;
        if let Some(mark) = source.watermark() {
            writeln!(out, "<div class=\"mark\">{mark}</div>")?;
        }
        let foot = format!("{} · {} · sheet {} of {}", source.name, source.line(), k + 1, sheets.len());
        writeln!(out, "{sheet}<footer>{}</footer>\n</section>", escaped(&foot))?;
    }
    writeln!(out, "</html>")
}

/// Steps with a box to tick.
pub(super) fn steps(steps: &[String]) -> String {
    let items: String =
        steps.iter().map(|step| format!("<li><span class=\"box\"></span>{}</li>\n", escaped(step))).collect();
    format!("<ol class=\"steps\">\n{items}</ol>\n")
}

/// A bar of 100 mm to hold a rule to.
pub(super) const SCALE_BAR: &str = "<p><svg width=\"102mm\" height=\"6mm\" viewBox=\"0 0 102 6\"><path d=\"M1 3H101M1 0.5V5.5M101 0.5V5.5\" \
    fill=\"none\" stroke=\"#000\" stroke-width=\"0.3\"/></svg> 100 mm: measure it; print at 100 %.</p>\n";

/// Two pieces of a page beside each other.
pub(super) fn beside(left: &str, right: &str) -> String {
    format!("<div class=\"two\">\n<div>\n{left}</div>\n<div>\n{right}</div>\n</div>\n")
}
