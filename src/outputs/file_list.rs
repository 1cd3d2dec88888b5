//! The lists of files that this program wrote into a folder: one a command, in the format of `sha256sum`.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;
use std::fmt::Write;
use std::fs;
use std::path::{Component, Path, PathBuf};

use sha2::{Digest, Sha256};

use super::error::{Action, WriteError};
use super::staged::{is_plain_file, plain_file_at, read};
use crate::plain_text::is_plain;

/// `hubtrace-COMMAND.sha256`; `sha256sum -c` checks a folder without this program.
const PREFIX: &str = "hubtrace-";
const SUFFIX: &str = ".sha256";
const MADE_FROM: &str = "# made from ";

/// Name of the list of a command.
pub fn list_name(command: &str) -> String {
    format!("{PREFIX}{command}{SUFFIX}")
}

/// Letters of a hash that tell two files apart.
const HASH_LETTERS: usize = 12;

/// What a chart or a sheet was made from, for people: `rear.toml · SHA-256 0123456789ab…`.
pub(super) fn file_and_hash(file: &str, input_sha256: &str) -> String {
    let hash: String = input_sha256.chars().take(HASH_LETTERS).collect();
    format!("{} · SHA-256 {hash}…", file_name(file))
}

/// Without its folder.
pub(super) fn file_name(file: &str) -> Cow<'_, str> {
    Path::new(file).file_name().map_or(file.into(), OsStr::to_string_lossy)
}

/// SHA-256 of some bytes in lower-case hexadecimal digits.
pub fn sha256_hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::with_capacity(64), |mut hex, byte| {
        // Writing to a String cannot fail.
        let _ = write!(hex, "{byte:02x}");
        hex
    })
}

/// What one command wrote, and from what.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct FileList {
    /// Hash and name of the input; `None` when the list does not say.
    pub(super) made_from: Option<(String, String)>,
    pub(super) hash_of: BTreeMap<String, String>,
}

impl FileList {
    /// Reads a list; `None` when it is none.
    fn parse(bytes: &[u8]) -> Option<Self> {
        let text = std::str::from_utf8(bytes).ok()?;
        let (head, entries) = match text.strip_prefix(MADE_FROM) {
            Some(rest) => {
                let (head, entries) = rest.split_once('\n')?;
                (Some(head), entries)
            }
            None => (None, text),
        };
        let made_from = head.map(hash_and_name);
        let entry = |line| hash_and_name(line).filter(|(_, name)| is_plain_name(name)).map(|(hash, name)| (name, hash));
        let hash_of = entries.lines().map(entry).collect::<Option<_>>()?;
        match made_from {
            Some(None) => None,
            made_from => Some(Self { made_from: made_from.flatten(), hash_of }),
        }
    }

    pub(super) fn text(&self) -> String {
        let head = self.made_from.as_ref().map(|(hash, name)| format!("{MADE_FROM}{hash}  {name}\n"));
        let entries = self.hash_of.iter().map(|(name, hash)| format!("{hash}  {name}\n"));
        head.into_iter().chain(entries).collect()
    }
}

fn hash_and_name(line: &str) -> Option<(String, String)> {
    let (hash, name) = line.split_once("  ")?;
    let is_hash = hash.len() == 64 && hash.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'));
    (is_hash && !name.is_empty() && name.chars().all(is_plain)).then(|| (hash.to_owned(), name.to_owned()))
}

/// A list that was tampered with must not reach beyond its folder.
fn is_plain_name(name: &str) -> bool {
    let mut parts = Path::new(name).components();
    matches!((parts.next(), parts.next()), (Some(Component::Normal(part)), None) if part == name)
}

/// All lists of a folder, by command. A name stands in one of them: in that of the command which wrote it last.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Lists {
    pub(super) of: BTreeMap<String, FileList>,
}

impl Lists {
    /// Reads the lists of a folder; one that cannot be read is an error.
    pub(super) fn read(folder: &Path) -> Result<Self, WriteError> {
        let mut lists = Self::default();
        for (command, path) in list_files(folder)? {
            if plain_file_at(&path)? {
                let list = FileList::parse(&read(&path)?).ok_or(WriteError::ListUnreadable { path })?;
                lists.of.insert(command, list);
            }
        }
        Ok(lists)
    }

    /// The same without those that cannot be read: fewer files are then known for own ones.
    pub(super) fn read_what_can_be(folder: &Path) -> Result<Self, WriteError> {
        let readable = |path: &Path| if is_plain_file(path) { FileList::parse(&fs::read(path).ok()?) } else { None };
        let lists = list_files(folder)?.into_iter();
        Ok(Self { of: lists.filter_map(|(command, path)| Some((command, readable(&path)?))).collect() })
    }

    /// These lists with what others say of the same commands instead.
    pub(super) fn overlaid(mut self, newer: Self) -> Self {
        self.of.extend(newer.of);
        self
    }

    pub(super) fn names(&self) -> BTreeSet<&str> {
        self.of.values().flat_map(|list| list.hash_of.keys()).map(String::as_str).collect()
    }

    /// True when this program wrote exactly these contents under this name.
    pub(super) fn know(&self, name: &str, contents: &[u8]) -> bool {
        let mut hashes = self.of.values().filter_map(|list| list.hash_of.get(name)).peekable();
        hashes.peek().is_some() && {
            let found = sha256_hex(contents);
            hashes.any(|hash| *hash == found)
        }
    }

    /// Sets the list of a command; the names in it leave the other lists.
    pub(super) fn set(&mut self, command: &str, list: FileList) {
        for other in self.of.values_mut() {
            other.hash_of.retain(|name, _| !list.hash_of.contains_key(name));
        }
        self.of.insert(command.to_owned(), list);
    }

    /// Says of a name what earlier lists said.
    pub(super) fn restore(&mut self, name: &str, earlier: &Self) {
        self.of.values_mut().for_each(|list| drop(list.hash_of.remove(name)));
        let owner = earlier.of.iter().find_map(|(command, list)| Some((command, list.hash_of.get(name)?)));
        if let Some((command, hash)) = owner {
            self.of.entry(command.clone()).or_default().hash_of.insert(name.to_owned(), hash.clone());
        }
    }
}

/// Commands and paths of what is named like a list.
fn list_files(folder: &Path) -> Result<Vec<(String, PathBuf)>, WriteError> {
    let cannot_read = |source| WriteError::System { action: Action::Read, path: folder.to_owned(), source };
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).map_err(cannot_read)? {
        let entry = entry.map_err(cannot_read)?;
        if let Some(command) = entry.file_name().to_str().and_then(command_of) {
            found.push((command.to_owned(), entry.path()));
        }
    }
    Ok(found)
}

/// The command whose list has this name.
pub(super) fn command_of(name: &str) -> Option<&str> {
    let command = name.strip_prefix(PREFIX)?.strip_suffix(SUFFIX)?;
    command.bytes().all(|byte| byte.is_ascii_lowercase()).then_some(command)
}

#[cfg(test)]
mod tests {
    use super::{FileList, Lists, MADE_FROM, command_of, list_name, sha256_hex};

    fn list(names: &[&str]) -> FileList {
        let hash_of = names.iter().map(|name| ((*name).to_owned(), sha256_hex(name.as_bytes()))).collect();
        FileList { made_from: Some((sha256_hex(b"car"), "the rear.toml".to_owned())), hash_of }
    }

    #[test]
    fn the_hash_is_the_one_of_the_standard() {
        // FIPS 180-4, the example "abc".
        assert_eq!(sha256_hex(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    #[test]
    fn a_list_reads_back_as_it_was_written() {
        for list in [list(&["heave.csv", "toe against bump.svg"]), list(&[]), FileList::default()] {
            assert_eq!(FileList::parse(list.text().as_bytes()), Some(list));
        }
    }

    #[test]
    fn other_texts_are_no_list() {
        for text in ["my notes\n", "\n", "ba7816bf  heave.csv\n", "\u{0}\n", "# made from my head\n"] {
            assert_eq!(FileList::parse(text.as_bytes()), None, "{text:?}");
        }
        assert_eq!(FileList::parse(&[0xff, 0xfe]), None);
    }

    #[test]
    fn a_list_names_nothing_outside_its_folder() {
        for name in ["../rear.toml", "/etc/hosts", "a/b", "..", ".", "a/"] {
            assert_eq!(FileList::parse(format!("{}  {name}\n", sha256_hex(b"")).as_bytes()), None, "{name}");
        }
    }

    #[test]
    fn a_list_steers_no_terminal() {
        for name in ["a\u{1b}[31m", "\u{202e}a", "a\u{fffe}"] {
            let hash = sha256_hex(b"");
            assert_eq!(FileList::parse(format!("{hash}  {name}\n").as_bytes()), None, "{name:?}");
            assert_eq!(FileList::parse(format!("{MADE_FROM}{hash}  {name}\n").as_bytes()), None, "{name:?}");
            assert_eq!(command_of(&list_name(name)), None);
        }
        assert_eq!(command_of(&list_name("sweep")), Some("sweep"));
    }

    #[test]
    fn a_name_belongs_to_the_command_that_wrote_it_last() {
        let mut lists = Lists::default();
        lists.set("sweep", list(&["heave.csv", "summary.json"]));
        let earlier = lists.clone();
        lists.set("tune", list(&["summary.json"]));
        assert!(!lists.of["sweep"].hash_of.contains_key("summary.json"));
        assert!(lists.know("summary.json", b"summary.json"));
        assert!(!lists.know("summary.json", b"edited") && !lists.know("roll.csv", b"roll.csv"));
        lists.restore("summary.json", &earlier);
        assert_eq!(lists.of["sweep"], earlier.of["sweep"]);
        assert!(lists.of["tune"].hash_of.is_empty());
    }
}
