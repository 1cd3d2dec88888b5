//! Text inside HTML and SVG.

use crate::plain_text::plain;

/// Text that is shown as it is, also inside quotes of an attribute; what would steer or hide is written out.
pub(super) fn escaped(text: &str) -> String {
    plain(text).replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
