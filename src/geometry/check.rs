//! Relations between the values of a file: five links, names, both sides on one road.

mod freedom;
mod groups;

use nalgebra::Vector3;

use super::corner;
use super::file::{RawFile, RawLink, RawSide};
use super::model::{Corner, Geometry};
use super::problem::Diagnostics;
use super::reader::nearest;
use super::side::Side;
pub(super) use freedom::free;

/// How far the two contact points may differ in height on an even road.
const EVEN_ROAD_MM: f64 = 0.5;

/// The checked geometry; none when anything was noted.
pub(super) fn check(raw: RawFile, fallback_name: &str, diagnostics: &Diagnostics) -> Option<Geometry> {
    check_count(&raw.left, diagnostics);
    check_names(&raw.left, diagnostics);
    check_names(&raw.right, diagnostics);
    let tubes = freedom::tubes(&raw, diagnostics);
    let mut weld = None;
    if raw.left.links.len() == raw.left.link_headers.len() {
        weld = raw.weld.as_ref().map(|weld| groups::weld(weld, &names(&raw.left), diagnostics));
        check_right_names(&raw, diagnostics);
        check_spring_link(&raw.left, &raw.left, diagnostics);
        check_spring_link(&raw.right, &raw.left, diagnostics);
    }
    let left = corner::build(Side::Left, &raw.left, &raw, tubes.as_deref(), diagnostics);
    let right = corner::build(Side::Right, &overridden(&raw), &raw, tubes.as_deref(), diagnostics);
    let (left, right) = left.zip(right)?;
    check_road(&raw, &left, &right, diagnostics);
    diagnostics.is_empty().then(|| Geometry {
        name: raw.name.unwrap_or_else(|| fallback_name.to_owned()),
        units: raw.units,
        starter: raw.starter,
        left,
        right,
        mirrored: raw.right.is_mirror(),
        car: raw.car,
        travel: raw.travel,
        limits: raw.limits,
        weld,
        tape: raw.tape,
        tubes: tubes.unwrap_or_default(),
        targets: raw.targets,
    })
}

impl RawSide {
    /// Nothing of this side differs from the other.
    fn is_mirror(&self) -> bool {
        self.wheel.is_none() && self.links.is_empty() && self.halfshaft.is_none() && self.spring.is_none()
    }
}

fn check_count(left: &RawSide, diagnostics: &Diagnostics) {
    let count = left.link_headers.len();
    let (at, advice) = match count {
        0 | 5 => return, // none at all is a missing key
        1..5 => (left.link_headers.last(), "add the missing [[link]] tables; an upright needs five links to be held"),
        6.. => (left.link_headers.get(5), "remove what is too many, or see whether two tables mean one link"),
    };
    let links = if count == 1 { "1 link".into() } else { format!("{count} links") };
    diagnostics.add(at.unwrap_or(&(0..0)), format!("the file has {links}, not five"), advice);
}

fn check_names(side: &RawSide, diagnostics: &Diagnostics) {
    for (i, link) in side.links.iter().enumerate() {
        let name = &link.name;
        if side.links[..i].iter().any(|other| other.name.value == name.value) {
            let what = format!("two links are called {:?}", name.value);
            diagnostics.add(&name.span, what, "give each link of a side its own name");
        }
        if name.value == "upright" {
            diagnostics.add(
                &name.span,
                "a link cannot be called \"upright\"",
                "give it another name; a spring may be on the upright",
            );
        }
        if name.value == "all" {
            let advice = "give it another name; \"all chassis\" means every link in a group of [weld]";
            diagnostics.add(&name.span, "a link cannot be called \"all\"", advice);
        }
    }
}

fn check_right_names(raw: &RawFile, diagnostics: &Diagnostics) {
    let known = names(&raw.left);
    for name in raw.right.links.iter().map(|link| &link.name) {
        if !known.contains(&name.value.as_str()) {
            let what = format!("the left side has no link {:?} for this one to stand in for", name.value);
            diagnostics.add(&name.span, what, name_advice(&name.value, &known));
        }
    }
}

fn check_spring_link(side: &RawSide, left: &RawSide, diagnostics: &Diagnostics) {
    let known = names(left);
    let link = side.spring.as_ref().and_then(|spring| spring.link.as_ref());
    if let Some(on) = link.filter(|on| !known.contains(&on.value.as_str())) {
        let what = format!("the spring is on {:?}, which is no link of this file", on.value);
        diagnostics.add(&on.span, what, format!("{}; or write \"upright\"", name_advice(&on.value, &known)));
    }
}

fn names(side: &RawSide) -> Vec<&str> {
    side.links.iter().map(|link| link.name.value.as_str()).collect()
}

fn name_advice(name: &str, known: &[&str]) -> String {
    match nearest(name, known) {
        Some(near) => format!("write {near:?}"),
        None => format!("write one of {}", known.iter().map(|name| format!("{name:?}")).collect::<Vec<_>>().join(", ")),
    }
}

/// The right side: the mirror image of the left, with what `[right]` gives in its place.
fn overridden(raw: &RawFile) -> RawSide {
    let (left, right) = (&raw.left, &raw.right);
    let own = |link: &RawLink| right.links.iter().find(|own| own.name.value == link.name.value).unwrap_or(link).clone();
    RawSide {
        wheel: right.wheel.as_ref().or(left.wheel.as_ref()).cloned(),
        links: left.links.iter().map(own).collect(),
        link_headers: Vec::new(),
        halfshaft: right.halfshaft.as_ref().or(left.halfshaft.as_ref()).cloned(),
        spring: right.spring.as_ref().or(left.spring.as_ref()).cloned(),
    }
}

fn check_road(raw: &RawFile, left: &Corner, right: &Corner, diagnostics: &Diagnostics) {
    let apart_mm = (contact_height_mm(left) - contact_height_mm(right)).abs();
    let Some(wheel) = raw.right.wheel.as_ref().filter(|_| apart_mm > EVEN_ROAD_MM && !raw.uneven_road) else { return };
    let what = format!("the left and right tyres meet the road at heights {} apart", raw.units.show(apart_mm));
    let advice = "make both `centre` heights and tyre radii fit one road, or write [road] with uneven = true";
    diagnostics.add(&wheel.centre.span, what, advice);
}

/// Height of the contact point at design, mm above the datum: `W + R d`, `d` the direction in the wheel plane that points
/// most nearly down.
pub(super) fn contact_height_mm(corner: &Corner) -> f64 {
    let (up, spin) = (Vector3::z(), corner.wheel.spin_axis);
    let down = (spin.into_inner() * up.dot(&spin) - up).normalize();
    corner.wheel.centre.z + corner.wheel.tyre_radius_mm * down.z
}
