//! The list of files that this program wrote into a folder, in the format of `sha256sum`.

use std::collections::BTreeMap;
use std::fmt::Write;

use sha2::{Digest, Sha256};

/// Name of the list; `sha256sum -c hubtrace-files.sha256` checks a folder without this program.
pub const MANIFEST_NAME: &str = "hubtrace-files.sha256";

/// SHA-256 of some bytes in lower-case hexadecimal digits.
pub fn sha256_hex(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().fold(String::with_capacity(64), |mut hex, byte| {
        // Writing to a String cannot fail.
        let _ = write!(hex, "{byte:02x}");
        hex
    })
}

/// File names and the hashes of what was written under them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Manifest {
    hash_of: BTreeMap<String, String>,
}

impl Manifest {
    /// Reads a list; `None` when a line is not of the form `hash, two spaces, name`.
    pub(super) fn parse(bytes: &[u8]) -> Option<Self> {
        let text = std::str::from_utf8(bytes).ok()?;
        let hash_of = text.lines().map(parse_line).collect::<Option<_>>()?;
        Some(Self { hash_of })
    }

    pub(super) fn text(&self) -> String {
        self.hash_of.iter().map(|(name, hash)| format!("{hash}  {name}\n")).collect()
    }

    pub(super) fn record(&mut self, name: &str, contents: &[u8]) {
        self.hash_of.insert(name.to_owned(), sha256_hex(contents));
    }

    /// Takes over what another list says of a file.
    pub(super) fn adopt(&mut self, name: &str, from: &Self) {
        if let Some(hash) = from.hash_of.get(name) {
            self.hash_of.insert(name.to_owned(), hash.clone());
        }
    }

    /// True when this program wrote exactly these contents under this name.
    pub(super) fn lists(&self, name: &str, contents: &[u8]) -> bool {
        self.hash_of.get(name).is_some_and(|hash| *hash == sha256_hex(contents))
    }
}

fn parse_line(line: &str) -> Option<(String, String)> {
    let (hash, name) = line.split_once("  ")?;
    let is_hash = hash.len() == 64 && hash.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'));
    (is_hash && !name.is_empty()).then(|| (name.to_owned(), hash.to_owned()))
}

#[cfg(test)]
mod tests {
    use super::{Manifest, sha256_hex};

    #[test]
    fn the_hash_is_the_one_of_the_standard() {
        // FIPS 180-4, the example "abc".
        assert_eq!(sha256_hex(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    #[test]
    fn a_list_reads_back_as_it_was_written() {
        let mut manifest = Manifest::default();
        manifest.record("heave.csv", b"side\n");
        manifest.record("toe against bump.svg", b"<svg/>");
        assert_eq!(Manifest::parse(manifest.text().as_bytes()), Some(manifest));
    }

    #[test]
    fn other_texts_are_no_list() {
        for text in ["my notes\n", "\n", "ba7816bf  heave.csv\n", "\u{0}\n"] {
            assert_eq!(Manifest::parse(text.as_bytes()), None, "{text:?}");
        }
        assert_eq!(Manifest::parse(&[0xff, 0xfe]), None);
    }
}
