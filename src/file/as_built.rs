//! A car as it was built, whose sides are no mirror images, written into the file of its drawing.

use toml_edit::{ArrayOfTables, Document, DocumentMut, Item, Table, TableLike, Value};

use super::edits::{Edits, with_top_key};
use super::geometry_file::GeometryFile;
use super::rewrite::{RewriteError, read_back, text_over, with_plan};
use super::source_file::without_mark;
use crate::geometry::{Corner, CornerPoint, Geometry, Side};

/// Nearer than this, mm, a point of one side is the mirror image of that of the other.
const MIRRORED_MM: f64 = 1e-6;

/// The text of `file` with the points of `built`, as [`rewrite`](super::rewrite()) has it, below a comment that says what it is.
///
/// What the file gives for the left side alone and differs on the right gets a table of its own under `[right]`, a copy of the
/// left one with what is mirrored counted the other way; toe and camber are written out where the file leaves them to be 0.
///
/// Tested by `tests/rewrite.rs`.
pub fn rewrite_as_built(file: &GeometryFile, built: &Geometry, comment: &str) -> Result<String, RewriteError> {
    let text = with_angles(without_mark(&file.text), built)?;
    let right = right_tables(&text, built, |_| true)?;
    let text = text_over(&format!("{text}{right}"), built)?;
    let text = with_top_key(&text, built.units, "built", "true", "").map_err(RewriteError::NotToml)?;
    // It was a plan until it was built and measured.
    let measured = Geometry { planned: false, ..built.clone() };
    let text = if file.geometry.planned { with_plan(&text, &measured)? } else { text };
    let comment: String = comment.lines().map(|line| format!("# {line}\n")).collect();
    let text = format!("{comment}\n{text}");
    read_back(file, built, &text)?;
    Ok(text)
}

/// Lines to be added to `file` so that it has a place of its own for all that is moved in `changed` and then differs between the
/// sides, with the numbers of the car in the file; `None` when it lacks none, or nothing can be added to what it has.
///
/// Tested by `tests/cli/tune/refusals.rs`.
pub fn lacking_right_lines(file: &GeometryFile, changed: &Geometry) -> Option<String> {
    // As it would be written: the file may give the middle of the final drive, and leave the inner joint a number of old.
    let text = text_over(without_mark(&file.text), &file.geometry).ok()?;
    let added = right_tables(&text, changed, |part| part.moved(&file.geometry, changed)).ok()?;
    let with_added = text_over(&format!("{text}{added}"), &file.geometry).ok()?;
    let tables: DocumentMut = with_added.strip_prefix(&text)?.parse().ok()?;
    let mut lines = Vec::new();
    for (name, item) in tables.get("right")?.as_table()? {
        let (head, list) = match item {
            Item::ArrayOfTables(list) => (format!("[[right.{name}]]"), list.iter().collect()),
            Item::Table(table) => (format!("[right.{name}]"), vec![table]),
            _ => continue,
        };
        for table in list {
            lines.push(head.clone());
            let values = table.iter().filter_map(|(key, item)| Some((key, item.clone().into_value().ok()?)));
            values.for_each(|(key, value)| lines.extend(lines_of(key, &value)));
        }
    }
    Some(lines.join("\n"))
}

/// The longest line that a screen shows unbroken behind the bar of an error.
const MAX_COLUMNS: usize = 72;

/// A value in one line, or a longer table in one for each of its keys; comments of the left side stay there.
fn lines_of(key: &str, value: &Value) -> Vec<String> {
    let line = format!("{key} = {}", value.clone().decorated("", ""));
    match value.as_inline_table().filter(|_| line.chars().count() > MAX_COLUMNS) {
        Some(table) => table.iter().flat_map(|(inner, value)| lines_of(&format!("{key}.{inner}"), value)).collect(),
        None => vec![line],
    }
}

/// The text with `toe` and `camber` in every table of a wheel.
fn with_angles(text: &str, built: &Geometry) -> Result<String, RewriteError> {
    let document = Document::parse(text).map_err(RewriteError::NotToml)?;
    let mut edits = Edits::new(text, built.units);
    let top: &dyn TableLike = document.as_table();
    let right = top.get("right").and_then(Item::as_table_like);
    for wheel in [Some(top), right].into_iter().flatten().filter_map(|keys| keys.get("wheel")?.as_table_like()) {
        let Some(centre) = wheel.get("centre").and_then(Item::span) else { continue };
        for key in ["toe", "camber"].into_iter().filter(|key| !wheel.contains_key(key)) {
            edits.insert_key_behind(centre.clone(), format!("{key} = 0.0"));
        }
    }
    Ok(edits.applied())
}

/// Tables of the right side that the file lacks and that are wanted, as copies of those of the left.
fn right_tables(text: &str, built: &Geometry, is_wanted: impl Fn(Part) -> bool) -> Result<String, RewriteError> {
    let document: DocumentMut = text.parse().map_err(RewriteError::NotToml)?;
    let own = document.get("right");
    // Nothing can be added to what is no table of its own.
    if own.is_some_and(|own| !own.is_table()) {
        return Ok(String::new());
    }
    let has_own = |key: &str| own.and_then(|own| own.get(key)).is_some();
    let mut right = Table::new();
    right.set_implicit(true);
    for (key, part) in [("wheel", Part::Wheel), ("halfshaft", Part::Halfshaft), ("spring", Part::Spring)] {
        let table = document.get(key).and_then(Item::as_table).filter(|table| !table.is_dotted());
        if let Some(table) = table.filter(|_| !has_own(key) && part.differs(built) && is_wanted(part)) {
            right.insert(key, Item::Table(set_apart(table)));
        }
    }
    let own_links: Vec<&str> = links(own).filter_map(name_of).collect();
    let differs = |table: &&Table| {
        let index = built.left.links.iter().position(|link| Some(link.name.as_str()) == name_of(table));
        index.map(Part::Link).is_some_and(|part| part.differs(built) && is_wanted(part))
            && !name_of(table).is_some_and(|name| own_links.contains(&name))
    };
    let copies: ArrayOfTables = links(Some(document.as_item())).filter(differs).map(set_apart).collect();
    if !copies.is_empty() {
        right.insert("link", Item::ArrayOfTables(copies));
    }
    if right.is_empty() {
        return Ok(String::new());
    }
    let mut added = DocumentMut::new();
    added.insert("right", Item::Table(right));
    let line_end = if text.ends_with('\n') { "" } else { "\n" };
    Ok(format!("{line_end}\n# The right side, where it is no mirror image of the left.\n{added}"))
}

fn links(tables: Option<&Item>) -> impl Iterator<Item = &Table> {
    tables.and_then(|tables| tables.get("link")).and_then(Item::as_array_of_tables).into_iter().flatten()
}

fn name_of(table: &Table) -> Option<&str> {
    table.get("name").and_then(Item::as_str)
}

/// A copy behind an empty line, without the comments at the head of the original, which are of the left side.
fn set_apart(table: &Table) -> Table {
    let mut copy = table.clone();
    copy.decor_mut().set_prefix("\n");
    copy.decor_mut().set_suffix("");
    copy
}

/// What has a table of its own.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Part {
    Wheel,
    Link(usize),
    Halfshaft,
    Spring,
}

impl Part {
    fn of(point: CornerPoint) -> Self {
        match point {
            CornerPoint::WheelCentre => Part::Wheel,
            CornerPoint::Pickup(pickup) => Part::Link(pickup.link),
            CornerPoint::HalfshaftInner | CornerPoint::HalfshaftOuter => Part::Halfshaft,
            CornerPoint::SpringChassis | CornerPoint::SpringMount => Part::Spring,
        }
    }

    /// Whether it stands elsewhere in another car, on either side.
    fn moved(self, from: &Geometry, to: &Geometry) -> bool {
        Side::BOTH.into_iter().any(|side| {
            let points = from.corner(side).points().into_iter().zip(to.corner(side).points());
            let mut own = points.filter(|((point, _), _)| Part::of(*point) == self);
            own.any(|((_, before), (_, after))| (after - before).norm() > MIRRORED_MM)
        })
    }

    /// True when the two sides of the car are no mirror images in this part.
    fn differs(self, car: &Geometry) -> bool {
        let spin = |corner: &Corner| corner.wheel.spin_axis.into_inner();
        let turned = self == Part::Wheel && (spin(&car.left) - spin(&car.right)).norm() > 0.0;
        let points = car.left.points().into_iter().zip(car.right.points());
        let mut own = points.filter(|((point, _), _)| Part::of(*point) == self);
        turned || own.any(|((_, left), (_, right))| (left - right).norm() > MIRRORED_MM)
    }
}

#[cfg(test)]
mod tests {
    use super::lacking_right_lines;
    use crate::file::GeometryFile;

    /// The housing gives the inner joints, and `inner` of [halfshaft] is out of date.
    #[test]
    fn lines_for_a_bracket_on_a_tube_are_found_beside_a_final_drive() {
        let demo = include_str!("../../geometries/first-cut.toml");
        let tube = "[[tube]]\nname = \"rail\"\nfrom = [-300.0, 376.0, 230.0]\nto = [250.0, 376.0, 230.0]\nod = 30.0\n";
        let drive = "[final_drive]\norigin = [4.0, 0.0, 279.0]\nleft = { at = [0.0, 207.0, 0.0], axis = [0.0, 1.0, 0.0] }\n\
                     right = { at = [0.0, -207.0, 0.0], axis = [0.0, -1.0, 0.0] }\n";
        let link =
            demo.lines().find(|line| line.starts_with("chassis = [-150.0, 376.0, 255.0]")).expect("the toe link");
        let slides = format!("{link}\nchassis_tube = \"rail\"");
        let text = format!("{}\n{tube}\n{drive}", demo.replace(link, &slides));
        let file = GeometryFile::parse("rear.toml", &text).unwrap_or_else(|error| panic!("{error}"));
        let mut moved = file.geometry.clone();
        moved.left.links[4].chassis.x += 1.0;
        let lines = lacking_right_lines(&file, &moved).expect("lines to write");
        assert!(lines.starts_with("[[right.link]]") && lines.contains("chassis_tube = \"rail\""), "{lines}");
    }

    /// A right wheel that stands elsewhere makes its shaft another one; nothing moves that.
    #[test]
    fn lines_are_asked_for_what_is_moved_alone() {
        let demo = include_str!("../../geometries/first-cut.toml");
        let wheel = "\n[right.wheel]\ncentre = [2.0, -744.0, 307.0]\ntyre_radius = 307.0\n";
        let file =
            GeometryFile::parse("rear.toml", &format!("{demo}{wheel}")).unwrap_or_else(|error| panic!("{error}"));
        let mut moved = file.geometry.clone();
        moved.left.links[4].chassis.y += 1.0;
        let lines = lacking_right_lines(&file, &moved).expect("lines to write");
        assert!(lines.starts_with("[[right.link]]") && !lines.contains("[right.halfshaft]"), "{lines}");
        assert_eq!(lines.matches("[[right.link]]").count(), 1, "{lines}");
    }
}
