//! Geometry files made from those of the repository by changing single keys.

use std::fmt::{self, Display, Formatter};
use std::fs;

use toml_edit::{DocumentMut, Item, TableLike, Value};

/// What the program works on when no file is given.
pub const DEMO: &str = "geometries/first-cut.toml";
/// Keeps every limit it sets.
pub const SOUND: &str = "geometries/double-wishbone.toml";

/// The links of the demo that may move.
const FREE_LINKS: [&str; 4] = ["upper front", "upper rear", "lower rear", "toe link"];

/// A geometry file with its comments. Keys are written `limits.bump_steer`, those of a link by its name:
/// `toe link.chassis`, `right.toe link.free.chassis`.
#[derive(Clone)]
pub struct Car(DocumentMut);

impl Car {
    pub fn read(path: &str) -> Self {
        Self::parse(&fs::read_to_string(path).unwrap_or_else(|error| panic!("{path}: {error}")))
    }

    pub fn parse(text: &str) -> Self {
        Self(text.parse().expect("TOML"))
    }

    pub fn demo() -> Self {
        Self::read(DEMO)
    }

    /// The demo car where nothing may move.
    pub fn demo_with_nothing_free() -> Self {
        FREE_LINKS.iter().fold(Self::demo(), |car, link| car.without(&format!("{link}.free")))
    }

    /// The demo car with every room for a bracket, and the one for the toe link's outer eye, this large.
    pub fn demo_with_rooms(room: &str) -> Self {
        let axes = FREE_LINKS.iter().flat_map(|link| ["y", "z"].map(|axis| format!("{link}.free.chassis.{axis}")));
        axes.fold(Self::demo(), |car, key| car.set(&key, room)).set("toe link.free.upright.z", room)
    }

    /// Writes a TOML value at a key, in a table that is there; a comment behind the value stays.
    pub fn set(mut self, key: &str, value: &str) -> Self {
        let mut value: Value = value.parse().unwrap_or_else(|error| panic!("{value} is no value: {error}"));
        let (table, key) = self.table_of(key);
        match table.get_mut(key) {
            Some(item) => {
                *value.decor_mut() = item.as_value().expect("a value").decor().clone();
                *item = Item::Value(value);
            }
            None => {
                table.insert(key, Item::Value(value));
            }
        }
        self
    }

    /// Takes out a key or table that is there.
    pub fn without(mut self, key: &str) -> Self {
        let (table, key) = self.table_of(key);
        assert!(table.remove(key).is_some(), "no {key} to take out");
        self
    }

    /// The numbers of a point, a range or a single number.
    pub fn numbers(&self, key: &str) -> Vec<f64> {
        let mut copy = self.clone();
        let (table, key) = copy.table_of(key);
        let value = table.get(key).and_then(Item::as_value).unwrap_or_else(|| panic!("no value {key}"));
        let number = |value: &Value| value.as_float().or(value.as_integer().map(|n| n as f64)).expect("a number");
        value.as_array().map_or_else(|| vec![number(value)], |list| list.iter().map(number).collect())
    }

    /// The table that holds a key, and the last part of the key.
    fn table_of<'a, 'k>(&'a mut self, key: &'k str) -> (&'a mut dyn TableLike, &'k str) {
        let (path, last) = key.rsplit_once('.').unwrap_or(("", key));
        let parts = path.split('.').filter(|part| !part.is_empty());
        (parts.fold(self.0.as_table_mut() as &mut dyn TableLike, below), last)
    }
}

/// A table of a table: by its key, or a link by its name.
fn below<'a>(table: &'a mut dyn TableLike, name: &str) -> &'a mut dyn TableLike {
    if table.contains_key(name) {
        return table.get_mut(name).and_then(Item::as_table_like_mut).expect("a table");
    }
    let links = table.get_mut("link").and_then(Item::as_array_of_tables_mut);
    let named = links
        .into_iter()
        .flat_map(|links| links.iter_mut())
        .find(|link| link.get("name").and_then(Item::as_str) == Some(name));
    named.unwrap_or_else(|| panic!("no table or link {name}"))
}

impl Display for Car {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// A text with a piece replaced that it must hold, for what no change of a key can write.
pub fn replaced(text: impl Display, from: &str, to: &str) -> String {
    let text = text.to_string();
    assert!(text.contains(from), "there is no {from}");
    text.replace(from, to)
}

/// The demo's wheel with five links of one's own, from chassis to upright; the first link is on line 5.
pub fn five_links(links: [([f64; 3], [f64; 3]); 5]) -> String {
    let mut text = "schema = 1\n[wheel]\ncentre = [0.0, 745.0, 308.0]\ntyre_radius = 308.0\n".to_owned();
    for (i, (chassis, upright)) in links.into_iter().enumerate() {
        text += &format!("[[link]]\nname = \"link {i}\"\nchassis = {chassis:?}\nupright = {upright:?}\n");
    }
    text
}

/// Five equal links side by side, which hold their wheel in one direction only.
pub fn five_parallel_links() -> String {
    let ends = [[100.0, 400.0], [-100.0, 400.0], [100.0, 200.0], [-100.0, 200.0], [0.0, 300.0]];
    five_links(ends.map(|[x, z]| ([x, 400.0, z], [x, 700.0, z])))
}

/// Five links and the vertical through the wheel centre meet the lengthwise line y = 745, z = 100; the first link's outer
/// end is off by this.
pub fn all_meet_one_line(off_mm: f64) -> String {
    let chassis = [
        [150.0, 380.0, 400.0],
        [-110.0, 372.0, 388.0],
        [240.0, 372.0, 181.0],
        [-70.0, 345.0, 172.0],
        [-150.0, 376.0, 255.0],
    ];
    let met_at_x = [60.0, -90.0, 20.0, -40.0, -180.0];
    five_links(std::array::from_fn(|i| {
        let [x, y, z]: [f64; 3] = chassis[i];
        let off_mm = if i == 0 { off_mm } else { 0.0 };
        (chassis[i], [x + 0.8 * (met_at_x[i] - x), y + 0.8 * (745.0 - y), z + 0.8 * (100.0 - z) + off_mm])
    }))
}
