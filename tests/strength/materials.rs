//! Metals by their designation.

use hubtrace::strength::{Material, MaterialError};

#[test]
fn metals_have_the_strengths_of_their_standards() {
    for (name, yield_mpa, e_gpa) in [
        ("E235+N", 235.0, 210.0),
        ("E235+SR", 350.0, 210.0),
        ("E355", 355.0, 210.0),
        ("e355 +n", 355.0, 210.0),
        ("4130", 435.0, 205.0),
        ("4130 normalised", 435.0, 205.0),
        ("1020 normalised", 347.0, 205.0),
        ("1020 cold drawn", 352.0, 205.0),
        ("6082-T6", 250.0, 70.0),
    ] {
        let metal = Material::named(name).unwrap_or_else(|error| panic!("{name} {error}"));
        assert_eq!((metal.yield_mpa, metal.e_mpa), (yield_mpa, 1000.0 * e_gpa), "{name}");
        assert!(!metal.source.is_empty() && (2000.0..9000.0).contains(&metal.density_kg_per_m3));
    }
    assert!(Material::known().all(|name| Material::named(name).is_ok_and(|metal| metal.name == name)));
    assert!(Material::known().count() >= 12);
}

/// EN 10305-1 states no yield strength for tubes that are delivered hard, soft or annealed.
#[test]
fn no_yield_strength_is_assumed_where_none_is_guaranteed() {
    for name in ["E235+C", "E235+LC", "E235+A", "E355+C"] {
        assert_eq!(Material::named(name), Err(MaterialError::NoYield), "{name}");
    }
    for name in ["", "steel", "E999", "DOM"] {
        assert_eq!(Material::named(name), Err(MaterialError::Unknown), "{name}");
    }
}
