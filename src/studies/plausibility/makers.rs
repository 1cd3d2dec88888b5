//! Numbers of makers and data sheets beside what is made: metals, stiffnesses, bolts and rod ends, tubes of the frame; and loads
//! beside what a wheel bears.

use super::car::on_wheel_kg;
use super::figures::{Range, Shown, about_part};
use super::{Doubt, is_in};
use crate::geometry::slips::as_typed;
use crate::geometry::{Car, End, Geometry, Link, Load, Side};

const SHIFTED: &str = "the decimal point is shifted";

/// What the numbers of a part are in all; one range for each.
pub(super) fn ranges(geometry: &Geometry) -> Vec<Range> {
    let mut found = metals(geometry);
    found.extend(stiffnesses(geometry));
    found.extend(frame_tubes(geometry));
    found.extend(errors_of_points(geometry));
    found.extend(adjusters(geometry));
    found
}

/// From the softest alloy that carries anything to the hardest wire, from magnesium to carbon fibre laid one way, from carbon
/// fibre to tungsten.
fn metals(geometry: &Geometry) -> Vec<Range> {
    let of_metal = geometry.materials.iter().flat_map(|metal| {
        let at = |range: Range| {
            let about = format!("material {:?} {}", metal.name, range.key);
            range.at(about)
        };
        [
            at(Range::new(
                "yield_mpa",
                metal.yield_mpa,
                Shown::With("MPa"),
                [60.0, 2600.0],
                "no metal's of a link or a frame",
            )
            .usually([150.0, 1600.0], &[(10.0, SHIFTED), (0.1, SHIFTED), (1000.0, "it is in GPa")])),
            at(Range::new("e_gpa", 0.001 * metal.e_mpa, Shown::With("GPa"), [35.0, 450.0], "no metal's")
                .usually([44.0, 240.0], &[(10.0, SHIFTED), (0.1, SHIFTED), (0.001, "it is in MPa")])),
            at(Range::new("density", metal.density_kg_per_m3, Shown::With("kg/m3"), [1200.0, 20_000.0], "no metal's")
                .usually([1500.0, 9000.0], &[(1000.0, "it is in g/cm3"), (10.0, SHIFTED), (0.1, SHIFTED)])),
        ]
    });
    of_metal.collect()
}

/// From a bush of rubber to a solid block of steel, and from a tab of sheet; kN/mm.
fn stiffnesses(geometry: &Geometry) -> Vec<Range> {
    let mut found = Vec::new();
    for link in &geometry.left.links {
        let stiffness = |key, n_per_mm: f64, ends, of| {
            let unit = Shown::With("kN/mm");
            Range::new(key, 0.001 * n_per_mm, unit, ends, of)
                .usually([20.0, 400.0], &[(10.0, SHIFTED), (0.1, SHIFTED), (0.001, "it is in N/mm")])
        };
        let rod_end = link.hardware.rod_end.as_ref().and_then(|rod_end| rod_end.stiffness_n_per_mm);
        found.extend(rod_end.map(|n_per_mm| {
            let range = stiffness("stiffness_kn_per_mm", n_per_mm, [3.0, 3000.0], "no rod end's with its bolt");
            range.at(about_part(geometry, &link.name, "rod_end", "stiffness_kn_per_mm"))
        }));
        let bracket = link.hardware.bracket_stiffness_n_per_mm;
        found.extend(bracket.map(|n_per_mm| {
            let of = "no bracket's: springs of cars are as soft";
            let range = stiffness("bracket_kn_per_mm", n_per_mm, [0.3, 5000.0], of);
            range.at(format!("{} bracket_kn_per_mm", link.name))
        }));
    }
    found
}

/// A tube of a frame across, mm: from the smallest brace to the rails of a truck.
pub(super) const FRAME_OD_MM: [f64; 2] = [8.0, 130.0];

fn frame_tubes(geometry: &Geometry) -> Vec<Range> {
    let tubes = geometry.tubes.iter().flat_map(|tube| {
        let at = |range: Range| {
            let about = format!("tube {:?} {}", tube.name, range.key);
            range.at(about)
        };
        let od = tube.od_mm.map(|mm| Range::mm("od", mm, FRAME_OD_MM, "no frame tube's", [16.0, 80.0]));
        let wall = tube.wall_mm.map(|mm| Range::mm("wall", mm, [0.5, 10.0], "no frame tube's", [0.8, 5.0]));
        [od.map(at), wall.map(at)]
    });
    tubes.flatten().collect()
}

/// A coordinate is measured on a machine, or is known so badly from a survey that no wheel can be set by it, mm.
fn errors_of_points(geometry: &Geometry) -> Vec<Range> {
    let sides = geometry.own_sides().iter().flat_map(|&side| &geometry.corner(side).links);
    let known = sides.flat_map(|link| End::BOTH.map(|end| (link, link.measured_sd.at(end))));
    let each = known.filter_map(|(link, sds)| Some((link, sds?))).flat_map(|(link, sds)| {
        let numbers: Vec<f64> = sds.iter().copied().filter(|mm| *mm != 0.0).collect();
        numbers.into_iter().map(move |mm| (link, mm))
    });
    let range = |(link, mm): (&Link, f64)| {
        let of = "no error of a point that was measured";
        Range::mm("measured_sd", mm, [0.001, 10.0], of, [0.1, 4.0]).at(format!("{} measured_sd", link.name))
    };
    each.map(range).collect()
}

/// A stack of shims or a slot from end to end, mm.
fn adjusters(geometry: &Geometry) -> Vec<Range> {
    let links = Side::BOTH.into_iter().flat_map(|side| &geometry.corner(side).links);
    let ends = links.flat_map(|link| End::BOTH.map(|end| (link, link.adjusters.at(end))));
    let given = ends.filter_map(|(link, adjuster)| Some((link, adjuster?.range_mm.width())));
    let range = |(link, mm): (&Link, f64)| {
        let of = "no stack of shims or slot, end to end";
        Range::mm("range", mm, [0.05, 80.0], of, [1.0, 40.0]).at(format!("{} adjust", link.name))
    };
    given.map(range).collect()
}

/// What is no range of one number.
pub(super) fn doubts(geometry: &Geometry) -> Vec<Doubt> {
    let mut found = bolts(geometry);
    found.extend(geometry.loads.iter().filter_map(|load| of_load(geometry, load)));
    found.extend(straps(geometry));
    found
}

/// Bolt over shank: balls with room for much misalignment take the smallest, and an inner ring alone the largest; no unit.
const BOLT_OVER_SHANK: [f64; 2] = [0.52, 1.6];

/// A bolt that is none of its rod end.
fn bolts(geometry: &Geometry) -> Vec<Doubt> {
    let mut found: Vec<Doubt> = Vec::new();
    for link in &geometry.left.links {
        let Some(shank) = link.hardware.rod_end.as_ref().and_then(|rod_end| rod_end.thread.as_ref()) else { continue };
        for bolt in End::BOTH.into_iter().filter_map(|end| link.hardware.bolt(end)) {
            if is_in(bolt.thread.diameter_mm / shank.diameter_mm, BOLT_OVER_SHANK) {
                continue;
            }
            let (bolt, shank) = (&bolt.thread.name, &shank.name);
            let sentence =
                format!("`thread` in [bolt]: {bolt} is no bolt through the ball of a rod end with a shank of {shank}.");
            found.push(Doubt::new(None, about_part(geometry, &link.name, "bolt", "thread"), None, sentence));
        }
    }
    found.dedup_by(|a, b| a.sentence == b.sentence); // what every link has is told once
    found
}

/// In static wheel loads: a kerb at speed, with room; no unit.
const MOST_TIMES: f64 = 12.0;
/// The same of a car whose mass is not known, N.
const MOST_N: f64 = 60_000.0;
/// Less is the weight of a tyre, N.
const LEAST_N: f64 = 20.0;
/// The weight of a wheel that hangs, which some write as a force on it, in static wheel loads and in N: no road pulls.
const HANGING_TIMES: f64 = 0.5;
const HANGING_N: f64 = 1000.0;
/// Of a brake or a tyre on one wheel, N m.
const MOST_NM: f64 = 8000.0;

fn of_load(geometry: &Geometry, load: &Load) -> Option<Doubt> {
    let static_n = on_wheel_kg(&geometry.car).map(|kg| kg * Car::GRAVITY_N_PER_KG);
    let on = &load.on_wheel;
    let doubt = |key: &str, is: String| {
        let about = format!("load {:?} {key}", load.case);
        Doubt::new(None, about, None, format!("load {:?}: `{key}` {is}.", load.case))
    };
    let pulls = "and no road pulls: z counts up, and the road pushes up";
    if let Some(times) = on.contact_times_static {
        let most = times.amax();
        if most > MOST_TIMES {
            let meant = as_typed(most / 10.0);
            let is = format!(
                "is {most} times the static load, and {MOST_TIMES} is more than a kerb gives; probably {meant:?}"
            );
            return Some(doubt("contact_times_static", format!("{is}: {SHIFTED}")));
        }
        if times.z < -HANGING_TIMES {
            let is = format!("pulls the tyre down with {} times its static load, {pulls}", -times.z);
            return Some(doubt("contact_times_static", is));
        }
    }
    if let Some(force) = on.contact_n {
        let (size_n, most_n) = (force.amax(), static_n.map_or(MOST_N, |static_n| MOST_TIMES * static_n));
        if size_n > most_n {
            let is = format!("is {size_n:.0} N, and {most_n:.0} N is more than a kerb gives this wheel");
            return Some(doubt("contact", is));
        }
        if size_n > 0.0 && size_n < LEAST_N {
            let is = format!("is {size_n:?} N, less than the weight of a tyre: probably it is in kN, and the key in N");
            return Some(doubt("contact", is));
        }
        if force.z < -static_n.map_or(HANGING_N, |static_n| HANGING_TIMES * static_n) {
            return Some(doubt("contact", format!("pulls the tyre down with {:?} N, {pulls}", -force.z)));
        }
    }
    let moment_nm = on.moment_nm.map(|moment| moment.amax()).filter(|nm| *nm > MOST_NM)?;
    Some(doubt(
        "moment",
        format!("is {moment_nm:?} N m, and {MOST_NM} N m is more than any brake or tyre gives one wheel"),
    ))
}

/// A tape and the stretch of a strap, mm.
const STRAP_MM: f64 = 10.0;

/// A strap that is shorter than its ends are apart at design, where it has to hang.
fn straps(geometry: &Geometry) -> Vec<Doubt> {
    let strap_of = |side: Side| geometry.corner(side).spring.as_ref().and_then(|spring| spring.make.strap);
    let own = geometry.own_sides().iter().filter(|&&side| side == Side::Left || strap_of(side) != strap_of(Side::Left));
    let doubt = |side: Side| {
        let strap = strap_of(side)?;
        let (length_mm, apart_mm) = (strap.length_mm?, (strap.chassis - strap.upright).norm());
        (apart_mm > length_mm + STRAP_MM).then(|| {
            let [length, apart] = [length_mm, apart_mm].map(|mm| geometry.units.show(mm));
            let sentence = format!(
                "strap, {}: it is {length} long, and its ends are {apart} apart at design, where it has to hang loose: measure its \
                 length and both ends again.",
                side.name()
            );
            Doubt::new(Some(side), "spring strap", None, sentence)
        })
    };
    own.filter_map(|&side| doubt(side)).collect()
}
