//! The two streams when nobody listens, or nothing fits.

use std::fs;
use std::io;

use crate::program::hubtrace;

#[test]
fn a_reader_that_goes_away_is_no_error() {
    let (reader, writer) = io::pipe().expect("a pipe");
    drop(reader);
    let output = hubtrace().args(["check", "--quiet"]).stdout(writer).output().expect("the program starts");
    assert_eq!((output.status.code(), String::from_utf8_lossy(&output.stderr).as_ref()), (Some(0), ""));
}

#[cfg(target_os = "linux")]
#[test]
fn a_result_that_cannot_be_printed_is_an_output_error() {
    let full = fs::OpenOptions::new().write(true).open("/dev/full").expect("a full device");
    let output = hubtrace().args(["check", "--quiet"]).stdout(full).output().expect("the program starts");
    assert_eq!(output.status.code(), Some(4));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(said.starts_with("error: cannot print the result: "), "{said}");
}
