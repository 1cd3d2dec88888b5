//! Fifty sound cars with one mistake each, for every class of mistakes: how many are found, and how many are also told with
//! the number that was meant.

use std::sync::LazyLock;

use hubtrace::file::GeometryFile;
use hubtrace::studies::plausibility::doubts;
use nalgebra::Vector3;
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

use crate::sound_cars::{NAMES, SoundCar, Triple};

const EACH: usize = 50;

/// Of none is anything told as it was drawn.
static CARS: LazyLock<Vec<SoundCar>> = LazyLock::new(|| {
    let all = (500_000..).map(SoundCar::of).filter(SoundCar::steers_as_cars_do);
    all.take(3 * EACH).collect()
});

/// One class: what it is, how large its mistakes are, how one is made.
struct Class {
    name: &'static str,
    size: &'static str,
    /// Of so many that are made, found.
    least: usize,
    make: fn(&SoundCar, &mut StdRng) -> Option<Mistake>,
}

/// A file with one mistake in it.
struct Mistake {
    text: String,
    /// A doubt about any of these finds it.
    about: Vec<String>,
    /// As the file would have it without the mistake.
    meant: Option<String>,
}

/// A slip in one number of a pickup is gross when it moves it so far, mm; what is less makes a car that could be meant.
const GROSS_MM: [f64; 2] = [250.0, 2500.0];
const SMALL_MM: [f64; 2] = [75.0, 250.0];
/// 19 of 20.
const FOUND: usize = 48;

const CLASSES: [Class; 49] = [
    Class {
        name: "pickup: sign turned",
        size: "moves it 250 mm to 2.5 m",
        least: FOUND,
        make: |car, random| slip(car, random, GROSS_MM, |n, _| Some(-n)),
    },
    Class {
        name: "pickup: two digits swapped",
        size: "moves it 250 mm to 2.5 m",
        least: FOUND,
        make: |car, random| slip(car, random, GROSS_MM, swapped),
    },
    Class {
        name: "pickup: decimal point shifted",
        size: "moves it 250 mm to 2.5 m",
        least: FOUND,
        make: |car, random| slip(car, random, GROSS_MM, shifted),
    },
    Class {
        name: "pickup: one number in the other unit",
        size: "moves it 250 mm to 2.5 m",
        least: FOUND,
        make: |car, random| in_other_unit(car, random, GROSS_MM),
    },
    Class { name: "pickup: all three numbers in the other unit", size: "all", least: FOUND, make: point_in_other_unit },
    Class {
        name: "pickup: two coordinates exchanged",
        size: "moves it 250 mm to 2.5 m",
        least: FOUND,
        make: pickup_exchanged,
    },
    Class { name: "bracket on the other side of the car", size: "all", least: FOUND, make: across },
    Class {
        name: "link far too short",
        size: "shorter than 80 mm",
        least: FOUND,
        make: |car, random| stretched(car, random, 20.0, 80.0),
    },
    Class {
        name: "link far too long",
        size: "1.3 to 2.5 m, a trailing one 1.7 m or more",
        least: FOUND,
        make: |car, random| stretched(car, random, 1300.0, 2500.0),
    },
    Class { name: "link longer than its neighbours", size: "3 to 5 times", least: FOUND, make: beside_others },
    Class { name: "taped length in the other unit", size: "all", least: FOUND, make: taped_in_other_unit },
    Class { name: "link and tape differ", size: "3 to 40 mm", least: FOUND, make: taped },
    Class {
        name: "upright points in hub axes, read in car axes",
        size: "all",
        least: FOUND,
        make: |car, _| axes(car, true),
    },
    Class {
        name: "upright points in car axes, read in hub axes",
        size: "all",
        least: FOUND,
        make: |car, _| axes(car, false),
    },
    Class {
        name: "one upright point in car axes, the rest in hub axes",
        size: "all",
        least: FOUND,
        make: one_in_car_axes,
    },
    Class { name: "outer joint off the spindle's line", size: "1.5 to 20 mm", least: FOUND, make: off_spindle },
    Class {
        name: "outer joint: one digit is another",
        size: "moves it 10 mm or more fore, aft, up or down",
        least: FOUND,
        make: outer_digit,
    },
    Class { name: "outer joint outside the wheel", size: "200 to 700 mm outboard", least: FOUND, make: outside },
    Class { name: "inner joint on the other side of the car", size: "all", least: FOUND, make: inner_across },
    Class {
        name: "halfshaft joint: two coordinates exchanged",
        size: "moves it 250 mm or more",
        least: FOUND,
        make: joint_exchanged,
    },
    Class {
        name: "joints drawn where the halfshaft does not reach",
        size: "1 to 60 mm",
        least: FOUND,
        make: out_of_reach,
    },
    Class {
        name: "taped link: bracket with x turned or 100 mm off",
        size: "changes its length by 10 mm to 0.3 m",
        least: FOUND,
        make: taped_bracket,
    },
    Class { name: "wheel centre: height or length wrong", size: "2 to 60 mm", least: FOUND, make: wheel_centre },
    Class { name: "wheel centre: slip in its y", size: "150 mm or more", least: FOUND, make: track },
    Class {
        name: "wheel centre: the whole track as its y",
        size: "track above 1.1 m",
        least: FOUND,
        make: whole_track,
    },
    Class { name: "wheel centre on z = 0", size: "tyre on z = 0", least: FOUND, make: centre_on_road },
    Class { name: "link: chassis and upright points exchanged", size: "all", least: FOUND, make: exchanged },
    Class { name: "tyre_radius is the diameter", size: "all", least: FOUND, make: diameter },
    Class {
        name: "bolt: x and y in each other's place",
        size: "more than the rod end turns",
        least: FOUND,
        make: bolt,
    },
    Class { name: "wheelbase or cg_height in the other unit", size: "all", least: FOUND, make: wheelbase },
    Class { name: "spring rate in kgf/mm", size: "of a car of 1 to 2 Hz", least: FOUND, make: rate_in_kgf },
    Class { name: "toe in mm over the rim", size: "1 to 8 mm", least: FOUND, make: toe_mm },
    Class { name: "camber: sign turned or point shifted", size: "beyond 3° or -8°", least: FOUND, make: camber },
    Class {
        name: "camber beside a joint in its place",
        size: "-5° to -8° for -3° to 0.5°",
        least: FOUND,
        make: leaning,
    },
    Class { name: "limit beyond what rolls", size: "twice and more", least: FOUND, make: limit },
    Class { name: "left and right differ", size: "10 to 60 mm in one number", least: FOUND, make: sides },
    Class { name: "right side from another datum", size: "10 to 100 mm one way", least: FOUND, make: from_other_datum },
    Class { name: "spring: its ends exchanged", size: "all", least: FOUND, make: spring_exchanged },
    Class { name: "spring: slip in a height", size: "moves its end 250 mm to 2.5 m", least: FOUND, make: spring_slip },
    Class {
        name: "datum: slip in one number, its mirror image in the file",
        size: "moves it 200 mm to 10 m",
        least: FOUND,
        make: |car, random| datum_slip(car, random, true),
    },
    Class {
        name: "datum: decimal point shifted, no mirror image",
        size: "beyond any frame",
        least: FOUND,
        make: |car, random| datum_slip(car, random, false),
    },
    Class { name: "size of a part in another unit", size: "all", least: FOUND, make: part_in_other_unit },
    Class { name: "two links: upright ends exchanged", size: "60 mm or more apart", least: 40, make: holes_exchanged },
    Class { name: "halfshaft: both joints too low", size: "100 mm; the inner one found", least: 45, make: shaft_low },
    Class {
        name: "spring rate in lbf/in",
        size: "of a car of 1.5 to 2.5 Hz whose damper is known",
        least: 40,
        make: rate_in_lbf,
    },
    Class {
        name: "pickup: sign turned",
        size: "moves it 75 to 250 mm",
        least: 0,
        make: |car, random| slip(car, random, SMALL_MM, |n, _| Some(-n)),
    },
    Class {
        name: "pickup: two digits swapped",
        size: "moves it 75 to 250 mm",
        least: 0,
        make: |car, random| slip(car, random, SMALL_MM, swapped),
    },
    Class {
        name: "pickup: decimal point shifted",
        size: "moves it 75 to 250 mm",
        least: 0,
        make: |car, random| slip(car, random, SMALL_MM, shifted),
    },
    Class {
        name: "pickup: one number in the other unit",
        size: "moves it 75 to 250 mm",
        least: 0,
        make: |car, random| in_other_unit(car, random, SMALL_MM),
    },
];

/// Of one class: made, found, found with the number that was meant.
fn tried(class: &Class) -> (usize, usize, usize, Vec<String>) {
    let mut random = StdRng::seed_from_u64(7);
    let mistakes: Vec<Mistake> =
        CARS.iter().cycle().take(20 * EACH).filter_map(|car| (class.make)(car, &mut random)).take(EACH).collect();
    let (mut found, mut meant, mut missed) = (0, 0, Vec::new());
    for mistake in &mistakes {
        let is_about = |about: &str| mistake.about.iter().any(|one| one == about);
        let (is_found, is_meant) = match GeometryFile::parse("car.toml", &mistake.text) {
            Err(_) => (true, false),
            Ok(file) => {
                let all = doubts(&file.geometry);
                let suspects = || all.iter().flat_map(|doubt| &doubt.suspects);
                let is_found = suspects().any(|suspect| is_about(&suspect.about));
                let is_meant =
                    suspects().any(|suspect| is_about(&suspect.about) && mistake.is_meant(&suspect.probably));
                if !is_found {
                    let said: Vec<&str> = all.iter().map(|doubt| doubt.sentence.as_str()).collect();
                    missed.push(format!("{:?} meant {:?} said {said:?}", mistake.about, mistake.meant));
                }
                (is_found, is_found && is_meant)
            }
        };
        found += usize::from(is_found);
        meant += usize::from(is_meant);
    }
    (mistakes.len(), found, meant, missed)
}

impl Mistake {
    /// The numbers of the file before the mistake, as far as a rounded number in the wrong unit can be turned back.
    fn is_meant(&self, told: &Option<String>) -> bool {
        let numbers = |text: &String| -> Option<Vec<f64>> {
            text.trim_matches(['[', ']']).split(", ").map(|number| number.parse().ok()).collect()
        };
        let (Some(told), Some(meant)) = (told, &self.meant) else { return false };
        let same = if self.text.contains("units = \"in\"") { 0.001 } else { 0.15 };
        match numbers(told).zip(numbers(meant)) {
            Some((told, meant)) => told.iter().zip(&meant).all(|(told, meant)| (told - meant).abs() < same),
            None => told == meant,
        }
    }
}

#[test]
fn nothing_is_told_of_the_cars_before_a_mistake_is_made() {
    for car in CARS.iter() {
        let file = GeometryFile::parse("car.toml", &car.text()).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(doubts(&file.geometry), [], "{}", car.text());
    }
}

/// `docs/validation.md` shows this table; `cargo test --test plausibility mistakes -- --nocapture` prints it.
#[test]
fn mistakes_of_every_class_are_found() {
    let mut table = String::from("| mistake | size | made | found | number meant told |\n|---|---|---:|---:|---:|\n");
    let mut too_few = Vec::new();
    let told = |number: usize| if number > 0 { number.to_string() } else { "–".to_owned() };
    for class in &CLASSES {
        let (made, found, meant, missed) = tried(class);
        println!("{}: {}", class.name, missed.join("\n    "));
        table += &format!("| {} | {} | {made} | {found} | {} |\n", class.name, class.size, told(meant));
        if made != EACH || found < class.least {
            too_few.push(class.name);
        }
    }
    println!("{table}");
    assert_eq!(too_few, Vec::<&str>::new(), "{table}");
    assert!(
        include_str!("../../docs/validation.md").contains(&table),
        "docs/validation.md shows another table:\n{table}"
    );
}

fn unit_mm(car: &SoundCar) -> f64 {
    if car.inches { 25.4 } else { 1.0 }
}

/// What a length in the unit that the file does not have is in the file's unit.
fn other_unit(car: &SoundCar) -> f64 {
    if car.inches { 25.4 } else { 1.0 / 25.4 }
}

/// A pickup by chance: on the upright or not, its link, and its numbers.
fn pickup<'a>(car: &'a mut SoundCar, random: &mut StdRng) -> (Vec<String>, &'a mut Triple) {
    let link = random.random_range(0..5);
    match random.random_bool(0.5) {
        true => (about(link, "chassis"), &mut car.chassis[link]),
        false => (about(link, "upright"), &mut car.upright[link]),
    }
}

fn about(link: usize, end: &str) -> Vec<String> {
    vec![format!("{} {end}", NAMES[link]), format!("link {:?}", NAMES[link])]
}

/// One number of a datum; the others are as they were.
fn datum_slip(car: &SoundCar, random: &mut StdRng, beside_its_mirror_image: bool) -> Option<Mistake> {
    let mut car = car.clone();
    let unit_mm = unit_mm(&car);
    let (at, axis) = (random.random_range(0..car.datums.len().max(1)), random.random_range(0..3));
    let (name, [x, y, z]) = *car.datums.get(at)?;
    let is_image = |(other, place): &&(&str, Triple)| {
        *other != name && [x - place[0], y + place[1], z - place[2]].iter().all(|off| off.abs() * unit_mm < 8.0)
    };
    let has_side = name.ends_with(['t', 'L', 'R']);
    let is_beside = has_side && car.datums.iter().any(|other| is_image(&other));
    let was = car.datums[at].1[axis];
    let number = match random.random_range(0..4) {
        _ if !beside_its_mirror_image => 10.0 * was,
        0 => -was,
        1 => swapped(was, random)?,
        2 => shifted(was, random)?,
        _ => (100.0 * was * other_unit(&car)).round() / 100.0,
    };
    car.datums[at].1[axis] = number;
    let frame_mm = [[-1400.0, 6000.0], [-1200.0, 1200.0], [-40.0, 1800.0]][axis];
    let from = [car.wheel_centre[0], 0.0, car.wheel_centre[2] - car.tyre_radius][axis];
    let is_off = !(frame_mm[0]..frame_mm[1]).contains(&((number - from) * unit_mm));
    let is_wrong = if beside_its_mirror_image { is_beside } else { !is_beside && is_off };
    let moved_mm = (number - was).abs() * unit_mm;
    let about = vec![format!("datum {name:?}")];
    (is_wrong && (200.0..10_000.0).contains(&moved_mm)).then(|| Mistake {
        text: car.text(),
        about,
        meant: Some(format!("{was:?}")),
    })
}

/// In the other unit or in cm; a rod end whose thread is then longer than itself is refused.
fn part_in_other_unit(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let at = random.random_range(0..car.parts.len().max(1));
    let factor = if !car.inches && random.random_bool(0.5) { 0.1 } else { other_unit(&car) };
    let (table, key, number) = car.parts.get_mut(at)?;
    let meant = Some(format!("{number:?}"));
    let about = match *table {
        "tape" => "`sd` in [tape]".to_owned(),
        "clearance" => (*key).to_owned(),
        _ => format!("{table} {key}"),
    };
    let is_possible = *table != "tape"; // a finer tape is a machine's
    *number = (1000.0 * *number * factor).round() / 1000.0;
    is_possible.then(|| Mistake { text: car.text(), about: vec![about], meant })
}

/// One number of one pickup, changed.
fn slip(
    car: &SoundCar,
    random: &mut StdRng,
    moved_mm: [f64; 2],
    change: impl Fn(f64, &mut StdRng) -> Option<f64>,
) -> Option<Mistake> {
    let mut car = car.clone();
    let unit_mm = unit_mm(&car);
    let axis = random.random_range(0..3);
    let (about, point) = pickup(&mut car, random);
    let was = point[axis];
    point[axis] = change(was, random)?;
    let [least_mm, most_mm] = moved_mm;
    let is_so_large = (least_mm..most_mm).contains(&((point[axis] - was).abs() * unit_mm));
    is_so_large.then(|| Mistake { text: car.text(), about, meant: Some(format!("{was:?}")) })
}

fn swapped(number: f64, random: &mut StdRng) -> Option<f64> {
    let mut text = format!("{number}").into_bytes();
    let pairs = text.len().checked_sub(1).filter(|pairs| *pairs > 0)?;
    let at = random.random_range(0..pairs);
    (text[at].is_ascii_digit() && text[at + 1].is_ascii_digit()).then_some(())?;
    text.swap(at, at + 1);
    String::from_utf8(text).ok()?.parse().ok()
}

fn shifted(number: f64, random: &mut StdRng) -> Option<f64> {
    Some(if random.random_bool(0.5) { 10.0 * number } else { (10.0 * number).round() / 100.0 })
}

fn in_other_unit(car: &SoundCar, random: &mut StdRng, moved_mm: [f64; 2]) -> Option<Mistake> {
    let factor = other_unit(car);
    slip(car, random, moved_mm, move |n, _| Some((100.0 * n * factor).round() / 100.0))
}

fn point_in_other_unit(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let factor = other_unit(&car);
    let (about, point) = pickup(&mut car, random);
    let was = *point;
    *point = point.map(|n| (1000.0 * n * factor).round() / 1000.0);
    Some(Mistake { text: car.text(), about, meant: Some(format!("{was:?}")) })
}

/// A point with two of its numbers in each other's place.
fn turned(point: &mut Triple, random: &mut StdRng, least_mm: f64, unit_mm: f64) -> Option<String> {
    let was = *point;
    let [a, b] = [[0, 1], [1, 2], [0, 2]][random.random_range(0..3)];
    point.swap(a, b);
    let moved_mm = (was[a] - was[b]).abs() * 2.0_f64.sqrt() * unit_mm;
    (least_mm..2500.0).contains(&moved_mm).then(|| format!("{was:?}"))
}

fn pickup_exchanged(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let unit_mm = unit_mm(&car);
    let (about, point) = pickup(&mut car, random);
    let meant = turned(point, random, 250.0, unit_mm)?;
    Some(Mistake { text: car.text(), about, meant: Some(meant) })
}

fn joint_exchanged(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let unit_mm = unit_mm(&car);
    let (name, point) = match random.random_bool(0.5) {
        true => ("halfshaft inner", &mut car.shaft_inner),
        false => ("halfshaft outer", &mut car.shaft_outer),
    };
    let meant = turned(point, random, 250.0, unit_mm)?;
    Some(Mistake { text: car.text(), about: vec![name.into(), "halfshaft".into()], meant: Some(meant) })
}

/// The bracket moved along its link, which does not trail.
fn beside_others(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let (link, times) = (random.random_range(0..5), random.random_range(3.0..5.0));
    let geometry = GeometryFile::parse("car.toml", &car.text()).ok()?.geometry;
    let links = &geometry.left.links;
    let along = |link: usize| links[link].upright - links[link].chassis;
    let is_across = |link: usize| along(link).x.abs() < 0.8 * along(link).norm();
    let mut others: Vec<f64> = (0..5).filter(|&i| i != link && is_across(i)).map(|i| links[i].length_mm()).collect();
    others.sort_by(f64::total_cmp);
    if !is_across(link) || others.len() < 2 {
        return None;
    }
    let moved = links[link].upright - along(link) * (times * others[others.len() / 2] / links[link].length_mm());
    let mut car = car.clone();
    car.chassis[link] = (moved.coords / unit_mm(&car)).map(|n| (10.0 * n).round() / 10.0).into();
    car.taped[link] = None;
    Some(Mistake { text: car.text(), about: [about(link, "chassis"), about(link, "upright")].concat(), meant: None })
}

fn out_of_reach(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let unit_mm = unit_mm(&car);
    let geometry = GeometryFile::parse("car.toml", &car.text()).ok()?.geometry;
    let drawn_mm = geometry.left.halfshaft.as_ref()?.length_mm();
    let off_mm = random.random_range(1.0..60.0);
    let reach_mm = match random.random_bool(0.5) {
        true => [drawn_mm + off_mm, drawn_mm + off_mm + 40.0],
        false => [drawn_mm - off_mm - 40.0, drawn_mm - off_mm],
    };
    car.shaft_reach = Some(reach_mm.map(|mm| (100.0 * mm / unit_mm).round() / 100.0));
    let about = vec!["halfshaft".into(), "halfshaft inner".into(), "halfshaft outer".into()];
    Some(Mistake { text: car.text(), about, meant: None })
}

fn across(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let link = random.random_range(0..5);
    let meant = Some(format!("{:?}", car.chassis[link][1]));
    car.chassis[link][1] *= -1.0;
    Some(Mistake { text: car.text(), about: about(link, "chassis"), meant })
}

/// The bracket moved along its link.
fn stretched(car: &SoundCar, random: &mut StdRng, least_mm: f64, most_mm: f64) -> Option<Mistake> {
    let mut car = car.clone();
    let link = random.random_range(0..5);
    let geometry = GeometryFile::parse("car.toml", &car.text()).ok()?.geometry;
    let drawn = &geometry.left.links[link];
    let along = drawn.upright - drawn.chassis;
    let length_mm = random.random_range(least_mm..most_mm);
    // What trails may be long.
    let is_sound = along.x.abs() > 0.85 * along.norm() && (80.0..1700.0).contains(&length_mm);
    if is_sound {
        return None;
    }
    let share = length_mm / drawn.length_mm();
    let moved = drawn.upright + (drawn.chassis - drawn.upright) * share;
    car.chassis[link] = (moved.coords / unit_mm(&car)).map(|n| (10.0 * n).round() / 10.0).into();
    Some(Mistake { text: car.text(), about: [about(link, "chassis"), about(link, "upright")].concat(), meant: None })
}

fn taped(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let link = random.random_range(0..5);
    let off_mm = random.random_range(3.0..40.0) * if random.random_bool(0.5) { 1.0 } else { -1.0 };
    let unit_mm = unit_mm(&car);
    *car.taped[link].as_mut()? += off_mm / unit_mm;
    let about = [about(link, "chassis"), about(link, "upright")].concat();
    Some(Mistake { text: car.text(), about, meant: None })
}

fn taped_in_other_unit(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let (link, factor) = (random.random_range(0..5), other_unit(&car));
    let taped = car.taped[link].as_mut()?;
    *taped = (100.0 * *taped * factor).round() / 100.0;
    Some(Mistake { text: car.text(), about: vec![format!("{} taped", NAMES[link])], meant: None })
}

fn one_in_car_axes(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let link = random.random_range(0..5);
    let geometry = GeometryFile::parse("car.toml", &car.text()).ok()?.geometry;
    let (unit_mm, meant) = (unit_mm(&car), format!("{:?}", car.upright[link]));
    car.upright[link] =
        (geometry.left.links[link].upright.coords / unit_mm).map(|n| (100.0 * n).round() / 100.0).into();
    let about = vec![format!("{} upright", NAMES[link])];
    car.hub_axes.then(|| Mistake { text: car.text(), about, meant: Some(meant) })
}

/// In car axes; in hub axes the joint leans with its wheel.
fn leaning(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    car.camber_deg = (10.0_f64 * random.random_range(-8.0..-5.0)).round() / 10.0;
    (!car.hub_axes).then(|| Mistake { text: car.text(), about: vec!["camber".into()], meant: None })
}

fn from_other_datum(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let off_mm = random.random_range(10.0..100.0) * if random.random_bool(0.5) { 1.0 } else { -1.0 };
    let (axis, unit_mm) = (random.random_range(0..3), unit_mm(&car));
    let off = (10.0 * off_mm / unit_mm).round() / 10.0;
    let mirrored = |[x, y, z]: Triple| if car.hub_axes { [x, y, z] } else { [x, -y, z] };
    car.right_upright = Some(car.upright.map(mirrored));
    let moved = |point: &mut Triple| point[axis] += off;
    car.right.as_mut()?.iter_mut().for_each(moved);
    // From the hub the points of the upright are the same, wherever the datum is.
    let of_car = !car.hub_axes;
    car.right_upright.iter_mut().flatten().filter(|_| of_car).for_each(moved);
    Some(Mistake { text: car.text(), about: vec!["right".into()], meant: None })
}

fn axes(car: &SoundCar, hub: bool) -> Option<Mistake> {
    let axes = if hub { "" } else { "upright_axes = \"hub\"\n" };
    let meant = if hub { "\"hub\"" } else { "\"car\"" };
    let mistake =
        || Mistake { text: car.text_with_axes(axes), about: vec!["upright_axes".into()], meant: Some(meant.into()) };
    (car.hub_axes == hub).then(mistake)
}

fn off_spindle(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let angle = random.random_range(0.0..std::f64::consts::TAU);
    let off = random.random_range(1.5..20.0) / unit_mm(&car);
    car.shaft_outer[0] += (1000.0 * off * angle.cos()).round() / 1000.0;
    car.shaft_outer[2] += (1000.0 * off * angle.sin()).round() / 1000.0;
    Some(Mistake { text: car.text(), about: vec!["halfshaft outer".into(), "wheel centre".into()], meant: None })
}

/// In car axes; in hub axes its x and z are 0.
fn outer_digit(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let axis = if random.random_bool(0.5) { 0 } else { 2 };
    let was = car.shaft_outer[axis];
    let mut digits = format!("{was:?}").into_bytes();
    let at = random.random_range(0..digits.len());
    let other = b'0' + random.random_range(0..10);
    if car.hub_axes || !digits[at].is_ascii_digit() {
        return None;
    }
    digits[at] = other;
    car.shaft_outer[axis] = std::str::from_utf8(&digits).ok()?.parse().ok()?;
    let is_gross = (car.shaft_outer[axis] - was).abs() * unit_mm(&car) >= 10.0;
    let about = vec!["halfshaft outer".into()];
    is_gross.then(|| Mistake { text: car.text(), about, meant: Some(format!("{was:?}")) })
}

fn outside(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let out_mm = random.random_range(200.0..700.0);
    let plane = if car.hub_axes { 0.0 } else { car.wheel_centre[1] };
    car.shaft_outer[1] = plane + out_mm / unit_mm(&car);
    Some(Mistake { text: car.text(), about: vec!["halfshaft outer".into()], meant: None })
}

fn inner_across(car: &SoundCar, _: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let meant = Some(format!("{:?}", car.shaft_inner[1]));
    car.shaft_inner[1] *= -1.0;
    Some(Mistake { text: car.text(), about: vec!["halfshaft inner".into()], meant })
}

/// In car axes the joint in the hub stays behind; in hub axes it goes with the wheel and nothing can be seen.
fn wheel_centre(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let off_mm = random.random_range(2.0..60.0) * if random.random_bool(0.5) { 1.0 } else { -1.0 };
    let axis = if random.random_bool(0.5) { 0 } else { 2 };
    car.wheel_centre[axis] += (10.0 * off_mm / unit_mm(&car)).round() / 10.0;
    let about = vec!["halfshaft outer".into(), "wheel centre".into()];
    (!car.hub_axes).then(|| Mistake { text: car.text(), about, meant: None })
}

fn track(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let was = car.wheel_centre[1];
    car.wheel_centre[1] = match random.random_range(0..3) {
        0 => swapped(was, random)?,
        1 => shifted(was, random)?,
        _ => (100.0 * was * other_unit(&car)).round() / 100.0,
    };
    let moved_mm = (car.wheel_centre[1] - was).abs() * unit_mm(&car);
    let about = vec!["wheel centre".into()];
    (moved_mm >= 150.0).then(|| Mistake { text: car.text(), about, meant: Some(format!("{was:?}")) })
}

fn whole_track(car: &SoundCar, _: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let was = car.wheel_centre[1];
    car.wheel_centre[1] = 2.0 * was;
    let meant = Some(format!("{was:?}"));
    (was * unit_mm(&car) > 560.0).then(|| Mistake { text: car.text(), about: vec!["wheel centre".into()], meant })
}

fn centre_on_road(car: &SoundCar, _: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let height = car.wheel_centre[2];
    (240.0..360.0).contains(&(height * unit_mm(&car))).then_some(())?;
    (car.tyre_radius, car.wheel_centre[2]) = (height, 0.0);
    Some(Mistake { text: car.text(), about: vec!["wheel centre".into()], meant: Some(format!("{height:?}")) })
}

fn exchanged(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let link = random.random_range(0..5);
    std::mem::swap(&mut car.chassis[link], &mut car.upright[link]);
    let about = [about(link, "chassis"), about(link, "upright")].concat();
    Some(Mistake { text: car.text(), about, meant: None })
}

fn spring_exchanged(car: &SoundCar, _: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    car.spring.swap(0, 1);
    let about = ["spring", "spring chassis", "spring mount"].map(String::from).to_vec();
    // In hub axes the two ends are counted from different places, and every reader of the file sees it.
    (!car.hub_axes).then(|| Mistake { text: car.text(), about, meant: None })
}

fn spring_slip(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let unit_mm = unit_mm(&car);
    let end = random.random_range(0..2);
    let number = &mut car.spring[end][2];
    let was = *number;
    *number = match random.random_range(0..3) {
        0 => -was,
        1 => swapped(was, random)?,
        _ => shifted(was, random)?,
    };
    let moved_mm = (*number - was).abs() * unit_mm;
    let name = if end == 0 { "spring chassis" } else { "spring mount" };
    let about = vec![name.to_owned(), "spring".to_owned()];
    (250.0..2500.0).contains(&moved_mm).then(|| Mistake { text: car.text(), about, meant: Some(format!("{was:?}")) })
}

fn holes_exchanged(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let unit_mm = unit_mm(&car);
    let (a, b) = (random.random_range(0..5), random.random_range(0..5));
    let apart = Vector3::from(car.upright[a]) - Vector3::from(car.upright[b]);
    car.upright.swap(a, b);
    let about = [about(a, "upright"), about(b, "upright")].concat();
    (apart.norm() * unit_mm > 60.0).then(|| Mistake { text: car.text(), about, meant: None })
}

fn diameter(car: &SoundCar, _: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let meant = Some(format!("{:?}", car.tyre_radius));
    car.tyre_radius *= 2.0;
    Some(Mistake { text: car.text(), about: vec!["tyre_radius".into()], meant })
}

/// A bolt whose first two numbers changed places, as far as that turns it beyond its rod end.
fn bolt(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let link = random.random_range(0..5);
    let [x, y, z] = car.bolts?[link];
    if let Some(bolts) = &mut car.bolts {
        bolts[link] = [y, x, z];
    }
    let [right, wrong] = [[x, y, z], [y, x, z]].map(Vector3::from);
    let turned_deg = right.cross(&wrong).norm().atan2(right.dot(&wrong).abs()).to_degrees();
    let about = vec![format!("{} chassis_bolt", NAMES[link])];
    (turned_deg > 35.0).then(|| Mistake { text: car.text(), about, meant: None })
}

fn wheelbase(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let factor = other_unit(&car);
    let (key, number) = match random.random_bool(0.5) {
        true => ("wheelbase", &mut car.wheelbase),
        false => ("cg_height", &mut car.cg_height),
    };
    *number = (10.0 * *number * factor).round() / 10.0;
    Some(Mistake { text: car.text(), about: vec![key.into()], meant: None })
}

fn rate_in_kgf(car: &SoundCar, _: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let make = car.spring_make.as_mut().filter(|make| make.bounce_hz < 2.0)?;
    make.rate = (100.0 * make.rate / 9.80665).round() / 100.0;
    Some(Mistake { text: car.text(), about: vec!["rate".into()], meant: None })
}

fn rate_in_lbf(car: &SoundCar, _: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let make = car.spring_make.as_mut().filter(|make| (1.5..2.5).contains(&make.bounce_hz))?;
    let meant = Some(format!("{:?}", make.rate));
    make.rate = (make.rate / 0.175_126_8).round();
    Some(Mistake { text: car.text(), about: vec!["rate".into()], meant })
}

/// In car axes; in hub axes the outer joint is counted from the wheel. The inner one is looked for.
fn shaft_low(car: &SoundCar, _: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let meant = Some(format!("{:?}", car.shaft_inner[2]));
    car.shaft_inner[2] -= 100.0;
    car.shaft_outer[2] = (1000.0 * (car.shaft_outer[2] - 100.0)).round() / 1000.0;
    let is_possible = !car.hub_axes && !car.inches;
    is_possible.then(|| Mistake { text: car.text(), about: vec!["halfshaft inner".into()], meant })
}

/// What a tape along the link tells of its bracket.
fn taped_bracket(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let link = random.random_range(0..5);
    let taped_mm = car.taped[link]? * unit_mm(&car);
    let was = car.chassis[link][0];
    car.chassis[link][0] = match random.random_range(0..3) {
        0 => -was,
        1 => was + 100.0,
        _ => was - 100.0,
    };
    let geometry = GeometryFile::parse("car.toml", &car.text()).ok()?.geometry;
    let off_mm = (geometry.left.links[link].length_mm() - taped_mm).abs();
    let is_possible = !car.inches && (11.0..300.0).contains(&off_mm);
    let about = [about(link, "chassis"), about(link, "upright")].concat();
    is_possible.then(|| Mistake { text: car.text(), about, meant: Some(format!("{was:?}")) })
}

/// As it reads on a toe gauge, in mm.
fn toe_mm(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    car.toe_deg = (10.0_f64 * random.random_range(1.0..8.0)).round() / 10.0;
    Some(Mistake { text: car.text(), about: vec!["toe".into()], meant: None })
}

fn camber(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    car.camber_deg *= if random.random_bool(0.3) { -10.0 } else { 10.0 };
    let is_beyond = !(-8.0..=3.0).contains(&car.camber_deg);
    is_beyond.then(|| Mistake { text: car.text(), about: vec!["camber".into()], meant: None })
}

fn limit(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let beyond =
        [("bump_steer", 4.0), ("camber_change", 20.0), ("roll_steer", 6.0), ("thrust_angle", 2.0), ("scrub", 120.0)];
    let (key, most) = beyond[random.random_range(0..beyond.len())];
    let mut car = car.clone();
    car.limits.retain(|(given, _)| *given != key);
    car.limits.push((key, (10.0_f64 * most * random.random_range(1.0..2.0)).round() / 10.0));
    Some(Mistake { text: car.text(), about: vec![format!("`{key}` in [limits]")], meant: None })
}

fn sides(car: &SoundCar, random: &mut StdRng) -> Option<Mistake> {
    let mut car = car.clone();
    let link = random.random_range(0..5);
    let off = random.random_range(10.0..60.0) / unit_mm(&car);
    let number = &mut car.right.as_mut()?[link][random.random_range(0..3)];
    *number = (10.0 * (*number + off)).round() / 10.0;
    Some(Mistake { text: car.text(), about: about(link, "chassis"), meant: None })
}
