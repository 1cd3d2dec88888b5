//! A changed geometry written back into its own file: the numbers that moved, and not one byte beside them.

use std::error::Error;
use std::fmt;

use nalgebra::Point3;
use toml_edit::{Document, Item, TableLike, TomlError, Value};

use super::error::ReadError;
use super::file::UprightAxes;
use super::model::{Corner, Geometry, LengthUnit, Link, SpringMount};
use super::problem::Span;
use super::read::GeometryFile;
use super::reader::list_of_tables;
use super::seat::UprightFrame;
use super::side::Side;

/// Digits behind the point of an angle in deg: below 0.00001 mm at a wheel's radius.
const ANGLE_DECIMALS: usize = 6;

/// How far a point may come out from where it was meant, in last digits: rounded itself, and in hub axes carried by a
/// wheel centre that is rounded too.
const LAST_DIGITS: f64 = 4.0;

/// Spin axes nearer than this (no unit) are the same to the digits of their angles.
const SAME_SPIN: f64 = 1e-7;

/// Digits behind the point of a length: 0.0001 mm or 0.00001 in.
fn decimals(units: LengthUnit) -> usize {
    match units {
        LengthUnit::Millimetre => 4,
        LengthUnit::Inch => 5,
    }
}

/// The text of `file` with the points of `changed` in place of its own.
///
/// Written are the wheel (centre, toe, camber), the points of links, halfshaft and spring, under `[right]` where they
/// stand there, each only where it differs by more than half a last digit (0.0001 mm, 0.00001 in, 0.000001 deg). A link
/// that was given a chassis point has it in place of `within`. `free` stays, and counts from the new points.
pub fn rewrite(file: &GeometryFile, changed: &Geometry) -> Result<String, RewriteError> {
    let document = Document::parse(file.text.as_str()).map_err(RewriteError::NotToml)?;
    let mut edits = Edits { text: &file.text, units: changed.units, list: Vec::new() };
    edits.side(document.as_table(), &changed.left, file.upright_axes);
    if let Some(right) = document.get("right").and_then(Item::as_table_like) {
        edits.side(right, &changed.right, file.upright_axes);
    }
    let text = edits.applied();
    read_back(file, changed, &text)?;
    Ok(text)
}

/// Reads what was written and compares: a move that the file has no place for must not be lost.
fn read_back(file: &GeometryFile, changed: &Geometry, text: &str) -> Result<(), RewriteError> {
    let written = GeometryFile::parse(&file.source, text).map_err(RewriteError::Unsound)?.geometry;
    let apart_mm = LAST_DIGITS * changed.units.in_mm() / 10_f64.powi(decimals(changed.units) as i32);
    for side in Side::BOTH {
        let spins = [written.corner(side), changed.corner(side)].map(|corner| corner.wheel.spin_axis);
        if (spins[0].into_inner() - spins[1].into_inner()).norm() > SAME_SPIN {
            return Err(RewriteError::NoPlace { point: "toe and camber".into(), side });
        }
        let corner = changed.corner(side);
        for ((_, written), (point, meant)) in written.corner(side).points().into_iter().zip(corner.points()) {
            if (written - meant).norm() > apart_mm {
                return Err(RewriteError::NoPlace { point: corner.name_of(point), side });
            }
        }
    }
    let left_out = written.unplaced().into_iter().find(|name| !changed.unplaced().contains(name));
    left_out.map_or(Ok(()), |name| Err(RewriteError::NoPlace { point: format!("{name} chassis"), side: Side::Left }))
}

/// Pieces of the text and what shall stand there.
struct Edits<'a> {
    text: &'a str,
    units: LengthUnit,
    list: Vec<(Span, String)>,
}

impl Edits<'_> {
    fn side(&mut self, keys: &dyn TableLike, corner: &Corner, axes: UprightAxes) {
        let table = |key| keys.get(key).and_then(Item::as_table_like);
        let spin = corner.wheel.spin_axis;
        let (toe_rad, camber_rad) = (spin.x.atan2(spin.y), (-spin.z).asin());
        let seat = UprightFrame::new(axes, &corner.wheel.centre, toe_rad, camber_rad);
        let chassis = |p: &Point3<f64>| corner.side.to_car(*p);
        let upright = |p: &Point3<f64>| match axes {
            UprightAxes::Car => chassis(p),
            UprightAxes::Hub => seat.as_written(p),
        };
        if let Some(wheel) = table("wheel") {
            self.point(wheel, "centre", &chassis(&corner.wheel.centre));
            self.angle(wheel, "toe", toe_rad);
            self.angle(wheel, "camber", camber_rad);
        }
        for (keys, _) in keys.get("link").and_then(list_of_tables).unwrap_or_default() {
            let name = keys.get("name").and_then(Item::as_str);
            let Some(link) = corner.links.iter().find(|link| Some(link.name.as_str()) == name) else { continue };
            self.point(keys, "chassis", &chassis(&link.chassis));
            self.point(keys, "upright", &upright(&link.upright));
            self.place(keys, link, &chassis(&link.chassis));
        }
        if let Some((keys, shaft)) = table("halfshaft").zip(corner.halfshaft.as_ref()) {
            self.point(keys, "inner", &chassis(&shaft.inner));
            self.point(keys, "outer", &upright(&shaft.outer));
        }
        if let Some((keys, spring)) = table("spring").zip(corner.spring.as_ref()) {
            let mount = if spring.on == SpringMount::Upright { upright(&spring.mount) } else { chassis(&spring.mount) };
            self.point(keys, "chassis", &chassis(&spring.chassis));
            self.point(keys, "mount", &mount);
        }
    }

    fn point(&mut self, keys: &dyn TableLike, key: &str, p_mm: &Point3<f64>) {
        let written = keys.get(key).and_then(Item::as_array).into_iter().flatten();
        for (value, mm) in written.zip(p_mm.iter()) {
            self.number(value, mm / self.units.in_mm(), decimals(self.units));
        }
    }

    fn angle(&mut self, keys: &dyn TableLike, key: &str, rad: f64) {
        if let Some(value) = keys.get(key).and_then(Item::as_value) {
            self.number(value, rad.to_degrees(), ANGLE_DECIMALS);
        }
    }

    fn number(&mut self, value: &Value, new: f64, decimals: usize) {
        let old = value.as_float().or(value.as_integer().map(|whole| whole as f64));
        let is_same = old.is_some_and(|old| (old - new).abs() <= 0.5 / 10_f64.powi(decimals as i32));
        if let Some(span) = value.span().filter(|_| !is_same) {
            self.list.push((span, number_text(new, decimals)));
        }
    }

    /// Gives a link its first chassis point in place of the box that it had.
    fn place(&mut self, keys: &dyn TableLike, link: &Link, p_mm: &Point3<f64>) {
        let Some((key, within)) = keys.get_key_value("within").filter(|_| link.within.is_none()) else { return };
        let numbers = p_mm.iter().map(|mm| number_text(mm / self.units.in_mm(), decimals(self.units)));
        let chassis = format!("chassis = [{}]", numbers.collect::<Vec<_>>().join(", "));
        if let Some((key, value)) = key.span().zip(within.as_value().and_then(Value::span)) {
            self.list.push((key.start..value.end, chassis));
        } else if let (Some(table), Some(upright)) = (within.as_table(), keys.key("upright").and_then(|key| key.span()))
        {
            self.list.push((upright.start..upright.start, format!("{chassis}{}", self.line_end())));
            if let Some(header) = table.span().filter(|_| !table.is_dotted()) {
                self.remove(header);
            }
            for (axis, value) in table.iter() {
                let span = table.key(axis).and_then(|key| key.span()).zip(value.span());
                span.into_iter().for_each(|(key, value)| self.remove(key.start..value.end));
            }
        }
    }

    /// Takes a key out with what stands before it on its line; the whole line when nothing follows.
    fn remove(&mut self, span: Span) {
        let start = self.text[..span.start].rfind('\n').map_or(0, |at| at + 1);
        let rest = &self.text[span.end..];
        let line = rest.find('\n').map_or(rest.len(), |at| at + 1);
        let end = if rest[..line].trim().is_empty() { span.end + line } else { span.end };
        self.list.push((start..end, String::new()));
    }

    fn line_end(&self) -> &'static str {
        if self.text.contains("\r\n") { "\r\n" } else { "\n" }
    }

    fn applied(mut self) -> String {
        self.list.sort_by_key(|(span, _)| span.start);
        let mut text = self.text.to_owned();
        for (span, new) in self.list.into_iter().rev() {
            text.replace_range(span, &new);
        }
        text
    }
}

/// At most so many decimals and at least one; never `-0.0`.
fn number_text(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    let text = text.trim_end_matches('0');
    let text = if text.ends_with('.') { format!("{text}0") } else { text.to_owned() };
    if text == "-0.0" { "0.0".to_owned() } else { text }
}

/// Why a changed geometry was not written back.
#[derive(Debug)]
pub enum RewriteError {
    /// The text of the file is no TOML.
    NotToml(TomlError),
    /// The changed points make no geometry that can be read.
    Unsound(ReadError),
    /// A point has moved that the file does not give.
    NoPlace { point: String, side: Side },
}

impl fmt::Display for RewriteError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            RewriteError::NotToml(error) => write!(f, "the geometry file is not valid TOML: {}", error.message()),
            RewriteError::Unsound(error) => write!(f, "the changed points make no sound geometry:\n{error}"),
            RewriteError::NoPlace { point, side } => {
                write!(f, "the file has no number of its own for {point:?} on the {}, which has moved", side.name())
            }
        }
    }
}

impl RewriteError {
    /// What to do about it.
    pub fn advice(&self) -> &'static str {
        match self {
            RewriteError::NotToml(_) | RewriteError::Unsound(_) => "correct the file, then run the command again",
            RewriteError::NoPlace { side: Side::Left, .. } => {
                "write out `toe` and `camber` in [wheel], and `within` as { x = [..], y = [..], z = [..] }"
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
            RewriteError::NoPlace { .. } => None,
        }
    }
}
