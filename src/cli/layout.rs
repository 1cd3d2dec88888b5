//! Text laid out for a screen of 80 columns.

use textwrap::core::display_width;
use textwrap::{Options, WordSplitter, fill};

const COLUMNS: usize = 80;

/// What is written line by line, as one text.
pub fn text_of(write: impl FnOnce(&mut String) -> std::fmt::Result) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail.
    let _ = write(&mut text);
    text
}

/// A paragraph broken to the width of the screen, further lines set in by two; file names stay whole at their hyphens.
pub fn wrapped(indent: &str, text: &str) -> String {
    let further = format!("{indent}  ");
    let options = Options::new(COLUMNS).initial_indent(indent).subsequent_indent(&further);
    fill(text, options.word_splitter(WordSplitter::NoHyphenation))
}

/// Advice below a message, behind the bar that sets it off.
pub fn quoted(text: &str) -> String {
    const BAR: &str = "      | ";
    fill(text, Options::new(COLUMNS).initial_indent(BAR).subsequent_indent(BAR))
}

/// A text that fills so many columns of the screen, cut or padded; letters of some scripts take two.
pub fn column(text: &str, columns: usize) -> String {
    let mut cut = text.to_owned();
    if display_width(text) > columns {
        while display_width(&cut) >= columns {
            cut.pop();
        }
        cut.push('…');
    }
    let left = columns.saturating_sub(display_width(&cut));
    cut + &" ".repeat(left)
}

#[cfg(test)]
mod tests {
    use super::{column, quoted};
    use textwrap::core::display_width;

    #[test]
    fn a_column_is_as_wide_as_it_says_in_every_script() {
        for text in
            ["", "toe link", "upper front, the one with the bent bracket", "前上リンク前上リンク前上リンク前上リンク"]
        {
            assert_eq!(display_width(&column(text, 22)), 22, "{text}");
        }
        assert_eq!(column("toe link", 10), "toe link  ");
        assert_eq!(column("lower front", 8), "lower f…");
    }

    #[test]
    fn advice_keeps_its_bar_on_every_line() {
        let text = quoted(&"move one of these links ".repeat(6));
        assert!(text.lines().count() > 1 && text.lines().all(|line| line.starts_with("      | ")), "{text}");
    }
}
