//! Text from outside (names in a file, names of files) that is shown, and must neither steer a terminal nor break a
//! drawing or a table.

use std::borrow::Cow;
use std::path::Path;

/// True for what is seen as it stands: no control, line end, direction mark, invisible mark or noncharacter.
///
/// Joiners stay, because some scripts need them to be written.
pub(crate) fn is_plain(c: char) -> bool {
    let steers = c.is_control() || matches!(c, '\u{2028}' | '\u{2029}');
    let turns = matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let hides = matches!(
        c,
        '\u{ad}' | '\u{200b}' | '\u{2060}'..='\u{2064}' | '\u{206a}'..='\u{206f}' | '\u{feff}'
            | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e0fff}'
    );
    let is_none = u32::from(c) & 0xfffe == 0xfffe || matches!(c, '\u{fdd0}'..='\u{fdef}');
    !(steers || turns || hides || is_none)
}

/// The text with everything else written as an escape, such as `\n` or `\u{202e}`.
pub(crate) fn plain(text: &str) -> Cow<'_, str> {
    if text.chars().all(is_plain) {
        return Cow::Borrowed(text);
    }
    let escaped = |text: &mut String, c: char| if is_plain(c) { text.push(c) } else { text.extend(c.escape_default()) };
    Cow::Owned(text.chars().fold(String::with_capacity(text.len() + 8), |mut text, c| {
        escaped(&mut text, c);
        text
    }))
}

/// The path of a file or folder on one line.
pub(crate) fn plain_path(path: &Path) -> String {
    plain(&path.to_string_lossy()).into_owned()
}

#[cfg(test)]
mod tests {
    use super::{is_plain, plain};

    #[test]
    fn every_script_stays_as_it_is() {
        for text in ["toe link", "Querlenker hinten, Länge ⌀ 25,4", "前上リンク", "می‌خواهم", "a\\b", "👩‍🔧", ""]
        {
            assert_eq!(plain(text), text);
        }
    }

    #[test]
    fn what_steers_turns_or_hides_is_written_out() {
        assert_eq!(plain("a\nerror: b\u{1b}[31m\t"), "a\\nerror: b\\u{1b}[31m\\t");
        assert_eq!(plain("rear\u{202e}lmot.\u{2028}\u{fffe}"), "rear\\u{202e}lmot.\\u{2028}\\u{fffe}");
    }

    #[test]
    fn no_noncharacter_is_plain() {
        // Unicode, chapter 23.7: the last two of each of the 17 planes and 32 more.
        let none = (0..=0x10ffff).filter_map(char::from_u32).filter(|&c| {
            let code = u32::from(c);
            code % 0x10000 >= 0xfffe || (0xfdd0..=0xfdef).contains(&code)
        });
        let (count, plain) = none.fold((0, 0), |(count, plain), c| (count + 1, plain + usize::from(is_plain(c))));
        assert_eq!((count, plain), (66, 0));
    }
}
