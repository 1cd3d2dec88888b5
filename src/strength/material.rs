//! Metals of tubes by the designation of their standard.

use std::fmt;

/// A metal with what is guaranteed of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Designation, as tables and certificates have it.
    pub name: String,
    /// Least yield strength or 0.2 % proof stress, MPa.
    pub yield_mpa: f64,
    /// Young's modulus, MPa.
    pub e_mpa: f64,
    /// kg/m³.
    pub density_kg_per_m3: f64,
    /// Where the strength comes from.
    pub source: &'static str,
}

/// Why a name gives no strength.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MaterialError {
    /// No metal of the table is called so.
    Unknown,
    /// The standard guarantees no yield strength in this delivery condition.
    NoYield,
}

impl fmt::Display for MaterialError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Unknown => "is no metal that this program knows",
            Self::NoYield => "has no guaranteed yield strength as delivered",
        })
    }
}

impl std::error::Error for MaterialError {}

struct Row {
    names: &'static [&'static str],
    yield_mpa: f64,
    e_mpa: f64,
    density: f64,
    source: &'static str,
}

const fn steel(names: &'static [&'static str], yield_mpa: f64, source: &'static str) -> Row {
    Row { names, yield_mpa, e_mpa: 210_000.0, density: 7850.0, source }
}

const fn aluminium(names: &'static [&'static str], yield_mpa: f64, source: &'static str) -> Row {
    Row { names, yield_mpa, e_mpa: 70_000.0, density: 2700.0, source }
}

/// Least values; a tube without a delivery condition counts as normalised, the softest with a yield strength of its own.
const TABLE: [Row; 12] = [
    steel(&["E235+N", "E235"], 235.0, "EN 10305-1, normalised"),
    steel(&["E235+SR"], 350.0, "EN 10305-1, cold drawn and stress relieved"),
    steel(&["E355+N", "E355"], 355.0, "EN 10305-1, normalised"),
    steel(&["E355+SR"], 450.0, "EN 10305-1, cold drawn and stress relieved (from memory)"),
    steel(&["S235JRH", "S235"], 235.0, "EN 10219-1, wall up to 16 mm (from memory)"),
    steel(&["S355J2H", "S355"], 355.0, "EN 10219-1, wall up to 16 mm (from memory)"),
    Row {
        e_mpa: 205_000.0,
        ..steel(&["4130 normalised", "4130", "25CrMo4"], 435.0, "AISI 4130, normalised at 870 C, data sheet")
    },
    Row { e_mpa: 205_000.0, ..steel(&["1020 normalised", "1020"], 347.0, "SAE 1020, normalised, data sheet") },
    Row { e_mpa: 205_000.0, ..steel(&["1020 cold drawn"], 352.0, "SAE 1020, cold drawn, data sheet") },
    aluminium(&["6082-T6"], 250.0, "EN 755-2, wall up to 5 mm (from memory); about half beside a weld"),
    aluminium(&["6061-T6"], 240.0, "EN 755-2 (from memory); about half beside a weld"),
    aluminium(&["7020-T6"], 290.0, "EN 755-2 (from memory)"),
];

/// Delivered cold drawn hard, soft or annealed: EN 10305-1 states no yield strength.
const WITHOUT_YIELD: [&str; 6] = ["E235+C", "E235+LC", "E235+A", "E355+C", "E355+LC", "E355+A"];

impl Material {
    /// By its designation; capitals and spaces do not count.
    ///
    /// Tested by `tests/strength/materials.rs`.
    pub fn named(name: &str) -> Result<Self, MaterialError> {
        let plain = |text: &str| text.chars().filter(|c| !c.is_whitespace()).collect::<String>().to_lowercase();
        let meant = plain(name);
        if WITHOUT_YIELD.iter().any(|known| plain(known) == meant) {
            return Err(MaterialError::NoYield);
        }
        let row = TABLE.iter().find(|row| row.names.iter().any(|known| plain(known) == meant));
        let row = row.ok_or(MaterialError::Unknown)?;
        Ok(Self {
            name: row.names[0].to_owned(),
            yield_mpa: row.yield_mpa,
            e_mpa: row.e_mpa,
            density_kg_per_m3: row.density,
            source: row.source,
        })
    }

    /// A designation of the table that differs from a name by one letter or two that are swapped.
    pub(crate) fn like(name: &str) -> Option<&'static str> {
        TABLE.iter().flat_map(|row| row.names).copied().find(|known| strsim::osa_distance(known, name) == 1)
    }

    /// Every designation of the table, one for each row.
    pub fn known() -> impl Iterator<Item = &'static str> {
        TABLE.iter().map(|row| row.names[0])
    }
}
