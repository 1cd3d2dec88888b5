//! `[rod_end]`, `[bolt]` and `[[material]]`: what links end in and are made of.

use crate::file::reader::{At, Diagnostics, LENGTH, Number, Table, Text, ThreadKind, Word};
use crate::geometry::{End, LinkHardware, RodEnd};
use crate::strength::{Bolt, BoltClass, Material, ShearPlanes};

const SHANK: Number = Number { most: 300.0, ..LENGTH };
const GAP: Number = Number { most: 200.0, ..LENGTH };
/// Parts of a rod end that may be missing.
const PIECE: Number = Number { least_included: true, most: 100.0, ..LENGTH };
const STATIC: Number = Number::positive("kN", " in kN", 1000.0);
const FACTOR: Number = Number { least: 1.0, least_included: true, ..Number::positive("", "", 20.0) };
/// Of a rod end or a bracket along its link.
pub(super) const STIFFNESS: Number = Number::positive("kN/mm", " in kN/mm", 10_000.0);
const STRENGTH: Number = Number::positive("MPa", " in MPa", 3000.0);
const MODULUS: Number = Number::positive("GPa", " in GPa", 1000.0);
const DENSITY: Number = Number::positive("kg/m3", " in kg/m3", 30_000.0);

/// `[rod_end]`, or `rod_end` of one link, complete in itself: a smaller one must not inherit the rating of a larger one.
pub(super) fn read_rod_end(mut table: Table) -> RodEnd {
    let [chassis_stand_off_mm, upright_stand_off_mm] = table.table("stand_off").map(read_stand_off).unwrap_or_default();
    let thread = table.value("thread", &ThreadKind);
    let shank_mm = table.value("shank", &SHANK);
    let lock_nut = table.optional("lock_nut", &PIECE);
    let lock_nut_mm = lock_nut.as_ref().map(|at| at.value);
    let insert_mm = table.value("insert", &PIECE);
    let engagement = table.optional("engagement", &SHANK);
    if let Some((shank_mm, held)) = shank_mm.zip(engagement.as_ref()) {
        let free_mm = shank_mm - lock_nut_mm.unwrap_or(0.0);
        if held.value >= free_mm {
            let units = table.scope.units;
            let what = format!(
                "a thread cannot be held over {}: from the ball centre to its end there are {}, lock nut taken off",
                units.show(held.value),
                units.show(free_mm)
            );
            let advice = "write the least length of thread inside the insert, and measure `shank` and `lock_nut` again";
            // A nut is thinner than what its thread is held over: a thicker one is itself the mistake.
            match lock_nut.as_ref().filter(|nut| nut.value > held.value && held.value < shank_mm) {
                Some(nut) => {
                    let what = format!("a lock nut is not {} high", units.show(nut.value));
                    let advice = format!(
                        "write its height, less than the {} over which the thread is held",
                        units.show(held.value)
                    );
                    table.note(&nut.span, what, advice);
                }
                None => table.note(&held.span, what, advice),
            }
        }
    }
    let rod_end = RodEnd {
        thread,
        shank_mm,
        lock_nut_mm,
        insert_mm,
        engagement_mm: engagement.map(|held| held.value),
        chassis_stand_off_mm,
        upright_stand_off_mm,
        static_n: table.value("static_kn", &STATIC).map(|kn| 1000.0 * kn),
        application_factor: table.value("application_factor", &FACTOR),
        shank_yield_mpa: table.value("shank_yield_mpa", &STRENGTH),
        stiffness_n_per_mm: table.value("stiffness_kn_per_mm", &STIFFNESS).map(|kn_per_mm| 1000.0 * kn_per_mm),
    };
    table.finish();
    rod_end
}

/// `stand_off` of a rod end, of the one at the chassis and of that at the upright.
fn read_stand_off(mut table: Table) -> [Option<f64>; 2] {
    table.rename("`stand_off`".into());
    let ends = End::BOTH.map(|end| table.value(end.name(), &GAP));
    if ends == [None, None] {
        let advice = "write { chassis = 22.0 }, { upright = 22.0 } or both: mm from the face that holds the shank to the ball centre";
        table.note(&table.header.clone(), "`stand_off` names no end", advice);
    }
    table.finish();
    ends
}

/// Bolts of both ends of a link.
#[derive(Clone)]
pub(super) struct RawBolts {
    chassis: Bolt,
    upright: Bolt,
}

impl RawBolts {
    /// `[bolt]`, or `bolt` of one link, complete in itself; its `upright` says what differs at that end.
    pub(super) fn read(mut table: Table) -> Option<Self> {
        let thread = table.required("thread", &ThreadKind, "its size");
        let class = table.required("class", &Word(&BoltClass::BY_NAME), "its property class, as its head has it");
        let (planes, gap_mm) = read_bracket(&mut table);
        let other = table.table("upright").map(|mut table| {
            let bolt = (table.value("thread", &ThreadKind), table.value("class", &Word(&BoltClass::BY_NAME)));
            let bracket = read_bracket(&mut table);
            table.finish();
            (bolt, bracket)
        });
        table.finish();
        let planes = planes.unwrap_or(ShearPlanes::Double);
        let chassis = Bolt { thread: thread?.value, class: class?.value, planes, gap_mm };
        let ((thread, class), (planes, gap_mm)) = other.unwrap_or_default();
        let planes = planes.unwrap_or(chassis.planes);
        // A gap between two cheeks says nothing of a stand-off from one plate.
        let same = chassis.gap_mm.filter(|_| planes == chassis.planes);
        let upright = Bolt {
            thread: thread.unwrap_or_else(|| chassis.thread.clone()),
            class: class.unwrap_or(chassis.class),
            planes,
            gap_mm: gap_mm.or(same),
        };
        Some(Self { chassis, upright })
    }
}

/// How a bracket holds its bolt.
fn read_bracket(table: &mut Table) -> (Option<ShearPlanes>, Option<f64>) {
    (table.value("shear", &Word(&ShearPlanes::BY_NAME)), table.value("gap", &GAP))
}

/// What a link ends in: its own, or that of every link.
pub(super) fn hardware(
    (own_rod_end, rod_end): (Option<&RodEnd>, Option<&RodEnd>),
    (own_bolts, bolts): (Option<&RawBolts>, Option<&RawBolts>),
    bracket_stiffness_n_per_mm: Option<f64>,
) -> LinkHardware {
    let bolts = own_bolts.or(bolts);
    LinkHardware {
        rod_end: own_rod_end.or(rod_end).cloned(),
        chassis_bolt: bolts.map(|bolts| bolts.chassis.clone()),
        upright_bolt: bolts.map(|bolts| bolts.upright.clone()),
        bracket_stiffness_n_per_mm,
    }
}

pub(super) struct RawMaterial {
    name: At<String>,
    material: Option<Material>,
}

impl RawMaterial {
    pub(super) fn read(mut table: Table) -> Option<Self> {
        let name = table.required("name", &Text, "what `material` of a tube calls it");
        if let Some(name) = &name {
            table.rename(format!("material {:?}", name.value));
        }
        let yield_mpa = table.required("yield_mpa", &STRENGTH, "its least yield strength or 0.2 % proof stress");
        let e_gpa = table.required("e_gpa", &MODULUS, "its Young's modulus; steel has about 210, aluminium 70");
        let density = table.required("density", &DENSITY, "steel has about 7850, aluminium 2700");
        table.finish();
        let name = name?;
        let material = yield_mpa.zip(e_gpa).zip(density).map(|((yield_mpa, e_gpa), density)| Material {
            name: name.value.clone(),
            yield_mpa: yield_mpa.value,
            e_mpa: 1000.0 * e_gpa.value,
            density_kg_per_m3: density.value,
            source: "your file",
        });
        Some(Self { name, material })
    }
}

/// The metals of the file, each with a name of its own.
pub(super) fn checked_materials(raw: Vec<RawMaterial>, diagnostics: &Diagnostics) -> Vec<Material> {
    for (i, metal) in raw.iter().enumerate() {
        if raw[..i].iter().any(|other| other.name.value == metal.name.value) {
            let what = format!("two materials are called {:?}", metal.name.value);
            diagnostics.add(&metal.name.span, what, "give each its own name");
        }
    }
    raw.into_iter().filter_map(|metal| metal.material).collect()
}
