//! Text laid out for a screen of 80 columns.

use textwrap::core::display_width;
use textwrap::{Options, WordSplitter, fill};

use crate::present::unbroken::{freed, held};

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
    freed(&fill(&held(text), options.word_splitter(WordSplitter::NoHyphenation)))
}

/// Advice below a message, behind the bar that sets it off.
pub fn quoted(text: &str) -> String {
    const BAR: &str = "      | ";
    freed(&fill(&held(text), Options::new(COLUMNS).initial_indent(BAR).subsequent_indent(BAR)))
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

/// A name between what leads a line and its cells; one that is too long for its column has a line of its own above the cells, so that
/// two that begin alike can be told apart.
pub fn named(lead: &str, name: &str, columns: usize, cells: &str) -> String {
    if display_width(name) < columns {
        return format!("{lead}{}{cells}", column(name, columns));
    }
    let (before, room) = (display_width(lead), COLUMNS.saturating_sub(display_width(lead)));
    let whole = if display_width(name) > room { column(name, room) } else { name.to_owned() };
    format!("{lead}{whole}\n{}{cells}", " ".repeat(before + columns))
}

/// Rows of cells as lines: the first column to the left, the last as it comes, those between to the right. A column is at
/// least so wide, and wider where a cell needs it, so that two cells never touch; where the lines would be too long for the
/// screen, a column is only as wide as its cells need, and then names are cut. A row of one cell is a head.
pub fn table(rows: &[Vec<String>], least: &[usize]) -> Vec<String> {
    let needed = |k: usize| {
        let cells = rows.iter().filter(|row| row.len() > 1).filter_map(|row| row.get(k));
        cells.map(|cell| display_width(cell)).max().unwrap_or(0) + usize::from(k > 0)
    };
    let needed: Vec<usize> = (0..=least.len()).map(needed).collect();
    let usual: Vec<usize> = least.iter().zip(&needed).map(|(least, needed)| *least.max(needed)).collect();
    let too_wide = |widths: &[usize]| (widths.iter().sum::<usize>() + needed[least.len()]).saturating_sub(COLUMNS);
    let mut widths = if too_wide(&usual) > 0 { needed[..least.len()].to_vec() } else { usual };
    let cut = too_wide(&widths);
    widths[0] = widths[0].saturating_sub(cut);
    let line = |row: &Vec<String>| {
        let [name, cells @ ..] = &row[..] else { return String::new() };
        if cells.is_empty() {
            return name.clone();
        }
        let mut line = column(name, widths[0]);
        for (cell, width) in cells.iter().zip(widths[1..].iter().map(Some).chain([None])) {
            let blanks = width.map_or(1, |width| width.saturating_sub(display_width(cell)));
            line += &format!("{}{cell}", " ".repeat(blanks));
        }
        line.trim_end().to_owned()
    };
    rows.iter().map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::{column, named, quoted, table};
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
    fn a_long_name_stands_above_its_cells() {
        assert_eq!(named("1 ", "toe link", 10, "12 N"), "1 toe link  12 N");
        assert_eq!(named("1 ", "lower wishbone, rear leg", 10, "12 N"), "1 lower wishbone, rear leg\n            12 N");
        assert_eq!(display_width(named("1 ", &"T".repeat(100), 10, "12 N").lines().next().unwrap()), 80);
    }

    #[test]
    fn cells_of_a_table_never_touch() {
        let row = |cells: [&str; 4]| cells.map(str::to_owned).to_vec();
        let rows = [row(["scrub", "in", "-0.094 to 0.004", "pass"]), row(["plunge", "in", "1.575 to 4.331", "FAIL"])];
        assert_eq!(table(&rows, &[8, 3, 6]), ["scrub    in -0.094 to 0.004 pass", "plunge   in  1.575 to 4.331 FAIL"]);
        let narrow = table(&rows, &[60, 3, 20]);
        assert_eq!(narrow, ["scrub  in -0.094 to 0.004 pass", "plunge in  1.575 to 4.331 FAIL"]);
    }

    #[test]
    fn advice_keeps_its_bar_on_every_line() {
        let text = quoted(&"move one of these links ".repeat(6));
        assert!(text.lines().count() > 1 && text.lines().all(|line| line.starts_with("      | ")), "{text}");
    }
}
