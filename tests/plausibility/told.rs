//! What is told of a car that was changed in a few places.

use hubtrace::file::GeometryFile;
use hubtrace::studies::plausibility::doubts;

/// Every doubt about a car, as it is told.
pub fn told(text: &str) -> Vec<String> {
    let file = GeometryFile::parse("rear.toml", text).unwrap_or_else(|error| panic!("{error}"));
    doubts(&file.geometry).into_iter().map(String::from).collect()
}

/// The car with another piece in the place of the first that reads so, for each of these.
pub fn changed(car: &str, changes: &[(&str, &str)]) -> String {
    changes.iter().fold(car.to_owned(), |text, (piece, other)| {
        assert!(text.contains(piece), "{piece}");
        text.replacen(piece, other, 1)
    })
}

/// The same of the last that reads so.
pub fn last_changed(car: &str, [piece, other]: [&str; 2]) -> String {
    let at = car.rfind(piece).unwrap_or_else(|| panic!("{piece}"));
    format!("{}{other}{}", &car[..at], &car[at + piece.len()..])
}
