//! What to doubt: warnings, starter numbers, and what the file leaves open.

use hubtrace::file::{StarterRequest, untouched_points};
use hubtrace::geometry::{Corner, Geometry, Limits, Quantity, Side, warnings};

use super::super::terminal::wrapped;

/// Every doubt on lines of its own, the sharpest first.
pub fn lines(geometry: &Geometry) -> Vec<String> {
    let warnings = warnings(geometry).into_iter().map(|text| wrapped("", &format!("warning: {text}")));
    let open = not_in_file(geometry).into_iter();
    let open = open.map(|(what, lacks)| wrapped("", &format!("not checked: {what} (no {lacks})")));
    warnings.chain(starter_numbers(geometry)).chain(open).chain(limits_not_set(&geometry.limits)).collect()
}

fn starter_numbers(geometry: &Geometry) -> Option<String> {
    if let Err(error) = geometry.starter.as_deref()?.parse::<StarterRequest>() {
        return Some(wrapped("", &format!("warning: `starter`: {error}")));
    }
    let untouched = untouched_points(geometry)?;
    let count = untouched.names.len();
    let names = if count == untouched.of { String::new() } else { format!(": {}", untouched.names.join("; ")) };
    let text = format!("starter numbers, not yours: {count} of {} points{names}", untouched.of);
    (count > 0).then(|| wrapped("", &text))
}

/// What no command can tell for want of data, with the table or keys that would give it.
fn not_in_file(geometry: &Geometry) -> Vec<(&'static str, String)> {
    let any = |lacks: fn(&Corner) -> bool| Side::BOTH.into_iter().any(|side| lacks(geometry.corner(side)));
    let car = &geometry.car;
    let keys = |keys: &[(&str, Option<f64>)]| {
        let absent = keys.iter().filter(|(_, value)| value.is_none()).map(|&(key, _)| key).collect::<Vec<_>>();
        (!absent.is_empty()).then(|| format!("{} in [car]", absent.join(", ")))
    };
    let (wheelbase, height) = (("wheelbase", car.wheelbase_mm), ("cg_height", car.cg_height_mm));
    let bolts = any(|c| c.links.iter().any(|l| l.chassis_bolt.is_none() || l.upright_bolt.is_none()));
    let table = |absent: bool, name: &str| absent.then(|| name.to_owned());
    let all = [
        ("halfshaft plunge and joint angles", table(any(|c| c.halfshaft.is_none()), "[halfshaft]")),
        ("spring", table(any(|c| c.spring.is_none()), "[spring]")),
        ("anti-squat", keys(&[wheelbase, height, ("rear_drive_share", car.rear_drive_share)])),
        ("anti-lift", keys(&[wheelbase, height, ("rear_brake_share", car.rear_brake_share)])),
        ("rod-end angles", table(bolts, "`chassis_bolt` and `upright_bolt` on every link")),
    ];
    all.into_iter().filter_map(|(what, lacks)| lacks.map(|lacks| (what, lacks))).collect()
}

fn limits_not_set(limits: &Limits) -> Option<String> {
    let absent = Quantity::ALL.iter().filter(|quantity| limits.get(**quantity).is_none());
    let absent: Vec<_> = absent.filter_map(|quantity| quantity.limit_key()).collect();
    let text = format!("not in [limits], so never passed or failed: {}", absent.join(", "));
    (!absent.is_empty()).then(|| wrapped("", &text))
}
