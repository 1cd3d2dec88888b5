//! `[[propshaft.tube]]`: the tube between two joints of the propeller shaft, in one piece or joined.

use super::tube::DIAMETER;
use crate::file::reader::{At, Diagnostics, LENGTH, Number, Span, Table};
use crate::geometry::{LengthUnit, ShaftTube, TubePiece, TubeSection};

const E: Number = Number::positive("GPa", " in GPa", 1000.0);
const DENSITY: Number = Number::positive("kg/m3", " in kg/m3", 30_000.0);
/// Pieces must be as long as the joints are apart to this, mm: what a tape tells.
const LENGTH_TOLERANCE_MM: f64 = 1.0;

pub(super) struct RawShaftTube {
    pub(super) header: Span,
    /// One piece without a length of its own, or several with.
    sections: Sections,
    e_gpa: Option<f64>,
    g_gpa: Option<f64>,
    density_kg_per_m3: Option<f64>,
    throat_mm: Option<f64>,
    beside: Option<TubeSection>,
}

enum Sections {
    One(TubeSection),
    Joined(Vec<TubePiece>),
}

impl RawShaftTube {
    pub(super) fn read(mut table: Table) -> Option<Self> {
        let header = table.header.clone();
        let sections = if table.has("pieces") {
            for key in ["od", "wall"] {
                if let Some(own) = table.optional(key, &DIAMETER) {
                    let what = format!("a tube with `pieces` has no `{key}` of its own");
                    table.note(&own.span, what, format!("remove `{key}`, or `pieces`"));
                }
            }
            let pieces: Vec<Option<TubePiece>> = table.tables("pieces").into_iter().map(read_piece).collect();
            pieces.into_iter().collect::<Option<Vec<_>>>().filter(|pieces| !pieces.is_empty()).map(Sections::Joined)
        } else {
            let section = read_section(&mut table);
            table.tables("pieces");
            section.map(Sections::One)
        };
        let e_gpa = table.value("e_gpa", &E);
        let g_gpa = table.value("g_gpa", &E);
        let density_kg_per_m3 = table.value("density", &DENSITY);
        let throat_mm = table.value("throat", &LENGTH);
        let beside = table.table("beside").and_then(|mut beside| {
            beside.rename("`beside`".into());
            let section = read_section(&mut beside);
            beside.finish();
            section
        });
        table.finish();
        Some(Self { header, sections: sections?, e_gpa, g_gpa, density_kg_per_m3, throat_mm, beside })
    }

    /// The pieces are as long as the joints are apart; true when it was noted that they are not.
    pub(super) fn note_length(&self, between_mm: f64, units: LengthUnit, diagnostics: &Diagnostics) -> bool {
        let Sections::Joined(pieces) = &self.sections else { return false };
        let long_mm: f64 = pieces.iter().map(|piece| piece.length_mm).sum();
        let off = (long_mm - between_mm).abs() > LENGTH_TOLERANCE_MM;
        if off {
            let what = format!(
                "the pieces are {} long together, and their joints {} apart",
                units.show(long_mm),
                units.show(between_mm)
            );
            diagnostics.set_aside(&self.header, what, "correct a `length`, or the centre of a joint");
        }
        off
    }

    /// The tube between joints that are so far apart.
    pub(super) fn tube(&self, between_mm: f64) -> ShaftTube {
        let e_gpa = self.e_gpa.unwrap_or(ShaftTube::STEEL_E_GPA);
        let pieces = match &self.sections {
            Sections::One(section) => vec![TubePiece { section: *section, length_mm: between_mm }],
            Sections::Joined(pieces) => pieces.clone(),
        };
        ShaftTube {
            pieces,
            e_gpa,
            g_gpa: self.g_gpa.unwrap_or(e_gpa / (2.0 * (1.0 + ShaftTube::POISSON))),
            density_kg_per_m3: self.density_kg_per_m3.unwrap_or(ShaftTube::STEEL_DENSITY_KG_PER_M3),
            throat_mm: self.throat_mm,
            beside: self.beside,
        }
    }
}

fn read_piece(mut table: Table) -> Option<TubePiece> {
    let section = read_section(&mut table);
    let length = table.required("length", &LENGTH, "from its end or splice weld to the next");
    table.finish();
    Some(TubePiece { section: section?, length_mm: length?.value })
}

fn read_section(table: &mut Table) -> Option<TubeSection> {
    let od = table.required("od", &DIAMETER, "its outside diameter");
    let wall = table.required("wall", &LENGTH, "its wall");
    let (od, wall): (At<f64>, At<f64>) = (od?, wall?);
    if wall.value > 0.5 * od.value {
        let advice = format!("write a wall up to {}; that is a solid shaft", table.scope.units.show(0.5 * od.value));
        table.note(&wall.span, "`wall` is more than half of `od`", advice);
        return None;
    }
    Some(TubeSection { od_mm: od.value, wall_mm: wall.value })
}
