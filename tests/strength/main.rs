//! Handbook formulas against printed examples, tables, and answers found another way.

mod beams;
mod bolt_group;
mod bolts;
mod columns;
mod materials;
mod rod_ends;
mod sections;

use hubtrace::strength::{Material, RoundTube};

/// A metal of an example.
fn metal(yield_mpa: f64, e_gpa: f64) -> Material {
    let e_mpa = 1000.0 * e_gpa;
    Material { name: "example".to_owned(), yield_mpa, e_mpa, density_kg_per_m3: 7850.0, source: "example" }
}

fn tube(od_mm: f64, id_mm: f64) -> RoundTube {
    RoundTube { od_mm, wall_mm: 0.5 * (od_mm - id_mm) }
}

fn assert_near(got: f64, expected: f64, within: f64, what: &str) {
    assert!((got - expected).abs() <= within, "{what}: {got}, expected {expected} ± {within}");
}
