//! Every broken file in `tests/broken/` gives exactly the message beside it, and no bytes at all make the reader panic.

mod broken_files;

use std::error::Error;
use std::fs;
use std::path::Path;

use broken_files::{assert_messages, mutated};
use hubtrace::cli::listing;
use hubtrace::file::{GeometryFile, ReadError};
use hubtrace::geometry::Side;

const GOOD: &str = include_str!("good/corner.toml");
const EVERY_KEY: &str = include_str!("good/every_key.toml");

fn message(path: &Path) -> String {
    GeometryFile::read(path).map_or_else(|error| listing(&error), |_| "read without complaint".into())
}

#[test]
fn every_broken_file_gives_the_message_beside_it() {
    assert_messages("tests/broken", "toml", message);
}

#[test]
fn a_folder_is_no_geometry_file() {
    assert_eq!(
        message(Path::new("tests/broken")),
        "error: tests/broken is a folder, not a file\n      | name the file inside it"
    );
}

#[test]
fn a_file_that_is_not_there_keeps_its_cause() {
    let error = GeometryFile::read(Path::new("tests/broken/nowhere.toml")).unwrap_err();
    assert!(error.to_string().starts_with("tests/broken/nowhere.toml cannot be read: "), "{error}");
    assert!(listing(&error).contains("      | check the path"), "{error}");
    assert!(error.source().is_some());
}

#[cfg(unix)]
#[test]
fn too_many_open_files_are_told_as_that() {
    let cause = std::io::Error::from_raw_os_error(24); // EMFILE of Linux, macOS and the BSDs
    let listed = listing(&ReadError::Unreadable { source: "rear.toml".into(), cause });
    assert!(listed.contains("      | too many files are open: close other programs"), "{listed}");
}

#[cfg(unix)]
#[test]
fn a_file_that_may_not_be_read_says_so() {
    use std::os::unix::fs::PermissionsExt;
    let file = tempfile::NamedTempFile::new().unwrap();
    fs::set_permissions(file.path(), fs::Permissions::from_mode(0o000)).unwrap();
    if fs::File::open(file.path()).is_ok() {
        return; // the superuser may read everything
    }
    let listed = listing(&GeometryFile::read(file.path()).unwrap_err());
    assert!(listed.contains("allow reading of the file"), "{listed}");
}

#[test]
fn a_file_of_a_hundred_megabytes_is_refused_without_being_read() {
    let file = tempfile::NamedTempFile::new().unwrap();
    file.as_file().set_len(100_000_000).unwrap();
    let error = GeometryFile::read(file.path()).unwrap_err();
    assert!(matches!(error, ReadError::TooLarge { limit_bytes: 1_000_000, .. }));
    assert!(error.to_string().ends_with("is larger than 1 MB"), "{error}");
}

#[test]
fn a_file_with_a_thousand_mistakes_shows_the_first_hundred() {
    let keys: String = (0..1000).map(|i| format!("part_{i} = {i}\n")).collect();
    let error = GeometryFile::parse("long.toml", &keys).unwrap_err();
    let ReadError::Problems { problems, left_out } = &error else { panic!("{error}") };
    assert_eq!((problems.len(), *left_out), (100, 903));
    assert!(listing(&error).ends_with("error: 903 more problems; correct these first"));
    assert!(error.to_string().ends_with("903 more problems"));
}

#[test]
fn a_problem_of_a_whole_side_points_at_its_first_link() {
    let right = "\n[[right.link]]\nname = \"toe link\"\nchassis = [-220.0, -360.0, 262.0]\n\
                 upright = [-130.0, -668.0, 270.0]\n";
    let file = GeometryFile::parse("rear.toml", &format!("{GOOD}{right}")).unwrap();
    let left = listing(&file.problem_at_links(Side::Left, "these links do not hold the wheel", "move one"));
    let line = GOOD.lines().position(|line| line == "[[link]]").unwrap() + 1;
    let start = format!("error: rear.toml, line {line}, column 1: these links do not hold the wheel\n");
    assert!(left.starts_with(&start), "{left}");
    assert!(left.ends_with(" | [[link]]\n      | move one"), "{left}");
    assert!(listing(&file.problem_at_links(Side::Right, "", "")).contains(" | [[right.link]]\n"));
}

#[test]
fn no_change_of_a_few_bytes_makes_the_reader_panic() {
    let pieces =
        ["[", "]", "=", "\"", "nan", "-", "1e300", "\n", "{", "}", ".", "[[link]]\n", "é", "\u{feff}", "'''", "#"];
    assert!(GeometryFile::parse("rear.toml", EVERY_KEY).is_ok());
    for text in mutated(&[GOOD, EVERY_KEY], &pieces, 20_000, 5) {
        if let Err(error) = GeometryFile::parse("mutated.toml", &text) {
            assert!(listing(&error).starts_with("error: mutated.toml"), "{error}");
        }
    }
}

#[test]
fn deep_nesting_is_an_error_and_no_overflow() {
    for text in [format!("a = {}", "[".repeat(400_000)), format!("a = {}", "{a=".repeat(200_000))] {
        assert!(GeometryFile::parse("deep.toml", &text).is_err());
    }
}
