//! Texts, words of a list, true and false.

use toml_edit::Item;

use crate::plain_text::is_plain;

use crate::strength::{Thread, ThreadError};

use super::value::{Scope, ValueError, ValueKind, kind_name, shown};

/// Text in quotes, on one line.
pub(crate) struct Text;

impl ValueKind for Text {
    type Value = String;

    fn wants(&self, _: Scope) -> String {
        "text in quotes, on one line, of at most 80 characters".into()
    }

    fn read(&self, item: &Item, _: Scope) -> Result<String, ValueError> {
        let text = text_of(item)?;
        if text.trim().is_empty() {
            return Err(ValueError::new("is empty"));
        }
        if text.chars().any(char::is_control) || text.chars().count() > 80 {
            return Err(ValueError::new("is not one short line of text"));
        }
        match text.chars().find(|&c| !is_plain(c)) {
            Some(c) => Err(ValueError::new(format!("holds U+{:04X}, a character that cannot be seen", u32::from(c)))),
            None => Ok(text.to_owned()),
        }
    }
}

/// Text of any length and of several lines.
pub(crate) struct LongText;

impl ValueKind for LongText {
    type Value = String;

    fn wants(&self, _: Scope) -> String {
        "text between three quotes before and behind it".into()
    }

    fn read(&self, item: &Item, _: Scope) -> Result<String, ValueError> {
        text_of(item).map(str::to_owned)
    }
}

/// One of a few words, each with what it stands for.
pub(crate) struct Word<T: 'static>(pub(crate) &'static [(&'static str, T)]);

impl<T: Copy> ValueKind for Word<T> {
    type Value = T;

    fn wants(&self, _: Scope) -> String {
        self.0.iter().map(|(word, _)| format!("{word:?}")).collect::<Vec<_>>().join(" or ")
    }

    fn read(&self, item: &Item, _: Scope) -> Result<T, ValueError> {
        let text = text_of(item)?;
        let known = self.0.iter().find(|(word, _)| *word == text);
        known.map(|(_, meaning)| *meaning).ok_or_else(|| ValueError::new(format!("does not know {}", shown(text))))
    }
}

/// The designation of a screw thread.
pub(crate) struct ThreadKind;

impl ValueKind for ThreadKind {
    type Value = Thread;

    fn wants(&self, _: Scope) -> String {
        "a thread such as \"M10x1.25\", \"M10\" or \"3/8-24\"".into()
    }

    fn read(&self, item: &Item, _: Scope) -> Result<Thread, ValueError> {
        let text = text_of(item)?;
        text.parse().map_err(|why: ThreadError| ValueError::new(format!("{why}: {}", shown(text))))
    }
}

/// `true` or `false`.
pub(crate) struct Flag;

impl ValueKind for Flag {
    type Value = bool;

    fn wants(&self, _: Scope) -> String {
        "true or false, without quotes".into()
    }

    fn read(&self, item: &Item, _: Scope) -> Result<bool, ValueError> {
        let meant = item.as_str().map_or("", |text| match text.trim().to_lowercase().as_str() {
            "yes" | "true" | "on" => "; probably true",
            "no" | "false" | "off" => "; probably false",
            _ => "",
        });
        let is = item.as_str().map_or_else(|| kind_name(item).to_owned(), shown);
        item.as_bool().ok_or_else(|| ValueError::new(format!("is {is}, not true or false{meant}")))
    }
}

/// The version of the file's own form; there is one.
pub(crate) struct Schema;

impl ValueKind for Schema {
    type Value = ();

    fn wants(&self, _: Scope) -> String {
        "`schema = 1`, the only form that this version reads".into()
    }

    fn read(&self, item: &Item, _: Scope) -> Result<(), ValueError> {
        match item.as_integer() {
            Some(1) => Ok(()),
            Some(other) => Err(ValueError::new(format!("is {other}, which this version cannot read"))),
            None => match item.as_float() {
                Some(number) => Err(ValueError::new(format!("is {number:?}, not the whole number 1"))),
                None => Err(ValueError::new(format!("is {}, not the number 1", kind_name(item)))),
            },
        }
    }
}

fn text_of(item: &Item) -> Result<&str, ValueError> {
    item.as_str().ok_or_else(|| ValueError::new(format!("is {}, not text", kind_name(item))))
}
