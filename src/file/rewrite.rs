//! A changed geometry written back into its own file: the numbers that moved, and not one byte beside them.

use std::error::Error;
use std::fmt;

use toml_edit::{Document, TomlError};

use super::edits::{Edits, decimals, with_top_key};
use super::error::ReadError;
use super::geometry_file::GeometryFile;
use super::same_lines::at_lines_of;
use super::tables;
use super::tuned_mark::marked;
use crate::geometry::{Geometry, LengthUnit, Side};

/// How far a point may come out from where it was meant, in last digits: rounded itself, and in hub axes carried by a
/// wheel centre that is rounded too.
const LAST_DIGITS: f64 = 4.0;

/// Spin axes nearer than this (no unit) are the same to the digits of their angles.
const SAME_SPIN: f64 = 1e-7;

/// The text of `file` with the points of `changed` in place of its own.
///
/// Written are the wheel (centre, toe, camber), the points of links, halfshaft and spring, the bolts of rod ends and the taped
/// lengths of links, under `[right]` where they
/// stand there, each only where it differs by more than half a last digit (0.0001 mm, 0.00001 in, 0.000001 deg). A link
/// that was given a chassis point has it in place of `within`. `free` counts from the new points, and is
/// the room that is left after what has moved. A tuned car has its mark in the file, a built one whose points were moved `planned`.
pub fn rewrite(file: &GeometryFile, changed: &Geometry) -> Result<String, RewriteError> {
    let text = text_with(file, changed)?;
    let text = if changed.planned == file.geometry.planned { text } else { with_plan(&text, changed)? };
    let written = read_back(file, changed, &text)?;
    if changed.tuned { marked(&text, &written) } else { Ok(text) }
}

/// A text that says whether points were moved since the car was built.
pub(super) fn with_plan(text: &str, changed: &Geometry) -> Result<String, RewriteError> {
    let comment = " # points were moved since the car was built: a plan for it, not the car as it stands";
    with_top_key(text, changed.units, "planned", &changed.planned.to_string(), comment).map_err(RewriteError::NotToml)
}

/// The text before it is read back.
pub(super) fn text_with(file: &GeometryFile, changed: &Geometry) -> Result<String, RewriteError> {
    text_over(&file.text, changed)
}

/// A text of a geometry file with other points.
pub(super) fn text_over(text: &str, changed: &Geometry) -> Result<String, RewriteError> {
    let document = Document::parse(text).map_err(RewriteError::NotToml)?;
    let mut edits = Edits::new(text, changed.units);
    tables::write(&mut edits, &document, changed);
    Ok(edits.applied())
}

/// What a text says that stands for `file` with other points; its mistakes are told at the lines of the file that is there.
pub(super) fn parsed_again(file: &GeometryFile, text: &str) -> Result<Geometry, RewriteError> {
    let read = GeometryFile::parse(&file.source, text);
    Ok(read.map_err(|error| RewriteError::Unsound(at_lines_of(&file.text, text, error)))?.geometry)
}

/// How far a point of a rewritten file may be from where it was meant.
pub(super) fn apart_mm(units: LengthUnit) -> f64 {
    LAST_DIGITS * units.in_mm() / 10_f64.powi(decimals(units) as i32)
}

/// Reads what was written and compares: a move that the file has no place for must not be lost.
pub(super) fn read_back(file: &GeometryFile, changed: &Geometry, text: &str) -> Result<Geometry, RewriteError> {
    let written = parsed_again(file, text)?;
    let apart_mm = apart_mm(changed.units);
    for side in Side::BOTH {
        let spins = [written.corner(side), changed.corner(side)].map(|corner| corner.wheel.spin_axis);
        if (spins[0].into_inner() - spins[1].into_inner()).norm() > SAME_SPIN {
            return Err(RewriteError::NoPlace { points: vec!["toe and camber".into()], side });
        }
        let corner = changed.corner(side);
        let pairs = written.corner(side).points().into_iter().zip(corner.points());
        let lost = pairs.filter(|((_, written), (_, meant))| (written - meant).norm() > apart_mm);
        let points: Vec<String> = lost.map(|(_, (point, _))| corner.name_of(point)).collect();
        if !points.is_empty() {
            return Err(RewriteError::NoPlace { points, side });
        }
    }
    let left_out = written.unplaced().into_iter().filter(|name| !changed.unplaced().contains(name));
    let points: Vec<String> = left_out.map(|name| format!("{name} chassis")).collect();
    if points.is_empty() { Ok(written) } else { Err(RewriteError::NoPlace { points, side: Side::Left }) }
}

/// Why a changed geometry was not written back.
#[derive(Debug)]
pub enum RewriteError {
    /// The text of the file is no TOML.
    NotToml(TomlError),
    /// The changed points make no geometry that can be read; the mistakes are told at the lines of the unchanged file.
    Unsound(ReadError),
    /// Points have moved that the file does not give.
    NoPlace {
        /// Their names, as [`Corner::name_of`](crate::geometry::Corner::name_of) has them, or `toe and camber`.
        points: Vec<String>,
        /// The side on which they moved.
        side: Side,
    },
    /// The mount of a spring was measured away from the line of the link that carries it.
    OffLine {
        /// Name of the link.
        link: String,
        /// How far.
        off_mm: f64,
        /// In which it is told.
        units: LengthUnit,
    },
}

impl fmt::Display for RewriteError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            RewriteError::NotToml(error) => write!(f, "the geometry file is not valid TOML: {}", error.message()),
            RewriteError::Unsound(error) => write!(f, "the changed points make no sound geometry:\n{error}"),
            RewriteError::NoPlace { points, side } => {
                let names: Vec<String> = points.iter().map(|point| format!("{point:?}")).collect();
                let have = if points.len() == 1 { "has" } else { "have" };
                let (names, side) = (names.join(", "), side.name());
                write!(f, "the file has no number of its own for {names} on the {side}, which {have} moved")
            }
            RewriteError::OffLine { link, off_mm, units } => {
                let off = units.show(*off_mm);
                write!(f, "the spring mount was measured {off} off the line of link {link:?}, which carries it")
            }
        }
    }
}

impl RewriteError {
    /// What to do about it.
    pub fn advice(&self) -> &str {
        match self {
            RewriteError::Unsound(ReadError::Problems { problems, .. }) if problems.len() == 1 => &problems[0].advice,
            RewriteError::NotToml(_) | RewriteError::Unsound(_) => "correct the file, then run the command again",
            RewriteError::OffLine { .. } => {
                "measure it and both ends of the link again, or leave it out of the survey: it then keeps its share of the link"
            }
            RewriteError::NoPlace { side: Side::Left, .. } => {
                "write out `toe` and `camber` in [wheel], and `within` of [[link]] as { x = [..], y = [..], z = [..] }"
            }
            RewriteError::NoPlace { side: Side::Right, .. } => "give this part its own numbers under [right]",
        }
    }
}

impl Error for RewriteError {
    fn source(&self) -> Option<&(dyn Error + 'static)> {
        match self {
            RewriteError::NotToml(error) => Some(error),
            RewriteError::Unsound(error) => Some(error),
            RewriteError::NoPlace { .. } | RewriteError::OffLine { .. } => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::rewrite;
    use crate::file::GeometryFile;
    use crate::geometry::{AdjustmentRange, ChassisPlace, Side};

    /// On the right the box counts the other way in y; beside what is free of the link already, and with nothing free.
    #[test]
    fn a_new_point_has_the_rest_of_its_box_as_its_room() {
        let text = include_str!("../../geometries/as-built.toml");
        let (left, right) = text.split_once("[right.wheel]").expect("two sides");
        let link = |text: &str, within: &str| {
            let (before, toe) = text.split_once("name = \"toe link\"\n").expect("a toe link");
            let (_, rest) = toe.split_once('\n').expect("its chassis point");
            format!("{before}name = \"toe link\"\nwithin = {within}\n{rest}")
        };
        let left = link(left, "{ x = [-200.0, -120.0], y = [340.0, 390.0], z = [240.0, 290.0] } # a plate");
        let right = link(
            right,
            "{ x = [-200.0, -120.0], y = [-390.0, -340.0], z = [240.0, 290.0] }\nfree = { upright = { z = [-8.0, 8.0] } }",
        );
        let file = GeometryFile::parse("rear.toml", &format!("{left}[right.wheel]{right}"))
            .unwrap_or_else(|error| panic!("{error}"));
        let mut tuned = file.geometry.clone();
        for side in Side::BOTH {
            let range = |low: f64, high: f64| Some(AdjustmentRange { low, high, step: None });
            let may = &mut tuned.adjustments[side].links[4];
            (may.place, may.chassis) =
                (ChassisPlace::Drawn, [range(-10.0, 70.0), range(-20.0, 30.0), range(0.0, 50.0)]);
        }
        let written = rewrite(&file, &tuned).unwrap_or_else(|error| panic!("{error}"));
        let read =
            GeometryFile::parse("tuned.toml", &written).unwrap_or_else(|error| panic!("{error}\n{written}")).geometry;
        for side in Side::BOTH {
            assert_eq!(read.adjustments[side].links[4], tuned.adjustments[side].links[4], "{written}");
        }
    }
}
