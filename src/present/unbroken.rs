//! Lines that do not end between a number and its unit.

/// Stands for the blank between a number and its unit while a text is broken into lines.
const HELD: char = '\u{a0}';
const UNITS: [&str; 11] = ["%", "mm", "deg", "in", "N", "kN", "N·m", "kg", "MPa", "Hz", "cm"];

/// The text with every number held to the unit behind it, for who breaks it into lines.
///
/// Tested by the unit tests below and `the_tour_of_the_readme_works_as_printed`.
pub fn held(text: &str) -> String {
    let mut held = String::with_capacity(text.len() + 8);
    for (index, c) in text.char_indices() {
        let is_after_number = held.ends_with(|last: char| last.is_ascii_digit());
        let next = &text[index + c.len_utf8()..];
        let word = next.split(|c: char| c.is_whitespace() || ",.;:)(".contains(c)).next().unwrap_or_default();
        held.push(if c == ' ' && is_after_number && UNITS.contains(&word) { HELD } else { c });
    }
    held
}

/// The same with its blanks back.
pub fn freed(text: &str) -> String {
    text.replace(HELD, " ")
}

#[cfg(test)]
mod tests {
    use super::{freed, held};

    #[test]
    fn no_line_ends_between_a_number_and_its_unit() {
        let text = "both wheels inside: 9.6 % (9.1 % to 10 %, 19 times of 20); moves 3.1 mm in 2 steps";
        for width in 12..60 {
            let lines: Vec<String> = textwrap::wrap(&held(text), width).iter().map(|line| freed(line)).collect();
            assert_eq!(lines.join(" "), text);
            let splits = lines.iter().skip(1).any(|line| line.starts_with('%') || line.starts_with("mm"));
            assert!(!splits && lines.iter().all(|line| line.chars().count() <= width), "{lines:?}");
        }
    }
}
